"""The page of a comparison and what can be taken away from it."""

from __future__ import annotations

import json
from xml.etree import ElementTree

import pytest
from nicegui.testing import User

from halfroll.app.asked import read, written
from halfroll.figures.types import FigureSettings
from tests.app.conftest import PATIENT

THREE = "v=godwit/v1&v=godwit/v2&v=godwit/v3"


async def test_three_versions_findings_first(visitor: User) -> None:
    """Findings in sentences, then strips, curves, table, changes and conditions."""
    await visitor.open(f"/compare?{THREE}&base=first")
    await visitor.should_see("Findings", retries=PATIENT)
    await visitor.should_see("Godwit v1, v2, v3")
    await visitor.should_see("octaves deeper")
    for chart in ("strip:sensitivity_db", "strip:lower_limit_hz", "strip:thd_mean_percent", "level", "thd"):
        await visitor.should_see(marker=f"chart-{chart}")
    for words in ("v2 against v1", "Deeper bass.", "counted.", "left out", "2.83\u202fV"):
        await visitor.should_see(words)


async def test_form_says_what_the_address_asks(visitor: User) -> None:
    """The form under the comparison shows the settings of the address, so that it can be changed from there."""
    await visitor.open(f"/compare?{THREE}&base=best&level=3&bass=50-200&rule=minus_6&spread=pooled")
    await visitor.should_see("Findings", retries=PATIENT)
    form = next(iter(visitor.find("Change versions and settings").elements)).content  # type: ignore[attr-defined]
    for mark in (
        'value="3"',
        'value="50-200"',
        'value="minus_6" selected',
        'value="best" selected',
        'value="pooled" selected',
    ):
        assert mark in form
    assert form.count(" checked") == 3
    await visitor.should_see("3\u202fW into the rated impedance, distortion over 50 to 200\u202fHz")


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ("level=loud", "The level must be a power above 0"),
        ("level=-1", "The level must be a power above 0"),
        ("bass=150-40", "two ascending frequencies"),
        ("rule=half", "The rule of the limits must be one of"),
        ("base=godwit/v9", "The base must be one of the versions compared"),
    ],
)
async def test_wrong_setting_is_said_at_its_field(visitor: User, wrong: str, words: str) -> None:
    """A setting that is none opens the form with the error beside its field and what was typed kept."""
    await visitor.open(f"/compare?{THREE}&{wrong}")
    form = next(iter(visitor.find("Choose versions and settings").elements)).content  # type: ignore[attr-defined]
    assert words in form
    assert 'aria-invalid="true"' in form
    assert form.count(" checked") == 3


async def test_without_versions_the_form_is_open(visitor: User) -> None:
    """Nothing chosen: every version of every driver can be ticked, in line order."""
    await visitor.open("/compare")
    form = next(iter(visitor.find("Choose versions and settings").elements)).content  # type: ignore[attr-defined]
    order = [
        form.index(f'value="{version}"')
        for version in ("godwit/v1", "godwit/v2", "godwit/v3", "sandpiper/v1")
    ]
    assert order == sorted(order)


async def test_empty_workshop(newcomer: User) -> None:
    """Without versions there is nothing to compare, and the page says what is needed."""
    await newcomer.open("/compare")
    await newcomer.should_see("Nothing to compare yet")
    await newcomer.should_see('href="/import"')


async def test_unknown_version(visitor: User) -> None:
    """A version that does not exist is named, with status 404."""
    response = await visitor.http_client.get("/compare?v=godwit/v1&v=godwit/v8")
    assert response.status_code == 404
    assert "There is no version godwit/v8" in response.text


async def test_published_version_stands_in_the_comparison(visitor: User) -> None:
    """A driver known from a table stands beside measured ones, marked as such."""
    await visitor.open("/compare?v=godwit/v3&v=sandpiper/v1&base=first")
    await visitor.should_see("Findings", retries=PATIENT)
    await visitor.should_see("as printed")
    await visitor.should_see("2 versions of Godwit, Sandpiper")


async def test_sheet_chart_and_numbers(visitor: User) -> None:
    """The sheet is a PDF, a chart an SVG or PNG of the printed look, the numbers JSON with the settings asked for."""
    get = visitor.http_client.get
    sheet = await get(f"/compare/sheet.pdf?{THREE}")
    assert sheet.headers["content-type"] == "application/pdf"
    assert sheet.content.startswith(b"%PDF")
    svg = await get(f"/compare/chart.svg?chart=level&{THREE}")
    assert ElementTree.fromstring(svg.text).tag == "{http://www.w3.org/2000/svg}svg"
    png = await get(f"/compare/chart.png?chart=strip:sensitivity_db&{THREE}")
    assert png.content.startswith(b"\x89PNG")
    numbers = (await get(f"/compare/comparison.json?{THREE}&level=3")).json()
    assert [version["id"] for version in numbers["versions"]] == ["godwit/v1", "godwit/v2", "godwit/v3"]
    assert numbers["settings"]["level_w"] == 3.0


@pytest.mark.parametrize(
    "path", ["sheet.pdf?v=godwit/v9", "sheet.pdf", "comparison.json?v=godwit/v1&level=x", f"chart.svg?chart=gauge&{THREE}",
             f"chart.gif?chart=level&{THREE}"],
)  # fmt: skip
async def test_file_that_cannot_be_made_says_why(visitor: User, path: str) -> None:
    """A wrong address of a file gives a sentence and status 422."""
    response = await visitor.http_client.get(f"/compare/{path}")
    assert response.status_code == 422
    assert response.text.rstrip().endswith(".")
    assert "Traceback" not in response.text


def test_address_and_settings_round_trip() -> None:
    """What a comparison's own address asks for is what it was made with."""
    settings = FigureSettings(
        sensitivity_band_hz=(300.0, 3150.0), distortion_band_hz=(31.5, 125.0), limit_rule="minus_3",
        thd_reference="fundamental", level_w=0.5,
    )  # fmt: skip
    pairs = [("v", "a/v1"), ("v", "a/v2"), ("base", "a/v2"), ("spread", "pooled"), *written(settings).items()]
    asked = read(pairs, FigureSettings())
    assert asked.settings == settings
    again = read([tuple(p.split("=")) for p in asked.query().split("&")], FigureSettings(level_w=7.0))  # type: ignore[misc]
    assert (again.versions, again.base, again.spread, again.settings) == (
        ("a/v1", "a/v2"),
        "a/v2",
        "pooled",
        settings,
    )
    assert json.dumps(again.errors) == "{}"


async def test_a_claim_is_held_against_the_figures(visitor: User) -> None:
    """Each sentence gets its answer; an empty text is asked for; what the figures do not bear is counted."""
    await visitor.open(
        "/claims?version=godwit/v3&text=It+is+deeper+than+v1.+It+is+more+than+three+octaves+deeper+than+v1.+It+is+twice+as+loud."
    )
    visitor.find(marker="check").click()
    await visitor.should_see("1 sentence should not be printed", retries=PATIENT)
    for words in (
        "The figures bear it",
        "The figures say otherwise",
        "Not read",
        "Say it in decibels",
        "May be written",
    ):
        await visitor.should_see(words)


async def test_a_claim_without_words_is_asked_for(visitor: User) -> None:
    """The page says what it wants."""
    await visitor.open("/claims")
    visitor.find(marker="check").click()
    await visitor.should_see("Write a sentence first.")
