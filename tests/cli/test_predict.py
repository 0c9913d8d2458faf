"""A prediction from the command line: its object key by key, the tables, curves, what is refused."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest

from halfroll.driver.lumped import DriverModel
from halfroll.driver.predicted.types import PredictedDriver
from halfroll.publish.predicted_rows import value_rows
from halfroll.workshop.prediction import EXAMPLE
from tests.cli.test_windings import described_all

PARAMETERS = EXAMPLE[EXAMPLE.index("[parameters]") :]


@pytest.fixture
def record(workshop):
    """The record of the small workshop's version, with entered parameters: a driver that takes no time."""
    path = workshop / "drivers" / "dunlin" / "v1" / "version.toml"
    text = path.read_text()
    if "effective_area_cm2" not in text:
        path.write_text("effective_area_cm2 = 54\n" + text)
    with path.open("a") as file:
        file.write("\n" + PARAMETERS)
    return path


def test_the_object_is_the_one_described(workshop, record, ask) -> None:
    """Key by key, and every kind of object in it."""
    found = ask("--workshop", workshop, "predict", "dunlin/v1", "--monte-carlo", "50")
    assert found.keys() == described_all("halfroll predict")
    assert found["values"].keys() == found["monte_carlo"]["values"].keys()
    fs = found["values"]["fs_hz"]
    assert fs.keys() == described_all("value that follows")
    assert fs["value"] == pytest.approx(75.0)
    assert fs["shares"].keys() == {"entered.fs_hz"}
    assert fs["u"] == pytest.approx(abs(fs["shares"]["entered.fs_hz"]))
    assert found["model"].keys() == described_all("driver model")
    assert found["assumptions"][0].keys() == described_all("assumption")
    assert found["monte_carlo"]["drawn"] == 50
    assert found["causes"] is found["limits"] is found["what_next"] is None
    assert found["figures"]["sensitivity_db"]["source"] == "predicted"
    assert [one["code"] for one in found["verdicts"]] == ["curves-not-known"]


def test_figures_are_those_of_the_values_told_above_them(workshop, record, ask) -> None:
    """Parameters as figures are those of the values: in a baffle, not a mean with those in free air, where half the air moves along."""
    found = ask("--workshop", workshop, "predict", "dunlin/v1")
    values, figures = found["values"], found["figures"]
    for key, figure, factor in (("mms_kg", "mms_g", 1e3), ("fs_hz", "fs_hz", 1.0), ("qts", "qts", 1.0)):
        assert figures[figure]["value"] == pytest.approx(factor * values[key]["value"], rel=1e-6)
        assert figures[figure]["u"] == pytest.approx(factor * values[key]["u"], rel=0.05)
        assert figures[figure]["conditions"]["mounting"] == "baffle"


def test_what_is_said_of_the_computed_take_is_told(workshop, record, ask) -> None:
    """A drive that takes the cone out of its travel leaves figures out; that is said here as on the page."""
    record.write_text(record.read_text().replace("travel_mm = 4", "travel_mm = 0.4"))
    found = ask("--workshop", workshop, "predict", "dunlin/v1", "--level", "2")
    assert "beyond-travel" in [one["code"] for one in found["verdicts"]]


def test_for_people(workshop, record, say, tmp_path) -> None:
    """Values with what makes them unsure, figures, what was assumed, three pictures."""
    picture = tmp_path / "curves.svg"
    code, out, _ = say("--workshop", workshop, "predict", "dunlin/v1", "--tables", "--svg", picture)
    assert code == 0
    for words in (
        "Unsure by",
        "fs (100",
        "What a measurement would give",
        "Assumed",
        "entered by hand",
        "caution: Bl, Kms and Le",
    ):
        assert words in out, words
    for name in ("bl", "kms", "le"):
        assert ET.parse(tmp_path / f"curves-{name}.svg").getroot().tag.endswith("svg")


def test_no_value_is_told_twice(workshop, record, say) -> None:
    """Parameters stand among the values alone; what nothing is known of has a dash; an interval has its unit once."""
    code, out, _ = say("--workshop", workshop, "predict", "dunlin/v1", "--monte-carlo", "50")
    assert code == 0
    values, _, figures = out.partition("What a measurement would give, in a large baffle, at 1 m and ")
    assert "Sensitivity" in figures
    for word in ("Qts", "Mms", "Above the harmonics", "Power mean"):
        assert word not in figures, word
    assert re.search(
        r"Mean distortion +– +Bl, Kms and Le over displacement are not known", figures
    )  # and not 0.00001 %
    rows = {line.partition("  ")[0]: line.split("  ") for line in values.splitlines()}
    for row in ("Asymmetry of Bl", "Asymmetry of Kms"):
        assert set(map(str.strip, rows[row][1:])) <= {"", "–"}
    (interval,) = [cell for cell in rows["fs"] if " to " in cell]
    assert re.fullmatch(r"\d+(\.\d)? to \d+(\.\d)?\u202fHz", interval.strip())


def test_a_measured_driver_is_not_called_predicted() -> None:
    """The head of the column says what stands in it."""
    from halfroll.driver.predicted.types import Worked
    from halfroll.publish.predicted_rows import SHOWN

    model = DriverModel(
        Re=6.0, Mms=12e-3, Rms=1.0, Sd=133e-4, Bl=(6.0,), K=(1111.0,), Le=(0.2e-3,), x_range=(-8e-3, 8e-3)
    )
    values = tuple(Worked(key=key, symbol="", unit="", value=1.0, u=0.0, shares=()) for key in SHOWN)
    found = PredictedDriver(model=model, assumptions=(), slopes=np.zeros((0, 1)), values=values)
    assert value_rows(found, measured=True).head[1] == "Measured"
    assert value_rows(found).head[1] == "Predicted"


def test_a_negative_mass(workshop, record, say) -> None:
    """Refused with file, key and line."""
    record.write_text(record.read_text().replace("mms_g = 6.5", "mms_g = -6.5"))
    code, _, err = say("--workshop", workshop, "predict", "dunlin/v1")
    assert code == 2
    assert "parameters.mms_g" in err
    assert f"{record}:" in err


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--monte-carlo", "3"), "10<=x<=100000"),
        (("--source", "measured"), "needs measured parameters"),
        (("--svg", "picture.png"), "must end with .svg"),
        (("--in", "nowhere"), "nowhere"),
        (("--level", "-3"), "level_w of the workshop must be above 0"),
        (("--level", "1e300"), "at most 10000"),
    ],
)
def test_what_is_refused(workshop, record, say, words, told) -> None:
    """Options that cannot be, with what is allowed."""
    code, _, err = say("--workshop", workshop, "predict", "dunlin/v1", *words)
    assert code == 2
    assert told in err


def test_nothing_to_predict(workshop, say) -> None:
    """A version with neither design nor parameters: what to add, with an example."""
    code, _, err = say("--workshop", workshop, "predict", "dunlin/v1")
    assert code == 2
    assert "[parameters]" in err
    assert "bl_n_per_a" in err
