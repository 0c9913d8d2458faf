"""What the computation says of a design: figures, charts, tables; they stay while another is computed, and say so."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from functools import lru_cache
from typing import Any

from halfroll.app.chart import Chart
from halfroll.app.design_draft import Built
from halfroll.app.dom import el
from halfroll.app.field import button
from halfroll.app.view import show
from halfroll.core.errors import InputError
from halfroll.core.verdicts import Verdict
from halfroll.motor.clearance import clearance
from halfroll.motor.coil_heat import CoilHeat, coil_heat
from halfroll.motor.results import MotorResult
from halfroll.motor.travel import geometric_travel, travel_limits, travel_verdicts
from halfroll.publish import coil_rows, motor_rows
from halfroll.publish.motor import Measured, force_factor_chart, gap_chart
from halfroll.publish.parameter_rows import Rows
from halfroll.publish.theme import Theme, theme
from halfroll.workshop import Workshop
from halfroll.workshop.motor_cost import cost_of

EARLIER = "These results are of the earlier dimensions; the new ones are not computed yet."


class DesignResults:
    """The part of the page under the drawing."""

    def __init__(self, workshop: Workshop, measured: Measured | None, use_offset: Callable[[float], Any]) -> None:
        self.workshop, self.measured, self._use_offset = workshop, measured, use_offset
        self.panel = el("div", cls="no-print panel")
        self.mark = el("p", cls="earlier-note", role="status").mark("earlier")
        self.fault = el("p", cls="alert", role="alert").mark("solver-fault")
        self.numbers = el("div")

    def below(self) -> None:
        """Make the part that needs the page's whole width, where the page is now."""
        self.box = el("section", cls="block", aria_label="What it gives")

    def earlier(self, is_earlier: bool) -> None:
        """Mark what is shown as of earlier dimensions, or no longer."""
        self.mark.text = EARLIER if is_earlier else ""
        for box in (self.numbers, self.box):
            (box.classes("earlier") if is_earlier else box.classes(remove="earlier"))

    def show(self, built: Built, result: MotorResult) -> None:
        """Show the results of a motor in place of those before."""
        self.numbers.clear()
        with self.numbers:
            self._figures(built, result)
        self.box.clear()
        with self.box:
            self._said(built, result)
            self._charts(built, result)
            self._tables(built, result)

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
        said = [*result.verdicts, *(() if limits is None else travel_verdicts(limits)), *(() if built.coil is None else built.coil.verdicts)]
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
        bl, winding = result.force_factor, built.assembly.winding
        tables: list[tuple[str, Rows]] = []
        if bl is not None and winding is not None:
            geometric = geometric_travel(built.assembly.gap, winding)
            tables.append(("How far the coil may travel", motor_rows.travel_rows(travel_limits(bl), geometric, result, built.assembly)))
        tables.append(("How full the steel is", motor_rows.steel_rows(result)))
        tables.append(("Where the magnets work", motor_rows.magnet_rows(result)))
        heat, faults = _heat(built)
        if built.coil is not None:
            tables.append(("The coil", coil_rows.coil_rows(built.coil)))
        try:
            tables += _clearances(built, heat)
        except InputError as fault:
            faults.append(str(fault))
        if heat is not None:
            tables += [("Power it bears", coil_rows.heat_rows(heat)), ("What gives way to heat", coil_rows.limit_rows(heat))]
        tables.append(("What it costs", motor_rows.cost_rows(cost_of(self.workshop, built.design, dt.date.today(), built.assembly))))
        show("design_tables.html", tables=[(title, rows) for title, rows in tables if rows.rows], faults=faults,
             verdicts=_gravest([] if heat is None else list(heat.verdicts)))  # fmt: skip
        best = result.offset_best_m
        if best is not None and winding is not None and abs(best - winding.centre_m) > 0.05e-3:
            with el("div", cls="actions no-print"):
                button(f"Move the coil to {1e3 * best:+.2f} mm, where Bl(x) is most symmetric",
                       lambda: self._use_offset(round(1e3 * best, 2))).mark("use-offset")  # fmt: skip


def _heat(built: Built) -> tuple[CoilHeat | None, list[str]]:
    if built.coil is None:
        return None, []
    try:
        return coil_heat(built.coil, built.assembly), []
    except InputError as fault:
        return None, [str(fault)]


def _clearances(built: Built, heat: CoilHeat | None) -> list[tuple[str, Rows]]:
    if built.coil is None:
        return []
    coil_c = 20.0 if heat is None else heat.limits[0].lasting_c if heat.limits else 20.0
    return [("Room on both sides of the coil", coil_rows.clearance_rows(clearance(built.coil, built.assembly.gap, coil_c=coil_c)))]


def _gravest(verdicts: list[Verdict]) -> list[Verdict]:
    return sorted(verdicts, key=lambda verdict: -verdict.severity)
