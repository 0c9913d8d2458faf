"""A computed break-up as the few modes that a virtual take needs.

The frequencies are those of the shell's resonances. How far each moves the volume, and its damping, are fitted to the far field on axis that the
break-up study gives over a rigid piston, because its modes interfere in the far field and are loaded by the air.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.core.text import format_value
from halfroll.core.verdicts import Severity, Verdict
from halfroll.driver.cone import ConeMode, cone_transfer
from halfroll.suspension.results import BreakUp, ShellMode

SIGNS_TRIED = 4
"""So many of the strongest modes are begun with either sign: a fit of magnitudes cannot turn a sign by itself."""

DAMPING_HELD = 0.1
"""Weight (dB per e-fold) that keeps a mode's Q near the study's."""

_LEAST_DB = -40.0


@dataclass(frozen=True, kw_only=True)
class ConeOfShell:
    """Modes for `cone_transfer`, how far they lie from the study (dB r.m.s. and at most), and up to where there is one (Hz)."""

    modes: tuple[ConeMode, ...]
    rms_db: float
    worst_db: float
    valid_hz: float

    @property
    def verdict(self) -> Verdict:
        """What is said of it beside a virtual take."""
        return Verdict(
            code="cone-modes",
            severity=Severity.NOTE,
            text=f"The cone's break-up enters as {len(self.modes)} modes. They follow its computed response within {format_value(self.rms_db, None, 'dB')} on the "
            f"mean and {format_value(self.worst_db, None, 'dB')} at most, up to {format_value(self.valid_hz, None, 'Hz')}; nothing is said above.",
            data={"modes": len(self.modes), "rms_db": self.rms_db, "worst_db": self.worst_db, "valid_to_hz": self.valid_hz},
        )  # fmt: skip


def cone_of_shell(break_up: BreakUp) -> ConeOfShell:
    """Modes whose far field on axis follows a break-up study's, up to where that is good."""
    shells = [mode for mode in break_up.modes if mode.kind != "piston" and mode.quality > 0.0]
    inside = break_up.frequency_hz <= break_up.valid_hz
    frequency, wanted = break_up.frequency_hz[inside], break_up.response_db[0][inside]
    valid_hz = float(frequency[-1])
    if not shells:
        return ConeOfShell(
            modes=(),
            rms_db=_rms(wanted),
            worst_db=float(np.abs(wanted).max()),
            valid_hz=valid_hz,
        )
    modes = _fitted(shells, frequency, wanted)
    error = _decibels(cone_transfer(frequency, modes)) - wanted
    return ConeOfShell(
        modes=modes, rms_db=_rms(error), worst_db=float(np.abs(error).max()), valid_hz=valid_hz
    )


def _fitted(shells: list[ShellMode], frequency: FloatArray, wanted: FloatArray) -> tuple[ConeMode, ...]:
    """Shares and Qs with the least squares of level differences, the best of all signs tried."""
    from scipy.optimize import least_squares

    n, weight = len(shells), 1.0 / np.sqrt(len(frequency))
    s = 2j * np.pi * frequency
    omega = 2.0 * np.pi * np.array([mode.frequency_hz for mode in shells])[:, None]
    damped = s * omega / np.array([mode.quality for mode in shells])[:, None]
    stiff = s**2 + omega**2
    sizes = np.array([(10.0 ** (mode.peak_db / 20.0) - 1.0) / mode.quality for mode in shells])
    strongest = np.argsort(-np.abs(sizes))[:SIGNS_TRIED]

    def residual(row: FloatArray) -> FloatArray:
        total = 1.0 - row[:n] @ (s**2 / (stiff + damped * np.exp(-row[n:])[:, None]))
        return np.concatenate([weight * (_decibels(total) - wanted), DAMPING_HELD * row[n:]])

    best, cost = np.zeros(2 * n), np.inf
    for signs in itertools.product((1.0, -1.0), repeat=len(strongest)):
        start = np.concatenate([sizes, np.zeros(n)])
        start[strongest] *= signs
        found = least_squares(residual, start, max_nfev=60)
        if found.cost < cost:
            best, cost = np.asarray(found.x), float(found.cost)
    return tuple(
        ConeMode(frequency_hz=mode.frequency_hz, q=float(mode.quality * np.exp(best[n + i])), share=float(best[i]))
        for i, mode in enumerate(shells)
    )  # fmt: skip


def _decibels(transfer: ComplexArray) -> FloatArray:
    return np.asarray(20.0 * np.log10(np.maximum(np.abs(transfer), 10.0 ** (_LEAST_DB / 20.0))))


def _rms(values: FloatArray) -> float:
    return float(np.sqrt(np.mean(np.square(values))))
