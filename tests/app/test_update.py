"""The page of what a measurement teaches: sentences, curves, shares, accepting and putting back; a version without a design; none measured."""

from __future__ import annotations

import shutil
from collections.abc import AsyncIterator
from pathlib import Path

import pytest
from nicegui.testing import User

from halfroll.workshop import Workshop
from halfroll.workshop.learnt import can_accept
from halfroll.workshop.parts import load_material
from halfroll.workshop.update import version_update
from tests.app.conftest import PATIENT, until, visiting
from tests.workshop.taught import VERSION, taught_once

pytestmark = pytest.mark.slow


@pytest.fixture
def shop(shared: Path, tmp_path: Path) -> Workshop:
    """A workshop whose version was built otherwise than assumed: a copy of one's own."""
    shutil.copytree(taught_once(shared)[0], tmp_path / "shop")
    return Workshop.open(tmp_path / "shop")


@pytest.fixture
async def visitor(shop: Workshop) -> AsyncIterator[User]:
    """A person at its pages."""
    async with visiting(shop) as user:
        yield user


async def test_what_moved_is_said_shown_and_accepted(visitor: User, shop: Workshop) -> None:
    """Sentences first, then points, curves and shares; a loss that is accepted stands in the material's record and can be put back."""
    await visitor.open(f"/update/{VERSION}")
    await visitor.should_see(marker="chart-moved", retries=PATIENT)
    for words in (
        "What Knot v1 teaches",
        "What the measurement says",
        "standard deviations",
        "The difference by cause",
        "measured less predicted",
        "left",
    ):
        await visitor.should_see(words)
    for chart in ("chart-impedance", "chart-causes"):
        await visitor.should_see(marker=chart)
    loss = next(
        one.assumption for one in version_update(shop, VERSION).update.causes if can_accept(one) and one.assumption.key.endswith(".loss")
    )  # fmt: skip
    visitor.find(marker=f"accept-{loss.key}").click()
    await until(lambda: (shop.folder / "materials" / f"{loss.record}.toml").exists())
    assert load_material(shop, loss.record).record.updates[-1].version == VERSION
    await visitor.open(f"/update/{VERSION}")
    await visitor.should_see(marker=f"undo-{loss.record}", retries=PATIENT)
    visitor.find(marker=f"undo-{loss.record}").click()
    await until(lambda: not load_material(shop, loss.record).record.updates)


async def test_a_version_without_design_or_measurement_says_what_it_takes(
    visitor: User, shop: Workshop
) -> None:
    """Nothing to learn yet, and the ways to it."""
    from halfroll.workshop.records import VersionRecord

    shop.create_version("knot", "v2", VersionRecord())
    await visitor.open("/update/knot/v2")
    await visitor.should_see("Nothing can be learnt from this version yet", retries=PATIENT)
    await visitor.should_see("Design its motor")
