"""Making the two time loops ready: the lean one for a driver of one eddy-current branch in an infinite baffle, the full one for all else."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import TYPE_CHECKING, NamedTuple, Protocol

import numpy as np
from numpy.polynomial import polynomial

from halfroll.acoustics.load import AcousticLoad
from halfroll.core.errors import RefusedError
from halfroll.core.levels import FloatArray
from halfroll.driver.creep import creep_spectrum
from halfroll.driver.heat import Heat
from halfroll.driver.lumped import DriverModel

if TYPE_CHECKING:
    from halfroll.driver.full_steps import Arrays, Numbers
    from halfroll.driver.steps import Coefficients

STEP_RATE_HZ = 384_000.0
"""Least number of steps a second. Against steps twice as short, a sweep to 20 kHz then comes out within 2e-6 in
acceleration and far closer below 1 kHz, where the harmonics matter; half the rate costs a factor of 16."""

STIFFNESS_LIMIT = 0.3
"""Greatest step over the shortest electrical time constant; Runge-Kutta goes unstable near 2.8."""

STABLE_LIMIT = 1.0
"""Greatest step over the shortest time constant of all: those of creep and load come after the mass and need not be followed so closely."""

LEAST_TERMS = 5
"""Polynomials up to the fourth power share one compiled loop; a longer one compiles its own, once a machine."""

_INSTANT_S = 1e-10
"""Step by which slopes are told."""


class TravelError(RefusedError):
    """The cone would leave the displacements for which the driver's parameters hold."""

    def __init__(self, driver: DriverModel, time_s: float, displacement_m: float) -> None:
        self.time_s = time_s
        self.displacement_m = displacement_m
        low, high = driver.x_range
        travel = f"{displacement_m * 1e3:.2f} mm" if math.isfinite(displacement_m) else "no number"
        super().__init__(
            "Displacement of the cone must stay where the driver's parameters hold",
            found=f"{travel} at {time_s:.3f} s",
            allowed=f"{low * 1e3:g} mm to {high * 1e3:g} mm",
            remedy="Lower the drive level, or give parameters that hold for more travel.",
        )


class InductanceError(RefusedError):
    """The current would leave what the driver's inductance holds for."""

    def __init__(self, time_s: float, current_a: float) -> None:
        self.time_s, self.current_a = time_s, current_a
        super().__init__(
            "The differential inductance of the coil, d(flux)/d(current), must stay above zero",
            found=f"{current_a:.2f} A at {time_s:.3f} s",
            remedy="Lower the drive level, or give an inductance that holds for more current.",
        )


class FullModel(NamedTuple):
    """What the full loop needs: scalars, arrays, and what reads the outlets and moving parts of the load."""

    numbers: Numbers
    arrays: Arrays
    reads: FloatArray

    @property
    def sizes(self) -> tuple[int, int, int, int]:
        """Number of eddy-current branches, creep elements, states of the load, bodies that warm up."""
        a = self.arrays
        return len(a.branches), len(a.creep), len(a.load), len(a.heat)


class Loop(Protocol):
    """One of the loops with its state: takes the voltage every half step, gives rows of current, velocity, displacement, acceleration,
    and more from column 4 on, of which the last `slow` are to be sampled rather than filtered.
    """

    columns: int
    slow: int

    def __call__(self, voltage_v: FloatArray, step_s: float, done: int) -> FloatArray:
        """Rows at the start of every step, shape (n, columns)."""


class LeanLoop:
    """Driver with at most one eddy-current branch that stays, no creep, no load, no heat."""

    columns, slow = 4, 0

    def __init__(self, driver: DriverModel, series_ohm: float) -> None:
        self._driver = driver
        self._coefficients = coefficients_of(driver, series_ohm)
        self._state = (0.0, 0.0, 0.0, 0.0)

    def __call__(self, voltage_v: FloatArray, step_s: float, done: int) -> FloatArray:
        """See `Loop`."""
        from halfroll.driver.steps import runge_kutta

        track, self._state, stopped = runge_kutta(
            self._state, voltage_v, step_s, self._coefficients, self._driver.x_range
        )
        if stopped >= 0:
            raise TravelError(self._driver, (done + stopped) * step_s, float(track[stopped, 2]))
        return track


class FullLoop:
    """The whole model."""

    def __init__(
        self,
        driver: DriverModel,
        series_ohm: float,
        load: AcousticLoad | None,
        heat: Heat | None,
        inside: bool,
    ) -> None:
        self._driver, self._inside = driver, inside
        self._model = full_model(driver, series_ohm, load, heat)
        branches, creeping, states, bodies = self._model.sizes
        start = np.zeros(bodies) if heat is None or heat.start_k is None else heat.start_k
        self._state = np.concatenate([np.zeros(3 + branches + creeping + states), start])
        self.slow = 2 if bodies else 0
        self.columns = 5 + len(self._model.reads) + (branches + creeping if inside else 0) + self.slow

    def __call__(self, voltage_v: FloatArray, step_s: float, done: int) -> FloatArray:
        """See `Loop`; the columns that are sampled come last."""
        from halfroll.driver.full_steps import NO_INDUCTANCE, runge_kutta_full

        track, stopped, why = runge_kutta_full(
            self._state, voltage_v, step_s, *self._model, self._driver.x_range, self._inside
        )
        if stopped >= 0:
            time_s = (done + stopped) * step_s
            if why == NO_INDUCTANCE:
                raise InductanceError(time_s, float(track[stopped, 0]))
            raise TravelError(self._driver, time_s, float(track[stopped, 2]))
        return track


def is_simple(driver: DriverModel) -> bool:
    """Whether the lean loop knows all of the driver."""
    return not (driver.branches or driver.eddy_follows or driver.Le_i or driver.creep)


def padded(coefficients: Iterable[float], terms: int) -> tuple[float, ...]:
    """A polynomial with zeros up to a number of terms."""
    row = tuple(float(c) for c in coefficients)
    return row + (0.0,) * (terms - len(row))


def coefficients_of(driver: DriverModel, series_ohm: float) -> Coefficients:
    """A driver as the lean loop takes it."""
    from halfroll.driver.steps import Coefficients

    terms = max(LEAST_TERMS, len(driver.Bl), len(driver.K), len(driver.Le)) | 1
    return Coefficients(
        resistance=driver.Re + series_ohm,
        r2=driver.R2,
        per_tau=driver.R2 / driver.L2 if driver.L2 else 0.0,
        per_mass=1.0 / driver.Mms,
        rms=driver.Rms,
        bl=padded(driver.Bl, terms),
        k=padded(driver.K, terms),
        le=padded(driver.Le, terms),
        dle=padded(polynomial.polyder(driver.Le), terms),
    )


def all_branches(driver: DriverModel) -> tuple[tuple[float, float], ...]:
    """Every eddy-current branch (H, ohm), L2 parallel R2 first."""
    return (((driver.L2, driver.R2),) if driver.R2 else ()) + tuple(driver.branches)


def full_model(
    driver: DriverModel, series_ohm: float, load: AcousticLoad | None, heat: Heat | None
) -> FullModel:
    """A driver as the full loop takes it."""
    from halfroll.driver.full_steps import Arrays, Numbers

    spectrum = creep_spectrum(driver)
    terms = max(LEAST_TERMS, *(len(c) for c in (driver.Bl, driver.K, driver.Le, *driver.Le_i)))
    curves = (driver.Bl, driver.K, driver.Le, polynomial.polyder(driver.Le))
    numbers = Numbers(
        re=driver.Re, series=float(series_ohm), mms=driver.Mms, rms=driver.Rms + spectrum.damper, sd=driver.Sd,
        follows=float(driver.eddy_follows), creep_constant=spectrum.constant,
        load_d=0.0 if load is None else float(load.d),
        warm_k=0.0 if heat is None else float(heat.air_c - heat.reference_c), alpha_per_k=driver.alpha_per_k,
        bl_per_k=0.0 if heat is None else float(heat.bl_per_k),
    )  # fmt: skip
    arrays = Arrays(
        curves=_falling(curves, terms),
        le_i=_falling(driver.Le_i, terms),
        dle_i=_falling([polynomial.polyder(c) for c in driver.Le_i], terms),
        branches=np.array(all_branches(driver)).reshape(-1, 2),
        creep=np.stack([spectrum.stiffness, 1.0 / spectrum.time_s], axis=1),
        load=np.zeros((0, 2)) if load is None else np.column_stack([load.a, load.b, load.c]),
        heat=np.zeros((0, 2)) if heat is None else np.hstack([heat.a, heat.b]),
    )
    return FullModel(numbers, arrays, _reads(load))


def _falling(rows: Iterable[Iterable[float]], terms: int) -> FloatArray:
    """Polynomials with the highest power first, (k, terms)."""
    return np.array([padded(c, terms)[::-1] for c in rows], dtype=np.float64).reshape(-1, terms)


def _reads(load: AcousticLoad | None) -> FloatArray:
    """Rows that read outlets, then moving parts, from the states of a load and from the flow, (r, z + 1)."""
    if load is None:
        return np.zeros((0, 1))
    z = load.b.size
    outlets = np.column_stack([np.reshape(load.e, (-1, z)), load.g])
    if load.displacement_rows is None:
        return np.ascontiguousarray(outlets)
    moving = np.reshape(load.displacement_rows, (-1, z))
    return np.concatenate([outlets, np.column_stack([moving, np.zeros(len(moving))])])


def steps_per_sample(
    driver: DriverModel, rate_hz: float, series_ohm: float, model: FullModel | None, peak_v: float
) -> int:
    """Steps per sample so that steps are short beside the sample and beside the fastest thing in driver, circuit, load and creep."""
    least = float(np.min(polynomial.polyval(np.linspace(*driver.x_range, 101), driver.Le)))
    branches = all_branches(driver)
    coil = (driver.Re + series_ohm + sum(r for _, r in branches)) / least  # rad/s, the current alone
    fastest = max([coil, *(resistance / inductance for inductance, resistance in branches)]) / STIFFNESS_LIMIT
    if model is not None:
        fastest = max(fastest, _fastest(driver, model, peak_v / (driver.Re + series_ohm)) / STABLE_LIMIT)
    return math.ceil(max(STEP_RATE_HZ, fastest) / rate_hz)


def _fastest(driver: DriverModel, model: FullModel, peak_a: float) -> float:
    """Greatest modulus of the eigenvalues (rad/s) of the linearised model at rest and both ends of the travel and of the current."""
    currents = (-peak_a, 0.0, peak_a) if driver.Le_i else (0.0,)
    jacobians = [
        _jacobian(model, i, x) for x in (driver.x_range[0], 0.0, driver.x_range[1]) for i in currents
    ]
    return max(float(np.max(np.abs(np.linalg.eigvals(j)))) for j in jacobians if np.all(np.isfinite(j)))


def _jacobian(model: FullModel, current_a: float, x_m: float) -> FloatArray:
    """Slopes by states about a current and a displacement, by central differences of a very short step; the model is nearly linear in all
    other states.
    """
    from halfroll.driver.full_steps import FIRST_BRANCH, runge_kutta_full

    branches, creeping, states, bodies = model.sizes
    size = FIRST_BRANCH + branches + creeping + states + bodies
    base = np.zeros(size)
    base[0], base[2] = current_a, x_m

    def moved(column: int, by: float) -> FloatArray:
        state = base.copy()
        state[column] += by
        runge_kutta_full(state, np.zeros(3), _INSTANT_S, *model, (-np.inf, np.inf), False)
        return state

    columns = []
    for column in range(size):
        by = 1e-8 if column == 2 else 1e-6
        change = moved(column, by) - moved(column, -by)
        change[column] -= 2.0 * by
        columns.append(change / (2.0 * by * _INSTANT_S))
    return np.stack(columns, axis=1)
