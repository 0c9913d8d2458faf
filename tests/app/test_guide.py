"""The guide's page judges readings and keeps them with a unit; the unit's page shows and edits what was built, and its photographs."""

from __future__ import annotations

import io
from collections.abc import AsyncIterator
from pathlib import Path

import numpy as np
import pypdf
import pytest
from nicegui.testing import User
from PIL import Image

from halfroll.workshop import Workshop
from halfroll.workshop.photographs import photographs_of
from halfroll.workshop.prediction import EXAMPLE
from halfroll.workshop.records import UnitRecord
from tests.app.conftest import PATIENT, until, visiting
from tests.app.samples import empty_workshop
from tests.app.test_new_unit import enter
from tests.workshop.knot import knot_shop

VERSION = "knot/v1"


def photograph() -> bytes:
    """A picture that says where it was taken."""
    exif, file = Image.Exif(), io.BytesIO()
    exif.get_ifd(0x8825).update({1: "N", 2: (52.0, 58.0, 0.0)})
    Image.fromarray(np.zeros((24, 32, 3), dtype=np.uint8)).save(file, "JPEG", exif=exif)
    return file.getvalue()


@pytest.fixture
def shop(tmp_path: Path) -> Workshop:
    """A version whose parameters are entered, with one unit."""
    made = knot_shop(tmp_path / "shop", EXAMPLE)
    made.create_unit(VERSION, "01", UnitRecord(re_ohm=6.1, re_u_ohm=0.02))
    return made


@pytest.fixture
async def builder(shop: Workshop) -> AsyncIterator[User]:
    """A person at its pages."""
    async with visiting(shop) as user:
        yield user


async def test_readings_are_judged_and_kept(builder: User, shop: Workshop) -> None:
    """What is typed is judged at once, a slip stands under its field, and what a record has a key for is kept with a unit."""
    await builder.open(f"/guide/{VERSION}")
    await builder.should_see("4. Acceptance", retries=PATIENT)
    await builder.should_see("Start very quietly, stay below 85 dB(A)")
    enter(builder, "leads-re_ohm", "6,05")
    await builder.should_see("✓ good.", retries=PATIENT)
    enter(builder, "acceptance-fs_hz", "140")
    await builder.should_see("✕ outside.", retries=PATIENT)
    enter(builder, "acceptance-re_ohm", "six")
    await builder.should_see("'six' is not a number.", retries=PATIENT)
    enter(builder, "acceptance-re_ohm", "")
    builder.find(marker="keep-readings").click()
    await builder.should_see("The unit needs a name.", retries=PATIENT)
    enter(builder, "guide-unit", "02")
    builder.find(marker="keep-readings").click()
    await until(lambda: f"{VERSION}/02" in shop.unit_ids(VERSION))
    assert shop.unit(f"{VERSION}/02").record.re_ohm == 6.05


async def test_the_guide_as_a_file_and_where_there_is_none(builder: User, shop: Workshop) -> None:
    """The PDF; of a version of which nothing is known it is said what to add."""
    answer = await builder.http_client.get(f"/guide/{VERSION}/guide.pdf")
    assert answer.headers["content-type"] == "application/pdf"
    assert "Knot v1: assembly guide" in pypdf.PdfReader(io.BytesIO(answer.content)).pages[0].extract_text()
    path = shop.version(VERSION).path
    path.write_text(path.read_text().partition("[parameters]")[0])
    shop.unit(f"{VERSION}/01").path.unlink()
    for address in (f"/guide/{VERSION}/guide.pdf", f"/guide/{VERSION}"):
        await builder.open("/") if address.endswith("v1") else None
        answer = await builder.http_client.get(address)
        assert "needs a design, entered parameters or measured ones" in answer.text
        assert answer.status_code == (422 if address.endswith("pdf") else 200)
    assert (await builder.http_client.get("/guide/knot/v9")).status_code == 404


async def test_a_units_page_shows_what_was_built_and_takes_notes(builder: User, shop: Workshop) -> None:
    """Faults stand under their field and nothing is saved; what is right is, and markup of a person stays text."""
    await builder.open(f"/unit/{VERSION}/01")
    await builder.should_see("As built", retries=PATIENT)
    await builder.should_see("Measured: no impedance curve")  # entered parameters are predicted at once
    enter(builder, "weighed.cone_g", "-3")
    builder.find(marker="save-readings").click()
    await builder.should_see("Must be above 0", retries=PATIENT)
    enter(builder, "weighed.cone_g", "3.1")
    builder.find(marker="save-readings").click()
    await until(lambda: shop.unit(f"{VERSION}/01").record.weighed is not None)
    record = shop.unit(f"{VERSION}/01").record
    assert record.weighed is not None
    assert (record.weighed.cone_g, record.re_ohm, record.re_u_ohm) == (3.1, 6.1, 0.02)
    await builder.open(f"/unit/{VERSION}/01")
    builder.find(marker="add-deviation").click()
    await builder.should_see("Say what it is about.", retries=PATIENT)
    enter(builder, "deviation-what", "dust cap")
    enter(builder, "deviation-built", "<b>0.8 mm</b>")
    builder.find(marker="add-deviation").click()
    await until(lambda: shop.unit(f"{VERSION}/01").record.deviations)
    text = (await builder.http_client.get(f"/unit/{VERSION}/01")).text
    assert "dust cap" in text
    assert "<b>0.8 mm</b>" not in text


async def test_photographs_come_in_without_their_place(builder: User, shop: Workshop) -> None:
    """Sent, told, added with what it shows; served without metadata; a missing one is named and the page still opens."""
    answer = (
        await builder.http_client.post("/unit-photograph", files={"file": ("a.jpg", photograph())})
    ).json()
    assert "Exif" in answer["about"]
    refused = (
        await builder.http_client.post("/unit-photograph", files={"file": ("a.jpg", b"<svg/>")})
    ).json()
    assert "JPEG, PNG or WebP" in refused["refused"]
    await builder.open(f"/unit/{VERSION}/01")
    await builder.should_see("A photograph", retries=PATIENT)
    builder.find(marker="drop-photograph").trigger("kept", answer)
    await builder.should_see("JPEG, 32 by 24 pixels", retries=PATIENT)
    builder.find(marker="add-photograph").click()
    await builder.should_see("Say in a sentence what it shows.", retries=PATIENT)
    enter(builder, "shows", "The coil before it is glued in.")
    builder.find(marker="add-photograph").click()
    await until(lambda: shop.unit(f"{VERSION}/01").record.photographs)
    (one,) = photographs_of(shop, f"{VERSION}/01")
    seen = await builder.http_client.get(f"/photograph/{VERSION}/01/{one.file}")
    assert seen.headers["content-type"] == "image/jpeg"
    assert not Image.open(io.BytesIO(seen.content)).getexif()
    page_ = (await builder.http_client.get(f"/unit/{VERSION}/01")).text
    assert "The coil before it is glued in." in page_
    one.path.unlink()
    page_ = (await builder.http_client.get(f"/unit/{VERSION}/01")).text
    assert f"{one.file} is named in the record and is not there" in page_
    assert (await builder.http_client.get(f"/photograph/{VERSION}/01/{one.file}")).status_code == 404
    assert (await builder.http_client.get(f"/photograph/{VERSION}/01/unit.toml")).status_code == 404


async def test_nothing_of_it_in_an_empty_workshop(tmp_path: Path) -> None:
    """There is no such page."""
    async with visiting(empty_workshop(tmp_path / "empty")) as user:
        assert (await user.http_client.get(f"/guide/{VERSION}")).status_code == 404
