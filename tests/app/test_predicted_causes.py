"""The section of a predicted driver's page that tells what makes the distortion."""

from __future__ import annotations

from collections.abc import AsyncIterator

import pytest
from nicegui.testing import User

from halfroll.core.text import THIN
from halfroll.workshop import Workshop
from tests.app.conftest import PATIENT, visiting
from tests.workshop.predictions import design, stand_in

V2 = "godwit/v2"


@pytest.fixture
async def visitor(small: Workshop, monkeypatch: pytest.MonkeyPatch) -> AsyncIterator[User]:
    """A person at the page of a designed version."""
    stand_in(monkeypatch)
    design(small, V2)
    async with visiting(small) as user:
        yield user


async def test_causes_are_told_on_request(visitor: User) -> None:
    """The answer in sentences with what helps, both panels and what is left without each cause, the numbers folded; not before it is asked for."""
    await visitor.open(f"/predicted/{V2}")
    await visitor.should_see(marker="show-causes", retries=PATIENT)
    await visitor.should_not_see(marker="causes-even")
    await visitor.open(f"/predicted/{V2}?show=causes")
    for marker in ("causes-even", "causes-odd", "causes-without"):
        await visitor.should_see(marker=marker, retries=PATIENT)
    for words in (
        "Even orders (2 and 4) are",
        "Odd orders (3 and 5) are",
        "over 40 to 150",
        "Let the suspension stiffen later",
        "The numbers",
        f"1{THIN}W into",
    ):
        await visitor.should_see(words)
