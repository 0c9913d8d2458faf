"""``halfroll analyse``: one recording, and whether it can be trusted."""

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
    say_verdicts,
    write_file,
)
from halfroll.cli.compare import render_chart

if TYPE_CHECKING:
    from halfroll.measure.analysis.response import Response


@click.command()
@click.argument("take_id", metavar="DRIVER/VERSION/UNIT/TAKE")
@click.option(
    "--chart", default="level", show_default=True, help="level, harmonics, thd, impedance, impulse ..."
)
@output_options
@click.option(
    "--csv",
    "csv_file",
    type=click.Path(dir_okay=False, path_type=Path),
    default=None,
    help="Write all curves here.",
)
@json_option
def analyse(
    take_id: str,
    chart: str,
    theme: str,
    svg: Path | None,
    png: Path | None,
    pdf: Path | None,
    csv_file: Path | None,
    as_json: bool,
) -> None:
    """Analyse a take: verdicts, then figures.

    \b
    Example:
      halfroll analyse avocet/v6/01/1w-a --chart thd --svg thd.svg --csv curves.csv
    """
    from halfroll.compare.take import cautions_of_take, readings_beside
    from halfroll.core.progress import part
    from halfroll.figures.readings import read_take
    from halfroll.workshop import derive
    from halfroll.workshop.paths import version_of

    workshop = open_workshop()
    with progress_bar("analysing") as progress:
        found = derive.response(workshop, take_id, part(progress, 0.0, 0.5))
        readings_beside(workshop, take_id, part(progress, 0.5, 1.0))
    rated_power_w = workshop.version(version_of(take_id)).record.rated_power_w
    readings = read_take(found, workshop.settings, rated_power_w)
    cautions = cautions_of_take(workshop, take_id)
    for kind, path in {"svg": svg, "png": png, "pdf": pdf}.items():
        if path is not None:
            write_file(path, _picture(found, chart, theme, kind))
    if csv_file is not None:
        write_file(csv_file, curves_csv(found))
    if as_json:
        print_json({**_as_dict(take_id, found, readings), "cautions": [v.as_dict() for v in cautions]})
        return
    say_verdicts((*found.verdicts, *cautions))
    if not found.verdicts and not cautions:
        click.echo("good: Nothing is wrong with this recording.")
    if not found.usable:
        click.echo("These readings do not count; they only show what the fault does:")
    print_readings(readings)


def _picture(found: Response, chart: str, theme: str, kind: str) -> str | bytes:
    from halfroll.publish.take import take_charts
    from halfroll.publish.theme import theme as theme_named

    return render_chart(take_charts(found, theme=theme_named(theme), width_px=900), chart, kind)


def _as_dict(take_id: str, found: Response, readings: dict[str, Any]) -> dict[str, Any]:
    return {
        "take": take_id,
        "usable": found.usable,
        "conditions": found.conditions.as_dict(),
        "verdicts": [v.as_dict() for v in found.verdicts],
        "gate": vars(found.gate),
        "valid_hz": list(found.valid_hz),
        "figures": {key: reading.as_dict() for key, reading in readings.items()},
    }


def print_readings(readings: dict[str, Any]) -> None:
    """One line a figure, with what must be said about it."""
    from halfroll.core.text import format_value
    from halfroll.figures.rules import RULE

    for key, reading in readings.items():
        rule = RULE[key]
        if reading.value is None:
            click.echo(f"{rule.label:<20} –  {reading.missing}")
            continue
        sign = {"upper": "≤ ", "lower": "≥ ", None: ""}[reading.bound]
        shown = f"{rule.label:<20} {sign}{format_value(reading.value, reading.u, rule.unit)}"
        click.echo(shown + _where(key, reading.at_hz))


def _where(key: str, at_hz: float | None) -> str:
    """The frequency a reading belongs to, in words; empty where the reading is a frequency itself or has none."""
    from halfroll.core.text import format_value

    if at_hz is None or key == "resonance_hz":
        return ""
    where = format_value(at_hz, None, "Hz")
    return f", best octave around {where}" if key.endswith("_limit_hz") else f" at {where}"


def curves_csv(found: Response) -> str:
    """All curves of a response as CSV with unit-bearing columns; not-a-number is an empty field."""
    import numpy as np

    from halfroll.measure.analysis.response import ORDERS

    columns = {
        "frequency_hz": found.frequency_hz,
        "spl_db" if found.calibrated else "level_db_re_full_scale": found.spl_db(),
        "phase_deg": np.rad2deg(np.angle(found.pressure_pa)),
        "voltage_v": found.voltage_v,
    }
    if found.impedance_ohm is not None:
        columns["impedance_ohm"] = np.abs(found.impedance_ohm)
        columns["impedance_phase_deg"] = np.rad2deg(np.angle(found.impedance_ohm))
    for row, order in enumerate(ORDERS):
        columns[f"harmonic_{order}_pa"] = np.abs(found.harmonics_pa[row])
    for row in range(len(found.noise_pa)):
        columns[f"noise_{row + 1}_pa"] = found.noise_pa[row]
    lines = [",".join(columns)]
    for values in zip(*columns.values(), strict=True):
        lines.append(",".join(f"{v:.7g}" if np.isfinite(v) else "" for v in values))
    return "\n".join(lines) + "\n"
