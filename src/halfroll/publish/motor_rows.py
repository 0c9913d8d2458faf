"""A motor in words: its figures at a glance, limits of travel, how full its steel is, where its magnets work, what it costs."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halfroll.core.text import MINUS, THIN, format_value, format_with_u
from halfroll.motor.coil.wound import Coil
from halfroll.motor.field.travel import GeometricTravel, Limit, TravelLimits
from halfroll.motor.placing.design_changes import DesignChange
from halfroll.motor.results import MotorResult, OperatingPoint
from halfroll.motor.types import Assembly
from halfroll.publish.motor_figures import COVERAGE, field_figures
from halfroll.publish.parameter_rows import Rows
from halfroll.workshop.motor_cost import CostLine, DesignCost
from halfroll.workshop.motor_report import MotorReport


def headline_numbers(
    result: MotorResult, limits: TravelLimits | None, coil: Coil | None
) -> list[tuple[str, str, str]]:
    """(name, number, unit with uncertainty) of what is asked first."""
    return [(one.name, one.number, one.behind) for one in field_figures(result, limits, coil)]


def glance_rows(report: MotorReport) -> Rows:
    """The whole answer, a line for each thing that is asked of a motor; the tables say how it comes about."""
    result = report.solved.motor
    assert result is not None
    rows = [
        (name, f"{number}{THIN}{unit}".rstrip())
        for name, number, unit in headline_numbers(result, report.limits, report.coil)
    ]
    assembly = report.solved.assembly
    if result.offset_best_m is not None:
        rows.append(("Most symmetric offset", _mm(result.offset_best_m)))
    if assembly.inward_room_m is not None:
        rows.append((f"Room inwards up to {assembly.inward_stop}", _mm(assembly.inward_room_m)))
    if result.steel:
        full = max(result.steel, key=lambda steel: steel.mean_t)
        rows.append(("Fullest steel", f"{full.mean_t:.2f}{THIN}T in {full.body}"))
    if result.magnets:
        near = min(result.magnets, key=lambda magnet: magnet.margin_t)
        margin = f"{near.margin_t:+.3f}{THIN}T".replace("-", MINUS)
        rows.append(("Margin to the knee", f"{margin} in {near.body} at {near.temperature_c:g}{THIN}°C"))
    rows += _coil_glance(report)
    for currency, used in report.cost.used.items():
        to_pay = report.cost.to_pay.get(currency, 0.0)
        rows.append(
            ("Cost as far as known", f"{used:.2f}{THIN}{currency}; to pay now {to_pay:.2f}{THIN}{currency}")
        )
    return Rows(head=("Figure", "Value"), rows=tuple(rows), notes=(after_plus_minus(result),))


def after_plus_minus(result: MotorResult) -> str:
    """What the numbers behind ± hold."""
    spread = any(verdict.code == "material-spread" for verdict in result.verdicts)
    more = (
        "with what bought steel and magnets differ by"
        if spread
        else "by the mesh alone; bought steel and magnets differ by more"
    )
    return f"After ±: half of the 95{THIN}% interval, {more}."


def _coil_glance(report: MotorReport) -> list[tuple[str, str]]:
    """Least clearance and lasting power of a coil, as far as they are known."""
    rows = []
    if report.clearance_warm is not None:
        sides = (report.clearance_warm.inside, report.clearance_warm.outside)
        tight = min(sides, key=lambda side: side.worst_m)
        room = f"{_mm(tight.nominal_m)} from {tight.part} to {tight.wall}; worst {_mm(tight.worst_m)}"
        rows.append(("Least clearance", room))
    if report.heat is not None:
        lasting = report.heat.continuous
        low, high = lasting.band_w
        rows.append(
            (
                "Power borne for ever",
                f"{format_value(lasting.power_w, None, 'W')} (95 %: {low:.2g} to {high:.2g}{THIN}W)",
            )
        )
    return rows


def travel_rows(
    limits: TravelLimits, geometric: GeometricTravel | None, result: MotorResult, assembly: Assembly
) -> Rows:
    """Limits of travel by the force factor and by the lengths."""
    rows = [
        ("outwards", _limit(limits.outwards)),
        ("inwards", _limit(limits.inwards)),
        (f"peak displacement, the smaller ({100 * limits.share:.0f}{THIN}%)", _mm(limits.peak_m) if limits.reached else f"beyond {_mm(limits.peak_m)}"),
    ]  # fmt: skip
    if geometric is not None:
        rows += [
            (f"geometric, {geometric.hang}", f"±{_mm(geometric.linear_m)}"),
            ("geometric and 15 % more", f"±{_mm(geometric.plus_15_percent_m)}"),
            ("geometric and a third of the gap", f"±{_mm(geometric.plus_third_of_gap_m)}"),
        ]
    if result.offset_best_m is not None:
        rows.append(("most symmetric offset", _mm(result.offset_best_m)))
    if assembly.inward_room_m is not None:
        rows.append((f"room inwards up to {assembly.inward_stop}", _mm(assembly.inward_room_m)))
    note = f"Bl falls to {100 * limits.share:.0f}{THIN}% of its value at rest: IEC 62458. Geometric figures are common practice."
    return Rows(head=("Travel", "Value"), rows=tuple(rows), notes=(note,))


def _limit(side: Limit) -> str:
    if not side.reached:
        return f"beyond {_mm(side.distance_m)}"
    return format_with_u(1e3 * side.distance_m, max(COVERAGE * 1e3 * side.u_m, 0.005), "mm")


def steel_rows(result: MotorResult) -> Rows:
    """How full each steel part is at its fullest section."""
    rows = tuple(
        (s.body, f"{s.mean_t:.2f}{THIN}T", f"{'height' if s.across == 'z' else 'radius'} {_mm(s.at_m)}", f"{s.mu_r:.0f}", f"{s.peak_t:.2f}{THIN}T")
        for s in sorted(result.steel, key=lambda s: -s.mean_t)
    )  # fmt: skip
    note = "Mean over the fullest cross-section; the peak is read 0.5 mm inside the faces, for at a corner there is none."
    return Rows(
        head=("Steel", "Mean", "at", "Rel. permeability", "Peak"), rows=rows, notes=(note,) if rows else ()
    )


SAFE_NOTE = "Safe: where its weakest place reaches the knee, the load on it unchanged; its grade's own limits hold besides."


def magnet_rows(result: MotorResult) -> Rows:
    """Where each magnet works against its knee."""
    rows = tuple(
        (m.body, f"{m.temperature_c:g}{THIN}°C".replace("-", MINUS), f"{m.permeance:.2g}", _tesla(m.b_mean_t), _tesla(m.b_worst_t),
         _tesla(m.knee_t), f"{m.margin_t:+.3f}{THIN}T".replace("-", MINUS), f"{100 * m.share_below_knee:.2g}{THIN}%",
         _safe(m))
        for m in result.magnets
    )  # fmt: skip
    head = ("Magnet", "at", "Permeance", "B mean", "B lowest", "Knee", "Margin", "Below the knee", "Safe")
    note = "Along the polarisation. What falls below the knee loses magnetisation for good; the field does not take that off."
    return Rows(head=head, rows=rows, notes=(note, SAFE_NOTE) if rows else ())


def _tesla(b_t: float) -> str:
    return f"{b_t:.3f}{THIN}T".replace("-", MINUS)


def _safe(magnet: OperatingPoint) -> str:
    """On which side of what temperature a magnet loses nothing: neodymium on the cold side, ferrite on the warm one."""
    limit = magnet.safe_to_c
    if not math.isfinite(limit):
        return "to its grade's limit"
    warmer = limit > magnet.temperature_c
    side = ("up to" if warmer else "down to") if magnet.margin_t >= 0.0 else ("from" if warmer else "below")
    return f"{side} {limit:.0f}{THIN}°C".replace("-", MINUS)


def change_rows(changes: Sequence[DesignChange], against: str) -> Rows:
    """What a design changed against another."""
    rows = tuple((change.what, change.before, change.after) for change in changes)
    return Rows(
        head=("Changed", f"in {against}", "here"), rows=rows, notes=() if rows else ("Nothing differs.",)
    )


def cost_rows(cost: DesignCost) -> Rows:
    """What the parts cost, line by line, then the sum."""
    rows = [(line.what, line.part_id or "no record", _used(line), _to_pay(line)) for line in cost.lines]
    for currency in cost.used:
        rows.append(
            (
                "together",
                "",
                f"{cost.used[currency]:.2f}{THIN}{currency}",
                f"{cost.to_pay.get(currency, 0.0):.2f}{THIN}{currency}",
            )
        )
    notes = (
        (f"Not in the sum, for nothing is known of their price: {', '.join(cost.missing)}.",)
        if cost.missing
        else ()
    )
    return Rows(head=("For", "Record", "Share of the pack", "To pay now"), rows=tuple(rows), notes=notes)


def _used(line: CostLine) -> str:
    return (
        "unknown"
        if line.cost is None or line.cost.used is None
        else f"{line.cost.used:.2f}{THIN}{line.cost.currency}"
    )


def _to_pay(line: CostLine) -> str:
    return (
        "unknown"
        if line.cost is None or line.cost.to_pay is None
        else f"{line.cost.to_pay:.2f}{THIN}{line.cost.currency}"
    )


def _mm(metres: float) -> str:
    return f"{1e3 * metres:.2f}{THIN}mm".replace("-", MINUS)
