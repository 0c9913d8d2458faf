"""Causes of distortion as charts, sentences, rows, an object and an SVG."""

from __future__ import annotations

import json
import math
import xml.etree.ElementTree as ET
from dataclasses import replace

import click
import numpy as np
import pytest
from click.testing import CliRunner

from halfroll.cli.predict_causes import causes_json, causes_picture, print_causes
from halfroll.core.text import THIN
from halfroll.driver.causes import distortion_causes
from halfroll.driver.causes_said import causes_said
from halfroll.driver.lumped import DriverModel
from halfroll.driver.steady.two_tone import two_tone
from halfroll.publish.causes import cause_charts, causes_svg, drawn_causes, stacked_svg
from halfroll.publish.causes_words import MEND, cause_rows, cause_sentences, causes_dict
from halfroll.publish.theme import theme
from halfroll.workshop.causes import VersionCauses

PLAIN = DriverModel(
    Re=6.6, Mms=7e-3, Rms=0.8, Sd=54e-4, Bl=(4.0, 60.0, -6e4), K=(2000.0, -6e4, 6e7), Le=(2e-4, -0.02), x_range=(-4e-3, 4e-3)
)  # fmt: skip
BAND = (40.0, 150.0)
F = np.geomspace(20.0, 1000.0, 24)


def text(chart: object) -> str:
    """A chart as text."""
    return json.dumps(chart, ensure_ascii=False)


def told(driver: DriverModel = PLAIN, volts: float = 2.83) -> VersionCauses:
    """The causes of a driver as the workshop tells them."""
    found = distortion_causes(driver, volts, F)
    mixed = two_tone(driver, (4.0 * volts / math.sqrt(17.0), 80.0))
    return VersionCauses(
        causes=found,
        two_tone=mixed,
        level_w=volts**2 / 8.0,
        rated_ohm=8.0,
        band_hz=BAND,
        verdicts=causes_said(found, BAND),
    )


@pytest.fixture(scope="module")
def found() -> VersionCauses:
    """Four causes."""
    return told()


def test_two_tones_together_are_told(found: VersionCauses) -> None:
    """A low tone of four times the voltage shakes the high one: Bl that falls modulates it (order 3), its slope and Le's too (order 2)."""
    words = cause_sentences(found)[-1].replace(THIN, " ")
    assert words.startswith(
        "Two tones at once, 80.0 Hz and 680 Hz at a quarter of its voltage: modulation distortion "
    )
    mixed = causes_dict(found)["two_tone"]
    assert mixed["low_v"] / mixed["high_v"] == pytest.approx(4.0)
    assert math.hypot(mixed["low_v"], mixed["high_v"]) == pytest.approx(2.83)
    assert mixed["modulation_percent"] == pytest.approx(
        math.hypot(mixed["order_2_percent"], mixed["order_3_percent"])
    )
    assert mixed["order_3_percent"] > 0.5
    lost = causes_dict(told(volts=300.0))["two_tone"]
    assert lost["modulation_percent"] is None
    assert lost["standing"] != "steady"


def test_two_panels_and_what_is_left(found: VersionCauses) -> None:
    """Even and odd shares with one look for each cause, and the distortion without each; units and voltage are said; ISO 266 marks."""
    charts = cause_charts(found.causes, theme=theme("print"), width_px=700)
    assert list(charts) == ["even", "odd", "without"]
    even, odd, without = (text(chart) for chart in charts.values())
    assert "Share of even orders (2 and 4) in %" in even
    assert "Share of odd orders (3 and 5) in %" in odd
    assert f"steady tones of 2.83{THIN}V" in even
    for words in ("Bl(x)", "K(x)", "Le(x)"):
        assert words in even
        assert f"without {words}" in without
    for mark in ("31.5", "63", "125", "500"):
        assert mark in even


def test_only_causes_that_matter_are_drawn(found: VersionCauses) -> None:
    """Odd orders are made by Bl(x) and K(x); what stays under 5 % is left out, and that is said."""
    assert set(drawn_causes(found.causes, "odd")) == {"bl", "k"}
    odd = text(cause_charts(found.causes, theme=theme("print"), width_px=700)["odd"])
    assert "not drawn: what stays under 5" in odd
    assert '"reluctance force"' not in odd


def test_no_tone_no_chart() -> None:
    """Far beyond the travel nothing is drawn, and sentences say so."""
    lost = told(volts=300.0)
    short = replace(lost, causes=replace(lost.causes, harmonics=np.full_like(lost.causes.harmonics, np.nan)))
    assert cause_charts(short.causes, theme=theme("print"), width_px=700) == {}
    assert causes_svg(short.causes, theme=theme("print"), width_px=700) == ""
    assert stacked_svg([]) == ""
    assert all("no tone is steady" in one for one in cause_sentences(short)[:-1])
    assert "no steady state" in cause_sentences(short)[-1]


def test_the_answer_names_the_largest_cause_and_what_helps() -> None:
    """A motor that is lopsided, on a straight suspension: Bl(x) makes the even orders, and its cure is told; K(x) is not named."""
    sentences = " ".join(cause_sentences(told(replace(PLAIN, K=(2000.0,), Bl=(4.0, 200.0), Le=(2e-4,)))))
    assert "Even orders (2 and 4) are " in sentences
    assert f"Bl(x) 100{THIN}%" in sentences
    assert MEND[("bl", "even")] in sentences
    assert "K(x)" not in sentences
    weak = " ".join(cause_sentences(told(volts=0.01)))
    assert "too little to look for causes" in weak


def test_rows_hold_both_shares(found: VersionCauses) -> None:
    """Third octaves; even and odd share in one cell; level and reference in the note."""
    rows = cause_rows(found)
    assert rows.head == (
        "Frequency",
        "distortion",
        "even",
        "odd",
        "Bl(x)",
        "K(x)",
        "Le(x)",
        "reluctance force",
        "together",
    )
    assert rows.rows[0][0] == f"25.0{THIN}Hz"
    assert all(" / " in cell for cell in rows.rows[0][4:])
    assert f"1{THIN}W into 8{THIN}Ω" in rows.notes[0].replace("1.00111", "1")


def test_an_object_for_programs(found: VersionCauses) -> None:
    """Keys carry units; shares over the band add up to 100; unknown values are null; it is JSON."""
    told_ = json.loads(json.dumps(causes_json(found), allow_nan=False))
    for parity in ("even", "odd"):
        assert sum(told_[parity]["band_share_percent"].values()) == pytest.approx(100.0)
        assert set(told_[parity]["share_percent"]) == {"bl", "k", "le", "reluctance", "together"}
    assert [one["key"] for one in told_["causes"]] == ["bl", "k", "le", "reluctance"]
    assert len(told_["frequency_hz"]) == len(told_["thd_percent"]) == F.size
    loud = json.loads(json.dumps(causes_json(told(volts=20.0)), allow_nan=False))
    assert None in loud["thd_percent"]
    assert "beyond travel" in loud["standing"]
    assert loud["verdicts"][0]["code"] == "causes-not-told"


def test_printed_for_a_reader(found: VersionCauses) -> None:
    """Sentences, then the table."""

    @click.command()
    def show() -> None:
        print_causes(found)

    result = CliRunner().invoke(show)
    assert result.exit_code == 0
    assert "Even orders" in result.output
    assert "Causes of distortion" in result.output


def test_one_picture_as_svg(found: VersionCauses) -> None:
    """Even above odd in one SVG that stands alone: valid, as tall as both, with a text alternative."""
    root = ET.fromstring(causes_picture(found, "print", 720))
    inner = [one for one in root if one.tag.endswith("svg")]
    assert len(inner) == 2
    assert float(inner[1].attrib["y"]) == pytest.approx(float(inner[0].attrib["height"]), abs=1.0)
    assert float(root.attrib["height"]) == pytest.approx(
        sum(float(one.attrib["height"]) for one in inner), abs=2.0
    )
    description = next(one.text for one in root if one.tag.endswith("desc"))
    assert description is not None
    assert "Even distortion by cause" in description
    assert "Odd distortion by cause" in description


def test_cancelling_causes_leave_a_gap() -> None:
    """Where sizes of shares add up to more than four times what is left nothing is drawn, and the chart says why."""
    whole = told().causes
    torn = whole.contributions.copy()
    torn[0, 0, 8:12] += 5 * whole.harmonics[0, 8:12]
    torn[1, 0, 8:12] -= 5 * whole.harmonics[0, 8:12]
    before, after = (
        text(cause_charts(one, theme=theme("print"), width_px=700)["even"])
        for one in (whole, replace(whole, contributions=torn))
    )
    assert "cancel each other" not in before
    assert "cancel each other" in after
