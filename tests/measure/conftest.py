"""Recordings with known truth (see tests/references/nonlinear_driver/README.md)."""

import functools
import json
from pathlib import Path

import numpy as np
import pytest
import soundfile

from halfroll.core.conditions import Conditions, Space
from halfroll.measure.analysis.analyse import AnalysisSettings, analyse
from halfroll.measure.recording import Recording, Role, Scale
from halfroll.measure.sweep import Sweep

FOLDER = Path(__file__).parents[1] / "references" / "nonlinear_driver"
ROLES = (Role.VOLTAGE, Role.MICROPHONE, Role.CURRENT)
SCALES = {
    Role.VOLTAGE: Scale(per_full_scale=20.0),
    Role.MICROPHONE: Scale(per_full_scale=4.0),
    Role.CURRENT: Scale(per_full_scale=1.0 / 0.1),
}
CONDITIONS = Conditions(drive_v=2.0, distance_m=1.0, space=Space.HALF, rated_impedance_ohm=4.0)


@functools.cache
def described_sweep():
    """The sweep of the reference recordings, from their own description."""
    raw = json.loads((FOLDER / "recordings.json").read_text())["sweep"]
    return Sweep(
        start_hz=raw["f1_Hz"],
        stop_hz=raw["f2_Hz"],
        duration_s=raw["T_s"],
        fade_in_s=raw["fade_in_s"],
        fade_out_s=raw["fade_out_s"],
        silence_before_s=raw["pre_silence_s"],
        silence_after_s=raw["post_s"],
        rate_hz=48_000,
    )


@functools.cache
def load_recording(name):
    """One reference recording as it stands on disk."""
    samples, rate = soundfile.read(FOLDER / name, dtype="float64")
    return Recording(samples=np.ascontiguousarray(samples.T), rate_hz=rate, roles=ROLES, scales=SCALES)


@functools.cache
def load_response(name, gate="auto"):
    """The response of a reference recording."""
    return analyse(load_recording(name), described_sweep(), CONDITIONS, AnalysisSettings(gate=gate))


@functools.cache
def load_truth(file="truth_distortion.json"):
    """A truth table as it stands on disk."""
    return json.loads((FOLDER / file).read_text())


@pytest.fixture
def reference_sweep():
    """The sweep of the reference recordings."""
    return described_sweep()


@pytest.fixture
def recording():
    """Loads a reference recording by name."""
    return load_recording


@pytest.fixture
def response():
    """Analyses a reference recording by name."""
    return load_response


@pytest.fixture
def truth():
    """Loads a truth table."""
    return load_truth
