"""Whether a steady state stays: a solution that the least disturbance leaves is none.

A disturbance of the steady state of period T grows as e^{σt} times something of that period where det J(σ) = 0: the Jacobian of the balance with jω
+ σ for jω (Hill's determinant; Whittaker and Watson, "A Course of Modern Analysis", chapter 19; for harmonic balance: Lazarus and Thomas, C. R.
Mécanique 338, 2010, from memory). Over the determinant of the driver at rest, which is stable, it has a limit as harmonics are added, is 1 far out in
the right half plane, and repeats along σ every jω0. So the number of growing disturbances is how often the ratio turns around zero along the
imaginary axis from -jω0/2 to jω0/2; of that one half suffices, since the ratio at -jν is the conjugate of that at jν (argument principle).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.polynomial import polynomial

from halfroll.acoustics.load import AcousticLoad
from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.driver.lumped import DriverModel
from halfroll.driver.steady.balance import Balance, operators
from halfroll.driver.steady.circuit import Circuit, circuit
from halfroll.driver.steady.curves import Acting, Curves
from halfroll.driver.steady.paths import resampled

FIRST_PLACES = 7
"""Places from 0 to half the tone's frequency at which the ratio is worked out first."""

GREATEST_TURN = 1.0
"""Turn between neighbours (rad) above which a place is put between."""

MOST_ROUNDS = 6

MOST_POINTS = 65
"""More points of the period are thinned to this: growth is told by what is large."""


def suspects(driver: DriverModel, series_ohm: float, x: FloatArray) -> FloatArray:
    """How near a tone is to shaking the driver into motion of its own, shape (n,), from its displacement (m), shape (n, N).

    A stiffness that swings by a share δ each period makes a resonance of quality Q grow by itself where δ > 2/Q at twice its frequency,
    Mathieu's equation (Nayfeh and Mook, "Nonlinear Oscillations", 1979, chapter 5). What is told is δQ/2 with the swing of K(x)'s tangent and that of
    the damping Bl(x)²/R as a share of all damping; below 1 there is no need to look closer.
    """
    stiffness = polynomial.polyval(x, _tangent(driver))
    swing = 0.5 * (stiffness.max(axis=1) - stiffness.min(axis=1)) / driver.K[0]
    damping = driver.Rms + polynomial.polyval(x, driver.Bl) ** 2 / (driver.Re + series_ohm)
    quality = math.sqrt(driver.K[0] * driver.Mms) / damping.min(axis=1)
    fall = stiffness.min(axis=1) <= 0.0
    return np.asarray(np.where(fall, np.inf, 0.5 * swing * quality))


def _tangent(driver: DriverModel) -> tuple[float, ...]:
    return tuple((k + 1) * value for k, value in enumerate(driver.K))


def growing(
    driver: DriverModel,
    base_hz: FloatArray,
    load: AcousticLoad | None,
    series_ohm: float,
    y: FloatArray,
    acting: Acting = "both",
) -> FloatArray:
    """Number of disturbances that grow, shape (n,), of steady states x and i at points of the period, shape (n, 2, N).

    NaN where the turns stay too sharp to count, which happens on the verge.
    """
    points = min(y.shape[2], MOST_POINTS)
    y = resampled(y, points)
    found = np.empty(len(base_hz))
    for number, base in enumerate(base_hz):
        found[number] = _turns(_System(driver, float(base), load, series_ohm, acting), y[[number]])
    return found


@dataclass(frozen=True, eq=False)
class _System:
    """A driver under one tone."""

    driver: DriverModel
    base_hz: float
    load: AcousticLoad | None
    series_ohm: float
    acting: Acting

    def phases(self, y: FloatArray, places_hz: FloatArray) -> FloatArray:
        """Phase of the ratio of determinants (rad) at disturbances of some frequencies."""
        points = y.shape[2]
        orders = np.fft.fftfreq(points, 1.0 / points)
        rate = np.asarray(2j * np.pi * (self.base_hz * orders + places_hz[:, None]), dtype=np.complex128)
        balance = Balance(
            self.driver,
            np.array([self.base_hz]),
            self.load,
            self.series_ohm,
            points,
            Curves(self.driver, self.acting),
        )
        parts = circuit(self.driver, rate, self.load)
        point = balance.point(balance.operators, y[:, 0], y[:, 1])
        moving = np.linalg.slogdet(balance.jacobian(operators(parts, points), point, y[:, 1])).sign
        return np.asarray(np.angle(moving) - np.sum(np.angle(self._at_rest(parts)), axis=1))

    def _at_rest(self, parts: Circuit) -> ComplexArray:
        """Determinant of the two equations for each harmonic, about rest, shape of the rate."""
        d = self.driver
        coil = d.Re + self.series_ohm + parts.rate * d.Le[0] + (0.0 if parts.eddy is None else parts.eddy)
        return np.asarray(-(d.Bl[0] ** 2) * parts.rate - coil * (parts.mechanical + d.K[0]))


def _turns(system: _System, y: FloatArray) -> float:
    places = 0.5 * system.base_hz * np.linspace(0.0, 1.0, FIRST_PLACES)
    phases = system.phases(y, places)
    for _ in range(MOST_ROUNDS):
        turns = np.angle(np.exp(1j * np.diff(phases)))
        sharp = np.flatnonzero(np.abs(turns) > GREATEST_TURN)
        if not sharp.size:
            return float(round(abs(turns.sum()) / math.pi))
        between = 0.5 * (places[sharp] + places[sharp + 1])
        places = np.insert(places, sharp + 1, between)
        phases = np.insert(phases, sharp + 1, system.phases(y, between))
    return math.nan
