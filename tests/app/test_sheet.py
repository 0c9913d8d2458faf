"""The pages of data sheet, marks and site: what they show, their files, a slip, an empty version, an empty workshop."""

from __future__ import annotations

import io
import zipfile

import pypdf
from nicegui import ui
from nicegui.testing import User

from halfroll.compare.recipe import compare_versions
from halfroll.publish.marks import marks_of
from halfroll.workshop import VersionRecord, Workshop
from tests.app.conftest import PATIENT, until


async def test_the_sheet_as_a_page_and_as_a_file(visitor: User, small: Workshop) -> None:
    """Figures with links to their marks, curves, cautions; the PDF says the same."""
    await visitor.open("/sheet/godwit/v3")
    await visitor.should_see(marker="chart-level", retries=PATIENT)
    for words in (
        "Sensitivity",
        "2 units, 4 takes",
        "Protect your ears",
        "What is not known",
        "How each figure is read",
        "The sheet as PDF",
    ):
        await visitor.should_see(words)
    mark = marks_of(small, compare_versions(small, ["godwit/v3"], with_curves=False))[
        "godwit/v3", "sensitivity_db"
    ]
    await visitor.should_see(f"/mark/{mark.upper()}")
    answer = await visitor.http_client.get("/sheet/godwit/v3/sheet.pdf")
    assert answer.status_code == 200
    assert mark.upper() in pypdf.PdfReader(io.BytesIO(answer.content)).pages[0].extract_text()
    await visitor.open(f"/mark/{mark}")
    await visitor.should_see("Unchanged.", retries=PATIENT)
    for words in ("/takes/godwit/v3/01/", "Power mean on a logarithmic frequency grid", "/rigs/bench"):
        await visitor.should_see(words)


async def test_a_slip_and_an_empty_version(visitor: User, small: Workshop) -> None:
    """What to do instead is said."""
    await visitor.open("/mark/2222222")
    await visitor.should_see("No number in this workshop has this mark")
    await visitor.open("/mark")
    await visitor.should_see("What stands behind a number")
    small.create_version("sandpiper", "v2", VersionRecord(title="Not yet"))
    await visitor.open("/sheet/sandpiper/v2")
    await visitor.should_see("would be empty", retries=PATIENT)
    answer = await visitor.http_client.get("/sheet/sandpiper/v2/sheet.pdf")
    assert answer.status_code == 422
    assert "would be empty" in answer.text


async def test_a_site_is_made_and_taken_along(visitor: User, small: Workshop) -> None:
    """The versions that are ticked, as a ZIP."""
    await visitor.open("/site")
    await visitor.should_see("Godwit")
    visitor.find(marker="make-site").click()
    await until(lambda: visitor.download.http_responses)
    answer = visitor.download.http_responses[0]
    with zipfile.ZipFile(io.BytesIO(answer.content)) as archive:
        assert "site/versions/godwit--v3.html" in archive.namelist()
    assert ui.download is not None


async def test_an_empty_workshop_is_shown_the_way(newcomer: User) -> None:
    """Nothing to make pages of; no mark yet."""
    await newcomer.open("/site")
    await newcomer.should_see("There is no version yet")
    await newcomer.open("/mark")
    await newcomer.should_see("No mark is kept in this workshop yet")
