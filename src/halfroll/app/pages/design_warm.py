"""Whether the magnets are safe when warm, or in frost: their operating points at a chosen temperature."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from nicegui import ui

from halfroll.app.design_tables import Built
from halfroll.app.dom import el
from halfroll.app.field import Field
from halfroll.app.job import Job, work
from halfroll.app.typed import number_or_text, without_place
from halfroll.app.view import show
from halfroll.core.errors import CancelledError, HalfrollError, InputError
from halfroll.core.progress import Progress
from halfroll.core.text import THIN
from halfroll.motor.results import MotorResult
from halfroll.publish import motor_rows
from halfroll.publish.motor_warm import warm_verdicts, warm_words, weaker_words, worst_in_the_cold
from halfroll.workshop.motor_report import MotorReport

Compute = Callable[[Built, float, Progress], MotorResult]

USUAL_C = 60.0
"""Temperature that is asked for where no coil warms the motor; own choice."""

WAIT_S = 0.4
"""A typed temperature is taken when nothing was typed for so long."""


class WarmMagnets:
    """One temperature, typed or as warm as the motor gets, and what the magnets do there."""

    def __init__(self, compute: Compute) -> None:
        self._compute = compute
        self._of: tuple[Built, MotorReport] | None = None
        self._job: Job | None = None
        self._begin: ui.timer | None = None
        with el("section", cls="block", aria_labelledby="warm"):
            el("h2", "Are the magnets safe when warm?", id="warm")
            with el("div", cls="fields tight"):
                self.field = Field("warm-c", "Magnets at, °C", inputmode="decimal", on_change=lambda _: self._typed(),
                                   hint="empty: as the motor gets")  # fmt: skip
            self.panel = el("div", cls="no-print panel")
            self.box = el("div", cls="block").mark("warm-magnets")

    def earlier(self) -> None:
        """What is shown is of earlier dimensions; what is being computed is given up."""
        self.box.classes("earlier")
        if self._job is not None:
            self._job.stop()
        self._job = None

    async def show(self, built: Built, report: MotorReport) -> None:
        """Compute and show it for a motor."""
        self._of = (built, report)
        await self._ask()

    def _wanted(self, report: MotorReport) -> tuple[float, str]:
        """The temperature (°C), and why this one."""
        if self.field.value:
            typed = number_or_text(self.field.value)
            if not isinstance(typed, int | float):
                raise InputError(
                    "The temperature must be a number", found=self.field.value, allowed="such as 80"
                )
            return float(typed), ""
        if report.heat is None:
            return USUAL_C, "Nothing is known of the coil's heat, so a hot day behind glass is taken."
        power = report.heat.continuous.power_w
        return (
            float(round(report.heat.warm_c[1])),
            f"So warm is the motor after hours of the {power:.3g}{THIN}W its coil just bears.",
        )

    def _typed(self) -> None:
        if self._begin is not None:
            self._begin.cancel()
        with self.panel:
            self._begin = ui.timer(WAIT_S, self._ask, once=True)

    async def _ask(self) -> None:
        if self._job is not None:
            self._job.stop()
        self._job = None
        self.field.error("")
        if self._of is None:
            return
        built, report = self._of
        self.box.classes("earlier")
        try:
            celsius, why = self._wanted(report)
            self._job = job = Job("Computing the magnets at that temperature")
            with self.panel:
                warm = await work(job.what, partial(self._compute, built, celsius), job=job)
        except CancelledError:
            return
        except InputError as fault:
            self.box.clear()
            self.field.error(without_place(fault))
            return
        except HalfrollError as fault:
            self.field.error(str(fault))
            return
        if job is self._job:
            self._show(built, report, warm, why)

    def _show(self, built: Built, report: MotorReport, warm: MotorResult, why: str) -> None:
        self.box.classes(remove="earlier")
        self.box.clear()
        now = report.solved.motor
        with self.box:
            el("p", warm_words(warm), cls="prose", role="status").mark("warm-words")
            more = [why, "" if now is None else weaker_words(warm, now, built.design.motor.temperature_c)]
            if worst_in_the_cold(built.assembly):
                more.append("Ferrite is weakest in the cold: type the hardest frost it will see as well.")
            el("p", " ".join(word for word in more if word), cls="quiet small")
            show("design_said.html", verdicts=warm_verdicts(warm))
            table = motor_rows.magnet_rows(warm)
            if table.rows:
                show("design_tables.html", tables=[("Where the magnets work then", table)], faults=())
