"""The bass of a suspension as a chart and as rows: what is drawn, what is left out, and what is said of it."""

from __future__ import annotations

import numpy as np

from halfroll.driver.suspension_distortion import Constants, SuspensionDistortion, suspension_distortion
from halfroll.publish.suspension_distortion import distortion_chart
from halfroll.publish.suspension_said import curve_rows, distortion_rows, glance_rows
from halfroll.publish.theme import theme
from halfroll.suspension.design import MovingDesign
from halfroll.suspension.results import StiffnessCurve
from halfroll.workshop.suspension_report import SuspensionReport
from halfroll.workshop.suspensions import SuspensionSolved

X = np.linspace(-2e-3, 2e-3, 17)
CURVE = StiffnessCurve(
    x_m=X, force_n=3000.0 * X + 2e8 * X**3, tangent_n_per_m=3000.0 + 6e8 * X**2, kms_n_per_m=3000.0 + 2e8 * X**2, u_relative=0.1,
)  # fmt: skip
CONSTANTS = Constants(bl=4.0, re_ohm=6.6, le_h=0.3e-3, mms_kg=6e-3, rms=1.2, sd_m2=54e-4)


def found(*volts: float, bl: tuple[float, ...] | None = None) -> SuspensionDistortion:
    """Three tones at some voltages."""
    constants = Constants(**{**vars(CONSTANTS), "bl_of_x": bl})
    origins = (("Bl", "measured"),)
    return suspension_distortion(CURVE, constants, volts, origins=origins, frequency_hz=(40.0, 63.0, 125.0))


def report_of(distortion: SuspensionDistortion) -> SuspensionReport:
    """A report that holds only this."""
    return SuspensionReport(
        solved=SuspensionSolved(design=MovingDesign()), materials=(), distortion=distortion
    )


def drawn(distortion: SuspensionDistortion, number: int = 0) -> str:
    """The chart as text; empty where there is none."""
    spec = distortion_chart(distortion, theme=theme("print"), width_px=700, number=number)
    return "" if spec is None else repr(spec)


def test_the_chart_tells_the_motor_where_it_is_known_and_harmonics_otherwise() -> None:
    """Three curves either way; the voltage is said; a voltage at which every tone leaves the travel has no chart."""
    alone = drawn(found(2.0))
    assert all(word in alone for word in ("H2", "H3", "THD"))
    assert "motor alone" not in alone
    with_motor = drawn(found(2.0, bl=(4.0, 0.0, -1e5)))
    assert all(word in with_motor for word in ("suspension alone", "motor alone", "both"))
    loud = found(2.0, 60.0)
    assert drawn(loud, 1) == ""
    assert drawn(loud, 0)


def test_rows_stand_for_every_voltage_and_say_what_they_rest_on_once() -> None:
    """Where the cone leaves the travel there is a dash; notes stand under the last table."""
    first, second = distortion_rows(report_of(found(2.0, 60.0)))
    assert [len(rows.rows) for rows in (first, second)] == [3, 3]
    assert first.notes == ()
    assert "Bl from measured" in " ".join(second.notes)
    assert set(second.rows[0][1:]) == {"–"}
    assert first.rows[0][0].startswith("40")


def test_the_answer_names_the_worst_tone_that_could_be_played() -> None:
    """One line for each voltage with a tone inside the travel."""
    rows = glance_rows(report_of(found(2.0, 60.0))).rows
    assert [name.replace("\u202f", " ") for name, _ in rows] == [
        "Most distortion of the suspension alone at 2 V"
    ]


def test_a_curve_in_rows_has_rest_in_its_middle() -> None:
    """Odd in number, both ends and 0 among them, minus signs typeset."""
    rows = curve_rows(CURVE, most=9).rows
    assert len(rows) == 9
    assert rows[4][:2] == ("0\u202fmm", "0\u202fN")
    assert rows[0][0] == "\u22122\u202fmm"
    assert rows[-1][2] == "3.80\u202fN/mm"
