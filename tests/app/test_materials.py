"""The pages of printing materials: what there is, a strip test live and saved, and what becomes of a new spool."""

from __future__ import annotations

from nicegui.testing import User

from halfroll.workshop import Workshop, load_draft
from halfroll.workshop.calibrations import filament_of
from halfroll.workshop.parts import material_ids
from tests.app.conftest import until, visiting

STRIP = {"length_mm": "60", "width_mm": "12", "thickness_mm": "1,2", "readings": "2 8,9\n4 17.1\n6; 24.2"}


def type_in(user: User, values: dict[str, str]) -> None:
    """Type into fields."""
    for key, value in values.items():
        user.find(marker=key).trigger("entered", value)


async def test_an_empty_workshop_shows_the_catalogue_and_the_way(newcomer: User) -> None:
    """No material of one's own, all of the catalogue on one scale."""
    await newcomer.open("/materials")
    for words in (
        "None yet",
        "tpu-95a",
        "15.4 to 32.8",
        "A spool of your own",
        "Modulus in bending on a logarithmic scale",
    ):
        await newcomer.should_see(words)


async def test_a_strip_test_is_live_and_then_kept(newcomer: User, empty: Workshop) -> None:
    """The modulus appears while it is typed, the draft stays, and after saving the material is one's own."""
    await newcomer.open("/materials/tpu-95a")
    for words in ("Not calibrated yet", "Type the dimensions", "A strip clamped at its left end"):
        await newcomer.should_see(words)
    type_in(newcomer, STRIP)
    for words in ("Modulus of this strip", "tpu-95a would be", "thickness 7."):
        await newcomer.should_see(words)
    kept = load_draft(empty, "strip-tpu-95a")
    assert kept is not None
    assert kept["length_mm"] == "60"
    assert material_ids(empty) == []
    newcomer.find(marker="save-strip").click()
    await until(lambda: material_ids(empty) == ["tpu-95a"])
    assert load_draft(empty, "strip-tpu-95a") is None
    assert 70e6 < filament_of(empty, "tpu-95a").filament.modulus_pa < 110e6
    await newcomer.should_see("1 Bent strip")


async def test_faults_stand_under_their_fields_and_nothing_is_saved(newcomer: User, empty: Workshop) -> None:
    """A deflection no strip has, a line that is no reading, a thickness that is none."""
    await newcomer.open("/materials/tpu-95a")
    type_in(newcomer, {**STRIP, "readings": "2 8.9\n4 70"})
    await newcomer.should_see("Reading 2 sinks farther than the strip is long")
    type_in(newcomer, {"readings": "2 8.9\nfour 17"})
    await newcomer.should_see("Line 2 of the readings must be two numbers")
    type_in(newcomer, {**STRIP, "thickness_mm": "0"})
    await newcomer.should_see("Must be above 0")
    newcomer.find(marker="save-strip").click()
    assert material_ids(empty) == []


async def test_a_spool_of_ones_own(newcomer: User, empty: Workshop) -> None:
    """Named, opened as like another, kept with its first calibration; a taken name is said."""
    await newcomer.open("/materials")
    newcomer.find(marker="material-name").trigger("entered", "petg")
    newcomer.find(marker="new-material").click()
    await newcomer.should_see("There is a material petg already")
    await newcomer.open("/materials/grey-tpu?like=tpu-95a")
    await newcomer.should_see("It starts from")
    type_in(newcomer, STRIP)
    newcomer.find(marker="save-strip").click()
    await until(lambda: material_ids(empty) == ["grey-tpu"])


async def test_a_calibration_is_left_out_on_the_page(empty: Workshop) -> None:
    """And counts again."""
    async with visiting(empty) as user:
        await user.open("/materials/tpu-95a")
        type_in(user, STRIP)
        user.find(marker="save-strip").click()
        await until(lambda: material_ids(empty) == ["tpu-95a"])
        await user.open("/materials/tpu-95a")
        user.find(marker="use-1").click()
        await until(lambda: not filament_of(empty, "tpu-95a").filament.calibrated)
        await user.open("/materials/tpu-95a")
        await user.should_see("not used")


async def test_what_is_no_filament_is_not_found(newcomer: User) -> None:
    """With the nearest keys."""
    answer = await newcomer.http_client.get("/materials/tpu-95b")
    assert answer.status_code == 404
    assert "There is no printing material tpu-95b" in answer.text
    assert "tpu-95a" in answer.text


async def test_creep_beside_the_strip(newcomer: User, empty: Workshop) -> None:
    """Live from three readings on, saved by itself; where no unit can tell a resonance, that is said."""
    await newcomer.open("/materials/asa")
    await newcomer.should_see("None yet: it takes a unit whose impedance was measured")
    newcomer.find(marker="creep-readings").trigger("entered", "1 10\n10 10.5\n100 10.2 3")
    await newcomer.should_see("Line 3 of the readings must be two numbers")
    newcomer.find(marker="creep-readings").trigger("entered", "1 10\n10 10.5\n100 11")
    await newcomer.should_see("Creeps by 5.0")
    newcomer.find(marker="save-creep").click()
    await until(lambda: material_ids(empty) == ["asa"])
    assert abs(filament_of(empty, "asa").filament.creep_per_decade - 0.05) < 1e-6
