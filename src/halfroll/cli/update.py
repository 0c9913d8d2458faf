"""``halfroll update``: which assumption was wrong, and what other versions can learn from it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from halfroll.cli.common import (
    check_ending,
    drawing_options,
    json_option,
    open_workshop,
    print_json,
    print_tables,
    progress_bar,
    say,
    say_verdicts,
    write_file,
)
from halfroll.core.progress import part as stretch

if TYPE_CHECKING:
    from halfroll.core.progress import Progress
    from halfroll.workshop import Workshop
    from halfroll.workshop.learnt import Accepted
    from halfroll.workshop.learnt_others import OtherVersion
    from halfroll.workshop.update import VersionUpdate

ANSWERS = ("update-moved", "update-nothing-moved")
"""What was asked for; it is said first, and what must be minded after the numbers."""


@click.command()
@click.argument("version_id", metavar="DRIVER/VERSION")
@click.option("--unit", default=None, help="Take this unit alone. Default: the mean over all units.")
@click.option(
    "--accept",
    "accepted",
    multiple=True,
    metavar="KEY",
    help="Save what was found of this assumption in its material's record; may be given several times.",
)
@click.option("--others", is_flag=True, help="Also what other versions of the same materials would become.")
@click.option(
    "--undo",
    default=None,
    metavar="MATERIAL",
    help="Put back what stood in this material's record before the latest value was accepted.",
)
@click.option("--tables", is_flag=True, help="Also the difference split by cause, and all assumptions.")
@click.option(
    "--svg",
    type=click.Path(dir_okay=False, path_type=Path),
    default=None,
    help="Write what moved to this SVG file, and the curves before and after to files named after it.",
)
@drawing_options
@json_option
def update(
    version_id: str, unit: str | None, accepted: tuple[str, ...], others: bool, undo: str | None, tables: bool, svg: Path | None,
    theme: str, width: int, as_json: bool,
) -> None:  # fmt: skip
    """Find the few assumptions whose change explains what was measured.

    The prediction rests on moduli, remanence, thickness, glue and more, each known within a stated spread. Of all that could be off, the
    few that explain impedance, resonance, level and distortion best are found, with how sure that is, what cannot be told apart, what would
    tell, and what no assumption explains. What belongs to a material can be accepted: every version that names it follows.

    \b
    Example:
      halfroll update avocet/v8
      halfroll update avocet/v8 --tables --svg moved.svg
      halfroll update avocet/v8 --others
      halfroll update avocet/v8 --accept filament.tpu-grey.modulus
    """  # fmt: skip
    workshop = open_workshop()
    check_ending(svg, ".svg", "--svg")
    if undo is not None:
        _undo(workshop, undo, as_json)
        return
    from halfroll.workshop.update import version_update

    with progress_bar("update") as progress:
        found = version_update(
            workshop, version_id, stretch(progress, 0.0, 0.6 if others else 1.0), unit=unit
        )
        using = _others(workshop, found, stretch(progress, 0.6, 1.0)) if others else ()
    saved = _accept(workshop, found, accepted)
    if svg is not None:
        _write_pictures(found, svg, theme, float(width))
    if as_json:
        print_json(_dict(found, using, saved))
        return
    _print(found, using, saved, tables)


def _others(workshop: Workshop, found: VersionUpdate, progress: Progress) -> tuple[OtherVersion, ...]:
    from halfroll.workshop.learnt import can_accept
    from halfroll.workshop.learnt_others import other_versions

    shared = [one for one in found.update.causes if can_accept(one)]
    return other_versions(workshop, found.version_id, shared, progress)


def _accept(workshop: Workshop, found: VersionUpdate, keys: tuple[str, ...]) -> tuple[Accepted, ...]:
    if not keys:
        return ()
    from halfroll.workshop.learnt import accept

    return accept(workshop, found, keys)


def _undo(workshop: Workshop, material: str, as_json: bool) -> None:
    from halfroll.workshop.learnt import undo

    last = undo(workshop, material)
    if as_json:
        print_json(
            {
                "material": material,
                "key": last.key,
                "version": last.version,
                "before": last.before,
                "after": last.after,
            }
        )
        return
    back = "the value of what it is like" if last.before is None else f"{last.before:g}"
    say(f"{last.key} of {material} is {back} again; {last.version} had made it {last.after:.4g}.")


def _write_pictures(found: VersionUpdate, path: Path, look: str, width: float) -> None:
    from halfroll.publish.render import to_svg
    from halfroll.publish.theme import theme
    from halfroll.publish.update_charts import update_charts
    from halfroll.publish.update_points import points_chart

    ink = theme(look)
    drawn = {path: to_svg(points_chart(found.update, theme=ink, width_px=width))}
    for name, chart in update_charts(found.update, theme=ink, width_px=width).items():
        drawn[path.with_name(f"{path.stem}-{name}{path.suffix}")] = to_svg(chart)
    for at, picture in drawn.items():
        write_file(at, picture)


def _dict(
    found: VersionUpdate, using: tuple[OtherVersion, ...], saved: tuple[Accepted, ...]
) -> dict[str, Any]:
    from dataclasses import asdict

    from halfroll.publish.update_rows import update_dict
    from halfroll.workshop.learnt import can_accept

    return {
        **update_dict(found),
        "acceptable": [one.assumption.key for one in found.update.causes if can_accept(one)],
        "accepted": [asdict(one) for one in saved],
        "others": [
            {"version": one.version_id, "assumptions": list(one.keys), "before": dict(one.before), "after": dict(one.after), "fault": one.fault}
            for one in using
        ],
    }  # fmt: skip


def _print(
    found: VersionUpdate, using: tuple[OtherVersion, ...], saved: tuple[Accepted, ...], tables: bool
) -> None:
    from halfroll.publish.update_rows import cause_rows, other_rows, residual_rows
    from halfroll.workshop.learnt import can_accept

    one = found.update
    answer = tuple(verdict for verdict in one.verdicts if verdict.code in ANSWERS)
    say_verdicts(answer)
    moved = sum(cause.moved for cause in one.causes)
    shown = [cause_rows(one, len(one.causes) if tables else max(moved, 3))]
    if tables:
        shown.append(residual_rows(one))
    if using:
        shown.append(other_rows(using))
    print_tables(shown)
    say_verdicts(tuple(verdict for verdict in one.verdicts if verdict not in answer))
    for words in found.missing:
        say(words)
    for accepted in saved:
        say(f"Saved: {accepted.words}. To undo: {accepted.undo}")
    offered = [cause.assumption.key for cause in one.causes if can_accept(cause)]
    if offered and not saved:
        say(
            f"What other versions can learn: halfroll update {found.version_id} "
            + " ".join(f"--accept {key}" for key in offered)
        )
