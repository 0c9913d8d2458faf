"""``/what-if/<driver>/<version>``: what does a little more or less of each dimension do? Estimated while it is dragged, solved when let go."""

from __future__ import annotations

import json
from functools import partial
from typing import Any
from urllib.parse import urlencode

from fastapi import Request
from nicegui import run, ui

from halfroll.app import address, frame
from halfroll.app.dom import el
from halfroll.app.drawing import Drawing
from halfroll.app.job import Job, work
from halfroll.app.pages.draft_page import NOTHING
from halfroll.app.pages.what_if_keep import WhatIfKeep
from halfroll.app.pages.what_if_shown import Shown
from halfroll.app.pages.what_if_sliders import Sliders
from halfroll.app.solver import solver
from halfroll.app.suspension_section import around, section, words
from halfroll.app.view import show
from halfroll.app.what_if_task import sides_for, solved_for, start_for
from halfroll.core.errors import CancelledError, HalfrollError, InputError
from halfroll.core.progress import Progress
from halfroll.publish.theme import Theme
from halfroll.study.dimensions import Dimension, dimensions_of, with_values
from halfroll.study.grams import with_grams
from halfroll.study.sensitivity import Side, Start, surrogate_of
from halfroll.study.surrogate import Estimate, Surrogate
from halfroll.workshop import Workshop
from halfroll.workshop.parts import lookups
from halfroll.workshop.suspension_design import moving_of

SOLVE_AFTER_S = 0.7
"""A changed design is solved when nothing was moved for so long; at once when a slider is let go or Enter is pressed."""


def register(workshop: Workshop) -> None:
    """Add the page."""

    @frame.page("/what-if/{driver}/{version}", workshop_name=lambda: workshop.name)
    async def what_if_page(driver: str, version: str, request: Request) -> None:
        version_id = f"{driver}/{version}"
        frame.need(workshop, version_id, "version")
        record = workshop.version(version_id).record
        name = workshop.driver(driver).record.title
        title = f"{name} {version}"
        frame.title(f"What if {title}")
        known = dimensions_of(record)
        whole = record.motor is not None and record.coil is not None and record.cone is not None
        show(
            "what_if_head.html",
            steps=[("Drivers", "/"), (name, f"/#{driver}"), (version, address.of_version(version_id))],
            name=f"What if {title} were different?",
            whole=whole and bool(known),
            design=address.of_design(version_id),
            suspension=address.of_suspension(version_id),
            pages=address.pages_of(version_id, "what-if", whole=whole and bool(known)),
        )
        if whole and known:
            await WhatIf(workshop, version_id, title, known).open(dict(request.query_params))


class WhatIf:
    """The page: its sliders, its drawing, what is estimated and what is solved."""

    def __init__(self, workshop: Workshop, version_id: str, title: str, known: tuple[Dimension, ...]) -> None:
        self.workshop, self.version_id, self.title, self.known = workshop, version_id, title, known
        self.values: dict[str, float] = {}
        self.start: Start | None = None
        self.sides: dict[str, tuple[Side, Side]] = {}
        self._surrogate: Surrogate | None = None
        self._proper: tuple[dict[str, float], dict[str, float]] | None = None
        self._job: Job | None = None
        self._learning: Job | None = None
        self._soon: ui.timer | None = None
        self._busy = self._again = False
        self._catalogue = lookups(workshop)
        with el("div", cls="design"):
            with el("section", cls="design-drawing", aria_label="What becomes of it"):
                self.shown = Shown()
                self.panel = el("div").mark("solving")
                self.drawing = Drawing(self._svg, f"{title}: half-section").mark("drawing")
                self.fault = el("p", cls="alert", role="alert").mark("what-if-fault")
                self.fault.set_visibility(False)
                self.keep = WhatIfKeep(self)
            with el("section", cls="design-side no-print", aria_label="Dimensions"):
                self.sliders = Sliders(known, self.moved, self.released, self.wanted)

    async def open(self, query: dict[str, str]) -> None:
        """Take the state from the address, solve the design itself, then learn one dimension after another."""
        self._take(query)
        try:
            with self.panel:
                self.start = await work("Solving the design as saved", self._started)
        except (CancelledError, HalfrollError) as fault:
            self._say(
                "Stopped. Load the page again to go on." if isinstance(fault, CancelledError) else str(fault)
            )
            return
        self._draw()
        self.shown.base(self.start)
        await run.io_bound(
            self.start.reader.figures, self.start.model, self.start.modes
        )  # compiled code is loaded now, not while dragging
        with self.panel:
            ui.timer(0.05, self._solve if self.values else self._learn, once=True)

    def _take(self, query: dict[str, str]) -> None:
        """Values of the address that can be; others are left out."""
        for one in self.known:
            try:
                value = one.clipped(float(query[one.key]))
            except (KeyError, ValueError):
                continue
            if value != one.value:
                self.values[one.key] = value
                self.sliders.set(one.key, value)
        self.keep.refresh()

    # Moved and let go.

    def moved(self, key: str, value: float) -> None:
        """A slider moved: the drawing and the estimate follow, solving waits."""
        one = next(d for d in self.known if d.key == key)
        value = one.clipped(value)
        if value == one.value:
            self.values.pop(key, None)
        else:
            self.values[key] = value
        self._proper = None
        self._stop()
        self._draw()
        self.wanted(key)
        with self.panel:
            ui.timer(0.001, self._estimate, once=True)
            if not self.sliders.held:
                self._soon = ui.timer(SOLVE_AFTER_S, self._solve, once=True)

    def released(self) -> None:
        """A slider was let go, or Enter pressed: solve now."""
        self._stop()
        with self.panel:
            self._soon = ui.timer(0.02, self._solve, once=True)

    def reset(self) -> None:
        """Everything as saved again."""
        self.values.clear()
        for one in self.known:
            self.sliders.set(one.key, one.value)
        self._proper = None
        self._stop()
        self._draw()
        self._show()

    def _stop(self) -> None:
        if self._soon is not None:
            self._soon.cancel()
        if self._job is not None:
            self._job.stop()
        self._soon = self._job = None

    def record(self) -> Any:
        """The version's record with the dimensions as they stand, and stated grams carried over to them."""
        saved = self.workshop.version(self.version_id).record
        return with_grams(self.workshop, self.version_id, saved, with_values(saved, self.values))

    # The drawing and the address follow at once.

    def _draw(self) -> None:
        self._say("")
        self.drawing.renew(f"{self.title}: half-section", [])
        query = urlencode({key: f"{value:g}" for key, value in self.values.items()}, safe="[].")
        here = address.of_what_if(self.version_id) + (f"?{query}" if query else "")
        ui.run_javascript(f"history.replaceState(history.state, '', {json.dumps(here)})")
        self.keep.refresh()

    def _svg(self, look: Theme, width_px: int) -> str:
        try:
            record = self.record()
            folder = self.workshop.version(self.version_id).path.parent
            design = moving_of(record, self._catalogue, folder)
            self.drawing.words = words(design, self.title)
            return section(
                design, around(record, self._catalogue), theme=look, width_px=width_px, name=self.title
            )
        except InputError as fault:
            self._say(fault.message)
            return NOTHING

    def _say(self, text: str) -> None:
        self.fault.text = text
        self.fault.set_visibility(bool(text))

    # Estimating.

    async def _estimate(self) -> None:
        """Estimate the present state in a thread; what was moved meanwhile is estimated next."""
        if self._busy:
            self._again = True
            return
        self._busy = True
        try:
            while True:
                self._again = False
                await self._estimate_once()
                if not self._again:
                    return
        finally:
            self._busy = False

    async def _estimate_once(self) -> None:
        surrogate, values = self._surrogate, dict(self.values)
        missing = [key for key in values if key not in self.sides]
        if surrogate is None or missing or not values:
            self.shown.no_estimate(waiting=bool(missing))
            return
        try:
            found: Estimate | None = await run.io_bound(surrogate.estimate, values)
        except InputError:
            self.shown.no_estimate(
                waiting=False, words="So far out no driver can be estimated; let go to have it solved."
            )
            return
        if self._proper is None and found is not None:  # None: the server stops
            self.shown.estimated(surrogate, found)

    # Solving.

    async def _solve(self) -> None:
        values = dict(self.values)
        if self.start is None:
            return
        if not values:
            self._show()
            return
        if self._learning is not None:
            self._learning.stop()  # it goes on afterwards
        self._job = job = Job("Solving the changed design")
        try:
            with self.panel:
                figures = await work(job.what, partial(self._solved, values, self.start), job=job)
        except CancelledError:
            if job is self._job:
                self.shown.stopped()
            return
        except HalfrollError as fault:
            if job is self._job:
                self._say(getattr(fault, "message", str(fault)))
            return
        finally:
            with self.panel:
                ui.timer(0.05, self._learn, once=True)
        if job is self._job and values == self.values:
            self._proper = (values, figures)
            self._show()

    def _show(self) -> None:
        """Show the solved state beside the saved one and beside what was estimated."""
        if self.start is None:
            return
        if self._proper is None or not self.values:
            self.shown.base(self.start)
            return
        known = all(key in self.sides for key in self.values)
        estimate = None
        if known and self._surrogate is not None:
            try:
                estimate = self._surrogate.estimate(self.values)
            except InputError:
                estimate = None
        self.shown.solved(self.start, self._proper[1], estimate)

    # Learning what each dimension does, the one that is looked at first.

    def wanted(self, key: str) -> None:
        """A slider is looked at: what it does is learnt next."""
        self.sliders.first = key

    async def _learn(self) -> None:
        if self.start is None or self._learning is not None:
            return
        start = self.start
        while self._job is None or self._proper is not None or not self.values:
            one = self.sliders.next_unknown(self.sides)
            if one is None:
                return
            self._learning = job = Job(f"Learning what the {one.label} does")
            self.sliders.learning(one)
            try:
                with self.sliders.panel:
                    sides = await work(job.what, partial(self._sides, start, one.key), job=job)
            except CancelledError:
                self.sliders.paused()
                return
            except HalfrollError as fault:
                none: Side = {
                    "model": None,
                    "figures": {},
                    "read": {},
                    "fault": getattr(fault, "message", str(fault)),
                }
                sides = (none, none)
            finally:
                self._learning = None
            self.sides[one.key] = sides
            self._surrogate = found = surrogate_of(start, self.known, dict(self.sides))
            self.sliders.learnt(one.key, found)
            if self._proper is not None:
                self._show()
            elif self.values:
                await self._estimate()

    # In a thread, which waits for the solver's process.

    def _started(self, progress: Progress) -> Start:
        found: Start = solver().run(start_for, self.workshop.folder, self.version_id, progress=progress)
        return found

    def _sides(self, start: Start, key: str, progress: Progress) -> tuple[Side, Side]:
        found: tuple[Side, Side] = solver().run(
            sides_for, self.workshop.folder, self.version_id, start, key, progress=progress
        )
        return found

    def _solved(self, values: dict[str, float], start: Start, progress: Progress) -> dict[str, float]:
        found: dict[str, float] = solver().run(
            solved_for, self.workshop.folder, self.version_id, start.reader, values, progress=progress
        )
        return found
