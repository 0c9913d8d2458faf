"""Long work on a page: it shows what is being done, can be stopped, and stops when the window is closed."""

from __future__ import annotations

import threading
import time

from nicegui import ui
from nicegui.testing import User

from halfroll.app import frame
from halfroll.app.dom import el
from halfroll.app.job import work
from halfroll.core.errors import InputError
from halfroll.core.progress import Progress
from halfroll.workshop import Workshop
from tests.app.conftest import until, visiting


class Slow:
    """Work that goes on until it is let go or stopped."""

    def __init__(self) -> None:
        self.go = threading.Event()
        self.ended = threading.Event()

    def __call__(self, progress: Progress) -> str:
        try:
            while not self.go.wait(0.02):
                progress(0.4, "turning the handle")
            return "The handle was turned."
        finally:
            self.ended.set()


def page_with(slow: object) -> None:
    """A page that does some work and shows its result."""

    @frame.page("/slow", workshop_name=lambda: "Saltmarsh Workshop")
    async def slow_page() -> None:
        el("p", await work("Turning the handle", slow))  # type: ignore[arg-type]


async def test_bar_then_result(empty: Workshop) -> None:
    """What is being done is said while it lasts; then the page goes on."""
    slow = Slow()
    async with visiting(empty) as user:
        page_with(slow)
        await user.open("/slow")
        await user.should_see("turning the handle")
        await user.should_see("Stop")
        slow.go.set()
        await user.should_see("The handle was turned.", retries=20)
        await user.should_not_see("Stop")


async def test_stopped(empty: Workshop) -> None:
    """Stop ends the work at its next step and says that nothing was changed."""
    slow = Slow()
    async with visiting(empty) as user:
        page_with(slow)
        await user.open("/slow")
        user.find("Stop").click()
        await user.should_see("was stopped. Nothing was changed.", retries=20)
        assert slow.ended.is_set()


async def test_closed_window_stops_its_work(empty: Workshop) -> None:
    """Nobody waits for the result any more, so the work ends."""
    slow = Slow()
    async with visiting(empty) as user:
        page_with(slow)
        client = await user.open("/slow")
        client.delete()
        await until(slow.ended.is_set)


async def test_server_that_stops_ends_all_work(empty: Workshop) -> None:
    """No work keeps a stopped server alive."""
    slow = Slow()
    async with visiting(empty) as user:
        page_with(slow)
        await user.open("/slow")
        await user.should_see("Stop")
    await until(slow.ended.is_set)


async def test_fault_of_the_work_is_said(empty: Workshop) -> None:
    """An input error raised in the thread becomes the page's words."""

    def fails(progress: Progress) -> str:
        time.sleep(0.5)
        raise InputError("The handle must be there", found="no handle")

    async with visiting(empty) as user:
        page_with(fails)
        await user.open("/slow")
        await user.should_see("The handle must be there; found no handle.", retries=20)


async def test_fault_of_ours_shows_no_traceback(empty: Workshop) -> None:
    """A fault of the program says so in plain words, with status 500."""

    def build(user: User) -> None:
        @frame.page("/broken", workshop_name=lambda: "Saltmarsh Workshop")
        def broken_page() -> None:
            ui.label("half")
            raise ZeroDivisionError("secret detail")

    async with visiting(empty) as user:
        build(user)
        response = await user.http_client.get("/broken")
        assert response.status_code == 500
        assert "A fault of ours" in response.text
        assert "secret detail" not in response.text
        assert "Traceback" not in response.text
