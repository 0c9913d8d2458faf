"""The pages of cabinets: begun, typed, refused, a driver put in, suggestions taken, saved."""

from __future__ import annotations

from collections.abc import AsyncIterator

import pytest
from nicegui.testing import User

from halfroll.app.cabinet_draft import NEW, CabinetDraft, record_values
from halfroll.app.drawing import Drawing
from halfroll.core.errors import InputError
from halfroll.workshop import DriverRecord, VersionRecord, Workshop
from halfroll.workshop.cabinets import cabinet_ids, load_cabinet
from halfroll.workshop.parameters_record import ParametersTable
from tests.app.conftest import PATIENT, until, visiting

VERSION = "knot/v1"


@pytest.fixture
def shop(empty: Workshop) -> Workshop:
    """A workshop with one driver known by its data sheet (Qts about 0.52)."""
    entered = ParametersTable(
        re_ohm=6.0, bl_n_per_a=6.0, mms_g=12.0, fs_hz=48.0, qms=3.65, le_mh=0.05, travel_mm=4.0
    )
    empty.create_driver("knot", DriverRecord(title="Knot"))
    empty.create_version("knot", "v1", VersionRecord(effective_area_cm2=133.0, parameters=entered))
    return empty


@pytest.fixture
async def maker(shop: Workshop) -> AsyncIterator[User]:
    """A person at the pages of that workshop."""
    async with visiting(shop) as user:
        yield user


def _type(user: User, key: str, text: str) -> None:
    user.find(marker=key).trigger("entered", text)


# The draft.


def test_kept_undone_saved(shop: Workshop) -> None:
    """What is typed is kept over a new visit, undone step by step, and saved under a name."""
    draft = CabinetDraft(shop, NEW)
    assert not draft.changed
    draft.put("inside.width_mm", "200")
    draft.put("type", "vented")
    assert draft.record is not None
    assert draft.record.type == "vented"
    again = CabinetDraft(shop, NEW)
    assert again.value("inside.width_mm") == 200.0
    draft.undo()
    assert draft.value("type") == "closed"
    draft.put("type", "vented")
    draft.put("port.tuning_hz", "55")
    assert draft.save_as("reed-box") == "reed-box"
    assert load_cabinet(shop, "reed-box").tuning_hz() == pytest.approx(55.0, rel=1e-5)
    assert not CabinetDraft(shop, NEW).changed
    with pytest.raises(InputError, match="a cabinet reed-box already"):
        draft.save_as("reed-box")
    with pytest.raises(InputError, match="another name than new"):
        draft.save_as(NEW)


def test_a_fault_keeps_the_last_state(shop: Workshop) -> None:
    """A fault stands under its field, what was built stays, and it is not saved."""
    draft = CabinetDraft(shop, NEW)
    before = draft.built
    draft.put("inside.width_mm", "-3")
    assert "at least 0.1" in draft.errors["inside.width_mm"]
    assert draft.built is before
    with pytest.raises(InputError, match="was not saved"):
        draft.save_as("bad")
    draft.put("inside.width_mm", "wide")
    assert "inside.width_mm" in draft.errors
    draft.put("inside.width_mm", "130")
    assert not draft.errors


def test_length_and_tuning(shop: Workshop) -> None:
    """One takes the place of the other; what has no place in a cabinet of a kind is left out of the record."""
    draft = CabinetDraft(shop, NEW)
    draft.put("type", "vented")
    draft.put("port.length_mm", "80")
    assert draft.value("port.tuning_hz") is None
    draft.put("shape", "volume")
    draft.put("volume_l", "3")
    values = record_values(draft.data)
    assert "inside" not in values
    assert "radiator" not in values
    assert not draft.errors
    draft.put("shape", "cylinder")
    assert "volume_l" not in record_values(draft.data)
    draft.put("inside.diameter_mm", "150")
    assert not draft.errors


def test_saved_one_comes_back_unchanged(shop: Workshop) -> None:
    """Opening what is saved changes nothing."""
    draft = CabinetDraft(shop, NEW)
    draft.put("type", "passive-radiator")
    draft.save_as("mud-box")
    opened = CabinetDraft(shop, "mud-box")
    assert not opened.changed
    assert not opened.errors
    opened.put("radiator.mass_g", "25")
    opened.save()
    radiator = load_cabinet(shop, "mud-box").radiator
    assert radiator is not None
    assert radiator.mass_kg == pytest.approx(0.025)


# The pages.


async def test_empty_and_list(empty: Workshop) -> None:
    """An empty workshop shows the way; a broken record is said."""
    async with visiting(empty) as user:
        await user.open("/cabinets")
        await user.should_see("There is none yet")
        (empty.folder / "enclosures").mkdir()
        (empty.folder / "enclosures" / "bad.toml").write_text("format = 1\n", encoding="utf-8")
        await user.open("/cabinets")
        await user.should_see("Records that could not be read")
        response = await user.http_client.get("/cabinets/nope")
        assert response.status_code == 404
        assert "There is no such cabinet" in response.text


async def test_a_cabinet_is_made(maker: User, shop: Workshop) -> None:
    """Typed with a driver in it: figures and verdicts follow; a port that is too long is refused; saved under a name."""
    await maker.open(f"/cabinets/new?driver={VERSION}")
    await maker.should_see("Qtc", retries=PATIENT)
    maker.find(marker="drawing").trigger("measure", {"width": 700, "dark": False})
    drawing = next(iter(maker.find(marker="drawing").elements))
    assert isinstance(drawing, Drawing)
    assert "half-section" in drawing.svg
    _type(maker, "type", "vented")
    await maker.should_see("Air in the port", retries=PATIENT)
    _type(maker, "port.length_mm", "400")
    await maker.should_see("The port is longer than the inside of the cabinet")
    _type(maker, "port.length_mm", "100")
    await maker.should_not_see("The port is longer than the inside of the cabinet")
    _type(maker, "name", "reed-box")
    maker.find(marker="save-as").click()
    await until(lambda: cabinet_ids(shop) == ["reed-box"])


async def test_suggestions_are_taken(maker: User) -> None:
    """A suggestion puts its volume and port into the form; undo brings back what was there."""
    await maker.open(f"/cabinets/new?driver={VERSION}")
    await maker.should_see("Qtc", retries=PATIENT)
    _type(maker, "wish.most", "20")
    _type(maker, "wish.kinds", "vented")
    maker.find(marker="suggest").click()
    await maker.should_see("Take it", retries=PATIENT)
    maker.find("Take it").click()
    await maker.should_see("Taken: its volume and port")
    await maker.should_see("Tuning", retries=PATIENT)


async def test_wishes_that_cannot_be(maker: User) -> None:
    """Said at the foot of the page and under the field."""
    await maker.open(f"/cabinets/new?driver={VERSION}")
    await maker.should_see("Qtc", retries=PATIENT)
    _type(maker, "wish.most", "much")
    maker.find(marker="suggest").click()
    await maker.should_see("A number is needed here.")
    _type(maker, "wish.most", "20")
    _type(maker, "wish.volts", "-5")
    maker.find(marker="suggest").click()
    await maker.should_see("From 0.01 to 1000; found -5.")


async def test_what_is_wrong_is_said_beside_its_field_and_without_keys(maker: User, shop: Workshop) -> None:
    """A voltage that cannot be; a size that is missing is named as people name it; a saved cabinet leads on."""
    await maker.open(f"/cabinets/new?driver={VERSION}")
    await maker.should_see("Qtc", retries=PATIENT)
    _type(maker, "volts", "1e99")
    await maker.should_see("The voltage must be above 0 V", retries=PATIENT)
    _type(maker, "volts", "2,83")
    await maker.should_not_see("The voltage must be above 0 V", retries=PATIENT)
    _type(maker, "inside.width_mm", "")
    await maker.should_see("Must be stated with height")
    await maker.should_not_see("height_mm,")
    _type(maker, "inside.width_mm", "130")
    CabinetDraft(shop, NEW, VERSION).save_as("bank")
    await maker.open("/cabinets/bank")
    await maker.should_see("Distortion and limits in this cabinet", retries=PATIENT)
