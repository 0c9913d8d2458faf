"""Moving parts and what holds them as tables: masses, each suspension part, resonances of the diaphragm."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from halfroll.core.text import MINUS, THIN, count, format_percent, format_plain, format_value, format_with_u
from halfroll.materials.printed import InPrint
from halfroll.publish.motor_figures import COVERAGE
from halfroll.publish.parameter_rows import Rows
from halfroll.publish.suspension_figures import largest
from halfroll.suspension.results import BreakUp, MovingMass, PartResult
from halfroll.workshop.suspension_measured import Comparison
from halfroll.workshop.suspension_report import MaterialUse

HEARD = 0.01
"""A resonance whose volume velocity is below this share of a piston's is not listed (own choice)."""

BASIS = {
    "geometry": "from its shape",
    "slicer": "the slicer says",
    "scale": "weighed",
    "stated": "as stated",
}


def mass_rows(mass: MovingMass) -> Rows:
    """What moves: grams with half their 95 % interval, the share of all, where its centre of gravity is, how that is known."""
    whole = mass.mms_kg
    rows = [
        (part.name, _grams(part.mass_kg, part.mass_u_kg), f"{100 * part.mass_kg / whole:.0f}{THIN}%", _height(part.centre_m),
         BASIS.get(part.basis, part.basis))
        for part in sorted(mass.parts, key=lambda part: -part.mass_kg)
    ]  # fmt: skip
    rows.append(
        (
            "air that moves along",
            _grams(mass.air_kg, None),
            f"{100 * mass.air_kg / whole:.0f}{THIN}%",
            "",
            "for Sd in a baffle",
        )
    )
    rows.append(("together, Mms", _grams(whole, mass.mass_u_kg), f"100{THIN}%", _height(mass.centre_m), ""))
    ring = 100.0 * mass.surround_area_m2 / mass.area_m2 if mass.area_m2 else 0.0
    area = format_with_u(1e4 * mass.area_m2, COVERAGE * 1e4 * mass.area_u_m2, "cm²")
    return Rows(
        head=("Part", "Mass", "Share", "Centre over the gap", "Known"),
        rows=tuple(rows),
        notes=(
            "After ±: half the 95 % interval.",
            f"Sd {area}, {ring:.0f}{THIN}% of it the surround's share.",
        ),
    )


def part_rows(parts: tuple[PartResult, ...], of: tuple[PartResult, ...] = ()) -> Rows:
    """Each suspension part beside the other; `of` are all there are, where not all are told."""
    together = sum(part.curve.at_rest() for part in of or parts)

    def row(name: str, words: Callable[[PartResult], str]) -> tuple[str, ...]:
        return (name, *(words(part) for part in parts))

    rows = [
        row("Kms at rest", _stiffness),
        row("Share of the stiffness", lambda p: f"{100 * p.curve.at_rest() / together:.0f}{THIN}%"),
        row("Asymmetry", lambda p: format_percent(p.asymmetry, sign=True)),
        row("Largest elongation", lambda p: format_percent(largest(p)[0])),
        row("Largest stress", lambda p: format_plain(1e-6 * float(p.stress_pa.max()), "MPa", 2)),
        row("Mass between its clamps; of it moving", lambda p: f"{1e3 * p.mass_kg:.3g}{THIN}g; {1e3 * p.moving_kg:.2g}{THIN}g"),
        row("Stiffness sideways", lambda p: format_plain(1e-3 * p.radial_n_per_m, "N/mm")),
        row("Its own first resonances", lambda p: ", ".join(_own(hz, waves) for hz, waves in p.own_hz[:3]) or "–"),
        row("Error of the elements", lambda p: f"{100 * p.mesh_error:.1g}{THIN}%"),
    ]  # fmt: skip
    if any(part.hub_turn_rad is not None for part in parts):
        rows.append(row("The hub turns by", _turns))
    return Rows(head=("", *(part.name.capitalize() for part in parts)), rows=tuple(rows))


def break_up_rows(break_up: BreakUp) -> Rows:
    """The resonances of the moving shell that take part in the sound, and how many more there are."""
    ends = (break_up.first_hz, break_up.second_hz)
    heard = [mode for mode in break_up.modes if mode.heard >= HEARD or mode.frequency_hz in ends]
    rows = tuple(
        (mode.words, format_with_u(mode.frequency_hz, COVERAGE * mode.u_relative * mode.frequency_hz, "Hz"), format_percent(mode.heard))
        for mode in heard
    )  # fmt: skip
    notes = ["After ±: half the 95 % interval."]
    left = len(break_up.modes) - len(heard)
    if left:
        notes.append(f"{count(left, 'resonance')} more below {format_percent(HEARD)}.")
    return Rows(head=("Resonance", "At", "Heard, of a piston's"), rows=rows, notes=tuple(notes))


def _stiffness(part: PartResult) -> str:
    rest = 1e-3 * part.curve.at_rest()
    return format_with_u(rest, COVERAGE * rest * part.curve.u_relative, "N/mm")


def _own(hz: float, waves: int) -> str:
    said = format_value(hz, None, "Hz")
    return said if waves == 0 else f"{said} (tilting)" if waves == 1 else f"{said} ({waves} waves around)"


def _turns(part: PartResult) -> str:
    if part.hub_turn_rad is None:
        return "–"
    most = max(abs(float(part.hub_turn_rad.min())), abs(float(part.hub_turn_rad.max())))
    return f"{math.degrees(most):.2g}°" if most > 0 else "held"


def _grams(kg: float, u: float | None) -> str:
    return format_with_u(1e3 * kg, None if not u else COVERAGE * 1e3 * u, "g")


def _height(z_m: float) -> str:
    return f"{1e3 * z_m:+.1f}{THIN}mm".replace("-", MINUS)


def comparison_rows(found: Sequence[Comparison]) -> Rows:
    """Computed against measured, and whether they differ by more than both are unsure."""
    rows = tuple(
        (one.name + (f", {one.words}" if one.words else ""), _value(one.computed, one.computed_u, one.unit),
         _value(one.measured, one.measured_u, one.unit), differs(one))
        for one in found
    )  # fmt: skip
    return Rows(
        head=("Quantity", "Computed", "Measured", "Computed is"),
        rows=rows,
        notes=("After ±: half the 95 % interval.",),
    )


def _value(value: float, u: float, unit: str) -> str:
    scale, shown = {"N/m": (1e-3, "N/mm"), "kg": (1e3, "g")}.get(unit, (1.0, unit))
    return format_with_u(scale * value, COVERAGE * scale * u, shown)


def differs(one: Comparison) -> str:
    """How far computed and measured lie apart, in standard uncertainties of their difference."""
    number = abs(one.difference)
    if number < COVERAGE:
        return f"as measured ({number:.1f} standard uncertainties apart)"
    return f"{'more' if one.difference > 0 else 'less'} than measured, by {number:.1f} standard uncertainties"


def material_rows(found: Sequence[MaterialUse]) -> Rows:
    """What each part is printed of, and what it is like in that print."""
    rows = tuple(
        (use.part, use.filament.title, _modulus(use.printed), f"{use.printed.poisson:.2f}", use.printed.words)
        for use in found
    )
    return Rows(head=("Part", "Filament", "Modulus in the print", "Poisson", "Because"), rows=rows)


def _modulus(printed: InPrint) -> str:
    scale, unit = (1e-9, "GPa") if printed.modulus_pa >= 1e9 else (1e-6, "MPa")
    return format_with_u(scale * printed.modulus_pa, COVERAGE * scale * printed.modulus_u_pa, unit)
