"""Modes of a virtual take's cone, fitted to a break-up study."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from halfroll.core.frequency import log_grid
from halfroll.core.text import THIN
from halfroll.driver.cone import ConeMode, cone_transfer
from halfroll.driver.cone_of_shell import cone_of_shell
from halfroll.suspension.results import BreakUp, ShellMode

TRUE = (
    ConeMode(frequency_hz=1100.0, q=7.0, share=0.10),
    ConeMode(frequency_hz=1900.0, q=12.0, share=-0.06),
    ConeMode(frequency_hz=3300.0, q=9.0, share=0.25),
)


def shell(mode: ConeMode, *, kind: str = "cone") -> ShellMode:
    """The resonance as a break-up study tells of it: how far it lifts the level, not which way."""
    return ShellMode(
        frequency_hz=mode.frequency_hz, places_m=np.zeros((2, 2)), shape=np.zeros((2, 2)), lines=(2,), names=("cone",), heard=0.1, words="",
        kind=kind, quality=mode.q, peak_db=20.0 * math.log10(1.0 + abs(mode.share) * mode.q),
    )  # fmt: skip


def study(modes: tuple[ConeMode, ...] = TRUE) -> BreakUp:
    """What a study of a cone with just these modes would give."""
    frequency = log_grid(20.0, 6000.0, 24)
    level = 20.0 * np.log10(np.abs(cone_transfer(frequency, modes)))
    piston = shell(ConeMode(frequency_hz=80.0, q=5.0, share=1.0), kind="piston")
    return BreakUp(
        first_hz=1100.0, second_hz=1900.0, usable_hz=800.0, usable_db=3.0, frequency_hz=frequency, angles_deg=(0.0,),
        response_db=level[None, :], piston_db=np.zeros((1, frequency.size)), modes=(piston, *(shell(mode) for mode in modes)), u_relative=0.05,
    )  # fmt: skip


def test_known_modes_are_found_with_their_signs() -> None:
    """A damped part under base excitation (any vibration textbook): shares, their signs and Qs come back from magnitudes alone."""
    found = cone_of_shell(study())
    assert found.worst_db < 0.1
    assert found.valid_hz == pytest.approx(study().frequency_hz[-1])
    for mode, true in zip(found.modes, TRUE, strict=True):
        assert mode.frequency_hz == true.frequency_hz
        assert mode.share == pytest.approx(true.share, rel=0.03)
        assert mode.q == pytest.approx(true.q, rel=0.03)


def test_it_says_how_far_it_is_off() -> None:
    """What three modes cannot follow is told in the verdict, and nothing is said above what the study is good for."""
    bent = study()
    tilt = 3.0 * np.log2(np.maximum(bent.frequency_hz / 500.0, 1.0))
    found = cone_of_shell(replace(bent, response_db=bent.response_db + tilt, valid_hz=4000.0))
    error = 20.0 * np.log10(np.abs(cone_transfer(bent.frequency_hz, found.modes))) - (
        bent.response_db[0] + tilt
    )
    inside = bent.frequency_hz <= 4000.0
    assert found.worst_db == pytest.approx(np.abs(error[inside]).max())
    assert found.rms_db == pytest.approx(np.sqrt(np.mean(error[inside] ** 2)))
    assert found.valid_hz <= 4000.0
    assert f"{found.worst_db:.1f}{THIN}dB at most" in found.verdict.text


def test_a_cone_without_resonances_is_rigid() -> None:
    """No mode, and the error is the response itself."""
    found = cone_of_shell(study(()))
    assert found.modes == ()
    assert found.worst_db == 0.0
