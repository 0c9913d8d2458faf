"""Starting values made fit for the real drivers: a flat sum between two frequencies, values one can buy.

Values move continuously first (least squares, SciPy), then to a row of IEC 60063, the best of the neighbours one element after the other.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray, db
from halfroll.core.progress import Progress, silent
from halfroll.driver.crossover.circuit import Circuit, circuit_of
from halfroll.driver.crossover.elements import Crossover
from halfroll.driver.crossover.network import solve
from halfroll.driver.crossover.responses import WayData, grid, on_one_grid
from halfroll.driver.crossover.results import Asked
from halfroll.driver.crossover.said import LEAST_OF_RATED
from halfroll.driver.crossover.summing import contributions, total, transfers

Row = Literal["free", "E12", "E24"]

E24 = (
    1.0,
    1.1,
    1.2,
    1.3,
    1.5,
    1.6,
    1.8,
    2.0,
    2.2,
    2.4,
    2.7,
    3.0,
    3.3,
    3.6,
    3.9,
    4.3,
    4.7,
    5.1,
    5.6,
    6.2,
    6.8,
    7.5,
    8.2,
    9.1,
)
"""IEC 60063 (from memory)."""
E12 = E24[::2]
MOST_FACTOR = 6.0
"""A value moves at most so many times up or down from where it starts."""
_PER_OCTAVE = 12
_KEEP_DB = 0.15
"""Pull (dB per factor e) towards the start, so that values which do nothing stay."""
_OHM_WEIGHT_DB = 400.0
_STARTS, _APART, _MOST_STEPS = 4, 0.7, 40
"""Searches begun, how far apart (in ln of the values), and their steps: the sum has several hollows."""
_SEED = 60_063


@dataclass(frozen=True, kw_only=True)
class Flatness:
    """How even the sum is in the band: r.m.s. and largest deviation from its mean (dB), mean level (dB re 1 Pa/V), least impedance (ohm)."""

    rms_db: float
    worst_db: float
    mean_db: float
    minimum_ohm: float


@dataclass(frozen=True, kw_only=True)
class Tuned:
    """A crossover before and after, and which values moved: name, before, after."""

    before: Crossover
    after: Crossover
    flat_before: Flatness
    flat_after: Flatness
    moved: tuple[tuple[str, float, float], ...]


def row_values(value: float, row: Row, count: int = 3) -> tuple[float, ...]:
    """The nearest values of a row, the nearest first (by ratio)."""
    if row == "free":
        return (value,)
    decade = math.floor(math.log10(value))
    marks = [
        float(f"{m * 10.0 ** (decade + shift):.2g}")
        for shift in (-1, 0, 1)
        for m in (E12 if row == "E12" else E24)
    ]
    return tuple(sorted(marks, key=lambda mark: abs(math.log(mark / value)))[:count])


def tune(
    crossover: Crossover, ways: Mapping[str, WayData], band_hz: tuple[float, float], *, asked: Asked | None = None,
    row: Row = "E12", only: Sequence[str] = (), air: Air = STANDARD_AIR, progress: Progress = silent,
) -> Tuned:  # fmt: skip
    """Move the elements' values so that the sum is flat in a band (Hz) and the impedance stays above 80 % of the rated one.

    Parameters
    ----------
    only
        Names of the elements that may move; all when empty.
    row
        ``E12`` or ``E24`` to end on values of that row, ``free`` to leave them where they come out.

    Raises
    ------
    InputError
        The band is not ascending, an element is not there, or there is none to move.
    """
    wanted = asked or Asked()
    if not 0.0 < band_hz[0] * 1.2 < band_hz[1] < math.inf:
        raise InputError("The band to be made flat must ascend by a quarter of an octave at least", key="band_hz",
                         found=f"{band_hz[0]:g} to {band_hz[1]:g} Hz")  # fmt: skip
    names = [e.name for e in crossover.elements]
    unknown = [name for name in only if name not in names]
    if unknown or not names:
        raise InputError(
            "Elements to be tuned must be in the crossover",
            key="only",
            found=", ".join(unknown) or "no element",
            allowed=names,
        )
    bench = _Bench.of(crossover, ways, band_hz, wanted, air)
    chosen = [name for name in names if not only or name in only]
    best = _continuous(bench, chosen, progress)
    if row != "free":
        best = _to_row(bench, chosen, best, row, progress)
    after = with_values(crossover, best)
    values = {e.name: e.value for e in crossover.elements}
    return Tuned(
        before=crossover, after=after, flat_before=bench.flatness({}), flat_after=bench.flatness(best),
        moved=tuple((name, values[name], best[name]) for name in chosen if best[name] != values[name]),
    )  # fmt: skip


def with_values(crossover: Crossover, values: Mapping[str, float]) -> Crossover:
    """The crossover with other values; a coil's resistance goes with the square root of its inductance, about as for one wire."""
    ways = []
    for way in crossover.ways:
        elements = []
        for e in way.elements:
            value = values.get(e.name, e.value)
            ohms = e.series_ohm * math.sqrt(value / e.value) if e.kind == "coil" else e.series_ohm
            elements.append(
                replace(e, value=value, series_ohm=float(f"{ohms:.3g}") if ohms != e.series_ohm else ohms)
            )
        ways.append(replace(way, elements=tuple(elements)))
    return replace(crossover, ways=tuple(ways))


@dataclass(frozen=True, kw_only=True, eq=False)
class _Bench:
    """Everything that stays while values move."""

    circuit: Circuit
    f: FloatArray
    inside: np.ndarray
    loads: Mapping[str, np.ndarray]
    heard: Mapping[str, np.ndarray]
    least_ohm: float

    @staticmethod
    def of(
        crossover: Crossover,
        ways: Mapping[str, WayData],
        band_hz: tuple[float, float],
        asked: Asked,
        air: Air,
    ) -> _Bench:
        f = grid()[:: 24 // _PER_OCTAVE]
        inside = (f >= band_hz[0]) & (f <= band_hz[1])
        data = on_one_grid({way.name: ways[way.name] for way in crossover.ways}, f)
        return _Bench(
            circuit=circuit_of(crossover), f=f, inside=inside, loads={n: d.impedance_ohm for n, d in data.items()},
            heard=transfers(crossover, data, asked.listener, f, air),
            least_ohm=0.0 if asked.rated_ohm is None else LEAST_OF_RATED * asked.rated_ohm,
        )  # fmt: skip

    def look(self, values: Mapping[str, float]) -> tuple[FloatArray, FloatArray]:
        """Level in the band (dB) and magnitude of the impedance (ohm) everywhere."""
        circuit = replace(self.circuit, elements=with_elements(self.circuit, values))
        solved = solve(circuit, self.f, self.loads)
        return db(total(contributions(self.heard, solved)))[self.inside], np.abs(solved.input_ohm)

    def residuals(self, values: Mapping[str, float]) -> FloatArray:
        level, ohms = self.look(values)
        short = max(0.0, math.log(self.least_ohm / float(ohms.min()))) if self.least_ohm else 0.0
        return np.append((level - level.mean()) / math.sqrt(level.size), _OHM_WEIGHT_DB * short)

    def cost(self, values: Mapping[str, float]) -> float:
        return float(np.sum(self.residuals(values) ** 2))

    def flatness(self, values: Mapping[str, float]) -> Flatness:
        level, ohms = self.look(values)
        off = level - level.mean()
        return Flatness(rms_db=float(np.sqrt(np.mean(off**2))), worst_db=float(np.abs(off).max()), mean_db=float(level.mean()),
                        minimum_ohm=float(ohms.min()))  # fmt: skip


def with_elements(circuit: Circuit, values: Mapping[str, float]) -> tuple:  # type: ignore[type-arg]
    """The circuit's elements with other values."""
    return tuple(replace(e, value=values.get(e.name, e.value)) for e in circuit.elements)


def _continuous(bench: _Bench, names: Sequence[str], progress: Progress) -> dict[str, float]:
    from scipy.optimize import least_squares

    start = {e.name: e.value for e in bench.circuit.elements}
    tries = itertools.count(1)

    def values(x: FloatArray) -> dict[str, float]:
        return {name: start[name] * math.exp(step) for name, step in zip(names, x, strict=True)}

    def off(x: FloatArray) -> FloatArray:
        progress(0.8 * (1.0 - math.exp(-next(tries) / 400.0)), "tuning")
        return np.concatenate([bench.residuals(values(x)), _KEEP_DB * x])

    limit = math.log(MOST_FACTOR)
    draws = np.random.default_rng(_SEED).uniform(-_APART, _APART, (_STARTS - 1, len(names)))
    runs = [
        least_squares(off, x, bounds=(-limit, limit), x_scale=0.3, max_nfev=_MOST_STEPS, diff_step=1e-4)
        for x in (np.zeros(len(names)), *draws)
    ]
    return values(min(runs, key=lambda run: run.cost).x)


def _to_row(
    bench: _Bench, names: Sequence[str], values: dict[str, float], row: Row, progress: Progress
) -> dict[str, float]:
    """The nearest values of the row, then twice round the elements for a better neighbour."""
    best = {name: row_values(values[name], row)[0] for name in names}
    least = bench.cost(best)
    for turn in range(2):
        for place, name in enumerate(names):
            progress(0.8 + 0.1 * (turn + place / len(names)), f"choosing from {row}")
            for value in row_values(best[name], row, 5):
                cost = bench.cost({**best, name: value})
                if cost < least - 1e-9:
                    best, least = {**best, name: value}, cost
    return best
