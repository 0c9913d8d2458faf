"""A measured driver joined by halfroll against the response its author joined of the same two recordings.

Data: references/maker_driver_F144 (PROVENANCE.md says what the author leaves unsaid: distances, baffle, pascals, drive). What
can be compared is the shape of bass and treble and the level of one against the other; what cannot is any absolute level.
"""

from pathlib import Path

import numpy as np
import pytest

from halfroll.core.conditions import Conditions, Space
from halfroll.core.frequency import in_band, log_grid
from halfroll.core.verdicts import Severity
from halfroll.measure.analysis.response import Gate, ImpulseResponse, Response
from halfroll.measure.joining.join import join
from halfroll.measure.joining.join_types import Joined, JoinSettings
from halfroll.measure.joining.near_far import Mouth

FOLDER = Path(__file__).parents[1] / "references" / "maker_driver_F144"
RATE_HZ = 44_100
RADIUS_M = 0.13  # a usual effective radius of a 12-inch driver (common practice); the author states none
GRID = log_grid(20.0, 16_000.0)
GATE_S = 4e-3


def columns(file: str) -> np.ndarray:
    """A table of the references by column."""
    return np.genfromtxt(FOLDER / file, delimiter=",", names=True)


def response(
    impulse: np.ndarray, sample: np.ndarray, *, before_s: float, after_s: float, space: Space
) -> Response:
    """The transform of a windowed impulse response, time from its own peak, the last fifth of the window tapered."""
    time = (sample - sample[int(np.argmax(np.abs(impulse)))]) / RATE_HZ
    inside = (time >= -before_s) & (time <= after_s)
    fade = np.clip((after_s - time[inside]) / (0.2 * (before_s + after_s)), 0.0, 1.0)
    window = 0.5 - 0.5 * np.cos(np.pi * fade)
    pressure = np.exp(-2j * np.pi * np.outer(GRID, time[inside])) @ (impulse[inside] * window)
    n = len(GRID)
    gate = Gate() if space is Space.NEAR else Gate(length_s=after_s, valid_from_hz=1.0 / after_s)
    return Response(
        frequency_hz=GRID, pressure_pa=pressure, pressure_full_pa=pressure, voltage_v=np.ones(n), impedance_ohm=None,
        harmonics_pa=np.full((9, n), np.nan + 0j), noise_pa=np.full((10, n), np.nan), gate=gate,
        impulse=ImpulseResponse(values=np.zeros(1), start_s=0.0, rate_hz=RATE_HZ), valid_hz=(20.0, 16_000.0),
        conditions=Conditions(drive_v=1.0, distance_m=0.005 if space is Space.NEAR else 1.0, space=space),
        calibrated=False, voltage_recorded=False,
    )  # fmt: skip


@pytest.fixture(scope="module")
def halves() -> tuple[Response, Response]:
    """Near field and far field."""
    data = columns("impulse_F144W.csv")
    sample = data["sample_at_44100Hz"]
    near = response(data["axis_nearfield"], sample, before_s=10e-3, after_s=0.2, space=Space.NEAR)
    # 1.2 ms before the peak: later than the small pulse 75 to 95 samples (1.7 to 2.2 ms) before it
    return near, response(data["axis_0deg"], sample, before_s=1.2e-3, after_s=GATE_S, space=Space.HALF)


def joined(halves: tuple[Response, Response], low: float, high: float) -> Joined:
    """The two joined over a band."""
    near, far = halves
    return join([Mouth(response=near, radius_m=RADIUS_M)], far, JoinSettings(overlap_hz=(low, high)))


def third_octaves(frequency_hz: np.ndarray, level_db: np.ndarray, at_hz: np.ndarray) -> np.ndarray:
    """Power means over a third of an octave: the author's window and ours differ in their fine ripple."""
    bands = [np.abs(np.log2(frequency_hz / f)) <= 1.0 / 6.0 for f in at_hz]
    return np.array([10.0 * np.log10(np.mean(10.0 ** (level_db[band] / 10.0))) for band in bands])


def test_against_the_authors_joined_response(halves: tuple[Response, Response]) -> None:
    """Joined where the author joined: bass and treble each have his shape within 0.15 and 0.2 dB, and lie within 1 dB of his
    levels against each other. That last number hangs on a choice, where to match: 0.6 to 1.2 kHz gives 0.5 dB.
    """
    found = joined(halves, 600.0, 1200.0)
    author = columns("response_F144W.csv")
    at = found.report.frequency_hz
    his = np.interp(at, author["frequency_hz"], author["level_db_relative"])
    off = third_octaves(at, found.report.joined_db, at) - third_octaves(at, his, at)
    bass, treble = off[in_band(at, (40.0, 250.0))], off[in_band(at, (1500.0, 10_000.0))]
    assert np.abs(bass - bass.mean()).max() < 0.15
    assert np.abs(treble - treble.mean()).max() < 0.2
    assert abs(bass.mean() - treble.mean()) < 1.0


def test_what_is_doubtful_about_it_is_said(halves: tuple[Response, Response]) -> None:
    """So high up a cone of this size is no longer one source; lower down the halves run apart, for the far field saw no
    large baffle, whatever it saw. The author's file says nothing of either.
    """
    said = {v.code: v.severity for v in joined(halves, 600.0, 1200.0).response.verdicts}
    assert said["join-beyond-near-field"] is Severity.BAD
    low = joined(halves, 330.0, 680.0)
    assert low.report.trend_db_per_octave > 5.0
    assert {"join-trend", "join-mismatch"} <= {v.code for v in low.response.verdicts}
