"""Impedance over frequency as a value, wherever it came from."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.core.verdicts import Verdict

LEAST_OHM, MOST_OHM = 1e-6, 1e9
"""No bench measures beyond these; zero and nonsense are caught by them."""


@dataclass(frozen=True, kw_only=True)
class ImpedanceCurve:
    """Impedance of a driver over frequency.

    Parameters
    ----------
    frequency_hz
        Ascending, above 0, shape (n,); any spacing.
    impedance_ohm
        Complex, shape (n,), e^{+jwt}; with `phase_known` False only its modulus means anything.
    u_ohm
        Standard uncertainty of the modulus from noise at each point, shape (n,); None when not known.
    scale_u
        Relative standard uncertainty of the whole curve from shunt, resistor and gains (1); it moves all points alike.
    phase_known
        Whether the phase was measured.
    source
        Where it came from, in words.
    verdicts
        What must be said about it.

    Raises
    ------
    InputError
        Fewer than three points, frequencies not ascending, or values that are not finite or no impedance at all.
    """

    frequency_hz: FloatArray
    impedance_ohm: ComplexArray
    u_ohm: FloatArray | None = None
    scale_u: float = 0.0
    phase_known: bool = True
    source: str = ""
    verdicts: tuple[Verdict, ...] = field(default=())

    def __post_init__(self) -> None:
        frequency = self.frequency_hz
        if frequency.ndim != 1 or len(frequency) < 3:
            raise InputError("An impedance curve must have three points at least", found=str(frequency.size))
        if self.impedance_ohm.shape != frequency.shape or (
            self.u_ohm is not None and self.u_ohm.shape != frequency.shape
        ):
            raise InputError("An impedance curve must have one value for each frequency",
                             found=f"{frequency.size} frequencies, {self.impedance_ohm.size} values")  # fmt: skip
        if not (np.isfinite(frequency).all() and np.isfinite(self.impedance_ohm).all()):
            raise InputError("Every value of an impedance curve must be a number")
        beyond = (self.modulus_ohm < LEAST_OHM) | (self.modulus_ohm > MOST_OHM)
        if beyond.any():
            at = int(np.argmax(beyond))
            raise InputError("Every value of an impedance curve must be one that can be measured", found=f"{self.modulus_ohm[at]:g} ohm at {frequency[at]:g} Hz",
                             allowed=f"{LEAST_OHM:g} to {MOST_OHM:g} ohm")  # fmt: skip
        steps = np.diff(frequency)
        if frequency[0] <= 0 or (steps <= 0).any():
            wrong = 0 if frequency[0] <= 0 else int(np.argmax(steps <= 0)) + 1
            raise InputError("Frequencies of an impedance curve must be above 0 Hz and ascending",
                             found=f"{frequency[wrong]:g} Hz as point {wrong + 1}")  # fmt: skip

    @property
    def modulus_ohm(self) -> FloatArray:
        """Modulus (n,)."""
        return np.abs(self.impedance_ohm)
