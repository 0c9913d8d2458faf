"""``halfroll parameters``: the lumped parameters of a unit from its impedance."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

import click

from halfroll.cli.common import (
    json_option,
    open_workshop,
    output_options,
    print_json,
    print_rows,
    progress_bar,
    say_verdicts,
    write_file,
)

if TYPE_CHECKING:
    from halfroll.measure.lumped.parameter_types import FitSettings
    from halfroll.workshop.fitted import FittedRun, UnitParameters


@click.command()
@click.argument("unit_id", metavar="DRIVER/VERSION/UNIT")
@click.option("--coil", type=click.Choice(["auto", "ideal", "lr2", "semi"]), default="auto", show_default=True,
              help="Model of the coil: chosen, ideal inductance, with eddy-current branch, semi-inductance.")  # fmt: skip
@click.option(
    "--creep",
    type=click.Choice(["auto", "yes", "no"]),
    default="auto",
    show_default=True,
    help="Whether the suspension creeps.",
)
@click.option(
    "--band", nargs=2, type=float, default=None, metavar="LOW HIGH", help="Range that is fitted, Hz."
)
@click.option(
    "--re",
    "re_ohm",
    type=float,
    default=None,
    help="DC resistance by a meter, ohm. Default: as in the unit's record.",
)
@click.option(
    "--run", "run_name", default=None, help="Run the picture shows. Default: the newest without mass and box."
)
@click.option(
    "--chart",
    default="modulus",
    show_default=True,
    help="modulus, phase, residual, or a pair such as fs_hz:qts.",
)
@output_options
@json_option
def parameters(
    unit_id: str,
    coil: str,
    creep: str,
    band: tuple[float, float] | None,
    re_ohm: float | None,
    run_name: str | None,
    chart: str,
    theme: str,
    svg: Path | None,
    png: Path | None,
    pdf: Path | None,
    as_json: bool,
) -> None:
    """Fit the lumped parameters of a unit.

    They come from its impedances, with their uncertainty, and by every method that was measured.

    \b
    Example:
      halfroll parameters avocet/v7/01 --svg impedance.svg
    """
    from halfroll.measure.lumped.parameter_types import FitSettings
    from halfroll.workshop.parameters import unit_parameters

    settings = FitSettings(
        coil=cast(Any, coil), creep={"auto": "auto", "yes": True, "no": False}[creep], band_hz=band, re_ohm=re_ohm,  # type: ignore[arg-type]
    )  # fmt: skip
    _check(settings)
    with progress_bar("fitting") as progress:
        found = unit_parameters(open_workshop(), unit_id, settings, progress=progress)
    for kind, path in {"svg": svg, "png": png, "pdf": pdf}.items():
        if path is not None:
            write_file(path, _picture(found, run_name, chart, theme, kind))
    if as_json:
        print_json(as_dict(found))
        return
    _print(found)


def _check(settings: FitSettings) -> None:
    from halfroll.core.errors import InputError

    band = settings.band_hz
    if band is not None and not 0.0 < band[0] < band[1]:
        raise InputError(
            "The range must be two ascending frequencies above 0 Hz",
            key="--band",
            found=f"{band[0]:g} {band[1]:g}",
        )
    if settings.re_ohm is not None and not settings.re_ohm > 0.0:
        raise InputError("The DC resistance must be above 0 ohm", key="--re", found=f"{settings.re_ohm:g}")


def as_dict(found: UnitParameters) -> dict[str, Any]:
    """The machine interface's shape."""
    return {
        "unit": found.unit_id,
        "free": None if found.free is None else found.free.run_id,
        "missing": found.missing,
        "runs": [_run_dict(run) for run in found.runs],
        "parameters": None if found.parameters is None else found.parameters.estimates.as_dict(),
        "methods": [] if found.parameters is None else [
            {"method": m.method, **m.estimates.as_dict(), "remarks": list(m.remarks), "verdicts": [v.as_dict() for v in m.verdicts]}
            for m in found.parameters.methods
        ],
        "agreement": [] if found.parameters is None else [vars(a) for a in found.parameters.agreement],
        "verdicts": [] if found.parameters is None else [v.as_dict() for v in found.parameters.verdicts],
    }  # fmt: skip


def _run_dict(run: FittedRun) -> dict[str, Any]:
    record, fit = run.record, run.fit
    return {
        "run": run.run_id,
        "method": record.method,
        "mounting": record.mounting,
        "added_mass_g": record.added_mass_g,
        "volume_l": record.volume_l,
        "counts": run.usable,
        "leave_out": record.leave_out,
        "coil": None if fit is None else fit.coil,
        "creep": None if fit is None else fit.creep,
        "fit": None if fit is None else fit.estimates.as_dict(),
        "candidates": [] if fit is None else [vars(c) for c in fit.candidates],
        "verdicts": [v.as_dict() for v in run.verdicts],
    }


def _print(found: UnitParameters) -> None:
    from halfroll.publish.parameter_rows import fit_rows, method_rows, parameter_rows, remark_lines

    runs = fit_rows(found)
    if runs.rows:
        print_rows(runs, found.unit_id)
    for run in found.runs:
        if run.verdicts:
            click.echo(f"{run.name}:")
            say_verdicts(run.verdicts)
    for rows in (parameter_rows(found), method_rows(found)):
        print_rows(rows)
    for line in remark_lines(found):
        click.echo(line)
    if found.parameters is not None:
        say_verdicts(found.parameters.verdicts)
    if found.missing:
        click.echo(found.missing)


def _picture(found: UnitParameters, run_name: str | None, chart: str, look: str, kind: str) -> str | bytes:
    from halfroll.cli.compare import render_chart
    from halfroll.core.errors import InputError
    from halfroll.publish.parameters import fit_charts, pair_charts
    from halfroll.publish.theme import theme

    names = [run.name for run in found.runs if run.fit is not None]
    run = found.free if run_name is None else next((r for r in found.runs if r.name == run_name), None)
    if run is None or run.fit is None:
        raise InputError(
            "There is no fit to draw", found=run_name, allowed=names or "no run of this unit has a fit"
        )
    charts = fit_charts(run.fit, theme=theme(look), width_px=900)
    charts |= pair_charts(found, theme=theme(look), width_px=900)
    return render_chart(charts, chart, kind)
