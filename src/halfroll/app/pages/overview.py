"""``/``: where do my drivers stand? Each driver is a line of versions from left to right."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup
from nicegui import ui

from halfroll.app import address, frame
from halfroll.app.dom import el
from halfroll.app.field import button
from halfroll.app.job import work
from halfroll.app.standing import STATES, Standing, headline
from halfroll.app.view import show
from halfroll.core.conditions import radius_of_area
from halfroll.core.text import count
from halfroll.figures.rules import HEADLINES, RULE
from halfroll.figures.types import FigureSettings
from halfroll.publish.outline import half_section
from halfroll.publish.version_drawing import motor_drawings
from halfroll.workshop import DriverLine, Overview, VersionLine, Workshop, derive, overview

_SHEET_M = 0.05
"""Effective radius (m) the empty page's drawing is made for."""


@dataclass(frozen=True, kw_only=True)
class Station:
    """One version on its driver's line."""

    href: str
    name: str
    title: str
    branch: str
    drawing: Markup
    standing: Standing
    state: str
    evidence: str


def register(workshop: Workshop) -> None:
    """Add the page."""

    @frame.page("/", workshop_name=lambda: workshop.name)
    def overview_page() -> None:
        seen = overview(workshop, figures=HEADLINES)
        frame.title(seen.name)
        if not seen.drivers:
            show(
                "overview_empty.html",
                drawing=Markup(half_section(None, name="A driver")),
                faults=seen.faults.values(),
            )
            return
        _lines(workshop, seen)


def _lines(workshop: Workshop, seen: Overview) -> None:
    versions = [version for driver in seen.drivers for version in driver.versions]
    takes = sum(len(v.readings) + len(v.pending) for v in versions)
    units = sum(len(v.units) for v in versions)
    show(
        "overview_head.html",
        line=", ".join((count(len(seen.drivers), "driver"), count(len(versions), "version"), count(units, "unit"),
                        count(takes, "take"))),
        faults=seen.faults.values(),
    )  # fmt: skip
    pending = [take for version in versions for take in version.pending]
    if pending:
        _waiting(workshop, pending)
    largest = max((radius for v in versions if (radius := radius_of(v)) is not None), default=None)
    settings = workshop.settings
    motors = motor_drawings(
        workshop,
        {version.version_id: version.record for version in versions},
        {
            v.version_id: f"{d.record.title} {v.version_id.rpartition('/')[2]}"
            for d in seen.drivers
            for v in d.versions
        },
    )
    show(
        "overview_lines.html",
        lines=[
            (driver, _stations(driver, settings, largest, motors), _all_address(driver))
            for driver in seen.drivers
        ],
        headlines=[(key, RULE[key].label, RULE[key].text(settings)) for key in HEADLINES],
    )


def _waiting(workshop: Workshop, pending: list[str]) -> None:
    """Takes that were imported but not analysed: offer to do it now."""
    with el("section", cls="block no-print") as box:
        el("p", f"{count(len(pending), 'take')} {'waits' if len(pending) == 1 else 'wait'} to be analysed.")

        async def analyse() -> None:
            actions.set_visibility(False)
            with box:
                await work(
                    "Analysing takes", lambda progress: derive.readings(workshop, pending, progress=progress)
                )
            ui.navigate.reload()

        with el("div", cls="actions") as actions:
            button("Analyse now", analyse, main=True).mark("analyse")


def _stations(
    driver: DriverLine, settings: FigureSettings, largest_m: float | None, motors: dict[str, str]
) -> list[Station]:
    before = None
    stations = []
    for line in driver.versions:
        name = line.version_id.rpartition("/")[2]
        standing = headline(line, driver.record.title, settings)
        parent = line.parent if line.parent != before else None
        stations.append(
            Station(
                href=address.of_version(line.version_id),
                name=name,
                title=line.record.title,
                branch="" if parent is None else f"from {parent.removeprefix(f'{driver.driver_id}/')}",
                drawing=Markup(
                    motors.get(line.version_id)
                    or half_section(
                        radius_of(line), largest_m=largest_m, name=f"{driver.record.title} {name}"
                    )
                ),
                standing=standing,
                state=STATES[standing.state],
                evidence=standing.evidence,
            )
        )
        before = line.version_id
    return stations


def radius_of(line: VersionLine) -> float | None:
    """Effective radius (m) of a version; None when its area is not recorded."""
    area_cm2 = line.record.effective_area_cm2
    return None if area_cm2 is None else radius_of_area(area_cm2 * 1e-4)


def _all_address(driver: DriverLine) -> str:
    return address.of_comparison((line.version_id for line in driver.versions), base="parent")
