"""A microphone's correction curve: how much too high it reads over frequency, taken off where it is known.

Sign: ``level_db`` is what the microphone reads TOO HIGH, so the true level is the reading minus ``level_db``; ``phase_deg``
is by how much its phase leads. Between its points the curve is straight over lg f. Outside its range nothing is corrected.
The curve counts relative to its value at the calibrator's frequency, for there the sensitivity was set.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.core.text import format_band
from halfroll.core.verdicts import Severity, Verdict

MOST_DB = 30.0
"""No measuring microphone reads wrong by more; a column of levels or sensitivities is caught by it."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Correction:
    """The curve.

    Parameters
    ----------
    frequency_hz
        Ascending, shape (n,).
    level_db
        What the microphone reads too high (dB), shape (n,).
    phase_deg
        By how much its phase leads (degrees), shape (n,); None when not known.
    u_db
        Standard uncertainty of the curve (dB).
    """

    frequency_hz: FloatArray
    level_db: FloatArray
    phase_deg: FloatArray | None = None
    u_db: float = 0.0

    def __post_init__(self) -> None:
        f, columns = self.frequency_hz, [self.level_db]
        columns += [] if self.phase_deg is None else [self.phase_deg]
        if f.ndim != 1 or f.size < 2 or any(c.shape != f.shape for c in columns):
            raise InputError(
                "A correction curve must have two points at least, each with a level", found=str(f.size)
            )
        if not all(np.isfinite(c).all() for c in (f, *columns)):
            raise InputError("Every value of a correction curve must be a number")
        if f[0] <= 0 or (np.diff(f) <= 0).any():
            raise InputError("Frequencies of a correction curve must be above 0 Hz and ascending",
                             key="frequency_hz")  # fmt: skip
        largest = float(np.abs(self.level_db).max())
        if largest > MOST_DB:
            raise InputError(
                "The levels of a correction curve must be deviations of a microphone", key="level_db",
                found=f"{largest:.1f} dB", allowed=f"-{MOST_DB:g} to {MOST_DB:g} dB",
                remedy="A curve of sensitivity or sound level is meant otherwise: subtract its value at 1 kHz first",
            )  # fmt: skip

    @property
    def range_hz(self) -> tuple[float, float]:
        """First and last frequency of the curve (Hz)."""
        return float(self.frequency_hz[0]), float(self.frequency_hz[-1])

    def inside(self, frequency_hz: FloatArray) -> np.ndarray:
        """Mask of the frequencies at which it is known, of any shape."""
        low, high = self.range_hz
        return np.asarray((frequency_hz >= low) & (frequency_hz <= high))

    def level_at(self, frequency_hz: FloatArray) -> FloatArray:
        """What the microphone reads too high (dB) at frequencies of any shape; 0 outside the range."""
        inner = np.interp(np.log(np.maximum(frequency_hz, 1e-9)), np.log(self.frequency_hz), self.level_db)
        return np.where(self.inside(frequency_hz), inner, 0.0)

    def factor(self, frequency_hz: FloatArray) -> ComplexArray:
        """What a spectrum is to be multiplied by at frequencies of any shape: 10^(-level/20) e^(-j phase); 1 outside."""
        lead: FloatArray = np.zeros(np.shape(frequency_hz))
        if self.phase_deg is not None:
            whole = np.unwrap(self.phase_deg, period=360.0)
            lead = np.interp(np.log(np.maximum(frequency_hz, 1e-9)), np.log(self.frequency_hz), whole)
            lead = np.where(self.inside(frequency_hz), lead, 0.0)
        size = 10.0 ** (-self.level_at(frequency_hz) / 20.0)
        return np.asarray(size * np.exp(-1j * np.radians(lead)), dtype=np.complex128)

    def relative_to(self, calibrator_hz: float | None) -> Correction:
        """The curve with 0 dB at the frequency the sensitivity was found at; as it is where that is not in its range."""
        if calibrator_hz is None or not bool(self.inside(np.asarray(calibrator_hz))):
            return self
        return replace(self, level_db=self.level_db - float(self.level_at(np.asarray(calibrator_hz))))


def range_verdict(correction: Correction, valid_hz: tuple[float, float]) -> Verdict | None:
    """What is not corrected of a range (Hz) that was measured; None when all of it is.

    Less than a twelfth of an octave missing at an end is not told.
    """
    low, high = correction.range_hz
    slack = 2 ** (1 / 12)
    missing = []
    if low > valid_hz[0] * slack:
        missing.append(f"below {format_band((min(low, valid_hz[1]),) * 2).partition(' to ')[2]}")
    if high < valid_hz[1] / slack:
        missing.append(f"above {format_band((max(high, valid_hz[0]),) * 2).partition(' to ')[2]}")
    if not missing:
        return None
    none = low >= valid_hz[1] or high <= valid_hz[0]
    share = np.log(max(min(high, valid_hz[1]) / max(low, valid_hz[0]), 1.0)) / np.log(
        valid_hz[1] / valid_hz[0]
    )
    text = f"The microphone's correction curve covers {format_band((low, high))}; "
    text += "nothing of this take lies there." if none else f"{' and '.join(missing)} nothing was corrected."
    return Verdict(
        code="correction-range", severity=Severity.CAUTION if share < 0.75 else Severity.NOTE, text=text,
        remedy="Use the curve that belongs to this microphone over the whole range, if there is one.",
        data={"from_hz": low, "to_hz": high},
    )  # fmt: skip
