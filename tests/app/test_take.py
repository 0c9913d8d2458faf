"""The page of a take: what the rest of its version says of it, and what is folded away."""

from __future__ import annotations

from nicegui.testing import User

from halfroll.app.view import number
from halfroll.figures.types import Figure
from halfroll.workshop import MicrophoneTable, RigRecord, VoltageTable, Workshop, derive
from tests.app.conftest import PATIENT, visiting
from tests.app.samples import PA, VOLTS

TAKE = "godwit/v2/01/2026-03-02-1w-1"


async def test_level_and_distortion_stand_open_the_rest_is_folded(visitor: User) -> None:
    """The folds carry their names; what they hold is on the page, so that it can be printed."""
    await visitor.open(f"/takes/{TAKE}")
    await visitor.should_see("Curves", retries=PATIENT)
    for words in (
        "Above the harmonics: rub, buzz, leaks", "Noise and hum", "Single harmonics", "Impulse response and group delay",
        "Nothing stands out.", "2 takes of the version", "The silence around the sweep",
    ):  # fmt: skip
        await visitor.should_see(words)
    folds = [
        e
        for e in visitor.find(kind=type(next(iter(visitor.find("Noise and hum").elements)))).elements
        if e.tag == "details"
    ]
    assert len(folds) == 4
    assert not any("open" in fold.props for fold in folds)
    for chart in ("residue", "noise", "harmonics"):
        await visitor.should_see(marker=f"chart-{chart}")
    await visitor.should_not_see(marker="chart-moment")


def test_a_wide_interval_in_large_numbers() -> None:
    """The overview's large number gives it in octaves, behind the unit of the number."""
    wide = Figure(
        key="upper_limit_hz", label="Upper limit", unit="Hz", value=10_000.0, u=12_000.0, dof=float("inf")
    )
    text = number(wide).striptags().replace("\u202f", " ")
    assert text == "10 kHz ± 3.4 octaves"
    narrow = Figure(
        key="sensitivity_db", label="Sensitivity", unit="dB", value=86.31, u=0.2, dof=float("inf")
    )
    assert number(narrow).striptags().replace("\u202f", " ") == "86.3 ± 0.4 dB"


async def test_a_take_with_the_wrong_rig_says_so_itself(small: Workshop) -> None:
    """The record names a rig 3.9 dB less sensitive: the caution of the version stands on the take, and not on its sibling."""
    small.create_rig("spare", RigRecord(
        microphone=MicrophoneTable(pa_per_full_scale=PA * 1.575), voltage=VoltageTable(v_per_full_scale=VOLTS)))  # fmt: skip
    loaded = small.take(TAKE)
    small.save(loaded, loaded.record.changed(rig="spare"))
    derive.readings(small, workers=1)
    async with visiting(small) as user:
        await user.open(f"/takes/{TAKE}")
        await user.should_see("may be the wrong one", retries=PATIENT)
        await user.should_see("3.9\u202fdB above")
    async with visiting(small) as user:
        await user.open("/takes/godwit/v2/02/2026-03-02-1w-1")
        await user.should_see("Curves", retries=PATIENT)
        await user.should_not_see("may be the wrong one")
