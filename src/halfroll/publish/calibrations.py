"""Calibrations of a filament as rows and sentences for people and as plain values for programs."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from halfroll.core.text import format_value, format_with_u
from halfroll.materials.calibrate.types import Creep, Estimate, interval
from halfroll.materials.printed import WORDS
from halfroll.publish.parameter_rows import Rows

if TYPE_CHECKING:
    from halfroll.materials.types import Filament
    from halfroll.workshop.calibrated import Calibrated
    from halfroll.workshop.calibration_record import CalibrationTable
    from halfroll.workshop.calibrations import OwnFilament, Trial

METHOD_WORDS = {
    "strip": "bent strip", "ring": "ringing strip", "resonance": "resonance of a unit", "curve": "stiffness curve", "creep": "creep",
    "update": "update of a prediction",
}  # fmt: skip

SETUP_WORDS = {"fixed-free": "held at one end", "three-point": "on two supports"}


def modulus_words(filament: Filament) -> str:
    """The modulus with its interval, "118 MPa, 103 to 135 MPa (95 %)"."""
    low, high = interval(filament.modulus_pa, filament.modulus_u_pa / filament.modulus_pa)
    return f"{pascals(filament.modulus_pa)}, {range_words((low, high))}"


def pascals(value: float) -> str:
    """A modulus in MPa, or GPa from 1000 MPa up, with three digits."""
    mega = 1e-6 * value
    return format_value(1e-3 * mega, None, "GPa") if mega >= 999.5 else format_value(mega, None, "MPa")


def range_words(limits: tuple[float, float]) -> str:
    """A 95 % interval, "103 to 135 MPa (95 %)"."""
    low, high = limits
    if not math.isfinite(high) or high > 1e15:
        return "without a bound (95 %)"
    first, last = pascals(low), pascals(high)
    if first[-3:] == last[-3:]:
        first = first[:-4]
    return f"{first} to {last} (95 %)"


def result_words(result: Estimate | Creep) -> str:
    """What one calibration gives, in a short sentence."""
    if isinstance(result, Creep):
        return f"creeps by {format_with_u(100 * result.per_decade, 100 * result.per_decade_u, '%')} of the first deflection per decade of time"
    text = f"modulus {pascals(result.modulus_pa)}, {range_words(result.interval_pa)}, {WORDS[result.lines]}"
    if result.loss_factor is not None:
        text += f"; loss factor {format_with_u(result.loss_factor, result.loss_factor_u)}"
    return text


def budget_words(result: Estimate) -> str:
    """Where the uncertainty comes from, the largest first, in per cent."""
    parts = sorted(result.budget.items(), key=lambda item: -item[1])
    return ", ".join(f"{name} {100 * u:.1f}{chr(0x202F)}%" for name, u in parts if u > 5e-4)


def reading_words(table: CalibrationTable) -> str:
    """What was read, in a few words."""
    if (strip := table.strip) is not None:
        return (f"{SETUP_WORDS[strip.setup]}, {strip.length_mm:g} × {strip.width_mm:g} × {strip.thickness_mm:g} mm, "
                f"{len(strip.loads_g)} readings up to {max(strip.loads_g, default=0):g} g")  # fmt: skip
    if (ring := table.ring) is not None:
        return f"{ring.length_mm:g} × {ring.width_mm:g} × {ring.thickness_mm:g} mm, {ring.frequency_hz:g} Hz"
    if (resonance := table.resonance) is not None:
        return (
            f"{resonance.unit or 'a unit'}: {resonance.resonance_hz:.4g} Hz, {resonance.moving_mass_g:.4g} g"
        )
    if (curve := table.curve) is not None:
        return f"{curve.of}, {len(curve.x_mm)} points, {min(curve.x_mm, default=0):g} to {max(curve.x_mm, default=0):g} mm"
    if (update := table.update) is not None:
        return f"{update.version}: {update.moved_sd:+.2f} ± {update.moved_u_sd:.2f} standard uncertainties from {update.assumed_mpa:.4g} MPa ± {update.assumed_u_percent:.2g} %"
    assert table.creep is not None
    return f"{len(table.creep.times_s)} readings over {table.creep.times_s[-1] if table.creep.times_s else 0:g} s"


def history_rows(found: Calibrated) -> Rows:
    """Starting value, calibrations, and all together, one line each."""
    start, rows = found.start, []
    low_high = interval(start.modulus_pa, start.modulus_u_pa / start.modulus_pa)
    share = found.combined.start_weight
    rows.append(
        (
            "–",
            "",
            "starting value",
            start.origin.source,
            pascals(start.modulus_pa),
            _bare(range_words(low_high)),
            WORDS[start.modulus_lines],
            _share(share),
        )
    )
    for number, (table, result, weight) in enumerate(
        zip(found.tables, found.results, found.weights, strict=True), 1
    ):
        value, limits, lines = _values(result)
        share_text = "not used" if not table.used else "" if weight is None else _share(weight)
        rows.append(
            (
                str(number),
                table.date.isoformat(),
                METHOD_WORDS[table.method],
                reading_words(table),
                value,
                _bare(limits),
                lines,
                share_text,
            )
        )
    if found.tables:
        end = found.filament
        low_high = interval(end.modulus_pa, end.modulus_u_pa / end.modulus_pa)
        rows.append(("=", "", "together", f"widened {found.combined.widened:.1f} times" if found.combined.widened > 1 else "",
                     pascals(end.modulus_pa), _bare(range_words(low_high)), WORDS[end.modulus_lines], ""))  # fmt: skip
    return Rows(
        head=("no", "date", "by", "readings", "modulus", "95 % interval", "direction", "weight"),
        rows=tuple(rows),
    )


def _bare(words: str) -> str:
    """An interval under a head that says which."""
    return words.removesuffix(" (95 %)")


def _values(result: Estimate | Creep) -> tuple[str, str, str]:
    if isinstance(result, Creep):
        return f"creep {100 * result.per_decade:.1f} %/decade", f"u {100 * result.per_decade_u:.1f} %", ""
    return pascals(result.modulus_pa), range_words(result.interval_pa), WORDS[result.lines]


def _share(weight: float) -> str:
    return f"{100 * weight:.0f} %"


def result_dict(result: Estimate | Creep) -> dict[str, Any]:
    """One result for programs."""
    verdicts = [one.as_dict() for one in result.verdicts]
    if isinstance(result, Creep):
        return {"creep_per_decade": result.per_decade, "creep_per_decade_u": result.per_decade_u, "first_s": result.first_s,
                "last_s": result.last_s, "verdicts": verdicts}  # fmt: skip
    low, high = result.interval_pa
    return {
        "method": result.method, "modulus_mpa": 1e-6 * result.modulus_pa, "modulus_u_mpa": 1e-6 * result.modulus_u_pa,
        "low_mpa": 1e-6 * low, "high_mpa": 1e-6 * high, "dof": result.dof, "lines": result.lines,
        "budget_relative": dict(result.budget), "loss_factor": result.loss_factor, "loss_factor_u": result.loss_factor_u,
        "readings_mpa": [1e-6 * one for one in result.readings_pa], "verdicts": verdicts,
    }  # fmt: skip


def calibrated_dict(found: Calibrated) -> dict[str, Any]:
    """A filament with its calibrations for programs."""
    from halfroll.materials.listing import row

    together = found.combined
    low, high = together.interval_pa
    return {
        "filament": row(found.filament), "low_mpa": 1e-6 * low, "high_mpa": 1e-6 * high, "starting": row(found.start),
        "starting_weight": together.start_weight, "chance": together.chance, "widened": together.widened,
        "calibrations": [
            {"number": number, "date": table.date.isoformat(), "by": table.method, "used": table.used, "weight": weight, "note": table.note,
             "readings": _plain_table(table), "result": result_dict(result)}
            for number, (table, result, weight) in enumerate(zip(found.tables, found.results, found.weights, strict=True), 1)
        ],
        "verdicts": [one.as_dict() for one in together.verdicts],
    }  # fmt: skip


def _plain_table(table: CalibrationTable) -> dict[str, Any]:
    from halfroll.workshop.toml_write import plain

    said = plain(getattr(table, table.method))
    return dict(said)


def trial_dict(trial: Trial, *, saved: bool) -> dict[str, Any]:
    """What a calibration says and changes, for programs."""
    return {"material": trial.after.key, "saved": saved, "result": result_dict(trial.result), "before_mpa": 1e-6 * trial.before.filament.modulus_pa,
            **calibrated_dict(trial.after.calibrated)}  # fmt: skip


def change_words(before: OwnFilament, after: OwnFilament, *, saved: bool = True) -> str:
    """What changes for whoever names the filament."""
    ratio = after.filament.modulus_pa / before.filament.modulus_pa
    now = modulus_words(after.filament)
    if abs(ratio - 1.0) < 0.005:
        return f"{after.key} {'stays' if saved else 'would stay'} at {now}."
    # Stiffness goes with the modulus, a resonance with its root.
    return (f"{after.key} {'is now' if saved else 'would be'} {now}: {ratio:.3g} times what it was; a suspension of it alone resonates "
            f"{math.sqrt(ratio):.2f} times as high.")  # fmt: skip
