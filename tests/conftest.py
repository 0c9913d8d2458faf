"""What every test may use: the browser, and an order in which async and browser tests do not meet."""

import gc
import os
import shutil
from pathlib import Path
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the command line does, see `halfroll.cli`

import pytest
from hypothesis import settings

# How long one example takes depends on what else the machine does; a slow one is not a fault.
settings.register_profile("halfroll", deadline=None)
settings.load_profile("halfroll")

# A page under test is ours and local: no sandbox (it cannot start as root), no graphics card, and none of the
# browser's own calls to the outside.
CHROMIUM_FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@pytest.fixture(scope="session")
def shared(tmp_path_factory: pytest.TempPathFactory, worker_id: str) -> Path:
    """A folder for what is made once for all workers of a run; who makes something in it holds a lock meanwhile."""
    base = tmp_path_factory.getbasetemp()
    folder = (base if worker_id == "master" else base.parent) / "shared"
    folder.mkdir(exist_ok=True)
    return folder


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict[str, Any]) -> dict[str, Any]:
    """Start the browser that dev.py found, else the system's Chromium, else Playwright's own."""
    path = os.environ.get("HALFROLL_CHROMIUM") or shutil.which("chromium")
    chosen = {"executable_path": path} if path else {}
    return {**browser_type_launch_args, **chosen, "args": CHROMIUM_FLAGS}


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark what uses the browser, and put it last, what takes long before the rest, so that workers end together.

    The browser's driver keeps an event loop running until the session ends, and an async test cannot start its
    own loop beside it.
    """
    for item in items:
        if "playwright" in getattr(item, "fixturenames", ()):
            item.add_marker("browser")
    items.sort(key=_turn)


def _turn(item: pytest.Item) -> int:
    """0 without a browser, 1 for long tests with one, 2 for the rest."""
    marked = [item.get_closest_marker(name) is not None for name in ("browser", "slow")]
    return {(True, True): 1, (True, False): 2}.get((marked[0], marked[1]), 0)


def pytest_collection_finish() -> None:
    """Take what is there before the first test out of the collector's rounds: the modules of all tests and what they bring.

    Pages under test collect at each end (NiceGUI's own fixture does), and going through all that again takes longer than most tests.
    What a test leaves behind is collected as before.
    """
    gc.collect()
    gc.freeze()
