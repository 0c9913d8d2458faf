"""One crossover: its circuit, curves, what its parts bear, fields for every value, and tuning; whatever is changed is seen at once."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from nicegui import ui

from halfroll.app import address, frame
from halfroll.app.chart import Chart, Make
from halfroll.app.dom import el
from halfroll.app.drawing import Drawing
from halfroll.app.field import button
from halfroll.app.job import work
from halfroll.app.pages.crossovers_fields import CrossoverFields
from halfroll.app.pages.crossovers_tune import TuneForm
from halfroll.app.view import show
from halfroll.core.errors import CancelledError, InputError
from halfroll.core.text import format_value
from halfroll.driver.crossover.responses import WayData
from halfroll.driver.crossover.results import DRIVE_V, Result
from halfroll.publish.crossover import CHARTS
from halfroll.publish.crossover_circuit import circuit_svg, circuit_words
from halfroll.publish.crossover_rows import element_rows, standing, way_rows
from halfroll.workshop import Loaded, Workshop
from halfroll.workshop.cabinets import cabinet_ids
from halfroll.workshop.crossover_record import CrossoverRecord
from halfroll.workshop.crossovers import crossover_of, load_ways, save_crossover, work_out
from halfroll.workshop.paths import version_of

SAVED = "Saved in"
WAIT_S = 0.3
"""So long after the last keystroke it is worked out anew."""
FIRST, SECOND, FOLDED = ("sum", "impedance"), ("horizontal", "vertical"), ("volts", "phase", "directivity")


class CrossoverPage:
    """The page of one crossover."""

    def __init__(self, workshop: Workshop, loaded: Loaded[CrossoverRecord]) -> None:
        self.workshop, self._loaded = workshop, loaded
        self.record = loaded.record
        self.data: Mapping[str, WayData] = {}
        self._fields = CrossoverFields(loaded.record, self._later, cabinet_ids(workshop))
        self._charts: dict[str, _Late] = {}
        self._round = 0
        self._whole = False

    async def show(self) -> None:
        """Put it on the page, worked out once."""
        record = self.record
        show(
            "crossover_head.html", title=record.title or self._loaded.id,
            ways=[(way.name, way.driver, address.of_version(version_of(way.driver))) for way in record.ways],
        )  # fmt: skip
        body = el("div", cls="block")
        with body:
            try:
                self.data, result = await work("Looking up the drivers", self._first)
            except InputError as fault:
                self._without_drivers(fault)
                return
            except CancelledError:
                el("p", "Stopped. Load the page again to go on.", cls="quiet")
                return
        with body:
            self._draw(result)

    def _first(self, progress: Any) -> tuple[dict[str, WayData], Result]:
        data = load_ways(self.workshop, self.record, progress)
        return data, work_out(self.workshop, self.record, data=data)

    def _without_drivers(self, fault: InputError) -> None:
        """The circuit at least, and what is missing."""
        el("p", str(fault), cls="alert", role="alert")
        with el("figure"):
            self._circuit()
        self._values()

    def _draw(self, result: Result) -> None:
        with el("section", cls="block", aria_label="Circuit"), el("div", cls="two"):
            with el("figure"):
                self._drawing = self._circuit()
            self._numbers = el("div", cls="block", aria_live="polite").mark("crossover-numbers")
        with el("section", cls="block", aria_label="Curves"):
            self._figures(FIRST, "charts main")
            self._figures(SECOND, "charts halves")
            with el("details", cls="fold"):
                el("summary", "Voltage at the drivers, phase between them, directivity")
                self._figures(
                    [name for name in FOLDED if name != "phase" or len(self.record.ways) > 1], "charts halves"
                )
        self._tables = el("section", cls="block", aria_label="What the parts bear")
        self._values()
        TuneForm(self).draw()
        self._whole = True
        self._tell(result)

    def _values(self) -> None:
        with el("section", cls="block no-print"):
            el("h2", "Values")
            self._fields.draw()
            with el("div", cls="actions"):
                button("Save", self._save, main=True).mark("save-crossover")
                button("Back to what is saved", lambda: ui.navigate.reload()).mark("reload-crossover")
            self._saved = el("p", cls="quiet small", aria_live="polite").mark("crossover-saved")
            where = self._loaded.path.relative_to(self.workshop.folder)
            el("p", f"Elements and ways are added in the record, {where}.", cls="quiet small")

    def _circuit(self) -> Drawing:
        crossover = crossover_of(self.record)
        drawn = Drawing(
            lambda look, width_px: circuit_svg(crossover_of(self.record), theme=look, width_px=width_px),
            circuit_words(crossover),
        )
        drawn.mark("circuit")
        return drawn

    def _figures(self, names: Any, cls: str) -> None:
        with el("div", cls=cls):
            for name in names:
                with el("figure") as place:
                    self._charts[name] = _Late(place, f"chart-{name}")

    def changed(self, record: CrossoverRecord) -> None:
        """Take values found elsewhere, such as by tuning, into the fields and work out anew."""
        self._fields.fill(record)
        self._later()

    def _later(self) -> None:
        """Work out anew once nothing more is typed for a moment."""
        self._round += 1
        mine = self._round

        async def when_quiet() -> None:
            if mine == self._round:
                await self._again(mine)

        ui.timer(WAIT_S, frame.telling(when_quiet), once=True)

    async def _again(self, mine: int) -> None:
        record = self._fields.record()
        if record is None or not self._whole:
            return
        right, up = self._fields.angles()
        try:
            if _drivers(record) != _drivers(self.record):
                self.data = await work(
                    "Looking up the drivers", lambda progress: load_ways(self.workshop, record, progress)
                )
            result = await work("Working it out", lambda progress: work_out(
                self.workshop, record, progress, horizontal_deg=right, vertical_deg=up, data=self.data))  # fmt: skip
        except InputError as fault:
            self._fields.say(fault)
            return
        except CancelledError:
            self._saved.text = (
                "Stopped: curves and numbers are of the values before. Change a value to go on."
            )
            return
        if mine == self._round:
            self.record = record
            if record != self._loaded.record:
                self._saved.text = "Not saved yet."
            elif not self._saved.text.startswith(SAVED):  # saved while this was worked out: that stays said
                self._saved.text = ""
            self._drawing.renew(circuit_words(result.crossover), [])
            self._tell(result)

    def _tell(self, result: Result) -> None:
        for name, chart in self._charts.items():
            chart.renew(_maker(name, result))
        self._numbers.clear()
        with self._numbers:
            show("crossover_numbers.html", standing=standing(result), numbers=_numbers(result),
                 verdicts=sorted(result.verdicts, key=lambda v: -v.severity))  # fmt: skip
        self._tables.clear()
        with self._tables:
            el("h2", "What parts and drivers bear")
            show("crossover_table.html", table=way_rows(result), caption="Drivers")
            if result.crossover.elements:
                show("crossover_table.html", table=element_rows(result), caption="Elements")

    def _save(self) -> None:
        record = self._fields.record()
        if record is None:
            return
        self._loaded = save_crossover(self.workshop, self._loaded, record)
        if not self._whole:  # the drivers may be found now
            ui.navigate.reload()
        self._saved.text = f"{SAVED} {self._loaded.path.relative_to(self.workshop.folder)}."


def _drivers(record: CrossoverRecord) -> list[tuple[str | None, ...]]:
    """What decides on what is known of each way's driver."""
    return [(way.driver, way.source, way.take, way.impedance, way.cabinet) for way in record.ways]


class _Late:
    """The place of a chart that is drawn with the first result."""

    def __init__(self, place: Any, mark: str) -> None:
        self._place, self._mark = place, mark
        self._chart: Chart | None = None

    def renew(self, make: Make) -> None:
        """Draw it, or draw it anew."""
        if self._chart is None:
            with self._place:
                self._chart = Chart(make)
                self._chart.mark(self._mark)
        else:
            self._chart.renew(make)


def _maker(name: str, result: Result) -> Make:
    return lambda look, width_px: CHARTS[name](result, theme=look, width_px=width_px)


def _numbers(result: Result) -> list[tuple[str, str, str]]:
    found = [(f"{a} to {b}", format_value(f, None, "Hz"), "") for a, b, f in result.crossings_hz]
    found.append(
        (
            "Least impedance",
            format_value(result.minimum_ohm, None, "ohm"),
            f"at {format_value(result.minimum_hz, None, 'Hz')}",
        )
    )
    found.append(
        (
            "Judged at",
            format_value(result.asked.drive_v, None, "V"),
            "" if result.asked.drive_v != DRIVE_V else "no power stated",
        )
    )
    return found
