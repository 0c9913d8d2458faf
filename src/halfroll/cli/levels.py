"""``halfroll levels``: distortion against level, and the highest level under a limit."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from halfroll.cli.common import (
    json_option,
    open_workshop,
    output_options,
    print_json,
    progress_bar,
    say,
    write_file,
)

if TYPE_CHECKING:
    from halfroll.measure.stepped.level_series import LevelSeries
    from halfroll.publish.level_rows import LevelRow
    from halfroll.workshop.levels import UnitLevels

LIMITS = (3.0, 10.0)


@click.command()
@click.argument("unit_id", metavar="DRIVER/VERSION/UNIT")
@click.option(
    "--limit",
    "limits",
    type=float,
    multiple=True,
    help="Limit of distortion, %; may be given more than once. Default: 3 and 10.",
)
@click.option("--bass", nargs=2, type=float, default=None, metavar="LOW HIGH", help="Band of the mean, Hz.")
@click.option(
    "--thd", type=click.Choice(["total", "fundamental"]), default=None, help="What THD is referred to."
)
@click.option(
    "--source", default=None, help="A series of tones by its name, or sweeps. Default: all there are."
)
@click.option("--chart", default="band", show_default=True, help="band, tones or highest.")
@output_options
@json_option
def levels(
    unit_id: str,
    limits: tuple[float, ...],
    bass: tuple[float, float] | None,
    thd: str | None,
    source: str | None,
    chart: str,
    theme: str,
    svg: Path | None,
    png: Path | None,
    pdf: Path | None,
    as_json: bool,
) -> None:
    """Say how distortion grows with level.

    It also says how loud the unit gets before its distortion passes a limit. It works from series of stepped tones, and from sweeps of the unit at two drives or more.

    \b
    Example:
      halfroll levels avocet/v8/01 --limit 10 --svg levels.svg
    """
    from halfroll.core.errors import InputError, choose
    from halfroll.workshop.levels import unit_levels

    workshop = open_workshop()
    band = bass or workshop.settings.distortion_band_hz
    if not 0 < band[0] < band[1]:
        raise InputError(
            "The band must be two ascending frequencies above 0 Hz",
            key="--bass",
            found=f"{band[0]:g} {band[1]:g}",
        )
    for limit in limits:
        if not 0 < limit < 300:
            raise InputError(
                "A limit of distortion must be above 0 and below 300 %", key="--limit", found=f"{limit:g} %"
            )
    with progress_bar("analysing") as progress:
        found = unit_levels(workshop, unit_id, reference=thd, progress=progress)  # type: ignore[arg-type]
    series = found.series
    if source is not None:
        name = choose(source, [*found.series, *found.missing], field="The source", key="--source")
        if name in found.missing:
            raise InputError(
                f"The source {name} gives no distortion against level: {found.missing[name]}", key="--source"
            )
        series = {name: found.series[name]}
    if not series:
        raise InputError(f"Nothing of {unit_id} says how distortion grows with level",
                         remedy="Play a series of tones, or record sweeps at two drives")  # fmt: skip
    chosen = [limit / 100.0 for limit in limits or LIMITS]
    for kind, path in {"svg": svg, "png": png, "pdf": pdf}.items():
        if path is not None:
            write_file(path, _picture(series, band, chosen[-1], chart, theme, kind))
    if as_json:
        print_json(levels_dict(unit_id, series, found, band, chosen))
        return
    for name, why in found.missing.items():
        say(f"{name}: {why}")
    for name, one in series.items():
        _print_series(name, one, band, chosen)


def _picture(
    series: dict[str, LevelSeries], band: tuple[float, float], limit: float, chart: str, look: str, kind: str
) -> str | bytes:
    from halfroll.cli.compare import render_chart
    from halfroll.publish.levels import level_charts
    from halfroll.publish.theme import theme

    charts = level_charts(series, theme=theme(look), width_px=900, band_hz=band, limit=limit)
    return render_chart(charts, chart, kind)


def _print_series(name: str, series: LevelSeries, band: tuple[float, float], limits: list[float]) -> None:
    from halfroll.publish.level_rows import cautions_of, highest_words, level_rows

    rows = level_rows(series, band, limits)
    ends = f"{series.level_v[0]:.3g} to {series.level_v[-1]:.3g} V"
    click.echo(f"{name} ({series.source}, {len(series.level_v)} levels, {ends})")
    for row in rows:
        for limit, found in zip(limits, row.highest, strict=True):
            click.echo(f"  {row.curve.name:<20} {100 * limit:g} %: {highest_words(found)}")
    for caution in cautions_of(series, rows):
        click.echo(f"  caution: {caution}")


def levels_dict(
    unit_id: str,
    series: dict[str, LevelSeries],
    found: UnitLevels,
    band: tuple[float, float],
    limits: list[float],
) -> dict[str, Any]:
    """Distortion against level for a program."""
    return {
        "unit": unit_id,
        "band_hz": list(band),
        "missing": found.missing,
        "series": {name: _series_dict(one, band, limits) for name, one in series.items()},
    }


def _series_dict(series: LevelSeries, band: tuple[float, float], limits: list[float]) -> dict[str, Any]:
    from halfroll.publish.level_rows import level_rows

    return {
        "source": series.source,
        "from": list(series.origin),
        "thd_reference": series.reference,
        "conditions": series.conditions.as_dict(),
        "level_v": series.level_v.tolist(),
        "level_w": None if series.level_w is None else series.level_w.tolist(),
        "cautions": list(series.cautions),
        "curves": [_curve_dict(row, limits) for row in level_rows(series, band, limits)],
    }


def _curve_dict(row: LevelRow, limits: list[float]) -> dict[str, Any]:
    curve = row.curve
    return {
        "frequency_hz": curve.at_hz,
        "band_hz": None if curve.band_hz is None else list(curve.band_hz),
        "thd_percent": (100 * curve.thd).tolist(),
        "thd_u_percent": (100 * curve.thd_u).tolist(),
        "thd_bound": ["upper" if bound else None for bound in curve.is_bound],
        "spl_db": curve.spl_db.tolist(),
        "highest": [
            {"limit_percent": 100 * limit, "missing": one} if isinstance(one, str) else
            {"limit_percent": 100 * limit, "level_v": one.level_v, "level_w": one.level_w, "level_u_db": one.level_u_db,
             "spl_db": one.spl_db, "spl_u_db": one.spl_u_db, "bound": one.bound, "cautions": list(one.cautions)}
            for limit, one in zip(limits, row.highest, strict=True)
        ],
    }  # fmt: skip
