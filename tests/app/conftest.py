"""Pages driven in the test's own process, each over a workshop of its own."""

from __future__ import annotations

import asyncio
import os
import shutil
import time
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from pathlib import Path

import httpx
import pytest
from nicegui import Client, core, ui
from nicegui.functions.download import download
from nicegui.functions.navigate import Navigate
from nicegui.functions.notify import notify
from nicegui.testing import User
from nicegui.testing.general import nicegui_reset_globals

from halfroll.app.server import build
from halfroll.workshop import Workshop
from tests.app.samples import analysed_workshop, empty_workshop


@pytest.fixture(scope="session")
def analysed(shared: Path) -> Path:
    """The small workshop with every take analysed; copy it, do not write to it."""
    return analysed_workshop(shared)


@pytest.fixture
def small(analysed: Path, tmp_path: Path) -> Workshop:
    """A copy of the small workshop."""
    return Workshop.open(Path(shutil.copytree(analysed, tmp_path / "shop")))


@pytest.fixture
def empty(tmp_path: Path) -> Workshop:
    """A workshop in which nothing is yet."""
    return empty_workshop(tmp_path / "empty")


@asynccontextmanager
async def visiting(workshop: Workshop) -> AsyncIterator[User]:
    """A person at the pages of a workshop."""
    with nicegui_reset_globals():
        os.environ["NICEGUI_USER_SIMULATION"] = "true"
        try:
            build(workshop)
            transport = httpx.ASGITransport(core.app)
            async with (
                core.app.router.lifespan_context(core.app),
                httpx.AsyncClient(transport=transport, base_url="http://127.0.0.1") as client,
            ):
                yield User(client)
        finally:
            os.environ.pop("NICEGUI_USER_SIMULATION", None)
            Client.page_routes.clear()  # else the modules of the pages would be imported anew
            ui.navigate, ui.notify, ui.download = Navigate(), notify, download


async def until(true: Callable[[], object], seconds: float = 60.0) -> None:
    """Wait for something the page does in its own time."""
    deadline = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < deadline, "it did not happen in time"
        await asyncio.sleep(0.05)


PATIENT = 600
"""Looks, a tenth of a second apart, for what takes its time on a busy machine."""


@pytest.fixture
async def visitor(small: Workshop) -> AsyncIterator[User]:
    """A person at the pages of the small workshop."""
    async with visiting(small) as user:
        yield user


@pytest.fixture
async def newcomer(empty: Workshop) -> AsyncIterator[User]:
    """A person at the pages of an empty workshop."""
    async with visiting(empty) as user:
        yield user
