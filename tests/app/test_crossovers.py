"""The pages of crossovers: from an empty workshop to a tuned one, faults at their fields."""

from __future__ import annotations

from collections.abc import AsyncIterator

import pytest
from nicegui.testing import User

from halfroll.workshop import Workshop
from halfroll.workshop.crossovers import crossover_ids, crossover_record
from tests.app.conftest import until, visiting
from tests.crossover_shop import HIGH, LOW, with_crossover, with_impedances

PATIENT = 100
"""Looks, a tenth of a second apart, for what the page does in its own time."""


@pytest.fixture
async def visitor(small: Workshop) -> AsyncIterator[User]:
    """Somebody at a workshop with drivers and no crossover."""
    with_impedances(small)
    async with visiting(small) as user:
        yield user


async def test_an_empty_workshop_shows_the_way(newcomer: User) -> None:
    """What a crossover needs, and the least of them as a drawing."""
    await newcomer.open("/crossovers")
    for words in ("there are not two versions yet", "The least crossover"):
        await newcomer.should_see(words)


async def test_from_nothing(visitor: User, small: Workshop) -> None:
    """Faults stand under their fields; then it is made and its page opens with circuit and curves."""
    await visitor.open("/crossovers")
    await visitor.should_see("No crossover yet")
    visitor.find(marker="make-crossover").click()
    await visitor.should_see("The new crossover needs a name.")
    for key, value in {
        "id": "Pair",
        "start": "filters",
        "low": LOW,
        "high": HIGH,
        "frequency_hz": "two",
        "order": "3",
    }.items():
        visitor.find(marker=key).trigger("entered", value)
    visitor.find(marker="make-crossover").click()
    await visitor.should_see("must be a number from 10 to 40000")
    visitor.find(marker="frequency_hz").trigger("entered", "1500")
    visitor.find(marker="make-crossover").click()
    await visitor.should_see("must be of second or fourth order", retries=PATIENT)
    visitor.find(marker="order").trigger("entered", "2")
    visitor.find(marker="make-crossover").click()
    await until(lambda: crossover_ids(small) == ["pair"])
    await visitor.open("/crossovers/pair")
    for words in (
        "Low hands over to high",
        "Ways and sum",
        "pull its mains plug",
        "What parts and drivers bear",
        "±5",
    ):
        await visitor.should_see(words, retries=PATIENT)


async def test_a_value_is_changed_tuned_and_saved(small: Workshop) -> None:
    """Another value is worked out at once, a wrong one said at its field; tuning fills the fields; only Save keeps them."""
    with_crossover(small)
    async with visiting(small) as user:
        await user.open("/crossovers/pair")
        await user.should_see("bipolar electrolytic capacitor", retries=PATIENT)
        user.find(marker="1.0.value").trigger("entered", "-3")
        await user.should_see("Must be above 0", retries=PATIENT)
        user.find(marker="1.0.value").trigger("entered", "10")
        await user.should_see("Not saved yet.", retries=PATIENT)
        assert crossover_record(small, "pair").record.ways[1].elements[0].capacitance_uf == 6.8
        user.find(marker="0.source").trigger("entered", "predicted")
        await user.should_see("has no design to predict from", retries=PATIENT)
        user.find(marker="0.source").trigger("entered", "auto")
        user.find(marker="tune_to").trigger("entered", "4000")
        user.find(marker="tune-crossover").click()
        await user.should_see("dB r.m.s.", retries=PATIENT)
        user.find(marker="save-crossover").click()
        await user.should_see("Saved in crossovers/pair.toml", retries=PATIENT)
        assert crossover_record(small, "pair").record.ways[1].elements[0].capacitance_uf != 6.8


async def test_what_is_saved_before_it_is_worked_out_stays_said(small: Workshop) -> None:
    """Saved within the moment in which more keystrokes are waited for; the result that comes then does not take the words away."""
    with_crossover(small)
    async with visiting(small) as user:
        await user.open("/crossovers/pair")
        await user.should_see("bipolar electrolytic capacitor", retries=PATIENT)
        user.find(marker="1.0.value").trigger("entered", "10")
        user.find(marker="save-crossover").click()
        await user.should_see("10\u202fµF", retries=PATIENT)  # the table of the new result
        await user.should_see("Saved in crossovers/pair.toml")


async def test_what_is_missing_is_said(small: Workshop) -> None:
    """A driver of which nothing is known any more: the circuit stays, and the sentence says what to do."""
    with_crossover(small)
    path = small.folder / "crossovers" / "pair.toml"
    path.write_text(path.read_text().replace(f'driver = "{LOW}"', 'driver = "godwit/v1"'))
    async with visiting(small) as user:
        await user.open("/crossovers/pair")
        await user.should_see("No impedance of godwit/v1/01 is known", retries=PATIENT)


async def test_a_broken_record_is_said(small: Workshop) -> None:
    """Beside those that can be read."""
    with_crossover(small)
    (small.folder / "crossovers" / "broken.toml").write_text("format = 1\nways = 3\n")
    async with visiting(small) as user:
        await user.open("/crossovers")
        await user.should_see("One capacitor")
        await user.should_see("broken.toml")
