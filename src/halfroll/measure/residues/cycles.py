"""What is left of a sweep, counted by cycles of the tone: does it swell in step with it, and over how many cycles?"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.measure.sweep import Sweep

WIDTHS = (1 / 3, 1.0)
"""A point looks at a third of an octave; for what is in step, at a whole octave too."""

FEWEST_CYCLES = 8
"""No point looks at fewer cycles of the tone."""

MOST_CYCLES = 500
"""Nor at more: that many say enough."""

PHASES = 24
"""Parts of a cycle in which energy is counted."""

STEPS = (1, 2, 3, 4)
"""Times per cycle at which a noise in step with the tone may swell."""

BETWEEN = (0.3, 0.4, 0.5, 0.6, 0.7)
"""Added to 0 to 3 times per cycle: what is not in step swells as much there."""

BETWEEN_COUNTS = 2.4
"""By this factor the score against what stands between the steps counts more."""

_TINY = 1e-40

_PART = (np.arange(PHASES) + 0.5) / PHASES
_ON = np.exp(-2j * np.pi * np.outer(_PART, STEPS))
_OFF = np.exp(-2j * np.pi * np.outer(_PART, np.array(STEPS) - 1))
_WITHIN = np.exp(-2j * np.pi * np.outer(BETWEEN, _PART))
_DRIFT = np.exp(-2j * np.pi * np.outer((0.0, *BETWEEN), np.arange(MOST_CYCLES + 2)))
_DRIFT_PARTS = np.concatenate(
    [_DRIFT.real, _DRIFT.imag]
)  # real, for energies are: one real product in place of a complex one


@dataclass(frozen=True, kw_only=True)
class CycleTable:
    """What is left, counted by cycles of the tone.

    `energy` (n_c, PHASES) per part of a cycle in unit² s, `squares` (n_c,) sum of the squared energies of single samples,
    `whole` (n_c,) energy, `seconds` (n_c,) and `peak` (n_c,) of each cycle, `first` the number of the first cycle since the
    sweep's phase zero.
    """

    energy: FloatArray
    whole: FloatArray
    squares: FloatArray
    seconds: FloatArray
    peak: FloatArray
    first: int

    @staticmethod
    def of(left: FloatArray, sweep: Sweep, start_s: float, points: FloatArray) -> CycleTable:
        """The table of what is left (n,) of a sweep that starts at `start_s`, as far as `points` (Hz) reach."""
        rate, length = sweep.rate_hz, sweep.rate_constant_s
        first = int(np.ceil(length * sweep.start_hz))
        last = int(length * points[-1] * 2**0.5) + FEWEST_CYCLES
        edges = first + np.arange((last - first) * PHASES + 1) / PHASES
        position = (start_s + length * np.log(edges / (length * sweep.start_hz))) * rate
        position = np.clip(position, 0.0, len(left) - 1.0)
        begin, end = int(position[0]), int(position[-1]) + 2
        piece = left[begin:end]
        square = piece**2
        sums = np.concatenate([[0.0], np.cumsum(square)])
        fourth = np.concatenate([[0.0], np.cumsum(square**2)])
        at, base = position - begin, np.arange(len(sums))
        whole = at[::PHASES]
        energy = np.diff(np.interp(at, base, sums)).reshape(-1, PHASES) / rate
        starts = np.minimum(whole[:-1].astype(int), len(piece) - 1)
        return CycleTable(
            energy=energy,
            whole=energy.sum(axis=1),
            squares=np.diff(np.interp(whole, base, fourth)) / rate**2,
            seconds=np.diff(position[::PHASES]) / rate,
            peak=np.maximum.reduceat(np.abs(piece), starts),
            first=first,
        )

    def look(self, frequency_hz: float, sweep: Sweep, band_hz: float, noise: float) -> tuple[float, ...]:
        """Power, its relative deviation under noise, share in step, score of that, cycles, and peak at one point.

        `band_hz` is the statistical bandwidth of noise there, `noise` the power expected of it alone, NaN when unknown.
        """
        noise = noise if np.isfinite(noise) else 0.0
        near, *wider = (self._about(frequency_hz, sweep, width) for width in WIDTHS)
        rows, weight = near
        energy, seconds = self.whole[rows], self.seconds[rows]
        spread = max(1.0, 0.5 * sweep.rate_hz / band_hz)  # neighbouring samples of a narrower band are alike
        total, held = float(weight @ energy), float(weight @ seconds)
        above = energy - noise * seconds
        scatter = float(np.sum(above**2) - np.sum(noise**2 * seconds) / band_hz)
        score, swell = self._score(*near, spread)
        return (
            total / held,
            float(np.sqrt(weight**2 @ seconds / band_hz)) / held,
            min(1.0, swell / max(total - noise * held, _TINY)),
            max(score, *(self._score(*about, spread)[0] for about in wider)),
            float(min(max(above.sum(), 0.0) ** 2 / max(scatter, _TINY), len(above))),
            float(self.peak[rows].max()),
        )

    def _about(self, frequency_hz: float, sweep: Sweep, width_octaves: float) -> tuple[slice, FloatArray]:
        """The cycles about an excitation, and a Hann window on them."""
        turns = sweep.rate_constant_s * frequency_hz
        wanted = turns * (2 ** (width_octaves / 2) - 2 ** (-width_octaves / 2))
        half = min(max(FEWEST_CYCLES, wanted), MOST_CYCLES) / 2.0
        centre = turns - self.first
        rows = slice(max(int(centre - half), 0), min(int(np.ceil(centre + half)), len(self.seconds)))
        place = np.clip((np.arange(rows.start, rows.stop) + 0.5 - centre) / half, -1.0, 1.0)
        return rows, 0.5 + 0.5 * np.cos(np.pi * place)

    def _score(self, rows: slice, weight: FloatArray, spread: float) -> tuple[float, float]:
        """-ln p of the swell under noise, and the largest swell.

        The n powers at `STEPS`, over that expected, sum up to a gamma(n) variable. Expected is what independent samples
        would give. A noise that comes and goes swells more than that, but as much between the steps; so the score by that
        measure, of which less is enough, must agree.
        """
        real, imaginary = np.split((_DRIFT_PARTS[:, : len(weight)] * weight) @ self.energy[rows], 2)
        turned = real + 1j * imaginary
        on = np.abs(turned[0].real @ _ON)
        off = np.abs((turned[1:] * _WITHIN) @ _OFF)
        independent = spread * float(weight**2 @ self.squares[rows])
        between = max(float(np.mean(off**2)), independent)
        power = float(np.sum(on**2))
        score = min(
            _surprise(power / max(independent, _TINY)),
            BETWEEN_COUNTS * _surprise(power / max(between, _TINY)),
        )
        return score, float(on.max())


def _surprise(total: float) -> float:
    """-ln of the probability that a gamma(n) variable exceeds `total`, n the number of `STEPS`."""
    return total - math.log(math.fsum(total**n / math.factorial(n) for n in range(len(STEPS))))
