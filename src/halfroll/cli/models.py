"""``halfroll models``: parts of a version as models to print."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from halfroll.cli.common import (
    check_ending,
    json_option,
    open_workshop,
    print_json,
    print_rows,
    progress_bar,
    say,
    say_verdicts,
    write_file,
)
from halfroll.core.errors import InputError, choose
from halfroll.suspension.models import PARTS

if TYPE_CHECKING:
    from halfroll.suspension.design import MovingDesign
    from halfroll.suspension.models.model import Model, Side
    from halfroll.workshop import Workshop


@click.command()
@click.argument("version_id", metavar="DRIVER/VERSION")
@click.option("--part", "parts", type=click.Choice(PARTS), multiple=True, help="One part only; may be repeated. Default: all that are designed.")  # fmt: skip
@click.option("--3mf", "threemf", type=click.Path(dir_okay=False, path_type=Path), default=None, help="Write all parts side by side to this 3MF file.")  # fmt: skip
@click.option("--stl", type=click.Path(file_okay=False, path_type=Path), default=None, help="Write each part as STL into this folder.")  # fmt: skip
@click.option("--step", type=click.Path(file_okay=False, path_type=Path), default=None, help="Write each part as STEP into this folder.")  # fmt: skip
@click.option("--drawing", type=click.Path(dir_okay=False, path_type=Path), default=None, help="Write dimensioned drawings, a page of A4 for each part, to this PDF file; SVG makes a file for each part.")  # fmt: skip
@click.option("--save", is_flag=True, help="Keep 3MF, STL and STEP in the version's models folder.")
@click.option(
    "--side", type=click.Choice(["auto", "as-designed", "upside-down"]), default="auto", show_default=True,
    help="Which side lies on the build plate; auto takes the one with less overhang.",
)  # fmt: skip
@click.option("--bed", default="220x220x250", show_default=True, help="Build volume of your printer, mm.")
@click.option("--filament", type=float, default=1.75, show_default=True, help="Diameter of the filament, mm, such as 1.75 or 2.85.")  # fmt: skip
@click.option("--within", type=float, default=0.01, show_default=True, help="How far facets may lie off the true surface, mm.")  # fmt: skip
@json_option
def models(
    version_id: str, parts: tuple[str, ...], threemf: Path | None, stl: Path | None, step: Path | None, drawing: Path | None, save: bool, side: Side,
    bed: str, filament: float, within: float, as_json: bool,
) -> None:  # fmt: skip
    """Make models to print of a version's parts.

    Surround, spider, cone, cap and former, and jigs that centre the coil in the gap, each as it lies on the build plate. Every
    model is checked: closed surface, walls against the width of a line and the height of a layer, overhangs, build volume, hold
    on the plate. Grams and metres of filament are told with their uncertainty.

    \b
    Example:
      halfroll models dunlin/v1
      halfroll models dunlin/v1 --part surround --3mf surround.3mf
      halfroll models dunlin/v1 --stl prints --step prints --bed 180x180x180
      halfroll models dunlin/v1 --part surround --drawing surround.pdf
    """
    from halfroll.publish.printing.listing import bed_of, model_dict, narrow_model_rows
    from halfroll.suspension.models.checks import PRINT_CAUTIONS, printable
    from halfroll.workshop.models import printing_of, version_models

    workshop = open_workshop()
    if not 0.001 <= within <= 0.5:
        raise InputError("The distance of facets from the surface must be small", key="--within", found=f"{within:g} mm", allowed="0.001 to 0.5 mm")  # fmt: skip
    check_ending(threemf, ".3mf", "--3mf")
    volume = bed_of(bed, key="--bed")
    what = printing_of(workshop, version_id)
    with progress_bar("models") as progress:
        made = version_models(
            workshop, version_id, parts=parts, side=side, within_m=1e-3 * within, progress=progress
        )
    found = [printable(model, bed_m=volume, filament_m=1e-3 * filament) for model in made]
    _write(workshop, version_id, made, threemf, stl, step)
    if drawing is not None:
        _draw(what.design, made, version_id, drawing)
    kept = _save(workshop, version_id, made) if save else []
    general = (*(() if parts else what.verdicts), PRINT_CAUTIONS)
    if as_json:
        print_json({
            "version": version_id, "bed_mm": [1e3 * length for length in volume], "models": [model_dict(one) for one in found],
            "files": [str(path) for path in kept], "verdicts": [verdict.as_dict() for verdict in general],
        })  # fmt: skip
        return
    print_rows(narrow_model_rows(found))
    say_verdicts((*(verdict for one in found for verdict in one.verdicts if verdict.severity > 0), *general))


def _write(
    workshop: Workshop, version_id: str, made: Sequence[Model], threemf: Path | None, stl: Path | None, step: Path | None
) -> None:  # fmt: skip
    from halfroll.publish.printing.files import write_model
    from halfroll.publish.printing.threemf import write_3mf

    if threemf is not None:
        write_file(threemf, write_3mf(made, title=version_id, designer=workshop.name))
    for kind, folder in (("stl", stl), ("step", step)):
        if folder is None:
            continue
        files = {model.name: write_model(model, kind) for model in made}  # all made before one is written
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as fault:
            raise InputError(f"{folder} cannot be made: {fault.strerror}", file=str(folder), remedy="Choose another folder") from fault  # fmt: skip
        for name, data in files.items():
            write_file(folder / f"{name}.{kind}", data)


def _draw(design: MovingDesign, made: Sequence[Model], version_id: str, path: Path) -> None:
    """Drawings of the parts: one PDF of all, or an SVG of each."""
    from halfroll.publish.part_pieces import pieces_of_models
    from halfroll.publish.part_sheet import part_sheet_svg, part_sheets_pdf

    pieces = pieces_of_models(design, made, version_id)
    if not pieces:
        raise InputError(
            "A drawing needs a part that is turned or flat", key="--drawing", found="none to print"
        )
    date = dt.date.today().isoformat()
    kind = choose(path.suffix.lower(), (".pdf", ".svg"), field="The drawing's file", key="--drawing")
    if kind == ".pdf":
        write_file(path, part_sheets_pdf(pieces, date=date))
        return
    for piece in pieces:
        at = path if len(pieces) == 1 else path.with_name(f"{path.stem}-{piece.name}{path.suffix}")
        write_file(at, part_sheet_svg(piece, date=date))


def _save(workshop: Workshop, version_id: str, made: Sequence[Model]) -> list[Path]:
    from halfroll.publish.printing.files import version_files
    from halfroll.publish.printing.step import can_write_step
    from halfroll.workshop.models import save_models

    with_step = can_write_step()
    files = version_files(
        made, version_id.replace("/", "-"), title=version_id, designer=workshop.name, step=with_step
    )
    kept = save_models(workshop, version_id, files)
    for path in kept:
        say(f"Wrote {path}")
    if not with_step:
        say("No STEP files: the geometry kernel is not built for this machine.")
    return kept
