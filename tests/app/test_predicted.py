"""The page of a prediction, and predictions on the pages of all drivers, of a version and of a comparison."""

from __future__ import annotations

from collections.abc import AsyncIterator

import pytest
from nicegui.testing import User

from halfroll.app.pages.both import apart
from halfroll.compare.types import Difference
from halfroll.core.errors import InputError
from halfroll.core.text import THIN
from halfroll.figures.types import Bound
from halfroll.workshop import VersionRecord, Workshop
from halfroll.workshop.virtual_takes import predicted_take
from tests.app.conftest import PATIENT, visiting
from tests.workshop.predictions import Counted, design, stand_in

V2, V4 = "godwit/v2", "godwit/v4"


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> Counted:
    """What the studies were asked for."""
    return stand_in(monkeypatch)


@pytest.fixture
def drawn(small: Workshop, asked: Counted) -> Workshop:
    """Godwit v2, measured and designed; v4, only drawn."""
    design(small, V2)
    record = VersionRecord(
        title="As drawn", parent="v3", rated_impedance_ohm=8.0, rated_power_w=20.0, effective_area_cm2=54.0
    )
    small.create_version("godwit", "v4", record)
    design(small, V4)
    return small


@pytest.fixture
async def visitor(drawn: Workshop) -> AsyncIterator[User]:
    """A person at its pages."""
    async with visiting(drawn) as user:
        yield user


async def test_page_of_a_measured_version(visitor: User, asked: Counted) -> None:
    """Both values with their intervals, how far apart, what makes it uncertain, curves, what is missing, where to go on."""
    await visitor.open(f"/predicted/{V2}")
    await visitor.should_see(marker="chart-level", retries=PATIENT)
    for words in (
        "Godwit v2, predicted", "● Measured", "○ Predicted", "Predicted − measured", f"{THIN}u", "The leads are not weighed.",
        "What makes it uncertain", "modulus of TPU 95A, grey spool", "All 2 assumptions", "slicer",
        f"/compare?v={V2}&amp;v={V2}@predicted", f"/what-if/{V2}", f"/update/{V2}", "Played in an infinite baffle",
    ):  # fmt: skip
        await visitor.should_see(words)
    for marker in ("chart-shares", "chart-thd", "chart-impedance", "show-causes", "show-limits"):
        await visitor.should_see(marker=marker)
    assert set(asked.asked) == {V2}


async def test_page_of_a_version_that_is_only_drawn(visitor: User) -> None:
    """Its numbers say that they are predicted; nothing stands in a column of measured ones."""
    await visitor.open(f"/predicted/{V4}?level=3")
    await visitor.should_see(marker="chart-level", retries=PATIENT)
    await visitor.should_see("Sensitivity, predicted")
    await visitor.should_see("Nothing was measured.")
    await visitor.should_see(f"3{THIN}W into")
    await visitor.should_not_see("● Measured")


async def test_chart_of_shares_for_a_phone_in_the_dark(visitor: User) -> None:
    """A narrow one puts the assumptions above their rows."""
    await visitor.open(f"/predicted/{V4}")
    await visitor.should_see(marker="chart-shares", retries=PATIENT)
    chart = visitor.find(marker="chart-shares").trigger("measure", {"width": 350, "dark": True})
    spec = next(iter(chart.elements)).spec  # type: ignore[attr-defined]
    pad = spec["padding"]
    assert abs(spec["width"] + pad["left"] + pad["right"] - 350) <= 1
    assert {row["n"] for row in spec["datasets"]["names"]} == {
        "mass of the cone",
        "modulus of TPU 95A, grey spool",
    }


async def test_version_page_offers_and_then_shows_the_prediction(drawn: Workshop, asked: Counted) -> None:
    """First a way to it; once it is kept, side by side with what was measured, and nothing is computed for the page."""
    async with visiting(drawn) as user:
        await user.open(f"/drivers/{V2}")
        await user.should_see("Files", retries=PATIENT)
        await user.should_see("Predict it from its design")
        await user.should_see(f"/cabinets/new?driver={V2}")
        assert not asked.asked
        predicted_take(drawn, V2)
        await user.open(f"/drivers/{V2}")
        await user.should_see("Files", retries=PATIENT)
        for words in (
            "● Measured",
            "○ Predicted",
            "Measured value rests on",
            "2 units, 4 takes",
            f"/predicted/{V2}",
        ):
            await user.should_see(words)
        assert asked.asked == [V2]


async def test_overview_marks_what_is_only_predicted(drawn: Workshop, asked: Counted) -> None:
    """Nothing is computed for the overview; what is kept says that it is predicted, at the number and below."""
    async with visiting(drawn) as user:
        await user.open("/")
        await user.should_see("not built: 0 units, 0 takes")
        await user.open(f"/drivers/{V4}")
        await user.should_see(
            "Nothing is measured of it, and its prediction is not worked out yet", retries=PATIENT
        )
        await user.should_not_see("No take counts.")
        assert not asked.asked
        predicted_take(drawn, V4)
        await user.open("/")
        await user.should_see("only predicted: from its design, not built")
        await user.should_see("Sensitivity, predicted")
        await user.open(f"/drivers/{V4}")
        await user.should_see("Files", retries=PATIENT)
        await user.should_see("Nothing was measured of it")
        await user.should_see("Sensitivity, predicted")


async def test_compare_page_takes_predictions(visitor: User) -> None:
    """A measured version against its own prediction, and the form offers predictions."""
    await visitor.open(f"/compare?v={V2}&v={V2}@predicted&base=parent")
    await visitor.should_see("Takes and conditions", retries=PATIENT)
    for words in (
        "Godwit v2, v2 predicted", "v2 predicted", "Predicted from its design; nothing was measured for these figures.", f'href="/predicted/{V2}"',
        f'value="{V2}@predicted"',
    ):  # fmt: skip
        await visitor.should_see(words)


async def test_what_is_wrong_is_said_beside_its_field(visitor: User, asked: Counted) -> None:
    """A level that is none, a cabinet that is not there: said, and nothing is computed."""
    await visitor.open(f"/predicted/{V4}?level=loud&cabinet=reeds")
    await visitor.should_see("The level must be a power above 0 W, at most 10000 W; found loud.")
    await visitor.should_see("There is no cabinet reeds.")
    assert not asked.asked


async def test_a_design_that_cannot_be_is_said_with_the_way_to_it(visitor: User, asked: Counted) -> None:
    """The fault in words, and where to mend it."""
    asked.fault = InputError("The coil must fit its gap", key="coil")
    await visitor.open(f"/predicted/{V4}")
    await visitor.should_see("It cannot be predicted yet", retries=PATIENT)
    await visitor.should_see("The coil must fit its gap")
    await visitor.should_see(f"/design/{V4}")


async def test_without_a_design_the_way_is_shown(visitor: User) -> None:
    """A version that is not designed, and one that is not there."""
    await visitor.open("/predicted/godwit/v3")
    await visitor.should_see("Nothing to predict from yet")
    await visitor.should_see("/design/godwit/v3")
    response = await visitor.http_client.get("/predicted/godwit/v77")
    assert response.status_code == 404
    assert "There is no version godwit/v77" in response.text


async def test_empty_workshop(newcomer: User) -> None:
    """No version, no page; said like any address of nothing."""
    response = await newcomer.http_client.get("/predicted/godwit/v1")
    assert response.status_code == 404


@pytest.mark.parametrize(
    ("value", "bound", "u", "said"),
    [
        (1.04, "lower", None, f"≥{THIN}+1.04{THIN}points; only a bound was measured"),
        (-0.01, "lower", None, "within the bound that was measured"),
        (0.5, None, None, f"+0.500{THIN}points, joint uncertainty unknown"),
        (2.0, None, 1.0, f"+2.0{THIN}points, 2.0{THIN}u"),
    ],
)
def test_what_a_bound_leaves_open_is_said(
    value: float, bound: Bound | None, u: float | None, said: str
) -> None:
    """A measured value that is only known to be below something says at least how far off a prediction is, or nothing."""
    found = Difference(
        figure="h4_percent",
        version_id=f"{V2}@predicted",
        base_id=V2,
        value=value,
        unit="points",
        u=u,
        bound=bound,
    )
    assert apart(found) == said
