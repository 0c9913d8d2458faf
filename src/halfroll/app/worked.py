"""A section of a page that is worked out while one waits: its heading, a bar, then what was found, or why it was not."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from halfroll.app.dom import el
from halfroll.app.job import work
from halfroll.core.errors import CancelledError, InputError
from halfroll.core.progress import Progress

T = TypeVar("T")


async def worked_section(
    title: str, anchor: str, *, doing: str, task: Callable[[Progress], T], fill: Callable[[T], None]
) -> None:
    """The section, where the page is now: `task` runs in a thread, `fill` shows what it found.

    `anchor` is the word in the address that leads to it; `doing` says what is being done.
    """
    with el("section", cls="block", aria_label=title) as box:
        el("h2", title, id=anchor)
        try:
            found = await work(doing, task)
        except InputError as fault:
            el("p", str(fault), cls="alert")
            return
        except CancelledError:
            el("p", "Stopped. Load the page again to go on.", cls="quiet")
            return
        with box:
            fill(found)
