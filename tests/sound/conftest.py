"""The sound server of these tests."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.sound.server import SoundServer, serving


@pytest.fixture(scope="module")
def server() -> Iterator[SoundServer]:
    """One server for the tests of a module."""
    with serving() as running:
        yield running


@pytest.fixture
def own_server() -> Iterator[SoundServer]:
    """A server a test may kill."""
    with serving() as running:
        yield running
