"""What is shown of computed moving parts: figures, what is to be said, curves, pictures, tables. Earlier results stay, pale."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import Any

from halfroll.app.chart import Chart
from halfroll.app.dom import Plain, el
from halfroll.app.pages.draft_results import DraftResults, pale
from halfroll.app.pages.suspension_bent import BentPictures
from halfroll.app.pages.suspension_break_up import show_break_up
from halfroll.app.suspension_tables import Suspended
from halfroll.app.suspension_words import bears_of, said_of
from halfroll.app.typed import without_place
from halfroll.app.view import show
from halfroll.core.text import THIN
from halfroll.core.verdicts import Severity, Verdict
from halfroll.driver.suspension_distortion import SuspensionDistortion
from halfroll.publish.motor_figures import Figure, changes
from halfroll.publish.suspension import force_chart, stiffness_chart, strain_chart
from halfroll.publish.suspension_distortion import distortion_chart
from halfroll.publish.suspension_figures import answers, suspension_figures
from halfroll.publish.suspension_rows import (
    comparison_rows,
    mass_rows,
    material_rows,
    part_rows,
)
from halfroll.publish.suspension_said import distortion_rows
from halfroll.publish.theme import Theme, theme
from halfroll.suspension.results import PartResult, SuspensionResult
from halfroll.workshop.suspension_report import SuspensionReport

LEADING = 3
"""So many sentences of the answer stand over the drawing: resonance and stiffness, symmetry, travel."""


class SuspensionResults(DraftResults):
    """The parts of the page under the drawing and below it."""

    def __init__(self, title: str, again: Callable[[], Any], lead: Plain) -> None:
        self.lead = lead
        """The first sentences of the answer, over the drawing."""
        self.before: SuspensionReport | None = None
        self.shown: SuspensionReport | None = None
        self._broken: Suspended | None = None
        super().__init__(again)
        self.answers = _section("More in words", "in-words")
        self.curves = el("div", cls="charts")
        self.bent_section = _section("Bent over the travel", "bent").classes("late")
        with self.bent_section:
            self.pictures = BentPictures(title)

    def below(self) -> None:
        """Make the parts that need the page's whole width, where the page is now."""
        self.more = _section("Force and strain", "force-and-strain")
        with self.more:
            self.more_curves = el("div", cls="charts halves")
        self.masses = _section("What moves and what holds it", "masses")
        self.breaking = _section("Break-up", "break-up")
        self.bass = _section("Bass distortion of the suspension", "bass-distortion")
        for one in self._sections:
            one.set_visibility(False)

    def last(self) -> None:
        """Make the last part of the page, where the page is now."""
        self.limits = _section("How sure this is", "how-sure")
        self.limits.set_visibility(False)

    @property
    def _sections(self) -> tuple[Plain, ...]:
        return self.answers, self.bent_section, self.more, self.masses, self.breaking, self.bass

    @property
    def boxes(self) -> tuple[Plain, ...]:
        """See `DraftResults.boxes`."""
        return (self.lead, self.numbers, self.said, self.curves, *self._sections, self.limits)

    def part(self, built: Suspended, part: PartResult) -> None:
        """Show one part bent, before what all do together is known."""
        self.bent_section.set_visibility(True)
        pale(self.bent_section, False)
        self.pictures.part(built, part)

    def together(self, built: Suspended, report: SuspensionReport) -> None:
        """Show what the parts do together with the moving mass."""
        self.shown = report
        solved = report.solved
        self._figures(report)
        self._say(report)
        self._curves(report, built)
        self._words(report, built)
        _refill(self.masses, lambda: _masses(report))
        _refill(self.limits, lambda: _sure(report, built))
        parts = () if solved.suspension is None else solved.suspension.parts
        self.bent_section.set_visibility(bool(parts))
        self.pictures.all(built, parts)

    def broken_up(self, built: Suspended, report: SuspensionReport) -> None:
        """Show where the diaphragm stops moving as one piece."""
        self.together(built, report)
        if report.solved.break_up is not None and self._broken is not built:
            self._broken = built
            found = report.solved.break_up
            _refill(self.breaking, lambda: show_break_up(found))

    def found(self, built: Suspended, report: SuspensionReport) -> None:
        """Show everything; nothing is of earlier dimensions any more."""
        self.broken_up(built, report)
        self.breaking.set_visibility(report.solved.break_up is not None)
        self.bass.set_visibility(report.distortion is not None)
        if report.distortion is not None:
            _refill(self.bass, lambda: _bass(report))
        self.earlier(False)

    def compare_with(self, report: SuspensionReport, built: Suspended) -> None:
        """Show from now on what became of this one."""
        self.before = report
        if self.shown is not None:
            self._figures(self.shown)
            self._curves(self.shown, built)

    def _figures(self, report: SuspensionReport) -> None:
        pale(self.numbers, False)
        now, was = _figures_of(report), () if self.before is None else _figures_of(self.before)
        if self.before is not None and _same_plastics(
            report, self.before
        ):  # what is not sure of both is the same in both
            now, was = (tuple(replace(one, u=0.0) for one in figures) for figures in (now, was))
        self.numbers.clear()
        with self.numbers:
            show("design_figures.html", changes=changes(now, was),
                 note="After ±: half the 95 % interval, of the materials and the print.")  # fmt: skip

    def _say(self, report: SuspensionReport) -> None:
        pale(self.said, False)
        self.said.clear()
        with self.said:
            show("design_said.html", verdicts=[v for v in said_of(report) if v.severity >= Severity.CAUTION])
            for fault in report.faults:
                el("p", f"Not computed: {without_place(fault)}", cls="quiet")

    def _words(self, report: SuspensionReport, built: Suspended) -> None:
        solved = report.solved
        sentences = answers(
            solved.suspension, solved.mass, solved.break_up, bears_of(built.design), report.distortion
        )
        self.lead.text = " ".join(sentences[:LEADING])
        pale(self.lead, False)
        lesser: list[Verdict] = [v for v in said_of(report) if v.severity < Severity.CAUTION]

        def fill() -> None:
            show("suspension_answers.html", sentences=sentences[LEADING:])
            if lesser:
                with el("details", cls="fold"):
                    el("summary", f"Also to know ({len(lesser)})")
                    show("design_said.html", verdicts=lesser)

        _refill(self.answers, fill)
        self.answers.set_visibility(bool(sentences[LEADING:] or lesser))

    def _curves(self, report: SuspensionReport, built: Suspended) -> None:
        result = report.solved.suspension
        for box in (self.curves, self.more):
            box.set_visibility(result is not None)
        if result is None:
            return
        old = self._old(report)
        measured = next(
            ((one.measured, one.measured_u) for one in report.comparisons if one.unit == "N/m"), None
        )
        bears = bears_of(built.design)
        self.renew(self.curves, {
            "stiffness": lambda look, width: stiffness_chart(result, theme=look, width_px=width, before=old, measured=measured),
        })  # fmt: skip
        self.renew(self.more_curves, {
            "force": lambda look, width: force_chart(result, theme=look, width_px=width, before=old),
            "strain": lambda look, width: strain_chart(result.parts, theme=look, width_px=width, bears=bears),
        })  # fmt: skip
        pale(self.curves, False)
        pale(self.more, False)

    def _old(self, report: SuspensionReport) -> SuspensionResult | None:
        if self.before is None or self.before.solved.design == report.solved.design:
            return None
        return self.before.solved.suspension


def _figures_of(report: SuspensionReport) -> tuple[Figure, ...]:
    solved = report.solved
    return suspension_figures(solved.suspension, solved.mass, solved.break_up)


def _same_plastics(one: SuspensionReport, other: SuspensionReport) -> bool:
    return [(use.part, use.printed) for use in one.materials] == [
        (use.part, use.printed) for use in other.materials
    ]


def _section(title: str, id_: str) -> Plain:
    with el("section", cls="block", aria_labelledby=id_) as made:
        el("h2", title, id=id_)
    return made


def _refill(section: Plain, fill: Callable[[], None]) -> None:
    """Put other content under a section's heading, no longer pale."""
    for child in list(section)[1:]:
        child.delete()
    with section:
        fill()
    section.set_visibility(True)
    pale(section, False)


def _masses(report: SuspensionReport) -> None:
    solved = report.solved
    tables = [] if solved.mass is None else [("Moving mass", mass_rows(solved.mass))]
    tables += (
        [] if solved.suspension is None else [("Surround and spider", part_rows(solved.suspension.parts))]
    )
    tables += [("Computed and measured", comparison_rows(report.comparisons))] if report.comparisons else []
    show("design_tables.html", tables=tables, faults=())


def _bass(report: SuspensionReport) -> None:
    found = report.distortion
    assert found is not None
    el(
        "p",
        "What K(x) alone adds to steady bass tones, with everything else of the driver constant.",
        cls="quiet prose",
    )
    for number, rows in enumerate(distortion_rows(report)):
        with el("div", cls="two"):
            if distortion_chart(found, theme=theme("light"), width_px=640, number=number) is not None:
                with el("figure"):
                    Chart(partial(_tones, found, number))
            with el("div", cls="block"):
                for note in rows.notes:
                    el("p", note, cls="quiet prose")
                with el("details", cls="fold"):
                    el("summary", f"The tones at {found.alone[number].voltage_v:.3g}{THIN}V one by one")
                    show("suspension_table.html", table=replace(rows, notes=()))


def _tones(found: SuspensionDistortion, number: int, look: Theme, width: int) -> dict[str, Any]:
    return distortion_chart(found, theme=look, width_px=width, number=number) or {}


def _sure(report: SuspensionReport, built: Suspended) -> None:
    """What the numbers rest on, and where they end."""
    with el("div", cls="two"):
        show(
            "design_tables.html",
            tables=[("What it is printed of", material_rows(report.materials))],
            faults=(),
        )
        with el("section", cls="block"):
            el("h3", "What is taken for granted")
            with el("ul", cls="prose small quiet assumed"):
                for sentence in ASSUMED:
                    el("li", sentence)


ASSUMED = (
    "The plastic is taken as elastic and alike in all directions; what its lines do is in the modulus and its uncertainty. It is at the "
    "temperature above, and newly printed.",
    "Clamps hold fast: glue neither gives nor slips. Strain is told from a thickness away from them.",
    "Slow bending: near a part's own resonances, and at frequencies where the plastic stiffens, it is not so.",
    "Walls that touch each other are warned of, not computed. Creep follows the logarithm of time and is known to a factor of two.",
    "Resonance and rocking are in free air or a large baffle, without a box, and without the air between spider and plate.",
)
"""Where what is computed ends."""
