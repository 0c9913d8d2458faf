"""A virtual take against steady tones worked out by others, and the quick response against the virtual take."""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from halfroll.acoustics.load import AcousticLoad, vented_load
from halfroll.core.conditions import Conditions, Space
from halfroll.core.errors import CancelledError, RefusedError
from halfroll.driver.large_signal import TravelError
from halfroll.driver.linear import linear_response
from halfroll.driver.lumped import DriverModel
from halfroll.driver.quick import quick_response
from halfroll.driver.steady.solve import steady_tones
from halfroll.driver.virtual import air_of, source_v, virtual_response
from halfroll.figures.readings import read_take
from halfroll.figures.types import FigureSettings
from halfroll.measure.analysis.response import ORDERS, Response
from halfroll.measure.sweep import Sweep

TRUTH = Path(__file__).parents[1] / "references" / "nonlinear_driver" / "truth_distortion.json"
"""Harmonic balance, checked with ngspice and SciPy's Radau; see README.md beside it."""

PLACE = Conditions(
    drive_v=None, distance_m=1.0, space=Space.HALF, rated_impedance_ohm=4.0, temperature_c=20.0
)
SHUNT_OHM = 0.1


def db(value: Any) -> Any:
    """Decibels of a magnitude."""
    return 20.0 * np.log10(np.abs(value))


def at(response: Response, values: Any, frequency_hz: float) -> float:
    """A curve of a response at one frequency."""
    return float(np.interp(np.log(frequency_hz), np.log(response.frequency_hz), values))


@pytest.mark.parametrize(("case", "source"), [("main", 2.0), ("high", 12.0**0.5)])
def test_virtual_take_gives_steady_harmonics(reference_driver: DriverModel, case: str, source: float) -> None:
    """The sweep, analysed as a recording is, gives harmonics within 0.15 dB of steady tones above -70 dB, 30 to 400 Hz."""
    drive = source / source_v(reference_driver, 1.0, SHUNT_OHM)
    found = virtual_response(reference_driver, drive_v=drive, conditions=PLACE, series_ohm=SHUNT_OHM)
    rows = [
        row
        for row in json.loads(TRUTH.read_text())["cases"][case]["with_shunt"]
        if 29.9 < row["f_Hz"] < 400.0
    ]
    level = db(found.pressure_full_pa) + db(np.sqrt(2.0))
    checked = 0
    for row in rows:
        fundamental = at(found, level, row["f_Hz"])
        assert fundamental == pytest.approx(db(row["H1_Pa_pk"]), abs=0.1)  # the air differs by 0.03 dB
        for order in range(2, 6):
            wanted = row[f"H{order}_dB_re_H1"]
            if wanted > -70.0:
                got = (
                    at(found, db(found.harmonics_pa[order - 2]), row["f_Hz"]) + db(np.sqrt(2.0)) - fundamental
                )
                assert got == pytest.approx(wanted, abs=0.15), (row["f_Hz"], order)
                checked += 1
    assert checked > 50
    assert not found.verdicts


def test_virtual_take_gives_own_steady_tones(reference_driver: DriverModel) -> None:
    """The same against the house's solver for steady tones, with the phases: sin(nφ + θ) re the terminal voltage."""
    frequency, source = np.array([42.0, 84.0, 150.0, 300.0]), 2.0
    tones = steady_tones(reference_driver, source, frequency, series_ohm=SHUNT_OHM)
    drive = source / source_v(reference_driver, 1.0, SHUNT_OHM)
    found = quick_response(reference_driver, drive_v=drive, conditions=PLACE, series_ohm=SHUNT_OHM)
    played = virtual_response(reference_driver, drive_v=drive, conditions=PLACE, series_ohm=SHUNT_OHM)
    inside = (found.frequency_hz > 30.0) & (found.frequency_hz < 400.0)
    for order in range(2, 6):
        strong = inside & (
            np.abs(played.harmonics_pa[order - 2]) > 10.0**-3.5 * np.abs(played.pressure_full_pa)
        )
        ratio = found.harmonics_pa[order - 2][strong] / played.harmonics_pa[order - 2][strong]
        assert np.abs(db(ratio)).max() < 0.15
        assert np.abs(np.angle(ratio)).max() < np.radians(3.0)
        for n, hz in enumerate(frequency):
            wanted = db(tones.pressure_pa[order, n]) - db(tones.pressure_pa[1, n])
            got = at(played, db(played.harmonics_pa[order - 2]) - db(played.pressure_full_pa), hz)
            if wanted > -70.0:
                assert got == pytest.approx(wanted, abs=0.15)


@pytest.mark.parametrize("drive", [0.5, 1.0, 2.0, 12.0**0.5])
def test_quick_reads_the_same_figures(reference_driver: DriverModel, drive: float) -> None:
    """What figures say of the quick response and of the take that was played."""
    settings = FigureSettings(level_w=drive**2 / 4.0)
    played = read_take(virtual_response(reference_driver, drive_v=drive, conditions=PLACE), settings, 5.0)
    quick = read_take(quick_response(reference_driver, drive_v=drive, conditions=PLACE), settings, 5.0)
    bounds = {
        "sensitivity_db": 0.02, "sensitivity_2v83_db": 0.02, "max_level_db": 0.02, "lower_limit_hz": 0.05, "upper_limit_hz": 40.0,
        "resonance_hz": 0.3, "impedance_min_ohm": 0.001,
    }  # fmt: skip
    for key, bound in bounds.items():
        assert quick[key].value == pytest.approx(played[key].value, abs=bound), key
    for key in (
        "thd_mean_percent",
        "thd_worst_percent",
        "h2_percent",
        "h3_percent",
        "h4_percent",
        "h5_percent",
    ):
        assert quick[key].value == pytest.approx(played[key].value, rel=0.005), key
        assert quick[key].bound is None
        assert played[key].bound is None


def test_sweep_level_of_a_take_is_that_of_small_signals(reference_driver: DriverModel) -> None:
    """At a whisper level and impedance are those in closed form."""
    found = virtual_response(reference_driver, drive_v=0.01, conditions=PLACE)
    small = linear_response(reference_driver, found.frequency_hz)
    assert found.impedance_ohm is not None
    assert np.abs(found.impedance_ohm / small.impedance_ohm - 1.0).max() < 0.003
    bass = found.frequency_hz < 1000.0
    wanted = db(small.pressure_pa_per_v)
    assert np.abs(db(found.pressure_full_pa / found.voltage_v) - wanted)[bass].max() < 0.05


def test_beyond_the_travel(reference_driver: DriverModel) -> None:
    """A drive that leaves the travel is refused by the sweep; the quick response tells what is not touched, and says so."""
    with pytest.raises(TravelError, match="Displacement"):
        virtual_response(reference_driver, drive_v=8.0, conditions=PLACE)
    found = quick_response(reference_driver, drive_v=8.0, conditions=PLACE)
    (said,) = found.verdicts
    assert said.code == "beyond-travel"
    low, high = found.valid_hz
    assert 40.0 < low < 400.0 < high
    assert np.isnan(found.harmonics_pa[0][found.frequency_hz < 0.99 * low]).all()
    readings = read_take(found, FigureSettings(level_w=16.0), 5.0)
    assert readings["sensitivity_db"].value == pytest.approx(82.83, abs=0.1)
    assert readings["lower_limit_hz"].bound == "upper"
    with pytest.raises(RefusedError, match="travel"):
        quick_response(reference_driver, drive_v=400.0, conditions=PLACE)


def closed_box(driver: DriverModel, volume_m3: float) -> AcousticLoad:
    """A lossless closed box: p = -ρc²/V ∫U."""
    stiffness = 1.204 * 343.2**2 / volume_m3
    return AcousticLoad(
        a=np.zeros((1, 1)), b=np.ones(1), c=np.array([-stiffness]), e=np.zeros((0, 1)), g=np.zeros(0)
    )


def leaky_box(volume_m3: float, leak: float) -> AcousticLoad:
    """The same with a leak of so much resistance (Pa s/m³), whose flow is heard: V/(ρc²) p' = -U - p/R; Q = p/R."""
    compliance = volume_m3 / (1.204 * 343.2**2)
    return AcousticLoad(
        a=np.array([[-1.0 / (leak * compliance)]]), b=np.array([-1.0 / compliance]), c=np.ones(1), outlets=("leak",),
        e=np.array([[1.0 / leak]]), g=np.zeros(1),
    )  # fmt: skip


def test_in_a_box_quick_and_played_agree(reference_driver: DriverModel) -> None:
    """A closed box stiffens, a leak adds its sound: the two ways agree, and a spring beside the suspension is the same box."""
    place = Conditions(drive_v=None, distance_m=1.0, space=Space.CABINET, rated_impedance_ohm=4.0)
    boxed = quick_response(
        reference_driver, drive_v=1.0, conditions=place, load=closed_box(reference_driver, 1.5e-3)
    )
    spring = reference_driver.with_stiffness_added(1.204 * 343.2**2 * reference_driver.Sd**2 / 1.5e-3)
    sprung = quick_response(spring, drive_v=1.0, conditions=place)
    assert np.abs(db(boxed.pressure_pa / sprung.pressure_pa)).max() < 1e-3
    leaky = leaky_box(1.5e-3, 2e4)
    played = virtual_response(reference_driver, drive_v=1.0, conditions=place, load=leaky)
    quick = quick_response(reference_driver, drive_v=1.0, conditions=place, load=leaky)
    inside = (played.frequency_hz > 30.0) & (played.frequency_hz < 2000.0)
    assert np.abs(db(quick.pressure_full_pa / played.pressure_full_pa))[inside].max() < 0.1
    strong = inside & (np.abs(played.harmonics_pa[1]) > 1e-3 * np.abs(played.pressure_full_pa))
    assert np.abs(db(quick.harmonics_pa[1][strong] / played.harmonics_pa[1][strong])).max() < 0.2
    assert (
        np.abs(db(quick.pressure_full_pa / boxed.pressure_full_pa))[inside].max() > 1.0
    )  # the leak is heard


@pytest.mark.parametrize("drive", [0.5, 1.0])
def test_quick_meets_steady_tones_where_a_port_takes_over(
    reference_driver: DriverModel, drive: float
) -> None:
    """A vented box with few losses: harmonics pass nulls about the tuning within a few hertz. At every point of the grid the quick response is
    within 0.15 dB of the tone solved there, above -70 dB.
    """
    load = vented_load(3e-3, 62.0, leak_q=20.0)
    assert load.resonances_hz() == pytest.approx([62.0], rel=2e-3)
    found = quick_response(
        reference_driver, drive_v=drive, conditions=PLACE, load=load, series_ohm=SHUNT_OHM, highest_hz=300.0
    )
    inside = (found.frequency_hz > 25.0) & (found.frequency_hz < 250.0) & np.isfinite(found.harmonics_pa[0])
    source = source_v(reference_driver, drive, SHUNT_OHM, load)
    tones = steady_tones(
        reference_driver,
        source,
        found.frequency_hz[inside],
        load=load,
        series_ohm=SHUNT_OHM,
        air=air_of(PLACE),
    )
    wanted = {order: db(tones.pressure_pa[order]) - db(np.sqrt(2.0)) for order in range(1, 6)}
    assert np.abs(db(found.pressure_pa)[inside] - wanted[1]).max() < 0.15
    for order in range(2, 6):
        strong = wanted[order] - wanted[1] > -70.0
        off = np.abs(db(found.harmonics_pa[order - 2])[inside] - wanted[order])[strong]
        assert off.max() < 0.15, order


def test_quick_is_quick(reference_driver: DriverModel) -> None:
    """Orders 2 to 10 up to 2 kHz, NaN above, no noise: the shape figures expect."""
    found = quick_response(reference_driver, drive_v=1.0, conditions=PLACE)
    assert found.harmonics_pa.shape == (len(ORDERS), found.frequency_hz.size)
    assert np.isfinite(found.harmonics_pa[:, found.frequency_hz < 1950.0]).all()
    assert np.isnan(found.harmonics_pa[:, found.frequency_hz > 2050.0]).all()
    assert not found.noise_pa.any()


def test_stop(reference_driver: DriverModel) -> None:
    """A take that is stopped while it is played ends at once."""

    def stop(done: float, what: str) -> None:
        raise CancelledError(what)

    with pytest.raises(CancelledError):
        virtual_response(reference_driver, drive_v=1.0, conditions=PLACE, sweep=Sweep(), progress=stop)
