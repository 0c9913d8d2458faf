"""What is shown of a changed design: one line that says whether it is estimated or solved, the differences as points, and their table."""

from __future__ import annotations

from halfroll.app.dom import el
from halfroll.app.drawing import Drawing
from halfroll.app.view import show
from halfroll.publish.theme import Theme
from halfroll.publish.what_if import (
    Difference,
    difference_rows,
    differences,
    differences_spoken,
    differences_svg,
    largest_miss,
)
from halfroll.study.sensitivity import Start
from halfroll.study.surrogate import Estimate, Surrogate

AS_SAVED = "As saved. Move a slider: what changes is estimated at once, and solved when you let go."
ESTIMATED = "Estimated, not solved: exact at the saved design and one step either way, a parabola between."
BEYOND = "Estimated beyond the steps that were solved, so only roughly. Let go to have it solved."
WAITING = "No estimate yet: what this dimension does is being learnt. Let go to have the change solved."
NONE = "No estimate. Let go to have the change solved."
SOLVED = "Solved."


class Shown:
    """The part of the page."""

    def __init__(self) -> None:
        self._found: tuple[Difference, ...] = ()
        self.state = el("p", "", cls="lead prose", role="status").mark("what-if-state")
        el("h2", "Against the saved design")
        self.picture = Drawing(self._svg, "Nothing is changed yet.").mark("differences")
        el(
            "p",
            "Open: estimated; full: solved. The bar is the 95 % interval of the saved design itself, each row on a scale of its own.",
            cls="quiet small",
        )
        with el("details") as self.numbers:
            el("summary", "The numbers")
            self.table = el("div")
        self.numbers.set_visibility(False)

    def base(self, start: Start) -> None:
        """The design as it is saved."""
        self._set(AS_SAVED, differences(start.figures, start.u, start.figures, None))

    def estimated(self, surrogate: Surrogate, found: Estimate) -> None:
        """An estimate of the changed design."""
        solved = surrogate.solved
        saved = dict(zip(solved.figures, (float(v) for v in solved.values), strict=True))
        u = dict(zip(solved.figures, (float(v) for v in solved.u), strict=True))
        self._set(ESTIMATED if found.within else BEYOND, differences(saved, u, found.figures, None))

    def solved(self, start: Start, figures: dict[str, float], estimate: Estimate | None) -> None:
        """The changed design as solved, and what the estimate missed."""
        guess = figures if estimate is None else estimate.figures
        found = differences(start.figures, start.u, guess, figures)
        self._set(f"{SOLVED} {'' if estimate is None else largest_miss(found)}".strip(), found)

    def no_estimate(self, *, waiting: bool, words: str = "") -> None:
        """The design was changed and cannot be estimated."""
        self.state.text = words or (WAITING if waiting else NONE)
        self.picture.classes("earlier")  # it shows the design before this change

    def stopped(self) -> None:
        """Solving was stopped."""
        self.state.text = "Solving was stopped; what is shown is estimated."

    def _set(self, words: str, found: tuple[Difference, ...]) -> None:
        self.state.text, self._found = words, found
        self.picture.classes(remove="earlier")
        self.picture.renew(differences_spoken(found), [])
        self.table.clear()
        with self.table:
            show("design_tables.html", tables=[("In numbers", difference_rows(found))], faults=())
        self.numbers.set_visibility(bool(found))

    def _svg(self, look: Theme, width_px: int) -> str:
        return differences_svg(self._found, theme=look, width_px=width_px)
