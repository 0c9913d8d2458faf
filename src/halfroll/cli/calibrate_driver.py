"""``halfroll calibrate resonance`` and ``curve``: from what was measured on a driver or its suspension."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from halfroll.cli.calibrate_options import common_options, told_lines_option
from halfroll.cli.calibrate_readings import curve_columns, finish, from_unit
from halfroll.cli.common import open_workshop, progress_bar
from halfroll.core.errors import InputError


@click.command("resonance")
@click.argument("material")
@click.option("--unit", "unit_id", default=None, metavar="DRIVER/VERSION/UNIT", help="Take resonance, moving mass and Qms from this unit's fits, and the stiffness from its version's suspension.")  # fmt: skip
@click.option("--resonance", type=float, default=None, help="Resonance fs, Hz.")
@click.option("--mass", type=float, default=None, help="Moving mass Mms with its air, g.")
@click.option("--qms", type=float, default=None, help="Mechanical Q: gives the loss factor.")
@click.option(
    "--predicted", type=float, default=None, help="Stiffness predicted for the parts of this material, N/mm."
)
@click.option("--reference", type=float, default=None, help="Modulus it was predicted with, MPa.")
@click.option(
    "--rest", type=float, default=None, help="Stiffness of parts of other materials, N/mm. Default: 0."
)
@told_lines_option
@common_options
def resonance(
    material: str, unit_id: str | None, resonance: float | None, mass: float | None, qms: float | None, predicted: float | None,
    reference: float | None, rest: float | None, lines: str | None, **common: Any,
) -> None:  # fmt: skip
    """From a unit's measured resonance and moving mass.

    What is given stands; what is not is taken from the unit and its version.

    \b
    Example:
      halfroll calibrate resonance tpu-95a --unit avocet/v8/01
      halfroll calibrate resonance tpu-95a --resonance 52 --mass 11.8 --predicted 1.1 --reference 108
    """
    given = {"resonance_hz": resonance, "moving_mass_g": mass, "qms": qms, "predicted_n_mm": predicted, "reference_mpa": reference,
             "rest_n_mm": rest}  # fmt: skip
    needed = ("resonance_hz", "moving_mass_g", "predicted_n_mm", "reference_mpa")
    missing = [key for key in needed if given[key] is None] if unit_id is None else []
    if missing:
        options = {"resonance_hz": "--resonance", "moving_mass_g": "--mass", "predicted_n_mm": "--predicted", "reference_mpa": "--reference"}  # fmt: skip
        raise InputError(
            "Without a unit the numbers must be given",
            key=options[missing[0]],
            found=f"no {', '.join(options[key] for key in missing)}",
            remedy="Add them, or take all from a measured unit: --unit DRIVER/VERSION/UNIT",
        )
    inside = from_unit(material, unit_id, given) if unit_id is not None else {}
    inside |= {key: value for key, value in given.items() if value is not None}
    told = inside.pop("lines", "across")
    finish(material, {"lines": lines or told, "resonance": inside}, common)


@click.command("curve")
@click.argument("material")
@click.argument("table", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--predicted", type=click.Path(dir_okay=False, path_type=Path), default=None, help="CSV file with the same columns, predicted.")  # fmt: skip
@click.option("--reference", type=float, default=None, help="Modulus it was predicted with, MPa.")
@click.option(
    "--version",
    "version_id",
    default=None,
    metavar="DRIVER/VERSION",
    help="Take the prediction from this version.",
)
@click.option("--part", type=click.Choice(["surround", "spider"]), default="surround", show_default=True, help="Which part was measured.")  # fmt: skip
@told_lines_option
@common_options
def curve(
    material: str, table: Path, predicted: Path | None, reference: float | None, version_id: str | None, part: str, lines: str | None,
    **common: Any,
) -> None:  # fmt: skip
    """From a measured stiffness curve.

    TABLE is a CSV file with the columns x_mm and k_n_mm, or x_mm and force_n.

    \b
    Example:
      halfroll calibrate curve tpu-95a measured.csv --version avocet/v8 --part surround
    """
    kind, x, measured = curve_columns(table)
    if version_id is not None:
        from halfroll.workshop.calibration_readings import predicted_curve

        with progress_bar("suspension") as progress:
            inside = predicted_curve(open_workshop(), version_id, part, material, kind, progress)
    elif predicted is not None and reference is not None:
        other, xs, values = curve_columns(predicted)
        if other != kind:
            raise InputError(
                "Both curves must be of the same quantity", key="--predicted", found=f"{kind} and {other}"
            )
        inside = {"predicted_x_mm": xs, "predicted": values, "reference_mpa": reference}
    else:
        raise InputError("A prediction must be named", key="--version", found="none",
                         remedy="Give --version DRIVER/VERSION, or --predicted FILE and --reference MPA")  # fmt: skip
    told = inside.pop("lines", "across")
    finish(
        material,
        {"lines": lines or told, "curve": {**inside, "of": kind, "x_mm": x, "measured": measured}},
        common,
    )
