"""Joining: a known driver recorded close up and from a distance over a floor gives its true response back."""

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from halfroll.acoustics.air import STANDARD_AIR
from halfroll.acoustics.baffle import Baffle, Listener, baffle_transfer
from halfroll.acoustics.nearfield import axial_transfer
from halfroll.acoustics.radiation import directivity
from halfroll.core.conditions import Conditions, Space
from halfroll.core.errors import InputError, RefusedError
from halfroll.core.frequency import in_band
from halfroll.core.verdicts import Severity
from halfroll.driver.linear import linear_response
from halfroll.driver.lumped import DriverModel
from halfroll.measure.analysis.analyse import AnalysisSettings, analyse
from halfroll.measure.analysis.response import Response
from halfroll.measure.joining.join import join
from halfroll.measure.joining.join_types import Joined, JoinSettings
from halfroll.measure.joining.near_far import Mouth
from halfroll.measure.recording import Recording, Role, Scale
from halfroll.measure.sweep import Sweep

DRIVER = DriverModel(
    Re=3.6, Mms=5.2e-3, Rms=0.9, Sd=54e-4, Bl=(4.4,), K=(1150.0,), Le=(1.1e-4,), L2=9e-5, R2=1.6,
    x_range=(-0.02, 0.02),
)  # fmt: skip
RADIUS = DRIVER.radius
SWEEP = Sweep(start_hz=10.0, stop_hz=20_000.0, duration_s=5.0, silence_before_s=0.3, silence_after_s=0.6)
VOLTS = 2.0
NEAR_M, FAR_M = 0.004, 1.0
OVERLAP = (300.0, 900.0)
FRONT = Baffle(width_m=0.26, height_m=0.38, x_m=0.12, y_m=0.22)

Transfer = Callable[[np.ndarray], np.ndarray]


def take(
    transfer: Transfer, distance_m: float, space: Space, *, gate_s: float | None = None, volts: float = VOLTS
) -> Response:
    """A recording of the sweep through a transfer of pressure per acceleration, analysed as any take."""
    source = SWEEP.samples()
    n = 2 * len(source)
    frequency = np.fft.rfftfreq(n, 1.0 / SWEEP.rate_hz)
    frequency[0] = 1e-3
    motion = linear_response(DRIVER, frequency).displacement_m_per_v * (2j * np.pi * frequency) ** 2
    voltage = source * (math.sqrt(2.0) * volts / SWEEP.level)
    pressure = np.fft.irfft(np.fft.rfft(voltage, n) * motion * transfer(frequency), n)[: len(source)]
    pressure = pressure + 2e-4 * np.random.default_rng(7).standard_normal(len(source))
    recording = Recording(
        samples=np.stack([pressure / 200.0, voltage / 20.0]), rate_hz=SWEEP.rate_hz, roles=(Role.MICROPHONE, Role.VOLTAGE),
        scales={Role.MICROPHONE: Scale(per_full_scale=200.0, u_db=0.1), Role.VOLTAGE: Scale(per_full_scale=20.0, u_db=0.0)},
    )  # fmt: skip
    conditions = Conditions(drive_v=volts, distance_m=distance_m, space=space, radius_m=RADIUS)
    settings = AnalysisSettings(gate="none" if gate_s is None else gate_s)
    return analyse(recording, SWEEP, conditions, settings)


def close_up(frequency: np.ndarray) -> np.ndarray:
    """The near field of the cone."""
    return axial_transfer(frequency, RADIUS, NEAR_M)


def over_floor(frequency: np.ndarray) -> np.ndarray:
    """On axis at 1 m, with the reflection of a hard floor 1.2 m below both."""
    k = 2.0 * np.pi * frequency / STANDARD_AIR.speed_of_sound
    path = 2.0 * math.hypot(FAR_M / 2.0, 1.2)
    pattern = directivity(k * RADIUS, math.atan2(2.4, FAR_M))
    floor = STANDARD_AIR.density * RADIUS**2 / (2.0 * path) * np.exp(-1j * k * path)
    return axial_transfer(frequency, RADIUS, FAR_M) + 0.9 * pattern * floor


def truth_db(joined: Joined, extra: np.ndarray | float = 1.0) -> np.ndarray:
    """Level per volt of the driver in half space at 1 m, in closed form."""
    frequency = joined.report.frequency_hz
    motion = linear_response(DRIVER, frequency).displacement_m_per_v * (2.0 * np.pi * frequency) ** 2
    return 20.0 * np.log10(np.abs(motion * axial_transfer(frequency, RADIUS, FAR_M) * extra) / 20e-6)


@pytest.fixture(scope="module")
def near() -> Response:
    """The cone close up."""
    return take(close_up, NEAR_M, Space.NEAR)


@pytest.fixture(scope="module")
def far() -> Response:
    """The driver over the floor."""
    return take(over_floor, FAR_M, Space.HALF, gate_s=4.5e-3)


@pytest.fixture(scope="module")
def joined(near: Response, far: Response) -> Joined:
    """Both joined."""
    return join([Mouth(response=near, radius_m=RADIUS)], far, JoinSettings(overlap_hz=OVERLAP))


def codes(joined: Joined) -> dict[str, Severity]:
    """What is said of the join; what the takes say of themselves is not the matter here."""
    said = joined.response.verdicts
    return {verdict.code: verdict.severity for verdict in said if verdict.code.startswith(("join", "near"))}


def test_true_half_space_response_comes_back(joined: Joined) -> None:
    """Against the closed form: 0.3 dB from 20 Hz to 5 kHz, where the far field alone is off by decibels below its gate."""
    band = in_band(joined.report.frequency_hz, (20.0, 5000.0))
    error = joined.report.joined_db - truth_db(joined)
    assert np.abs(error[band]).max() < 0.3
    assert np.allclose(
        joined.response.spl_db(), joined.report.joined_db + 20.0 * math.log10(VOLTS), atol=0.02
    )
    far = joined.report.far_db - truth_db(joined)
    assert np.abs(far[in_band(joined.report.frequency_hz, (20.0, 150.0))]).max() > 2.0


def test_report_says_how_it_was_done(joined: Joined) -> None:
    """Nothing had to be moved: same calibration, exact radius, and both takes start at the voltage."""
    report = joined.report
    assert abs(report.mean_db) < 0.15
    assert report.rms_db < 0.2
    assert abs(report.delay_s) < 30e-6
    assert not report.turned
    assert report.phase_rms_deg < 3.0
    assert report.far_valid_from_hz == pytest.approx(1.0 / 4.5e-3)
    inside = in_band(report.frequency_hz, OVERLAP)
    assert np.isfinite(report.mismatch_db[inside]).all()
    assert np.isnan(report.mismatch_db[~inside]).all()
    assert codes(joined) == {}
    assert joined.response.gate.valid_from_hz == 0.0


def test_uncertainty_of_the_bass_is_that_of_the_near_field(joined: Joined) -> None:
    """Small, but no smaller than what is off: twice the standard uncertainty covers the error below the overlap."""
    frequency = joined.report.frequency_hz
    bass = in_band(frequency, (20.0, 300.0))
    u = joined.response.room_u_db()
    assert u[bass].max() < 0.5
    assert (np.abs(joined.report.joined_db - truth_db(joined))[bass] < 2.0 * u[bass]).all()
    assert u[in_band(frequency, (2000.0, 5000.0))].max() == 0.0


def test_level_moved_polarity_and_delay_are_found(near: Response, far: Response) -> None:
    """A near field 2.5 dB low, 0.8 ms early and the other way round: put right, and said."""
    wrong = -(10.0 ** (-2.5 / 20.0)) * np.exp(2j * np.pi * near.frequency_hz * 0.8e-3)
    off = replace(near, pressure_pa=near.pressure_pa * wrong, pressure_full_pa=near.pressure_full_pa * wrong)
    found = join([Mouth(response=off, radius_m=RADIUS)], far, JoinSettings(overlap_hz=OVERLAP))
    assert found.report.mean_db == pytest.approx(2.5, abs=0.15)
    assert found.report.delay_s == pytest.approx(0.8e-3, abs=30e-6)
    assert found.report.turned
    band = in_band(found.report.frequency_hz, (20.0, 5000.0))
    assert np.abs(found.report.joined_db - truth_db(found))[band].max() < 0.3
    assert codes(found) == {"join-level": Severity.CAUTION, "join-polarity": Severity.CAUTION}
    left = join(
        [Mouth(response=off, radius_m=RADIUS)], far, JoinSettings(overlap_hz=OVERLAP, match_level=False)
    )
    assert (left.report.near_db - truth_db(left))[0] == pytest.approx(-2.5, abs=0.2)
    assert left.response.room_u_db()[0] > 1.4


def test_baffle_in_free_field(near: Response) -> None:
    """In a box in free field at 1 m the joined response is half space times the box; the near field is turned into it."""

    def boxed(frequency: np.ndarray) -> np.ndarray:
        at = np.geomspace(5.0, 24_000.0, 500)
        box = baffle_transfer(at, FRONT, RADIUS, Listener(distance_m=FAR_M))
        x = np.log(np.maximum(frequency, 5.0))
        step = np.interp(x, np.log(at), box.real) + 1j * np.interp(x, np.log(at), box.imag)
        return over_floor(frequency) * step

    far = take(boxed, FAR_M, Space.FREE, gate_s=4.5e-3)
    with pytest.raises(RefusedError, match="no baffle"):
        join([Mouth(response=near, radius_m=RADIUS)], far, JoinSettings(overlap_hz=OVERLAP))
    found = join([Mouth(response=near, radius_m=RADIUS)], far, JoinSettings(overlap_hz=OVERLAP, baffle=FRONT))
    frequency = found.report.frequency_hz
    box = baffle_transfer(frequency, FRONT, RADIUS, Listener(distance_m=FAR_M))
    error = (found.report.joined_db - truth_db(found, box))[in_band(frequency, (20.0, 5000.0))]
    assert np.abs(error).max() < 0.3
    assert found.response.conditions.space is Space.FREE
    assert codes(found) == {}
    wrong = replace(FRONT, width_m=0.9, height_m=1.2, x_m=0.45, y_m=0.6)
    other = join([Mouth(response=near, radius_m=RADIUS)], far, JoinSettings(overlap_hz=OVERLAP, baffle=wrong))
    assert other.report.rms_db > 3.0 * found.report.rms_db


def test_overlap_must_lie_where_both_hold(near: Response, far: Response) -> None:
    """Below the gate's limit and above the near field's it is bad; too narrow or outside it is refused."""
    mouths = [Mouth(response=near, radius_m=RADIUS)]
    low = join(mouths, far, JoinSettings(overlap_hz=(100.0, 300.0)))
    assert codes(low)["join-in-room"] is Severity.BAD
    high = join(mouths, far, JoinSettings(overlap_hz=(1000.0, 4000.0)))
    assert codes(high)["join-beyond-near-field"] is Severity.BAD
    assert not low.response.usable
    with pytest.raises(InputError, match="third of an octave"):
        join(mouths, far, JoinSettings(overlap_hz=(400.0, 450.0)))
    with pytest.raises(InputError, match="what both takes cover"):
        join(mouths, far, JoinSettings(overlap_hz=(400.0, 40_000.0)))
    with pytest.raises(InputError, match="must not be a near-field one"):
        join(mouths, near, JoinSettings(overlap_hz=OVERLAP))


def test_halves_that_do_not_belong_together_are_bad(near: Response, far: Response) -> None:
    """A far field with a fault of 9 dB in the overlap: the join does not count."""
    bump = 10.0 ** (9.0 / 20.0 * np.sin(2.0 * np.pi * np.log2(far.frequency_hz)))
    faulty = replace(far, pressure_pa=far.pressure_pa * bump)
    found = join([Mouth(response=near, radius_m=RADIUS)], faulty, JoinSettings(overlap_hz=OVERLAP))
    assert codes(found)["join-mismatch"] is Severity.BAD
    assert not found.response.usable


def test_harmonics_below_the_join_need_one_drive(near: Response, far: Response) -> None:
    """At the same drive they are the near field's; at another there are none, and it is said."""
    share = 0.02
    near = replace(near, harmonics_pa=np.broadcast_to(share * near.pressure_pa, (9, len(near.frequency_hz))))
    found = join([Mouth(response=near, radius_m=RADIUS)], far, JoinSettings(overlap_hz=OVERLAP))
    at = int(np.argmin(np.abs(found.response.frequency_hz - 60.0)))
    ratio = np.abs(found.response.harmonics_pa[0, at] / found.response.pressure_pa[at])
    assert ratio == pytest.approx(share, rel=0.02)
    quiet = replace(near, voltage_v=0.3 * near.voltage_v, pressure_pa=0.3 * near.pressure_pa,
                    pressure_full_pa=0.3 * near.pressure_full_pa)  # fmt: skip
    other = join([Mouth(response=quiet, radius_m=RADIUS)], far, JoinSettings(overlap_hz=OVERLAP))
    assert np.isnan(other.response.harmonics_pa[0, at])
    assert codes(other) == {"join-drive-differs": Severity.NOTE}
    assert np.allclose(other.report.joined_db, found.report.joined_db, atol=1e-6)


def test_far_take_of_a_shorter_sweep(near: Response, far: Response) -> None:
    """A far field swept from 200 Hz up is joined as well; the bass is the near field's, nothing is missing."""
    kept = far.frequency_hz > 200.0
    short = replace(
        far, frequency_hz=far.frequency_hz[kept], pressure_pa=far.pressure_pa[kept], valid_hz=(225.0, far.valid_hz[1]),
        pressure_full_pa=far.pressure_full_pa[kept], voltage_v=far.voltage_v[kept], noise_pa=far.noise_pa[:, kept],
        harmonics_pa=far.harmonics_pa[:, kept],
    )  # fmt: skip
    found = join([Mouth(response=near, radius_m=RADIUS)], short, JoinSettings(overlap_hz=OVERLAP))
    assert found.report.frequency_hz[0] == near.frequency_hz[0]
    for values in (
        found.report.joined_db,
        found.report.u_db,
        found.response.voltage_v,
        found.response.noise_pa[0],
    ):
        assert np.isfinite(values).all()
    band = in_band(found.report.frequency_hz, (20.0, 5000.0))
    assert np.abs(found.report.joined_db - truth_db(found))[band].max() < 0.3
