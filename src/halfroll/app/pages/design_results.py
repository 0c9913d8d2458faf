"""What the computation says of a design: figures, charts, tables; they stay while another is computed, and say so."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from functools import lru_cache
from typing import Any

from halfroll.app.chart import Chart
from halfroll.app.design_tables import Built
from halfroll.app.dom import el
from halfroll.app.field import button
from halfroll.app.view import show
from halfroll.core.errors import InputError
from halfroll.core.text import MINUS, THIN
from halfroll.core.verdicts import Verdict
from halfroll.motor.clearance import clearance
from halfroll.motor.coil import Coil
from halfroll.motor.coil_heat import CoilHeat, coil_heat
from halfroll.motor.results import MotorResult
from halfroll.motor.travel import geometric_travel, travel_limits, travel_verdicts
from halfroll.publish import coil_rows, motor_rows
from halfroll.publish.coil_heat import bearable_chart, warming_chart
from halfroll.publish.motor import Measured, force_factor_chart, gap_chart
from halfroll.publish.parameter_rows import Rows
from halfroll.publish.theme import Theme, theme
from halfroll.workshop import Workshop
from halfroll.workshop.motor_cost import cost_of

EARLIER = "These results are of the earlier dimensions; the new ones are not computed yet."

HALF = "The figures are of the new dimensions; curves and tables are still of the earlier ones."


class DesignResults:
    """The part of the page under the drawing."""

    def __init__(
        self, workshop: Workshop, measured: Measured | None, use_offset: Callable[[float], Any]
    ) -> None:
        self.workshop, self.measured, self._use_offset = workshop, measured, use_offset
        self.mark = el("p", cls="earlier-note", role="status").mark("earlier")
        self.fault = el("p", cls="alert", role="alert").mark("solver-fault")
        self.numbers = el("div")
        self.panel = el("div", cls="no-print panel")

    def below(self) -> None:
        """Make the part that needs the page's whole width, where the page is now."""
        with el("section", cls="block", aria_labelledby="in-detail"):
            el("h2", "In detail", id="in-detail")
            self.box = el("div", cls="block")

    def earlier(self, is_earlier: bool) -> None:
        """Mark what is shown as of earlier dimensions, or no longer."""
        self.mark.text = EARLIER if is_earlier else ""
        for box in (self.numbers, self.box):
            (box.classes("earlier") if is_earlier else box.classes(remove="earlier"))

    def show(self, built: Built, result: MotorResult) -> None:
        """Show the results of a motor in place of those before."""
        self.show_figures(built, result)
        self.box.clear()
        with self.box:
            self._said(built, result)
            self._charts(built, result)
            self._tables(built, result)

    def show_figures(self, built: Built, result: MotorResult) -> None:
        """Show the figures alone; curves and tables stay those of before, and pale."""
        self.numbers.classes(remove="earlier")
        if self.mark.text:
            self.mark.text = HALF
        self.numbers.clear()
        with self.numbers:
            self._figures(built, result)

    def _figures(self, built: Built, result: MotorResult) -> None:
        limits = None if result.force_factor is None else travel_limits(result.force_factor)
        cost = cost_of(self.workshop, built.design, dt.date.today(), built.assembly)
        show(
            "design_figures.html",
            numbers=motor_rows.headline_numbers(result, limits, built.coil),
            cost=cost,
        )

    def _said(self, built: Built, result: MotorResult) -> None:
        limits = None if result.force_factor is None else travel_limits(result.force_factor)
        said = [
            *result.verdicts,
            *(() if limits is None else travel_verdicts(limits)),
            *(() if built.coil is None else built.coil.verdicts),
        ]
        show("design_said.html", verdicts=_gravest(said))

    def _charts(self, built: Built, result: MotorResult) -> None:
        assembly = built.assembly
        bl, winding = result.force_factor, assembly.winding

        @lru_cache(maxsize=4)
        def made(look: str, width_px: int) -> dict[str, Any]:
            charts = {"gap": gap_chart(result, assembly, theme=theme(look), width_px=width_px)}
            if bl is not None and winding is not None:
                charts["bl"] = force_factor_chart(
                    bl, travel_limits(bl), theme=theme(look), width_px=width_px,
                    geometric=geometric_travel(assembly.gap, winding), measured=self.measured,
                )  # fmt: skip
            return charts

        def make(key: str) -> Callable[[Theme, int], dict[str, Any]]:
            return lambda look, width_px: made(look.name, width_px)[key]

        with el("div", cls="charts halves"):
            for key in ("bl", "gap") if bl is not None else ("gap",):
                with el("figure"):
                    Chart(make(key)).mark(f"chart-{key}")

    def _tables(self, built: Built, result: MotorResult) -> None:
        best, winding = result.offset_best_m, built.assembly.winding
        cost = cost_of(self.workshop, built.design, dt.date.today(), built.assembly)
        tables = [*_of_field(built, result), ("What it costs", motor_rows.cost_rows(cost))]
        show(
            "design_tables.html",
            tables=[(title, rows) for title, rows in tables if rows.rows],
            faults=(),
            verdicts=(),
        )
        if best is not None and winding is not None and abs(best - winding.centre_m) > 0.05e-3:
            with el("div", cls="actions no-print"):
                to = f"{1e3 * best:+.2f}{THIN}mm".replace("-", MINUS)
                button(f"Move the coil to {to}, where Bl(x) is most symmetric",
                       lambda: self._use_offset(round(1e3 * best, 2))).mark("use-offset")  # fmt: skip
        if built.coil is not None:
            self._coil(built, built.coil)

    def _coil(self, built: Built, coil: Coil) -> None:
        """How the coil is wound, its room on both sides, and what heat does to it."""
        tables = [("The coil", coil_rows.coil_rows(coil))]
        verdicts: list[Verdict] = []
        faults: list[str] = []
        heat, coil_c = None, 20.0
        try:
            heat = coil_heat(coil, built.assembly)
            coil_c = heat.limits[0].lasting_c
            verdicts += heat.verdicts
        except InputError as fault:
            faults.append(str(fault))
        try:
            room = clearance(coil, built.assembly.gap, coil_c=coil_c)
            tables.append(("Room on both sides of the coil", coil_rows.clearance_rows(room)))
            verdicts += room.verdicts
        except InputError as fault:
            faults.append(str(fault))
        el("h2", "Coil and heat")
        if heat is not None:
            tables += [
                ("Power it bears", coil_rows.heat_rows(heat)),
                ("What gives way to heat", coil_rows.limit_rows(heat)),
            ]
            self._warming(heat)
        show("design_tables.html", tables=tables, faults=faults, verdicts=_gravest(verdicts))

    def _warming(self, heat: CoilHeat) -> None:
        """How warm the coil gets, at the power it just bears for ever."""
        power = heat.continuous.power_w
        with el("div", cls="charts halves"):
            for draw in (lambda look, width: warming_chart(heat, power, theme=look, width_px=width),
                         lambda look, width: bearable_chart(heat, theme=look, width_px=width)):  # fmt: skip
                with el("figure"):
                    Chart(draw)


def _of_field(built: Built, result: MotorResult) -> list[tuple[str, Rows]]:
    """The tables that come from the field."""
    bl, winding = result.force_factor, built.assembly.winding
    tables = [
        ("How full the steel is", motor_rows.steel_rows(result)),
        ("Where the magnets work", motor_rows.magnet_rows(result)),
    ]
    if bl is None or winding is None:
        return tables
    geometric = geometric_travel(built.assembly.gap, winding)
    travel = motor_rows.travel_rows(travel_limits(bl), geometric, result, built.assembly)
    return [("How far the coil may travel", travel), *tables]


def _gravest(verdicts: list[Verdict]) -> list[Verdict]:
    return sorted(verdicts, key=lambda verdict: -verdict.severity)
