"""What the computation says of a design: figures, charts, tables; they stay while another is computed, and say so."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from halfroll.app.dom import Plain, el
from halfroll.app.field import button
from halfroll.app.pages.draft_results import DraftResults, Draw, pale
from halfroll.app.view import show
from halfroll.core.text import MINUS, THIN
from halfroll.core.verdicts import Severity, Verdict
from halfroll.publish import coil_rows, motor_rows
from halfroll.publish.coil_heat import bearable_chart, warming_chart
from halfroll.publish.motor import Measured, force_factor_chart, gap_chart
from halfroll.publish.motor_figures import changes, figures
from halfroll.publish.parameter_rows import Rows
from halfroll.workshop.motor_report import MotorReport

HALF = "Field and figures are of the new dimensions, still of a coarse mesh; curves and tables are of the earlier ones."


class DesignResults(DraftResults):
    """The parts of the page under the drawing and below it."""

    def __init__(self, use_offset: Callable[[float], Any], again: Callable[[], Any]) -> None:
        self.measured: Measured | None = None
        self.before: MotorReport | None = None
        self.shown: MotorReport | None = None
        self._use_offset = use_offset
        super().__init__(again)
        self.spoken = el("p", cls="unseen", role="status").mark("spoken")
        self.curves = el("div", cls="charts")

    def below(self) -> None:
        """Make the part that needs the page's whole width, where the page is now."""
        with el("section", cls="block", aria_labelledby="in-detail"):
            el("h2", "In detail", id="in-detail")
            self.box = el("div", cls="block")
        with el("section", cls="block", aria_labelledby="coil-and-heat") as self.coil:
            el("h2", "Coil and heat", id="coil-and-heat")
            self.heat_curves = el("div", cls="charts halves")
            self.coil_box = el("div", cls="block")
        self.coil.set_visibility(False)

    @property
    def boxes(self) -> tuple[Plain, ...]:
        """See `DraftResults.boxes`."""
        return self.numbers, self.said, self.curves, self.box, self.coil

    def show(self, report: MotorReport) -> None:
        """Show the results of a motor in place of those before."""
        self.show_figures(report)
        first = [f"{one.name} {one.number}{THIN}{one.behind}" for one in figures(report)[:3]]
        self.spoken.text = f"Computed. {'; '.join(first)}."
        self.said.clear()
        with self.said:
            show("design_said.html", verdicts=_grave(report.verdicts))
        self._charts(report)
        self.box.clear()
        with self.box:
            show("design_said.html", verdicts=[v for v in report.verdicts if v.severity < Severity.CAUTION])
            self._tables(report)
        self._coil(report)

    def show_coil(self, report: MotorReport) -> None:
        """Show what is known without a field."""
        self.show_figures(report)
        self.said.clear()
        with self.said:
            show("design_said.html", verdicts=_grave(report.verdicts))
        self._coil(report)

    def show_figures(self, report: MotorReport) -> None:
        """Show the figures alone; curves and tables stay those of before, and pale."""
        self.shown = report
        pale(self.numbers, False)
        if self.mark.text:
            self.mark.text = HALF
        before = () if self.before is None else figures(self.before)
        self.numbers.clear()
        motor = report.solved.motor
        note = "" if motor is None else motor_rows.after_plus_minus(motor)
        with self.numbers:
            show("design_figures.html", changes=changes(figures(report), before), note=note)

    def compare_with(self, report: MotorReport) -> None:
        """Show from now on what became of this one."""
        self.before = report
        if self.shown is not None and self.shown.solved.motor is not None:
            self.show_figures(self.shown)
            self._charts(self.shown)

    def _charts(self, report: MotorReport) -> None:
        solved, before = report.solved, self.before
        result, assembly, measured = solved.motor, solved.assembly, self.measured
        assert result is not None
        bl, limits, geometric = result.force_factor, report.limits, report.geometric
        old = None if before is None or before.solved.assembly == assembly else before.solved.motor
        draws: dict[str, Draw] = {}
        if bl is not None and limits is not None:
            draws["bl"] = lambda look, width: force_factor_chart(
                bl, limits, theme=look, width_px=width, geometric=geometric, measured=measured,
                before=None if old is None else old.force_factor,
            )  # fmt: skip
        draws["gap"] = lambda look, width: gap_chart(result, assembly, theme=look, width_px=width, before=old)
        self.renew(self.curves, draws)

    def _tables(self, report: MotorReport) -> None:
        assembly, result = report.solved.assembly, report.solved.motor
        assert result is not None
        tables = [*_of_field(report), ("What it costs", motor_rows.cost_rows(report.cost))]
        show("design_tables.html", tables=[(title, rows) for title, rows in tables if rows.rows],
             faults=[str(fault) for fault in report.faults])  # fmt: skip
        best, winding = result.offset_best_m, assembly.winding
        if best is not None and winding is not None and abs(best - winding.centre_m) > 0.05e-3:
            with el("div", cls="actions no-print"):
                to = f"{1e3 * best:+.2f}{THIN}mm".replace("-", MINUS)
                button(f"Move the coil to {to}, where Bl(x) is most symmetric",
                       lambda: self._use_offset(round(1e3 * best, 2))).mark("use-offset")  # fmt: skip

    def _coil(self, report: MotorReport) -> None:
        """How the coil is wound, its room on both sides, and what heat does to it."""
        self.coil.set_visibility(report.coil is not None)
        self.coil_box.clear()
        if report.coil is None:
            return
        tables = [("The coil", coil_rows.coil_rows(report.coil))]
        heat = report.heat
        if report.clearance_warm is not None:
            tables.append(("Room on both sides of the coil", coil_rows.clearance_rows(report.clearance_warm)))
        if heat is not None:
            tables += [
                ("Power it bears", coil_rows.heat_rows(heat)),
                ("What gives way to heat", coil_rows.limit_rows(heat)),
            ]
            power = heat.continuous.power_w
            self.renew(
                self.heat_curves,
                {
                    "warming": lambda look, width: warming_chart(heat, power, theme=look, width_px=width),
                    "bearable": lambda look, width: bearable_chart(heat, theme=look, width_px=width),
                },
            )
        self.heat_curves.set_visibility(heat is not None)
        with self.coil_box:
            show("design_tables.html", tables=tables, faults=())


def _of_field(report: MotorReport) -> list[tuple[str, Rows]]:
    """The tables that come from the field."""
    result = report.solved.motor
    assert result is not None
    tables = [
        ("How full the steel is", motor_rows.steel_rows(result)),
        ("Where the magnets work", motor_rows.magnet_rows(result)),
    ]
    if report.limits is None:
        return tables
    travel = motor_rows.travel_rows(report.limits, report.geometric, result, report.solved.assembly)
    return [("How far the coil may travel", travel), *tables]


def _grave(verdicts: tuple[Verdict, ...]) -> list[Verdict]:
    return [verdict for verdict in verdicts if verdict.severity >= Severity.CAUTION]
