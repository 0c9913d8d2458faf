"""``halfroll join``: bass of the near field and treble of the far field as one response."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from halfroll.cli.common import (
    json_option,
    open_workshop,
    output_options,
    print_json,
    progress_bar,
    say,
    say_verdicts,
    write_file,
)
from halfroll.cli.compare import render_chart

if TYPE_CHECKING:
    from halfroll.measure.joining.join_types import Joined
    from halfroll.workshop import Workshop
    from halfroll.workshop.joined_record import JoinedRecord


@click.command()
@click.argument("unit_id", metavar="DRIVER/VERSION/UNIT")
@click.option(
    "--near", multiple=True, metavar="TAKE[:AREA[:COUNT]]", help="Near-field take of a cone; area in cm²."
)
@click.option(
    "--port", multiple=True, metavar="TAKE:AREA[:COUNT]", help="Near-field take of a port; area in cm²."
)
@click.option("--far", metavar="TAKE", default=None, help="The gated take from a distance.")
@click.option("--overlap", nargs=2, type=float, default=None, metavar="LOW HIGH", help="Where both hold, Hz.")
@click.option(
    "--baffle",
    "baffle_cm",
    nargs=4,
    type=float,
    default=None,
    metavar="WIDTH HEIGHT X Y",
    help="Front of the cabinet and the driver's centre from its left and lower edge, cm.",
)
@click.option("--as-measured", is_flag=True, help="Do not bring the near field to the far field's level.")
@click.option(
    "--name",
    default="near-and-far",
    show_default=True,
    help="Name of the saved run; a number is added if taken.",
)
@click.option("--note", default="", help="A note kept with it.")
@click.option("--dry-run", "preview", is_flag=True, help="Only say what would be kept.")
@click.option("--saved", metavar="NAME", default=None, help="Show a saved run; no other choice is needed.")
@click.option("--chart", default="join", show_default=True, help="join, mismatch or baffle.")
@output_options
@json_option
def join(unit_id: str, saved: str | None, as_json: bool, **given: Any) -> None:
    """Join near field and far field.

    Near-field takes of a unit give the bass, a far-field take the treble; the recipe is saved as a run of the unit.

    For near-field takes the microphone almost touches the moving cone: set it up with the amplifier off, keep the level
    low, and touch neither while it plays.

    \b
    Example:
      halfroll join godwit/v1/01 --near cone --port port:12.6 --far far \\
          --overlap 300 900 --baffle 24 36 12 22
    """
    from halfroll.workshop import joined, paths

    workshop = open_workshop()
    workshop.existing(unit_id, "unit")
    run_id = None if saved is None else f"{unit_id}/joined/{paths.check_name(saved, 'run')}"
    record = _record(given) if run_id is None else _saved(workshop, run_id)
    with progress_bar("joining") as progress:
        found = joined.compute(workshop, unit_id, record, progress)
    if run_id is None and not given["preview"]:
        run_id = _save(workshop, unit_id, given["name"], record)
    for kind in ("svg", "png", "pdf"):
        if given[kind] is not None:
            write_file(given[kind], _picture(found, given["chart"], given["theme"], kind))
    if as_json:
        print_json(_as_dict(workshop, unit_id, run_id, record, found))
        return
    _print(workshop, unit_id, found)


def _record(given: dict[str, Any]) -> JoinedRecord:
    """The recipe the options give."""
    import datetime as dt

    from halfroll.workshop.faults import check
    from halfroll.workshop.joined_record import JoinedRecord

    for key in ("near", "far", "overlap"):
        if not given[key]:
            raise click.UsageError(f"--{key} is missing.")
    mouths = [_mouth(text, "cone") for text in given["near"]] + [
        _mouth(text, "port") for text in given["port"]
    ]
    values: dict[str, Any] = {
        "when": dt.datetime.now().astimezone().replace(microsecond=0), "note": given["note"], "far": given["far"],
        "near": mouths, "overlap_hz": given["overlap"], "match_level": not given["as_measured"],
    }  # fmt: skip
    if given["baffle_cm"]:
        values["baffle"] = dict(
            zip(("width_cm", "height_cm", "x_cm", "y_cm"), given["baffle_cm"], strict=True)
        )
    return check(JoinedRecord, values, file="the options")


def _mouth(text: str, what: str) -> dict[str, Any]:
    """``TAKE:AREA:COUNT`` as a table of the record."""
    from halfroll.core.errors import InputError

    take, *numbers = text.split(":")
    option = "near" if what == "cone" else "port"
    try:
        values = [float(numbers[0])] if numbers else []
        count = int(numbers[1]) if len(numbers) > 1 else 1
    except ValueError:
        values, numbers, count = [], ["", "", ""], 1
    if len(numbers) > 2 or (what == "port" and not values):
        raise InputError(
            f"--{option} must name a take{', an area' if what == 'port' else ''} and perhaps more", key=f"--{option}",
            found=text, allowed="TAKE:AREA_CM2:COUNT" if what == "port" else "TAKE, TAKE:AREA_CM2 or TAKE:AREA_CM2:COUNT",
        )  # fmt: skip
    area = {"area_cm2": values[0]} if values else {}
    return {"take": take, "what": what, "count": count, **area}


def _saved(workshop: Workshop, run_id: str) -> JoinedRecord:
    from halfroll.workshop.runs import load_run

    record: JoinedRecord = load_run(workshop, run_id).record
    return record


def _save(workshop: Workshop, unit_id: str, name: str, record: JoinedRecord) -> str:
    from halfroll.workshop import joined
    from halfroll.workshop.runs import free_name

    loaded = joined.save(workshop, unit_id, free_name(workshop, unit_id, "joined", name), record)
    say(f"Saved {loaded.id}")
    return loaded.id


def _picture(found: Joined, chart: str, look: str, kind: str) -> str | bytes:
    from halfroll.publish.join import join_charts
    from halfroll.publish.theme import theme

    return render_chart(join_charts(found, theme=theme(look), width_px=900), chart, kind)


def _as_dict(
    workshop: Workshop, unit_id: str, run_id: str | None, record: JoinedRecord, found: Joined
) -> dict[str, Any]:
    from halfroll.figures.readings import read_take
    from halfroll.workshop.paths import version_of

    report = found.report
    rated_power_w = workshop.version(version_of(unit_id)).record.rated_power_w
    readings = read_take(found.response, workshop.settings, rated_power_w)
    recipe = record.model_dump(mode="json", exclude={"audio", "files", "format", "when"})
    return {
        "unit": unit_id,
        "run": run_id,
        "usable": found.response.usable,
        "recipe": recipe,
        "conditions": found.response.conditions.as_dict(),
        "join": {
            "gain_db": report.mean_db if report.settings.match_level else 0.0,
            "mean_mismatch_db": report.mean_db,
            "rms_mismatch_db": report.rms_db,
            "trend_db_per_octave": report.trend_db_per_octave,
            "phase_rms_deg": report.phase_rms_deg,
            "delay_s": report.delay_s,
            "turned": report.turned,
            "near_valid_hz": list(report.near_valid_hz),
            "far_valid_from_hz": report.far_valid_from_hz,
        },
        "verdicts": [verdict.as_dict() for verdict in found.response.verdicts],
        "figures": {key: reading.as_dict() for key, reading in readings.items()},
        "curves": {
            "frequency_hz": report.frequency_hz.tolist(),
            "joined_db_per_v": report.joined_db.tolist(),
            "joined_u_db": report.u_db.tolist(),
            "near_db_per_v": report.near_db.tolist(),
            "far_db_per_v": report.far_db.tolist(),
            "baffle_db": None if report.baffle_db is None else report.baffle_db.tolist(),
        },
    }


def _print(workshop: Workshop, unit_id: str, found: Joined) -> None:
    from halfroll.cli.analyse import print_readings
    from halfroll.figures.readings import read_take
    from halfroll.publish.join import recipe_words
    from halfroll.workshop.paths import version_of

    for sentence in recipe_words(found):
        click.echo(sentence)
    click.echo("")
    say_verdicts(found.response.verdicts)
    if not found.response.verdicts:
        click.echo("good: Near field and far field agree.")
    if not found.response.usable:
        click.echo("These readings do not count; they only show what the fault does:")
    rated_power_w = workshop.version(version_of(unit_id)).record.rated_power_w
    print_readings(read_take(found.response, workshop.settings, rated_power_w))
