"""A measured driver on and off its axis, through the whole analysis, against the response its author published.

Data: references/maker_driver_F144 (PROVENANCE.md). The author's impulse responses stand for the path from terminals to microphone:
a sweep is sent through each, and what comes out is analysed as any recording. His response file is relative and on the axis, so
its shape is what is compared; he says nothing of distances, or of how the driver was turned, and gives no numbers off the axis.
"""

from pathlib import Path

import numpy as np
import pytest
from scipy.signal import fftconvolve

from halfroll.core.conditions import Conditions, Space
from halfroll.measure.analysis.analyse import AnalysisSettings, analyse
from halfroll.measure.analysis.response import Response
from halfroll.measure.recording import Recording, Role, Scale
from halfroll.measure.sweep import Sweep

FOLDER = Path(__file__).parents[1] / "references" / "maker_driver_F144"
RATE_HZ = 44_100
SWEEP = Sweep(
    start_hz=30.0,
    stop_hz=20_000.0,
    duration_s=3.0,
    rate_hz=RATE_HZ,
    silence_before_s=0.4,
    silence_after_s=0.6,
)
GATE_S = 4e-3
THIRDS = 1000.0 * 10.0 ** (np.arange(-3, 11) / 10.0)  # ISO 266, 500 Hz to 10 kHz


def table(file: str) -> np.ndarray:
    """A table of the references by column."""
    return np.genfromtxt(FOLDER / file, delimiter=",", names=True)


def heard(impulse: np.ndarray) -> Response:
    """What the analysis makes of a sweep that went through an impulse response."""
    played = SWEEP.samples()
    sound = fftconvolve(played, impulse)[: len(played)]
    recording = Recording(
        samples=np.stack([0.5 * sound / np.abs(sound).max(), 0.5 * played]), rate_hz=RATE_HZ,
        roles=(Role.MICROPHONE, Role.VOLTAGE),
        scales={Role.MICROPHONE: Scale(per_full_scale=np.abs(sound).max()), Role.VOLTAGE: Scale(per_full_scale=1.0)},
    )  # fmt: skip
    conditions = Conditions(drive_v=None, distance_m=1.0, space=Space.FREE)
    return analyse(recording, SWEEP, conditions, AnalysisSettings(gate=GATE_S))


def thirds(frequency_hz: np.ndarray, level_db: np.ndarray) -> np.ndarray:
    """Power means over thirds of an octave."""
    bands = [np.abs(np.log2(frequency_hz / f)) <= 1.0 / 6.0 for f in THIRDS]
    return np.array([10.0 * np.log10(np.mean(10.0 ** (level_db[band] / 10.0))) for band in bands])


@pytest.fixture(scope="module")
def levels() -> dict[int, np.ndarray]:
    """Levels in thirds of an octave by angle in degrees."""
    axis, off = table("impulse_F144W.csv"), table("off_axis_F144W.csv")
    inside = (axis["sample_at_44100Hz"] >= -300) & (axis["sample_at_44100Hz"] < 1500)
    impulses = {0: axis["axis_0deg"][inside]} | {angle: off[f"off_{angle}deg"] for angle in (10, 20, 30)}
    found = {angle: heard(impulse) for angle, impulse in impulses.items()}
    return {angle: thirds(r.frequency_hz, r.spl_db()) for angle, r in found.items()}


def test_the_axis_against_the_author(levels: dict[int, np.ndarray]) -> None:
    """From 2 to 10 kHz the shape on the axis is his within 0.25 dB; at 1.6 kHz, not far above his join near 0.95 kHz, the length of
    the window counts, which he does not tell: within 0.5 dB.
    """
    author = table("response_F144W.csv")
    his = thirds(author["frequency_hz"], author["level_db_relative"])
    high = THIRDS > 1900.0
    difference = levels[0] - his
    difference -= difference[high].mean()
    assert np.abs(difference[high]).max() < 0.25
    assert abs(difference[THIRDS.searchsorted(1500.0)]) < 0.5


def test_off_the_axis_it_falls_with_angle(levels: dict[int, np.ndarray]) -> None:
    """In every third of an octave from 0.5 to 3.2 kHz it is weaker the farther off the axis, as common practice has it of any large
    cone. He gives no number to compare: it falls 1 to 4 dB more than a rigid piston of its size would, so his way of turning it, or
    what it was mounted in, is in the data.
    """
    low = THIRDS < 3300.0
    steps = np.diff(np.stack([levels[angle][low] for angle in (0, 10, 20, 30)]), axis=0)
    assert (steps < 0.0).all()
