"""A steady state on its way up in level, and periods told by samples and by harmonics."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halfroll.core.levels import ComplexArray, FloatArray

MOVING, DONE, BEYOND, LOST = range(4)


@dataclass(kw_only=True, eq=False)
class Path:
    """Where each of n tones has got to: level reached (0 to 1), x and i there and their slope by level (n, 2, N), the same of the
    point before, the next step, the sign of the determinant at rest, and how it stands.
    """

    base_hz: FloatArray
    spectrum: ComplexArray
    """Peak harmonics of the source voltage at full level, (n, h)."""
    level: FloatArray
    y: FloatArray
    slope: FloatArray
    before: FloatArray
    y_before: FloatArray
    slope_before: FloatArray
    step: FloatArray
    sign: FloatArray
    standing: NDArray[np.int64]

    @classmethod
    def at_rest(cls, base_hz: FloatArray, spectrum: ComplexArray, points: int) -> Path:
        """All tones silent."""
        n, blank = len(base_hz), np.zeros((len(base_hz), 2, points))
        return cls(
            base_hz=base_hz, spectrum=spectrum, level=np.zeros(n), y=blank, slope=blank.copy(), before=np.zeros(n),
            y_before=blank.copy(), slope_before=blank.copy(), step=np.ones(n), sign=np.zeros(n),
            standing=np.full(n, MOVING),
        )  # fmt: skip

    def some(self, which: NDArray[np.intp], points: int) -> Path:
        """Some of the tones, told at another number of points."""
        return Path(
            base_hz=self.base_hz[which], spectrum=self.spectrum[which], level=self.level[which],
            y=resampled(self.y[which], points), slope=resampled(self.slope[which], points), before=self.before[which],
            y_before=resampled(self.y_before[which], points), slope_before=resampled(self.slope_before[which], points),
            step=self.step[which], sign=self.sign[which], standing=self.standing[which],
        )  # fmt: skip


def resampled(rows: FloatArray, points: int) -> FloatArray:
    """Periods told at more points by their Fourier series, along the last axis."""
    count = rows.shape[-1]
    if count == points:
        return rows.copy()
    return np.asarray(np.fft.irfft(np.fft.rfft(rows), points) * (points / count))


def sampled(spectrum: ComplexArray, points: int) -> FloatArray:
    """Periods of peak harmonics (n, h), at N points, (n, N)."""
    padded = np.zeros((len(spectrum), points // 2 + 1), dtype=np.complex128)
    count = min(padded.shape[1], spectrum.shape[1])
    padded[:, :count] = spectrum[:, :count]
    padded[:, 0] *= 2.0
    return np.asarray(np.fft.irfft(padded, points) * (0.5 * points))


def tail(y: FloatArray, width: int = 2) -> FloatArray:
    """Size of the highest `width` harmonics of acceleration and current over the largest of each, shape (n,)."""
    size = np.abs(np.fft.rfft(y))
    size[:, 0] *= np.arange(size.shape[2]) ** 2
    size[:, 1, 0] = 0.0
    with np.errstate(all="ignore"):
        shares = size[:, :, -width:].max(axis=2) / size.max(axis=2)
    return np.asarray(np.nan_to_num(shares.max(axis=1)))


def travel(x: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Extremes of periods (n, N) between their points too: the series at eight times as many, then a parabola through three."""
    fine = resampled(x, 8 * x.shape[1] + 1)
    return -_greatest(-fine), _greatest(fine)


def _greatest(rows: FloatArray) -> FloatArray:
    along = np.arange(len(rows))
    top = rows.argmax(axis=1)
    count = rows.shape[1]
    left, middle, right = rows[along, top - 1], rows[along, top], rows[along, (top + 1) % count]
    bend = left - 2.0 * middle + right
    with np.errstate(all="ignore"):
        rise = np.where(bend < 0.0, -0.125 * (right - left) ** 2 / bend, 0.0)
    return np.asarray(middle + rise)
