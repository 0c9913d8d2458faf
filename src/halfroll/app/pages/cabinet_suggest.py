"""Suggestions on a cabinet's page: what is wished for, the search, a table to choose from."""

from __future__ import annotations

import math
from collections.abc import Awaitable, Callable
from typing import Any

from halfroll.app.dom import el
from halfroll.app.field import Field, button
from halfroll.app.job import work
from halfroll.app.typed import number_or_text
from halfroll.core.errors import InputError
from halfroll.core.text import THIN
from halfroll.driver.boxed_suggest import Suggestion, suggest
from halfroll.driver.boxed_wish import Wish
from halfroll.driver.lumped import DriverModel
from halfroll.publish.cabinet_rows import suggestion_rows

GOALS = (("deepest", "deepest"), ("flattest", "flattest"), ("loudest", "loudest"))
KINDS = (("both", "both"), ("closed", "closed"), ("vented", "vented"))


LIMITS = {
    "most": (0.02, 2000.0),
    "peak": (0.0, 20.0),
    "delay": (0.1, 1000.0),
    "speed": (1.0, 100.0),
    "volts": (0.01, 1000.0),
    "from": (10.0, 2000.0),
}
"""What a wish may say, in the units of its fields."""


class CabinetSuggest:
    """The section under the curves."""

    def __init__(
        self,
        driver: Callable[[], Awaitable[DriverModel | None]],
        taken: Callable[[], float],
        take: Callable[[Suggestion], Any],
        most_l: float,
    ) -> None:
        self._driver, self._taken, self._take = driver, taken, take
        self.found: tuple[Suggestion, ...] = ()
        with el("section", cls="block no-print", aria_labelledby="suggest"):
            el("h2", "Cabinets to begin with", id="suggest")
            el("p", "Alignments of Thiele and Small where they fit, and a search over volume, tuning and port. Nothing is changed before you take one.",
               cls="quiet prose")  # fmt: skip
            with el("div", cls="fields tight"):
                self.fields = {
                    "goal": Field(
                        "wish.goal",
                        "Wanted",
                        tag="select",
                        value="deepest",
                        choices=GOALS,
                        hint="by −3 dB, ripple or travel",
                    ),
                    "kinds": Field("wish.kinds", "Kind", tag="select", value="both", choices=KINDS),
                    "most": Field(
                        "wish.most",
                        "At most, l",
                        value=f"{most_l:.3g}",
                        hint="inside, all in it",
                        inputmode="decimal",
                    ),
                    "peak": Field("wish.peak", "Peak at most, dB", value="1", inputmode="decimal"),
                    "delay": Field("wish.delay", "Delay at most, ms", hint="empty: any", inputmode="decimal"),
                    "speed": Field(
                        "wish.speed",
                        "Air in port, m/s",
                        value="17",
                        hint="peak, at most",
                        inputmode="decimal",
                    ),
                    "volts": Field("wish.volts", "at V", value="2.83", hint="r.m.s.", inputmode="decimal"),
                    "from": Field("wish.from", "Loudest from, Hz", value="100", inputmode="decimal"),
                }
            with el("div", cls="actions"):
                button("Suggest cabinets", self._search, main=True).mark("suggest")
            self.panel = el("div", cls="panel")
            self.table = el("div", cls="block").mark("suggestions")

    def _wish(self) -> Wish:
        def number(key: str, empty: float | None = None) -> float:
            value = number_or_text(self.fields[key].value)
            if value is None and empty is not None:
                return empty
            if not isinstance(value, int | float):
                self.fields[key].error("A number is needed here.")
                raise InputError(
                    "A number is needed in every field of the wish", found=str(value or "nothing")
                )
            low, high = LIMITS[key]
            if not low <= value <= high:
                self.fields[key].error(f"From {low:g} to {high:g}; found {value:g}.")
                raise InputError("A field of the wish is out of its range", found=f"{value:g}")
            self.fields[key].error("")
            return float(value)

        kinds = self.fields["kinds"].value
        return Wish(
            goal=self.fields["goal"].value, kinds=("closed", "vented") if kinds == "both" else (kinds,), most_m3=1e-3 * number("most"),  # type: ignore[arg-type]
            taken_m3=self._taken(), peak_db=number("peak"), group_delay_s=1e-3 * number("delay", math.inf), port_speed_m_s=number("speed"),
            volts=number("volts"), from_hz=number("from"),
        )  # fmt: skip

    async def _search(self) -> None:
        wish = self._wish()
        driver = await self._driver()
        if driver is None:
            raise InputError(
                "A driver must stand in the cabinet before one can be suggested",
                remedy="Choose one under Driver",
            )
        with self.panel:
            self.found = await work(
                "Trying cabinets", lambda progress: suggest(driver, wish, progress=progress)
            )
        self._show()

    def _show(self) -> None:
        rows = suggestion_rows(self.found)
        self.table.clear()
        with self.table:
            if all(one.misses for one in self.found):
                el("p", "None keeps all your limits; the nearest stand first.", cls="alert")
            with el("table", cls="stack"):
                with el("thead"), el("tr"):
                    for head in (*rows.head, ""):
                        el("th", head, scope="col")
                with el("tbody"):
                    for one, row in zip(self.found, rows.rows, strict=True):
                        self._row(one, row, rows.head)
            el("p", f"Travel and air at {self.found[0].drive.volts:.3g}{THIN}V.", cls="quiet small")

    def _row(self, one: Suggestion, row: tuple[str, ...], heads: tuple[str, ...]) -> None:
        with el("tr"):
            el("th", row[0], scope="row")
            for head, cell in zip(heads[1:], row[1:], strict=True):
                el("td", cell, data_head=head)
            with el("td"):
                button("Take it", lambda: self._take(one)).put(aria_label=f"Take {row[0]}")
