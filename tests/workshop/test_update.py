"""An update in the workshop: found, kept, accepted whole or not at all, undone, offered to other versions."""

from __future__ import annotations

import datetime as dt
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from halfroll.core.errors import InputError
from halfroll.workshop import Workshop
from halfroll.workshop.calibrations import filament_of, use_calibration
from halfroll.workshop.learnt import accept, accepted_before, can_accept, undo
from halfroll.workshop.learnt_others import other_versions
from halfroll.workshop.parts import load_material, material_ids
from halfroll.workshop.update import version_update
from tests.workshop.taught import VERSION, taught_once

DAY = dt.date(2026, 5, 2)
pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def once(shared):
    """The workshop, predicted and measured, and what is truly otherwise."""
    return taught_once(shared)


@pytest.fixture
def shop(once, tmp_path: Path) -> Workshop:
    """A copy of one's own."""
    shutil.copytree(once[0], tmp_path / "shop")
    return Workshop.open(tmp_path / "shop")


def key_of(once, what: str) -> str:
    """The key of the assumption that is otherwise."""
    return next(key for key in once[1] if key.endswith(what))


def test_what_is_otherwise_is_found_and_kept(once, shop, monkeypatch):
    """The moves the measurement was made with, within their uncertainty; the second time nothing is worked out."""
    import halfroll.driver.update.solve as solve

    monkeypatch.setattr(solve, "update", lambda *_, **__: pytest.fail("worked out twice"))
    found = version_update(shop, VERSION)
    for key, truth in once[1].items():
        one = found.update.cause(key)
        assert abs(one.z_few - truth) < 2.6 * one.u_few < 2.6
        assert one.moved
        assert can_accept(one)
    assert found.units == (f"{VERSION}/01",)
    assert "take in a large baffle" in " ".join(found.missing)


def test_an_accepted_modulus_is_a_calibration_that_can_be_left_out(once, shop):
    """Calibration and starting value together are the posterior; the prediction follows; left out, all is as before."""
    key = key_of(once, ".modulus")
    material = key.split(".")[1]
    found = version_update(shop, VERSION)
    cause, before = found.update.cause(key), filament_of(shop, material).filament
    (saved,) = accept(shop, found, [key], on=DAY)
    assert saved.material == material
    after = filament_of(shop, material).filament
    # the driver alone and the starting value together are the posterior, as Bayes has it
    assert after.modulus_pa == pytest.approx(cause.value, rel=1e-3)
    assert after.modulus_u_pa / after.modulus_pa == pytest.approx(
        cause.assumption.u / cause.assumption.value * cause.u_few, rel=1e-2
    )
    assert (material, "the modulus", True) in accepted_before(shop, VERSION)
    # now the prediction follows: nothing of it has to move any more
    again = version_update(shop, VERSION)
    assert abs(again.update.cause(key).z) < 1.0
    with pytest.raises(InputError):
        accept(shop, found, [key], on=DAY)
    use_calibration(shop, load_material(shop, material), 1, used=False)
    assert filament_of(shop, material).filament.modulus_pa == pytest.approx(before.modulus_pa)


def test_an_accepted_loss_is_stated_and_put_back(once, shop):
    """A loss factor stands in the record with what was there before, once."""
    key = key_of(once, ".loss")
    material = key.split(".")[1]
    found = version_update(shop, VERSION)
    accept(shop, found, [key], on=DAY)
    record = load_material(shop, material).record
    assert record.filament is not None
    assert record.filament.loss_factor == pytest.approx(found.update.cause(key).value)
    assert record.updates[-1].version == VERSION
    last = undo(shop, material)
    assert last.key == "loss_factor"
    record = load_material(shop, material).record
    assert record.filament is not None
    assert record.filament.loss_factor is None
    assert record.updates == ()
    with pytest.raises(InputError, match="No update"):
        undo(shop, material)


def test_nothing_is_saved_when_one_key_cannot_be(once, shop):
    """One wrong key: no record is made."""
    found = version_update(shop, VERSION)
    with pytest.raises(InputError, match="Only what moved"):
        accept(shop, found, [key_of(once, ".modulus"), "gap.width"])
    assert material_ids(shop) == []


@pytest.mark.parametrize("fault", [OSError("disk full"), KeyboardInterrupt("stopped")])
def test_a_save_that_fails_takes_the_earlier_one_back(fault, once, shop, monkeypatch):
    """Two materials: the second cannot be written, or somebody stops it, so the first is not kept either."""
    from halfroll.workshop import learnt

    found = version_update(shop, VERSION)
    mine = key_of(once, ".modulus")
    other = next(
        one.assumption.key for one in found.update.causes
        if one.assumption.key.endswith(".loss") and one.assumption.record != mine.split(".")[1]
    )  # fmt: skip
    causes = tuple(
        replace(one, moved=True, u_few=0.5) if one.assumption.key == other else one
        for one in found.update.causes
    )
    found = replace(found, update=replace(found.update, causes=causes))
    real, written = learnt.add_material, []

    def failing(workshop, material, record):
        if written:
            raise fault
        written.append(material)
        return real(workshop, material, record)

    monkeypatch.setattr(learnt, "add_material", failing)
    with pytest.raises(type(fault)):
        accept(shop, found, [mine, other])
    assert written
    assert material_ids(shop) == []


def test_other_versions_of_the_same_plastic_move_too(once, shop):
    """The resonance of a sister rises by at most the root of the modulus; its motor stays."""
    folder = shop.folder / "drivers" / "knot"
    shutil.copytree(folder / "v1", folder / "v1b", ignore=shutil.ignore_patterns("units"))
    found = version_update(shop, VERSION)
    cause = found.update.cause(key_of(once, ".modulus"))
    (other,) = [one for one in other_versions(shop, VERSION, [cause]) if one.version_id == "knot/v1b"]
    # the root of the modulus, for the share of the stiffness this plastic has
    assert (
        1.0
        < other.after["fs_hz"] / other.before["fs_hz"]
        <= (cause.value / cause.assumption.value) ** 0.5 * 1.01
    )
    assert other.after["bl_n_per_a"] == pytest.approx(other.before["bl_n_per_a"])


def test_without_a_measurement_it_says_what_to_do(shop):
    """No unit measured, no such unit."""
    folder = shop.folder / "drivers" / "knot"
    shutil.copytree(folder / "v1", folder / "v1b", ignore=shutil.ignore_patterns("units"))
    with pytest.raises(InputError, match="Nothing was measured") as fault:
        version_update(shop, "knot/v1b")
    assert "impedance" in str(fault.value)
    with pytest.raises(InputError, match="unit"):
        version_update(shop, VERSION, unit="99")
