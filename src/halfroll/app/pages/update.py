"""``/update/<driver>/<version>``: which assumption was wrong, how sure that is, and what other versions can learn from it."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import Any

from fastapi import Request
from nicegui import ui

from halfroll.app import address, frame
from halfroll.app.chart import Chart
from halfroll.app.dom import el
from halfroll.app.field import button
from halfroll.app.job import work
from halfroll.app.typed import without_place
from halfroll.app.view import show
from halfroll.core.errors import CancelledError, InputError
from halfroll.core.text import count, join_words
from halfroll.driver.update.types import Cause, Update
from halfroll.publish.theme import Theme, theme
from halfroll.publish.update_charts import update_charts
from halfroll.publish.update_points import points_chart
from halfroll.publish.update_rows import cause_rows, other_rows, residual_rows
from halfroll.workshop import Workshop
from halfroll.workshop.learnt import accept, accepted_before, can_accept, undo
from halfroll.workshop.learnt_others import other_versions
from halfroll.workshop.update import VersionUpdate, version_update
from halfroll.workshop.virtual_takes import foreseen


def register(workshop: Workshop) -> None:
    """Add the page."""

    @frame.page("/update/{driver}/{version}", workshop_name=lambda: workshop.name)
    async def update_page(driver: str, version: str, request: Request) -> None:
        version_id = f"{driver}/{version}"
        frame.need(workshop, version_id, "version")
        title = f"{workshop.driver(driver).record.title} {version}"
        frame.title(f"What {title} teaches")
        try:
            found = await work(
                "Holding the measurement against the prediction", lambda progress: version_update(workshop, version_id, progress)
            )  # fmt: skip
        except CancelledError:
            el("p", "Stopped. Load the page again to go on.", cls="quiet")
            return
        except InputError as fault:
            _head(workshop, version_id, title, None, without_place(fault))
            return
        _head(workshop, version_id, title, found)
        _pictures(found.update)
        _tables(found.update)
        _learn(workshop, found)
        await _others(workshop, found, asked="others" in request.query_params)


def _head(
    workshop: Workshop, version_id: str, title: str, found: VersionUpdate | None, fault: str = ""
) -> None:
    driver, version = version_id.split("/")
    verdicts = () if found is None else found.update.verdicts
    units = "" if found is None else f"{count(len(found.units), 'unit')} of it"
    show(
        "update_head.html",
        steps=[("Drivers", "/"), (workshop.driver(driver).record.title, f"/#{driver}"), (version, address.of_version(version_id))],
        name=f"What {title} teaches", fault=fault, verdicts=verdicts, missing=() if found is None else found.missing,
        lead=f"What was measured of {units}, held against what its design predicts: the few assumptions whose change explains the difference.",
        design=address.of_design(version_id), suspension=address.of_suspension(version_id), unit=address.of_new_unit(version_id),
        pages=address.pages_of(version_id, "update", whole=foreseen(workshop.version(version_id).record)),
    )  # fmt: skip


def _pictures(found: Update) -> None:
    """What moved, then the curves before and after."""

    @lru_cache(maxsize=4)
    def made(look: str, width_px: int) -> dict[str, Any]:
        return update_charts(found, theme=theme(look), width_px=width_px)

    def maker(key: str) -> Callable[[Theme, int], dict[str, Any]]:
        return lambda look, width_px: made(look.name, width_px)[key]

    with el("section", cls="block", aria_label="What moved"), el("div", cls="charts"), el("figure"):
        Chart(lambda look, width: points_chart(found, theme=look, width_px=width)).mark("chart-moved")
    with el("section", cls="block", aria_label="Predicted and measured"):
        el("h2", "Before and after")
        with el("div", cls="charts halves"):
            for key in made("light", 640):
                with el("figure"):
                    Chart(maker(key)).mark(f"chart-{key}")


def _sentence(words: str) -> str:
    """With a capital at its beginning; names of materials keep theirs."""
    return words[:1].upper() + words[1:]


def _tables(found: Update) -> None:
    labels = {one.assumption.key: one.assumption.label for one in found.causes}
    others = [
        f"{_sentence(join_words([labels[key] for key in one.keys])) or 'Nothing moved'} (Bayes factor {one.odds:.2g})."
        for one in found.others
    ]
    telling = dict.fromkeys(
        f"{_sentence(labels[pair.first])} from {labels[pair.second]}: {one.what}, {one.apart:.1f} standard deviations apart"
        for pair in found.alike
        for one in pair.telling[:1]
    )
    show(
        "update_tables.html",
        residuals=residual_rows(found),
        causes=cause_rows(found),
        others=others,
        telling=list(telling)[:6],
    )


def _learn(workshop: Workshop, found: VersionUpdate) -> None:
    """Buttons that save what a material was found to be, and those that put it back."""
    offered = [one for one in found.update.causes if can_accept(one)]
    before = accepted_before(workshop, found.version_id)
    if not offered and not before:
        return
    with el("section", cls="block no-print", aria_labelledby="learn"):
        el("h2", "Let other versions learn it", id="learn")
        el("p", "What belongs to a material goes into its record, and every version that names the material follows. It can be undone. "
           "What belongs to this version alone, such as a thickness, is changed in its design.", cls="prose")  # fmt: skip
        for one in offered:
            with el("div", cls="file"):
                el(
                    "p",
                    f"{one.assumption.label}: {one.value / one.assumption.value:.2f} times what was assumed",
                )
                button("Accept", _accepting(workshop, found, one)).mark(f"accept-{one.assumption.key}")
        for material, what, is_modulus in before:
            with el("div", cls="file"):
                el("p", f"Accepted before: {what} of {material}")
                if is_modulus:
                    el("a", "Leave it out again on its page", href=address.of_material(material))
                else:
                    button("Put back", _undoing(workshop, found, material), cls="plain").mark(
                        f"undo-{material}"
                    )


def _accepting(workshop: Workshop, found: VersionUpdate, one: Cause) -> Callable[[], None]:
    def go() -> None:
        accept(workshop, found, [one.assumption.key])
        ui.navigate.to(address.of_update(found.version_id))

    return go


def _undoing(workshop: Workshop, found: VersionUpdate, material: str) -> Callable[[], None]:
    def go() -> None:
        undo(workshop, material)
        ui.navigate.to(address.of_update(found.version_id))

    return go


async def _others(workshop: Workshop, found: VersionUpdate, *, asked: bool) -> None:
    shared = [one for one in found.update.causes if can_accept(one)]
    if not shared:
        return
    with el("section", cls="block" if asked else "block no-print", aria_labelledby="others"):
        el("h2", "How other versions would move", id="others")
        if not asked:
            el(
                "p",
                "Every version that uses what moved is predicted with it; this may take a few seconds each.",
                cls="prose",
            )
            el(
                "a",
                "Work it out",
                href=address.of_update(found.version_id, others=True) + "#others",
                cls="button",
            )
            return
        rows = await work(
            "Predicting other versions",
            lambda progress: other_versions(workshop, found.version_id, shared, progress),
        )
        links = [address.of_version(one.version_id) for one in rows]
        show("update_others.html", rows=other_rows(rows) if rows else None, links=links)
