"""``halfroll tones``: stepped sine tones through the sound card, at several levels."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from halfroll.cli.common import (
    InOrder,
    ask_before_sound,
    json_option,
    open_workshop,
    output_options,
    print_json,
    progress_bar,
    say,
    say_verdicts,
    write_file,
)

if TYPE_CHECKING:
    from halfroll.measure.stepped.tone_results import ToneResults


@click.group(cls=InOrder)
def tones() -> None:
    """Measure stepped tones, or show a series."""


@tones.command("measure")
@click.argument("unit_id", metavar="DRIVER/VERSION/UNIT")
@click.option("--rig", required=True, help="Rig to measure with.")
@click.option(
    "--from",
    "low_w",
    type=float,
    default=0.1,
    show_default=True,
    help="Lowest level, W into the rated impedance.",
)
@click.option("--to", "high_w", type=float, required=True, help="Highest level, W into the rated impedance.")
@click.option("--levels", "count", type=int, default=6, show_default=True, help="Number of levels.")
@click.option("--low", "low_hz", type=float, default=40.0, show_default=True, help="Lowest tone, Hz.")
@click.option("--high", "high_hz", type=float, default=400.0, show_default=True, help="Highest tone, Hz.")
@click.option("--per-octave", type=int, default=3, show_default=True, help="Tones an octave.")
@click.option(
    "--max-volts", "v_max", type=float, default=None, help="Never more than this at the terminals, V r.m.s."
)
@click.option(
    "--stop-thd",
    type=float,
    default=30.0,
    show_default=True,
    help="Distortion, %, from which a frequency gets no louder.",
)
@click.option("--longest", type=float, default=6.0, show_default=True, help="Greatest length of a tone, s.")
@click.option("--distance", "distance_m", type=float, required=True, help="Microphone to cone, m.")
@click.option("--space", type=click.Choice(["half-space", "free-field", "near-field", "in-cabinet"]), required=True,
              help="Into what it radiates.")  # fmt: skip
@click.option("--temperature", "temperature_c", type=float, default=None, help="Air temperature, degrees C.")
@click.option("--note", default="", help="A note for the series.")
@click.option("--name", default=None, help="Name of the run. Default: the day and tones.")
@click.option("--yes", is_flag=True, help="I have read the cautions; do not ask.")
@json_option
def measure_(unit_id: str, name: str | None, yes: bool, as_json: bool, **given: Any) -> None:
    """Play a series of tones and keep it.

    Every frequency is played at every level, from the lowest level upwards. Each tone lasts until it is steady and its harmonics are certain enough. A channel that clips or a voltage above the limit
    ends the series; a frequency that distorts too much gets no louder. Ctrl-C stops the sound, and nothing is kept.

    \b
    Example:
      halfroll tones measure avocet/v2/01 --rig bench --from 0.1 --to 5 --distance 1 --space half-space
    """
    from halfroll.workshop import tones_live

    workshop = open_workshop()
    wanted = tones_live.Wanted(**given)
    prepared = tones_live.prepare(workshop, unit_id, wanted)
    ask_before_sound(prepared.plan.level_v[-1], prepared.plan.limit_v, "", yes)
    with progress_bar("playing tones") as progress:
        loaded = tones_live.measure(workshop, prepared, name=name, progress=progress)
    say(f"Saved {loaded.id}")
    _show(loaded.id, as_json)


@tones.command("show")
@click.argument("run_id", metavar="DRIVER/VERSION/UNIT/tones/NAME")
@click.option("--chart", default="thd", show_default=True, help="thd, harmonics or impedance.")
@click.option(
    "--csv",
    "csv_file",
    type=click.Path(dir_okay=False, path_type=Path),
    default=None,
    help="Write all numbers here.",
)
@output_options
@json_option
def show(
    run_id: str,
    chart: str,
    theme: str,
    csv_file: Path | None,
    svg: Path | None,
    png: Path | None,
    pdf: Path | None,
    as_json: bool,
) -> None:
    """Show a series, analysed from its recording.

    \b
    Example:
      halfroll tones show avocet/v8/01/tones/lawn --chart harmonics --svg harmonics.svg
    """
    from halfroll.workshop.levels import tone_results

    workshop = open_workshop()
    wanted = {kind: path for kind, path in {"svg": svg, "png": png, "pdf": pdf}.items() if path is not None}
    if wanted or csv_file is not None:
        results = tone_results(workshop, run_id)
        reference = workshop.settings.thd_reference
        for kind, path in wanted.items():
            from halfroll.cli.compare import render_chart
            from halfroll.publish.theme import theme as theme_named
            from halfroll.publish.tones import tone_charts

            charts = tone_charts(results, theme=theme_named(theme), width_px=900, reference=reference)
            write_file(path, render_chart(charts, chart, kind))
        if csv_file is not None:
            write_file(csv_file, tones_csv(results))
    _show(run_id, as_json)


def _show(run_id: str, as_json: bool) -> None:
    from halfroll.workshop.levels import tone_results

    workshop = open_workshop()
    results = tone_results(workshop, run_id)
    if as_json:
        print_json(tones_dict(run_id, results, workshop.settings.thd_reference))
        return
    say_verdicts(results.verdicts)
    if not results.verdicts:
        click.echo("good: Nothing is wrong with this series.")
    _print_table(results, workshop.settings.thd_reference)


def _print_table(results: ToneResults, reference: Any) -> None:
    from halfroll.core.text import THIN, format_value

    distortion = results.distortion(reference)
    levels = sorted({tone.level_v for tone in results.tones})
    click.echo("THD by frequency and level:")
    click.echo("Hz".rjust(8) + "".join(f"{level:.3g} V".rjust(10) for level in levels))
    for nominal in sorted({tone.nominal_hz for tone in results.tones}):
        row = f"{nominal:g}".rjust(8)
        for level in levels:
            at = [
                i
                for i, t in enumerate(results.tones)
                if not t.closing and (t.nominal_hz, t.level_v) == (nominal, level)
            ]
            cell = "–"
            if at and distortion.thd[at[0]] == distortion.thd[at[0]]:
                sign = f"≤{THIN}" if distortion.is_bound[at[0]] else ""
                cell = sign + format_value(100 * float(distortion.thd[at[0]]), None, "%")
            row += cell.rjust(10)
        click.echo(row)


def tones_dict(run_id: str, results: ToneResults, reference: Any) -> dict[str, Any]:
    """A series for a program: one entry a tone, keys carry units."""
    from halfroll.core.levels import DB_OF_RELATIVE, spl

    distortion = results.distortion(reference)
    level = spl(abs(results.pressure[0]))
    entries = []
    for i, tone in enumerate(results.tones):
        entry = {
            "frequency_hz": float(results.frequency_hz[i]),
            "level_v": tone.level_v,
            "voltage_v": float(results.voltage_v[i]),
            "spl_db" if results.calibrated else "level_db_re_full_scale": float(level[i]),
            "spl_u_db": float(DB_OF_RELATIVE * results.pressure_u[0, i] / abs(results.pressure[0, i])),
            "thd_percent": 100 * float(distortion.thd[i]),
            "thd_u_percent": 100 * float(distortion.u[i]),
            "thd_bound": "upper" if distortion.is_bound[i] else None,
            "harmonics_percent": [100 * float(ratio) for ratio in distortion.order_ratio[:, i]],
            "settled": bool(results.settled[i]),
            "averaged_s": float(results.seconds[i]),
            "closing": tone.closing,
        }
        if results.impedance_ohm is not None:
            entry["impedance_ohm"] = [
                float(results.impedance_ohm[i].real),
                float(results.impedance_ohm[i].imag),
            ]
        entries.append(entry)
    return {
        "run": run_id,
        "thd_reference": distortion.reference,
        "conditions": results.conditions.as_dict(),
        "verdicts": [verdict.as_dict() for verdict in results.verdicts],
        "tones": entries,
    }


def tones_csv(results: ToneResults) -> str:
    """All tones as CSV with unit-bearing columns: orders 1 to 10 of the pressure and their noise, voltage, impedance."""
    import numpy as np

    unit = "pa" if results.calibrated else "full_scale"
    columns: dict[str, Any] = {
        "frequency_hz": results.frequency_hz, "level_v": results.level_v, "voltage_v": results.voltage_v,
        **{f"order_{n + 1}_{unit}": np.abs(row) for n, row in enumerate(results.pressure)},
        **{f"noise_{n + 1}_{unit}": row for n, row in enumerate(results.pressure_noise)},
    }  # fmt: skip
    if results.impedance_ohm is not None:
        columns["impedance_real_ohm"] = results.impedance_ohm.real
        columns["impedance_imag_ohm"] = results.impedance_ohm.imag
    rows = [",".join(columns)]
    for values in zip(*columns.values(), strict=True):
        rows.append(",".join(f"{v:.7g}" if np.isfinite(v) else "" for v in values))
    return "\n".join(rows) + "\n"
