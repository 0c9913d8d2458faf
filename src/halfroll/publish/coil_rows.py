"""A coil in words: tables of how it is wound, what room it has, what heat it bears, and which windings fit.

Terminal and page show the same rows.
"""

from __future__ import annotations

import math

from halfroll.core.text import THIN, format_value, format_with_u
from halfroll.motor.coil.clearance import Clearance, Side
from halfroll.motor.coil.windings import Choice, Windings
from halfroll.motor.coil.wound import Coil
from halfroll.motor.heat.coil import Bearable, CoilHeat
from halfroll.motor.heat.network import COVERAGE
from halfroll.publish.parameter_rows import Rows

WHILE = {1.0: "for 1\u202fs", 10.0: "for 10\u202fs", 60.0: "for 1\u202fmin", math.inf: "for ever"}


def coil_rows(coil: Coil) -> Rows:
    """How a coil is wound; ± is half of a 95 % interval."""
    design = coil.design
    layers = ", ".join(map(str, coil.layer_turns))
    wire = f"{design.wire.title}, {1e3 * design.wire.bare_m:.3f}{THIN}mm bare, {1e3 * design.wire.overall_m:.3f}{THIN}mm overall"
    former = f"{design.former.title}, {1e3 * design.former_wall_m:.2f}{THIN}mm wall, {_mm(2 * coil.former_inner_m)} inside, {_mm(coil.former_height_m)} long"  # fmt: skip
    rows = (
        ("Wire", wire),
        ("Turns", f"{coil.turns} in {design.layers} {'layer' if design.layers == 1 else 'layers'} ({layers}), {design.packing}"),
        ("Former", former),
        ("Winding height", _mm_u(coil.height_m, coil.height_u_m)),
        ("Build", _mm_u(coil.build_m, coil.build_u_m)),
        ("Inner and outer diameter", f"{_mm(2 * coil.inner_m)} and {_mm(2 * coil.outermost_m)}"),
        ("DC resistance at 20\u202f°C, with leads", _u(coil.resistance_ohm, coil.resistance_u_ohm, "ohm")),
        ("Inductance in air", format_value(1e3 * coil.inductance_h, None, "mH")),
        ("Wire in the winding and to buy", f"{coil.winding_length_m:.2f}{THIN}m, buy {coil.wire_to_buy_m:g}{THIN}m"),
        ("Share of metal in the winding", format_value(100.0 * coil.fill_factor, None, "%")),
        ("Moving mass of the coil", _u(1e3 * coil.mass_kg, 1e3 * coil.mass_u_kg, "g")),
        ("of it metal, enamel, glue, former", mass_words(coil)),
    )  # fmt: skip
    return Rows(head=("Coil", "Value"), rows=rows)


def mass_words(coil: Coil) -> str:
    """Masses of a coil's matter, in grams."""
    parts = (
        coil.masses.metal,
        coil.masses.enamel,
        coil.masses.glue,
        coil.masses.former + coil.masses.insulation,
    )
    return " + ".join(f"{1e3 * part:.2f}" for part in parts) + f"{THIN}g"


def clearance_rows(found: Clearance) -> Rows:
    """Clearance on both sides: as drawn, warm, likely, and with everything the wrong way."""
    head = ("Clearance between", "drawn", f"at {found.coil_c:.0f}{THIN}°C", "likely", "worst")
    rows = tuple(_side(side) for side in (found.inside, found.outside))
    note = "Likely: one coil of forty has less. Worst: " + ", ".join(
        f"{t.cause} ±{1e3 * t.half_m:.2f}" for t in found.outside.tolerances
    )
    return Rows(head=head, rows=rows, notes=(f"{note}{THIN}mm, all against it.",))


def _side(side: Side) -> tuple[str, ...]:
    values = (side.nominal_m, side.warm_m, side.likely_m, side.worst_m)
    return (
        f"{side.part} and {side.wall}",
        *(f"{1e3 * value:.2f}{THIN}mm".replace("-", "\u2212") for value in values),
    )


def heat_rows(heat: CoilHeat) -> Rows:
    """Powers for times, their 95 % bands, and what gives way first then."""
    rows = tuple(_bearable(one) for one in (*heat.short, heat.continuous))
    fast, slow = heat.network.time_constants_s
    coil_k, motor_k = heat.network.per_watt_k
    notes = (
        f"Power is heat in the wire, from cold in air of {heat.air_c:g}{THIN}°C. For ever it is {_volts(heat)} at the warm coil's "
        f"{format_value(heat.warm_resistance_ohm, None, 'ohm')}, and costs {heat.level_loss_db:.1f}{THIN}dB of level.",
        f"One watt for ever warms the coil by {coil_k:.3g}{THIN}K and the motor by {motor_k:.3g}{THIN}K; time constants "
        f"{_seconds(fast)} and {_seconds(slow)}.",
    )
    return Rows(head=("Power", "Value", "95 % band", "Gives way first"), rows=rows, notes=notes)


def limit_rows(heat: CoilHeat) -> Rows:
    """What every part bears, the lowest first."""
    rows = tuple(
        (limit.part, limit.node, f"{limit.lasting_c:g}{THIN}°C", f"{limit.brief_c:g}{THIN}°C")
        for limit in heat.limits
    )
    return Rows(head=("Part", "As warm as the", "for hours", "for a minute"), rows=rows)


def path_rows(heat: CoilHeat) -> Rows:
    """Which way the heat goes, by conductance; empty when it was measured as a whole."""
    paths = heat.paths
    if paths is None:
        return Rows(head=(), rows=())
    ways = (
        ("coil through the gap outwards", paths.gap_outside), ("coil through former and gap inwards", paths.gap_inside),
        ("coil to the room inside the motor", paths.motor_cavity), ("coil to the air in front", paths.front_air),
        ("coil along its former", paths.former_fin), ("motor to moving air", paths.motor_convection),
        ("motor by radiation", paths.motor_radiation),
    )  # fmt: skip
    note = f"Taken with the coil at {paths.coil_c:.0f}, the motor at {paths.motor_c:.0f}, the air at {paths.air_c:.0f}{THIN}°C; ± 40{THIN}%."
    return Rows(
        head=("Way of the heat", "Conductance"), rows=tuple((way, f"{1e3 * g:.3g}{THIN}mW/K") for way, g in ways if g > 0.0),
        notes=(note,),
    )  # fmt: skip


def winding_rows(found: Windings) -> Rows:
    """Windings that fit, best first."""
    unit = "per tesla" if any(v.code == "field-not-solved" for v in found.verdicts) else "N/A"
    head = (
        "",
        "Wire",
        "Layers",
        "Turns",
        "R",
        f"Bl, {unit}",
        "(Bl)²/R",
        "Mass",
        "Height",
        "Travel",
        "Clearance",
        "Buy",
        "Why here",
    )
    rows = tuple(_choice(rank, one) for rank, one in enumerate(found.choices, 1))
    return Rows(head=head, rows=rows, notes=tuple(winding_notes(found)))


def narrow_winding_rows(found: Windings) -> Rows:
    """The same for a terminal of 80 columns: what is compared stands in the table, the rest under it, row by row."""
    wide = winding_rows(found)
    at = [
        wide.head.index(name)
        for name in ("", "Wire", "Layers", "Turns", "R", wide.head[5], "(Bl)²/R", "Mass")
    ]
    rows = tuple(
        (*(row[i] for i in at), f"±{_mm(one.travel_m)}")
        for row, one in zip(wide.rows, found.choices, strict=True)
    )
    return Rows(
        head=(*(wide.head[i] for i in at), "Travel"), rows=rows,
        notes=(*(_in_words(rank, one) for rank, one in enumerate(found.choices, 1)), *wide.notes),
    )  # fmt: skip


def _in_words(rank: int, one: Choice) -> str:
    inside, outside = (1e3 * side.nominal_m for side in (one.clearance.inside, one.clearance.outside))
    return (
        f"{rank}. {one.why} {_mm(one.coil.height_m)} high, {one.hung}; clearance {inside:.2f} inside, {outside:.2f}{THIN}mm outside; "
        f"buy {one.coil.wire_to_buy_m:g}{THIN}m."
    )


def _choice(rank: int, one: Choice) -> tuple[str, ...]:
    coil, sides = one.coil, one.clearance
    layers = f"{coil.design.layers}{', nested' if coil.design.packing == 'nested' and coil.design.layers > 1 else ''}"
    return (
        str(rank), coil.design.wire.key, layers, str(coil.turns), format_value(coil.resistance_ohm, None, "ohm"),
        f"{abs(one.bl):.2f}", f"{one.merit:.2f}", format_value(1e3 * coil.mass_kg, None, "g"), _mm(coil.height_m),
        f"±{_mm(one.travel_m)} {one.hung}", f"{1e3 * sides.inside.nominal_m:.2f}, {1e3 * sides.outside.nominal_m:.2f}{THIN}mm",
        f"{coil.wire_to_buy_m:g}{THIN}m", one.why,
    )  # fmt: skip


def winding_notes(found: Windings) -> list[str]:
    """What was asked, how it is ranked, and what was left out for which reason."""
    lines = [f"Ranked by {found.ranked_by}; {found.tried} windings looked at."]
    if found.rejected:
        lines.append(
            "Left out: " + "; ".join(f"{reason} ({n})" for reason, n in found.rejected.items()) + "."
        )
    return lines


def _bearable(one: Bearable) -> tuple[str, ...]:
    low, high = one.band_w
    limit = one.limit
    bears = limit.brief_c if one.seconds <= 60.0 else limit.lasting_c
    return (
        WHILE.get(one.seconds, f"for {_seconds(one.seconds)}"), format_value(one.power_w, None, "W"),
        f"{_short(low)} to {_short(high)}{THIN}W", f"{limit.part} at {bears:g}{THIN}°C",
    )  # fmt: skip


def _short(value: float) -> str:
    """Two significant digits, whole numbers from 10 on."""
    return f"{value:.2g}" if value < 99.5 else f"{float(f'{value:.2g}'):.0f}"


def _volts(heat: CoilHeat) -> str:
    return format_value(heat.continuous_v, None, "V")


def _seconds(seconds: float) -> str:
    if seconds < 120.0:
        return f"{seconds:.2g}{THIN}s"
    return f"{seconds / 60.0:.2g}{THIN}min" if seconds < 7200.0 else f"{seconds / 3600.0:.2g}{THIN}h"


def _mm(metres: float) -> str:
    return f"{1e3 * metres:.2f}{THIN}mm"


def _mm_u(metres: float, u: float) -> str:
    return _u(1e3 * metres, 1e3 * u, "mm")


def _u(value: float, u: float, unit: str) -> str:
    return format_with_u(value, COVERAGE * u, unit)
