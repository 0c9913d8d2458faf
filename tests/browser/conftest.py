"""A real server in a process of its own, and a browser that notes everything it asks for and complains about."""

from __future__ import annotations

import re
import shutil
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.app.samples import analysed_workshop, empty_workshop

PATIENCE_MS = 60_000
"""A busy machine starts slowly."""
EXPECTED_MS = 20_000
"""How long a page may take to show what is expected of it: the suite runs several at once."""

expect.set_options(timeout=EXPECTED_MS)


class Served:
    """``halfroll serve`` over a workshop."""

    def __init__(self, folder: Path, port: int = 0) -> None:
        self.folder = folder
        command = [
            sys.executable,
            "-m",
            "halfroll",
            "--workshop",
            str(folder),
            "serve",
            "--port",
            str(port),
            "--no-open",
        ]
        self.process = subprocess.Popen(command, stderr=subprocess.PIPE, text=True)
        self.said: list[str] = []
        self.address = ""
        self._ready = threading.Event()
        self._listener = threading.Thread(target=self._listen, daemon=True)
        self._listener.start()
        self._ready.wait(PATIENCE_MS / 1e3)

    def _listen(self) -> None:
        assert self.process.stderr is not None
        for line in self.process.stderr:
            self.said.append(line)
            if not self.address and (found := re.search(r"http://127\.0\.0\.1:\d+", line)):
                self.address = found[0]
                self._ready.set()
        self._ready.set()

    @property
    def port(self) -> int:
        """The port it listens on."""
        return int(self.address.rpartition(":")[2])

    def stop(self) -> int:
        """Ctrl+C, as a person stops it; returns the exit code."""
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGINT)
        code = self.process.wait(20)
        self._listener.join(5)
        assert self.process.stderr is not None
        self.process.stderr.close()
        return code


@contextmanager
def serving(folder: Path) -> Iterator[Served]:
    """A server that is stopped at the end."""
    served = Served(folder)
    try:
        assert served.address, "".join(served.said)
        yield served
    finally:
        served.stop()


@pytest.fixture(scope="session")
def analysed(shared: Path) -> Path:
    """The small workshop with every take analysed; copy it, do not write to it."""
    return analysed_workshop(shared)


@pytest.fixture(scope="session")
def small(analysed: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A server over the small workshop, for tests that change nothing in it."""
    folder = tmp_path_factory.mktemp("served") / "shop"
    shutil.copytree(analysed, folder)
    with serving(folder) as served:
        yield served


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[Served]:
    """A server over an empty workshop."""
    with serving(empty_workshop(tmp_path / "empty").folder) as served:
        yield served


@pytest.fixture
def patient() -> Iterator[None]:
    """Expectations wait long: a solver may have to wait for its turn on a busy machine."""
    expect.set_options(timeout=PATIENCE_MS)
    yield
    expect.set_options(timeout=EXPECTED_MS)


@dataclass
class Notes:
    """What the browser asked for and complained about."""

    requests: list[str] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)


@pytest.fixture
def notes(page: Page) -> Iterator[Notes]:
    """Watches the page; at the end nothing may have been asked of another machine, and nothing complained about."""
    found = Notes()
    page.set_default_timeout(PATIENCE_MS)
    page.on("request", lambda request: found.requests.append(request.url))
    page.on("websocket", lambda socket: found.requests.append(socket.url))
    page.on("pageerror", lambda error: found.errors.append(str(error)))
    page.on("console", lambda message: message.type == "error" and found.errors.append(message.text))
    yield found
    elsewhere = [
        url for url in found.requests if not re.match(r"(http|ws)://127\.0\.0\.1:\d+/|data:|blob:", url)
    ]
    assert elsewhere == []
    assert found.errors == []


def drawn(page: Page, chart: str = ".chart") -> None:
    """Wait until the charts that can be seen are drawn."""
    page.wait_for_selector(chart)
    page.wait_for_function(
        "(chart) => [...document.querySelectorAll(chart)].filter((c) => c.checkVisibility()).every((c) => c.dataset.drawn)",
        arg=chart,
    )
