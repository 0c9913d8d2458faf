"""Keeping a changed design: as drafts of the pages of motor and moving parts, as a new version, or not at all."""

from __future__ import annotations

from typing import Any, Protocol

from nicegui import ui

from halfroll.app import address
from halfroll.app.dom import el
from halfroll.app.field import Field, button
from halfroll.app.typed import Errors, new_name
from halfroll.study.dimensions import dimension
from halfroll.workshop import Workshop
from halfroll.workshop.files import write_whole
from halfroll.workshop.records import ChangeTable, VersionRecord
from halfroll.workshop.suspensions import profile_files

MOTOR = ("motor", "coil")
"""Tables of the page of the motor; the rest is that of the moving parts."""


class Kept(Protocol):
    """The page as far as keeping needs it."""

    workshop: Workshop
    version_id: str
    values: dict[str, float]

    def reset(self) -> None:
        """Everything as saved again."""

    def record(self) -> Any:
        """The version's record with the dimensions as they stand."""


class WhatIfKeep:
    """The buttons under the drawing."""

    def __init__(self, page: Kept) -> None:
        self.page = page
        with el("section", cls="design-keep no-print", aria_label="Keeping the change"):
            with el("div", cls="actions"):
                self.again = button("As saved again", page.reset).mark("reset")
                self.draft = button("Keep as a draft", self._drafts).mark("keep-draft")
            self.said = el("p", "", cls="small", role="status").mark("kept")
            with el("details"):
                el("summary", "Make a new version of it")
                with el("div", cls="fields"):
                    self.name = Field("new-version", "Its name", hint="its parent will be this version")
                with el("div", cls="actions"):
                    self.make = button("Make the new version", self._version).mark("save-as")
        self.refresh()

    def refresh(self) -> None:
        """Say whether there is something to keep."""
        for one in (self.again, self.draft, self.make):
            one.put(disabled=None if self.page.values else "")
        self.said.clear()

    def _drafts(self) -> None:
        """Put the changes into the drafts of both pages, on top of what stands there."""
        from halfroll.app.design_draft import DesignDraft
        from halfroll.app.suspension_draft import SuspensionDraft

        page = self.page
        pages: list[tuple[str, str]] = []
        for kind, href, mine in (
            (DesignDraft, address.of_design(page.version_id), True),
            (SuspensionDraft, address.of_suspension(page.version_id), False),
        ):
            values = {key: v for key, v in page.values.items() if (key.split(".")[0] in MOTOR) is mine}
            if not values:
                continue
            draft: Any = kind(page.workshop, page.version_id)
            for key, value in values.items():
                draft.put(key, f"{value:g}")
            pages.append((href, "the motor's design" if mine else "the suspension"))
        self.said.clear()
        with self.said:
            el("span", "Kept as a draft; go on with it, or save it, on the page of ")
            for i, (href, words) in enumerate(pages):
                el("span", " and of " if i else "")
                el("a", words, href=href)
            el("span", ".")

    def _version(self) -> None:
        """Make a new version with the changes, each noted in its record."""
        page = self.page
        driver = page.version_id.split("/")[0]
        taken = [one.rpartition("/")[2] for one in page.workshop.version_ids(driver)]
        errors: Errors = {}
        name = new_name(self.name.value, "version", "new-version", taken, errors)
        self.name.error(errors.get("new-version", ""))
        if errors:
            return
        loaded = page.workshop.version(page.version_id)
        fresh = {"parent": page.version_id, "title": "", "summary": "", "date": None, "published": None, "notes": "",
                 "changes": changes_of(loaded.record, page.values)}  # fmt: skip
        files = profile_files(loaded)
        made = page.workshop.create_version(driver, name, page.record().changed(**fresh))
        for file, content in files.items():
            write_whole(made.path.with_name(file), content, durable=page.workshop.durable)
        ui.navigate.to(address.of_version(f"{driver}/{name}"))


def changes_of(record: VersionRecord, values: dict[str, float]) -> tuple[ChangeTable, ...]:
    """What was changed, as a record notes it."""
    found = []
    for key, value in values.items():
        one = dimension(record, key)
        found.append(
            ChangeTable(
                what=one.label,
                before=f"{one.value:g} {one.unit}".rstrip(),
                after=f"{value:g} {one.unit}".rstrip(),
            )
        )
    return tuple(found)
