"""A driver in a cabinet: against ngspice, the closed-box table, worked numbers; travel, port speed, suggestions."""

import dataclasses
import json
import math
from pathlib import Path

import numpy as np
import pytest

from halfroll.acoustics.air import Air
from halfroll.acoustics.baffle import Baffle, baffle_transfer
from halfroll.acoustics.cabinet.alignments import closed_f3_ratio, closed_peak_db, vented_alignment
from halfroll.acoustics.cabinet.network import load_of
from halfroll.acoustics.cabinet.port import Port, length_for
from halfroll.acoustics.cabinet.types import Cabinet, Losses, Radiator
from halfroll.core.errors import InputError
from halfroll.driver.boxed import boxed_response, closed_resonance, frequencies, read_boxed
from halfroll.driver.boxed_drive import boxed_verdicts, drive_boxed, level_by_travel
from halfroll.driver.boxed_spread import boxed_spread
from halfroll.driver.boxed_suggest import suggest
from halfroll.driver.boxed_wish import GOALS, Wish, longest_port
from halfroll.driver.linear import group_delay_s, linear_response
from halfroll.driver.lumped import DriverModel, small_signal
from halfroll.driver.predicted.packing import pack, unpack
from halfroll.driver.predicted.types import Assumption, PredictedDriver

REFERENCE = json.loads(
    (Path(__file__).parents[1] / "references" / "cabinet_network" / "ac_boxes.json").read_text(
        encoding="utf-8"
    )
)
CONSTANTS = REFERENCE["constants"]
AIR = Air(1.2, 343.0)


def _stored(case: str, what: str) -> np.ndarray:
    values = REFERENCE[case][what]
    return np.array(values["re"]) + 1j * np.array(values["im"])


def _close(found: np.ndarray, expected: np.ndarray) -> None:
    """Within 0.001 dB and 0.01 degree: ten times finer than what is promised."""
    ratio = found / expected
    assert np.abs(20 * np.log10(np.abs(ratio))).max() < 1e-3
    assert np.abs(np.degrees(np.angle(ratio))).max() < 1e-2


def _vented(volume: float, tuning: float, leak_q: float, air: Air) -> Cabinet:
    diameter = 0.04
    length = length_for(volume, tuning, math.pi * diameter**2 / 4, air=air)
    port = Port.round(diameter, length)
    return Cabinet(kind="vented", gross_m3=volume + port.volume_m3, port=port, losses=Losses(leak_q=leak_q))


def test_closed_against_the_circuit_solver(reference_driver: DriverModel, reference_air: Air) -> None:
    """1.5 l, ngspice 39.3: impedance, displacement, pressure."""
    f = np.array(REFERENCE["closed"]["frequency_hz"])
    found = boxed_response(
        reference_driver, Cabinet(kind="closed", gross_m3=CONSTANTS["Vb_closed_m3"]), f, air=reference_air
    )
    _close(found.impedance_ohm, _stored("closed", "Z_ohm"))
    _close(found.displacement_m_per_v, _stored("closed", "x_m_per_V"))
    _close(found.pressure_pa_per_v, _stored("closed", "p_Pa_per_V"))


def test_vented_against_the_circuit_solver(reference_driver: DriverModel, reference_air: Air) -> None:
    """3 l, 62 Hz, QL 7, ngspice 39.3: impedance, displacement; cone, port, leak and their sum, like with like."""
    f = np.array(REFERENCE["vented"]["frequency_hz"])
    cabinet = _vented(CONSTANTS["Vb_vented_m3"], CONSTANTS["fb_hz"], CONSTANTS["QL"], reference_air)
    found = boxed_response(reference_driver, cabinet, f, air=reference_air)
    _close(found.impedance_ohm, _stored("vented", "Z_ohm"))
    _close(found.displacement_m_per_v, _stored("vented", "x_m_per_V"))
    _close(found.cone_pa_per_v, _stored("vented", "p_cone_Pa_per_V"))
    for name in ("port", "leak"):
        _close(found.outlet_pa_per_v[found.outlets.index(name)], _stored("vented", f"p_{name}_Pa_per_V"))
    _close(found.pressure_pa_per_v, _stored("vented", "p_total_with_leak_Pa_per_V"))


def _of(qts: float) -> DriverModel:
    """Fs 50 Hz, a Qts, hardly any inductance; Vas 20 l."""
    mass, omega, area = 0.01, 2 * math.pi * 50.0, 0.0133
    compliance = 1.0 / (mass * omega**2)
    damping = omega * mass / qts
    return DriverModel(Re=6.0, Mms=mass, Rms=0.1 * damping, Sd=area, Bl=(math.sqrt(0.9 * damping * 6.0),), K=(1.0 / compliance,), Le=(1e-9,),
                       x_range=(-4e-3, 4e-3))  # fmt: skip


def test_worked_closed_box(worked_driver: DriverModel) -> None:
    """Re 6, Bl 6, Mms 12 g, Cms 0.9 mm/N, Rms 1, Sd 133 cm² in 5 l (ρ 1.2, c 343): fc 113.52682 Hz, Qtc 1.222817 (Small 1972)."""
    cabinet = Cabinet(kind="closed", gross_m3=0.005)
    fc, qtc = closed_resonance(worked_driver, cabinet, AIR)
    assert fc == pytest.approx(113.52682, rel=1e-7)
    assert qtc == pytest.approx(1.222817, rel=1e-6)
    driver = dataclasses.replace(worked_driver, Le=(1e-9,))
    reading = read_boxed(driver, cabinet, boxed_response(driver, cabinet, air=AIR), AIR)
    assert reading.f3_hz == pytest.approx(113.52682 * closed_f3_ratio(1.222817), rel=2e-4)
    assert reading.peak_db == pytest.approx(closed_peak_db(1.222817), abs=2e-3)


@pytest.mark.parametrize("litres", [3.0, 100.0])
def test_creep_damps_in_a_closed_cabinet_too(litres: float) -> None:
    """What an impedance in the cabinet tells (Small 1972): fc where the motional part is real, its height RES there, Qmc = 2π fc Mms RES/Bl² and
    Qtc = Qmc Re/(Re + RES). A suspension that creeps loses by itself, and is stiffer at fc than at fs.
    """
    driver = DriverModel(
        Re=6.0, Mms=7.5e-3, Rms=0.25, Sd=54e-4, Bl=(4.3,), K=(1120.0,), Le=(1e-9,), x_range=(-4e-3, 4e-3), creep=0.083
    )  # fmt: skip
    cabinet = Cabinet(kind="closed", gross_m3=1e-3 * litres)
    fc, qtc = closed_resonance(driver, cabinet, AIR)
    f = np.linspace(0.9 * fc, 1.1 * fc, 20_001)
    motional = linear_response(driver, f, load=load_of(cabinet, AIR)).impedance_ohm - driver.Re
    real = int(np.argmin(np.abs(np.angle(motional))))
    height = motional[real].real
    assert fc == pytest.approx(f[real], rel=1e-4)
    mechanical = 2.0 * math.pi * f[real] * driver.Mms * height / driver.Bl[0] ** 2
    assert qtc == pytest.approx(mechanical * driver.Re / (driver.Re + height), rel=1e-3)


@pytest.mark.parametrize("qtc", [0.7071068, 1.0, 1.5])
def test_closed_table(qtc: float) -> None:
    """f3/fc and peak of the closed-box table (Small 1972) from the driver's full network."""
    driver = _of(0.4)
    small = small_signal(driver, AIR)
    cabinet = Cabinet(kind="closed", gross_m3=small.Vas / ((qtc / 0.4) ** 2 - 1))
    reading = read_boxed(driver, cabinet, boxed_response(driver, cabinet, air=AIR), AIR)
    assert reading.qtc == pytest.approx(qtc, rel=1e-6)
    assert reading.fc_hz is not None
    assert reading.f3_hz is not None
    assert reading.f3_hz / reading.fc_hz == pytest.approx(closed_f3_ratio(qtc), rel=2e-4)
    assert reading.peak_db == pytest.approx(closed_peak_db(qtc), abs=2e-3)


@pytest.mark.parametrize(("qts", "f3"), [(0.303, 1.4481), (0.466, 0.7260)])
def test_vented_rows(qts: float, f3: float) -> None:
    """Rows 4 (QB3) and 7 (C4) of Thiele's table from the driver's full network: f3/fs."""
    driver = _of(qts)
    small, aligned = small_signal(driver, AIR), vented_alignment(qts)
    cabinet = _vented(aligned.volume_ratio * small.Vas, aligned.tuning_ratio * small.fs, math.inf, AIR)
    reading = read_boxed(driver, cabinet, boxed_response(driver, cabinet, air=AIR), AIR)
    assert reading.f3_hz is not None
    assert reading.f3_hz / small.fs == pytest.approx(f3, rel=3e-4)


def test_infinite_baffle(worked_driver: DriverModel) -> None:
    """Without a cabinet: mid-band level at 2.83 V as the definition says."""
    found = boxed_response(worked_driver, None, np.array([590.0, 600.0]), air=AIR)
    assert found.level_db(math.sqrt(8.0))[1] == pytest.approx(89.52374, abs=0.1)
    assert found.baffle is None


def test_group_delay() -> None:
    """Second-order Butterworth high-pass: τ = (√2/ω0)(1 + u²)/(1 + u⁴), u = ω/ω0, from its phase by hand."""
    f = frequencies()
    s = 1j * f / 80.0
    found = group_delay_s(f, s**2 / (s**2 + math.sqrt(2) * s + 1))
    at = int(np.argmin(np.abs(f - 80.0)))
    u = f[at] / 80.0
    assert found[at] == pytest.approx(math.sqrt(2) * (1 + u**2) / (1 + u**4) / (2 * math.pi * 80.0), rel=1e-3)


def test_travel_and_port_speed() -> None:
    """At the tuning the port moves what the box gives: speed from the stored network; travel scales with the voltage."""
    driver = _of(0.4)
    cabinet = _vented(0.012, 45.0, 7.0, AIR)
    found = boxed_response(driver, cabinet, air=AIR)
    reading = read_boxed(driver, cabinet, found, AIR)
    low, high = (drive_boxed(driver, cabinet, found, reading, volts) for volts in (1.0, 4.0))
    assert high.travel_m == pytest.approx(4 * low.travel_m)
    assert low.volts_by_travel == pytest.approx(high.volts_by_travel)
    assert low.port_peak_m_s == pytest.approx(math.sqrt(2) * (low.port_rms_m_s or 0))
    at_limit = drive_boxed(driver, cabinet, found, reading, low.volts_by_travel)
    assert at_limit.travel_m == pytest.approx(4e-3)
    i = int(np.argmin(np.abs(found.frequency_hz - low.travel_hz)))
    assert level_by_travel(found, 4e-3)[i] == pytest.approx(found.level_db(low.volts_by_travel)[i], abs=1e-6)


def test_level_by_travel() -> None:
    """5 mm peak of 133 cm² at 50 Hz: 92.9316 dB (half space, 1 m, ρ 1.2; p = ρ Sd a/(2π r))."""
    found = boxed_response(_of(0.4), None, np.array([49.99, 50.0, 50.01]), air=AIR)
    assert level_by_travel(found, 5e-3)[1] == pytest.approx(92.9316, abs=1e-3)


def test_what_is_said() -> None:
    """Too much voltage: the cone, the air in the port and the range below the tuning are each spoken of."""
    driver = _of(0.35)
    port = Port.round(0.02, length_for(0.006, 50.0, math.pi * 0.01**2, air=AIR))
    cabinet = Cabinet(kind="vented", gross_m3=0.006 + port.volume_m3, port=port)
    found = boxed_response(driver, cabinet, air=AIR)
    reading = read_boxed(driver, cabinet, found, AIR)
    codes = {
        one.code
        for one in boxed_verdicts(
            cabinet, reading, drive_boxed(driver, cabinet, found, reading, 12.0), air=AIR
        )
    }
    assert {"port-fast"} <= codes
    assert codes & {"cabinet-travel", "travel-below-tuning"}
    quiet = {
        one.code
        for one in boxed_verdicts(
            cabinet, reading, drive_boxed(driver, cabinet, found, reading, 0.2), air=AIR
        )
    }
    assert not quiet & {"port-fast", "cabinet-travel", "travel-below-tuning"}


def test_baffle_comes_in() -> None:
    """The front's edges as `acoustics.baffle` has them, 6 dB down at the bottom."""
    driver = _of(0.5)
    front = Baffle(width_m=0.2, height_m=0.3, x_m=0.1, y_m=0.15)
    cabinet = Cabinet(kind="closed", gross_m3=0.01, front=front)
    f = np.geomspace(20.0, 4000.0, 100)
    found = boxed_response(driver, cabinet, f, air=AIR, with_baffle=True)
    assert found.baffle is not None
    exact = baffle_transfer(f, front, driver.radius, air=AIR)
    assert np.abs(20 * np.log10(np.abs(found.baffle / exact))).max() < 0.2
    lost = found.level_db(1.0, with_baffle=True) - found.level_db(1.0)
    assert lost[0] == pytest.approx(-6.0, abs=0.3)


def test_spread() -> None:
    """First order: the uncertainty of fc is what moving the stiffness and mass by hand gives, added in squares."""
    driver = _of(0.4)
    row = pack(driver)
    cabinet = Cabinet(kind="closed", gross_m3=0.008)
    names = ("material.modulus", "moving.mass")
    slopes = np.zeros((2, row.size))
    base = driver
    slopes[0] = 0.1 * (pack(dataclasses.replace(base, K=(base.K[0] * math.e,))) - row)
    slopes[1] = 0.05 * (pack(dataclasses.replace(base, Mms=base.Mms * math.e)) - row)
    predicted = PredictedDriver(
        model=driver, slopes=slopes, values=(),
        assumptions=tuple(Assumption(key=name, label=name, kind="material", unit="", value=1.0, u=0.1) for name in names),
    )  # fmt: skip
    found = boxed_response(driver, cabinet, air=AIR)
    level, figures = boxed_spread(predicted, cabinet, found, read_boxed(driver, cabinet, found, AIR), AIR)
    fc = closed_resonance(driver, cabinet, AIR)[0]
    parts = [closed_resonance(unpack(row + one, driver), cabinet, AIR)[0] - fc for one in slopes]
    assert figures["fc_hz"] == pytest.approx(math.hypot(*parts), rel=1e-9)
    assert level.shape == found.frequency_hz.shape
    assert (level >= 0).all()
    assert level.max() > 0.1


def test_suggestions() -> None:
    """At most 4 litres: all keep the volume; those without a miss keep every limit and stand first, in order of the goal."""
    driver = _of(0.38)
    for goal in GOALS:
        wish = Wish(goal=goal, most_m3=0.004, peak_db=1.0, volts=4.0)
        found = suggest(driver, wish, air=AIR)
        assert {one.cabinet.kind for one in found} == {"closed", "vented"}
        assert all(one.cabinet.gross_m3 <= 0.004 * 1.0001 for one in found)
        misses = [len(one.misses) for one in found]
        assert misses == sorted(misses)
        for one in found:
            if one.misses:
                continue
            assert one.reading.peak_db <= 1.02
            if one.cabinet.port is not None:
                assert (one.drive.port_peak_m_s or 0) <= 1.01 * wish.port_speed_m_s
                assert one.cabinet.port.length_m <= 1.001 * longest_port(wish, one.cabinet)
        fair = [one.score for one in found if not one.misses]
        assert fair == sorted(fair)


def test_the_best_closed_is_the_best() -> None:
    """Deepest closed of at most V litres, no peak over 1 dB: a scan by scipy's bounded minimiser over the volume finds none deeper."""
    from scipy.optimize import minimize_scalar

    driver = _of(0.38)
    small = small_signal(driver, AIR)

    def f3(volume: float) -> float:
        qtc = 0.38 * math.sqrt(1 + small.Vas / volume)
        fc = 50.0 * math.sqrt(1 + small.Vas / volume)
        return fc * closed_f3_ratio(qtc) + (1e3 * max(closed_peak_db(qtc) - 1.0, 0.0))

    best = minimize_scalar(f3, bounds=(0.0005, 0.01), method="bounded")
    found = suggest(driver, Wish(most_m3=0.01, kinds=("closed",), peak_db=1.0), air=AIR)
    assert found[0].reading.f3_hz == pytest.approx(best.fun, rel=0.01)


def test_with_a_radiator() -> None:
    """A passive radiator gets the mass that tunes it; it is never made lighter than it is."""
    given = Radiator(mass_kg=0.012, compliance_m_n=1.2e-3, resistance=0.4, area_m2=0.0133, travel_m=8e-3)
    found = suggest(_of(0.38), Wish(most_m3=0.006, kinds=("passive-radiator",), radiator=given), air=AIR)
    assert found
    assert all(one.cabinet.radiator is not None and one.cabinet.radiator.mass_kg >= 0.012 for one in found)


def test_wishes_that_cannot_be() -> None:
    """Each says what is wrong."""
    with pytest.raises(InputError, match=r"most_l.*0 l"):
        Wish(most_m3=0.0)
    with pytest.raises(InputError, match=r"taken_l.*Allow a larger"):
        Wish(most_m3=0.001, taken_m3=0.00095)
    for key, wrong in (
        ("group_delay_ms", {"group_delay_s": -0.001}), ("port_speed_m_s", {"port_speed_m_s": math.nan}), ("longest_port_mm", {"longest_port_m": 0.0}),
        ("from_hz", {"from_hz": -2.0}), ("narrowest_port_mm", {"narrowest_port_m": 0.2}),
    ):  # fmt: skip
        with pytest.raises(InputError, match=key):
            Wish(most_m3=0.001, **wrong)
    with pytest.raises(InputError, match="goal"):
        Wish(most_m3=0.001, goal="best")  # type: ignore[arg-type]
