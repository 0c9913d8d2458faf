"""``/guide/<driver>/<version>``: how a version is put together; readings are judged as they are typed, and kept with a unit."""

from __future__ import annotations

import datetime as dt
from typing import Any

from fastapi import Response
from markupsafe import Markup
from nicegui import app

from halfroll.app import address, frame
from halfroll.app.dom import Plain, el
from halfroll.app.field import Field, button
from halfroll.app.handed import PDF, handed, refused
from halfroll.app.job import work
from halfroll.app.typed import number_or_text, without_place
from halfroll.app.view import show
from halfroll.builds.guide.guide import guide_of
from halfroll.builds.guide.judge import judge
from halfroll.builds.guide.types import Check, Guide, Step
from halfroll.core.errors import CancelledError, HalfrollError, InputError
from halfroll.core.text import SYMBOLS
from halfroll.publish.guide_drawings import step_picture
from halfroll.publish.guide_rows import band_rows
from halfroll.workshop import UnitRecord, Workshop
from halfroll.workshop.as_built import SCALE_U_G
from halfroll.workshop.builder_readings import READINGS
from halfroll.workshop.built_notes import noted
from halfroll.workshop.paths import slug
from halfroll.workshop.virtual_takes import foreseen

DRAWING_PX = 340.0

OUTCOMES = {"good": "✓ good", "outside": "✕ outside", "unsure": "△ unsure", "not judged": "– not judged"}

_NOTED = ("re_ohm", "moving_mass_g")
"""Readings a unit's record has a key for; weights have theirs in ``[weighed]``."""


def register(workshop: Workshop) -> None:
    """Add the page and its file."""

    @frame.page("/guide/{driver}/{version}", workshop_name=lambda: workshop.name)
    async def guide_page(driver: str, version: str) -> None:
        version_id = f"{driver}/{version}"
        frame.need(workshop, version_id, "version")
        frame.title(f"Assembly guide of {version_id}")
        try:
            found = await work(
                f"Writing the guide of {version_id}",
                lambda progress: guide_of(workshop, version_id, progress),
            )
        except CancelledError:
            el("p", "Stopped. Load the page again to go on.", cls="quiet")
            return
        except InputError as fault:
            _head(workshop, version_id, None, str(fault))
            return
        _head(workshop, version_id, found)
        GuidePage(workshop, found).draw()

    @app.get("/guide/{driver}/{version}/guide.pdf")
    def pdf(driver: str, version: str) -> Response:
        from halfroll.publish.guide import guide_pdf

        try:
            data = guide_pdf(guide_of(workshop, f"{driver}/{version}"), date=dt.date.today())
        except HalfrollError as fault:
            return refused(fault)
        return handed(data, PDF, f"{driver}-{version}-guide.pdf", inline=True)


def _head(workshop: Workshop, version_id: str, found: Guide | None, fault: str = "") -> None:
    driver, _, version = version_id.partition("/")
    title = workshop.driver(driver).record.title
    show(
        "guide_head.html",
        steps=[("Drivers", "/"), (title, f"/#{driver}"), (version, address.of_version(version_id))],
        name=f"{title} {version}", note=found.note if found else "", fault=fault,
        pages=address.pages_of(version_id, "guide", whole=foreseen(workshop.version(version_id).record)),
        pdf=f"/guide/{version_id}/guide.pdf" if found else "",
        check=address.of_new_check(version_id),
        list=[(step.key, step.title) for step in found.steps] if found else [],
    )  # fmt: skip


class GuidePage:
    """The steps with their checks, and the form that keeps what was read."""

    def __init__(self, workshop: Workshop, guide: Guide) -> None:
        self.workshop, self.guide = workshop, guide
        self.fields: list[tuple[Check, Field]] = []

    def draw(self) -> None:
        """Put it on the page."""
        for number, step in enumerate(self.guide.steps, 1):
            self._step(number, step)
        with el("section", cls="block", aria_labelledby="bands"):
            show(
                "guide_foot.html",
                bands=band_rows(self.guide.bands),
                verdicts=sorted(self.guide.verdicts, key=lambda v: -v.severity),
            )
        self._keep_form()

    def _step(self, number: int, step: Step) -> None:
        picture = step_picture(self.guide, step, theme=None, width_px=DRAWING_PX)
        with el("section", cls="block guide-section", aria_labelledby=step.key):
            with el("h2", id=step.key):
                self._tick(f"done-{step.key}", f"{number}. {step.title}")
            show("guide_step.html", step=step, picture=None if picture is None else Markup(picture.svg))
            if step.checks:
                with el("ul", cls="guide-checks", aria_label="Checks"):
                    for at, check in enumerate(step.checks):
                        with el("li"):
                            self._check(step, at, check)

    @staticmethod
    def _tick(key: str, words: str) -> Plain:
        """A box to tick, on the screen or on paper."""
        with el("label", cls="guide-tick") as label:
            el("input", type="checkbox", name=key)
            el("span", words)
        return label

    def _check(self, step: Step, at: int, check: Check) -> None:
        self._tick(f"{step.key}-{at}", check.label)
        el("p", check.how, cls="small")
        el("p", f"Good: {check.good}.")
        el("p", f"If not: {check.if_not}", cls="small quiet")
        if check.band is None:
            return
        unit = SYMBOLS.get(check.unit, check.unit)
        field = Field(f"{step.key}-{check.key}", f"Read{', ' + unit if unit else ''}", inputmode="decimal", size="8",
                      aria_label=f"Read{', ' + unit if unit else ''}: {check.label}, step {step.title}", on_change=lambda field: self._judge(check, field, said))  # fmt: skip
        said = el("p", cls="guide-said", aria_live="polite").mark(f"said-{step.key}-{check.key}")
        self.fields.append((check, field))

    @staticmethod
    def _judge(check: Check, field: Field, said: Plain) -> None:
        value = number_or_text(field.value)
        field.error("")
        if value is None or check.band is None:
            said.text = ""
            return
        if isinstance(value, str):
            field.error(f"{value!r} is not a number.")
            said.text = ""
            return
        result = judge(check.band, float(value), usual_u(check.key, float(value)))
        said.text = f"{OUTCOMES[result.outcome]}. {result.text}"

    def _keep_form(self) -> None:
        with el("section", cls="block no-print", aria_labelledby="keep"):
            el("h2", "Keep the readings with a unit", id="keep")
            el(
                "p",
                "Weights, resistance and moving mass go into the unit's record; a unit of a new name is made.",
                cls="quiet prose",
            )
            names = [one.rpartition("/")[2] for one in self.workshop.unit_ids(self.guide.version_id)]
            self.unit = Field(
                "guide-unit",
                "Unit",
                hint=f"there are: {', '.join(names)}" if names else "its name or number, such as 01",
            )
            with el("div", cls="actions"):
                button("Keep them", self._keep, main=True).mark("keep-readings")
            self.said = el("p", role="status").mark("kept")

    def _keep(self) -> None:
        self.unit.error("")
        readings = self._typed()
        name = slug(self.unit.value)
        if not name:
            self.unit.error("The unit needs a name.")
            return
        if not readings:
            self.said.text = "No weight, resistance or moving mass was typed above."
            return
        try:
            self._save(name, readings)
        except InputError as fault:
            self.unit.error(without_place(fault))
            return
        unit_id = f"{self.guide.version_id}/{name}"
        self.said.text = f"Kept with the unit {name}: {len(readings)} readings."
        with self.said:
            el("a", " See the unit.", href=address.of_unit(unit_id))

    def _typed(self) -> dict[str, float]:
        """What was typed that a record has a place for; the last of a reading taken twice counts."""
        found: dict[str, float] = {}
        for check, field in self.fields:
            value = number_or_text(field.value)
            if isinstance(value, int | float) and (check.key in _NOTED or check.key.endswith("_g")):
                found[check.key] = float(value)
        return found

    def _save(self, name: str, readings: dict[str, float]) -> None:
        version_id = self.guide.version_id
        plain: dict[str, Any] = {key: value for key, value in readings.items() if key in _NOTED}
        weighed = {key: value for key, value in readings.items() if key not in _NOTED}
        unit_id = f"{version_id}/{name}"
        if unit_id in self.workshop.unit_ids(version_id):
            loaded = self.workshop.unit(unit_id)
            self.workshop.save(loaded, noted(loaded.record, file=str(loaded.path), weighed=weighed, **plain))
        else:
            record = noted(UnitRecord(built_on=dt.date.today()), file="", weighed=weighed, **plain)
            self.workshop.create_unit(version_id, name, record)


def usual_u(key: str, value: float) -> float:
    """Standard uncertainty of a reading with its usual instrument; a scale's where it is a weight."""
    kind = READINGS.get(key)
    return SCALE_U_G if kind is None or key.endswith("_g") else kind.usual_u(value)
