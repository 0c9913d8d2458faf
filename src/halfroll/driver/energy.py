"""Where the energy goes that a source puts into a driver: lost, stored, handed to the cabinet. What is left over shows a fault in the model.

Stored magnetic energy of a flux L(x, i) i is ∫ i dΦ = Σ (n + 1)/(n + 2) Lₙ(x) iⁿ⁺²; that of an eddy-current branch ½ L_b s i_b²; that of the
spring ∫ K(ξ) ξ dξ. A creep element is a spring k behind a damper k τ (H. H. Woodson and J. R. Melcher, "Electromechanical Dynamics",
part I, chapter 3, for the magnetic part, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.polynomial import polynomial

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.driver.creep import creep_spectrum
from halfroll.driver.large_signal import Motion
from halfroll.driver.loops import all_branches
from halfroll.driver.lumped import DriverModel


@dataclass(frozen=True, kw_only=True)
class EnergyBalance:
    """Energies (J) from the start up to a moment.

    Parameters
    ----------
    work
        Put in at the terminals.
    coil, eddy, mounting, creep
        Lost in Re, in the eddy-current branches, in Rms, in the creep of the suspension.
    cabinet
        Handed to the load; a network of unknown parts does not tell what of it is lost and what is stored.
    magnetic, moving, elastic
        Stored in the inductance and the branches, in Mms, in the suspension (its creep included).
    """

    work: float
    coil: float
    eddy: float
    mounting: float
    creep: float
    cabinet: float
    magnetic: float
    moving: float
    elastic: float

    @property
    def lost(self) -> float:
        """All losses in the driver (J)."""
        return self.coil + self.eddy + self.mounting + self.creep

    @property
    def stored(self) -> float:
        """All that is stored in the driver (J)."""
        return self.magnetic + self.moving + self.elastic

    @property
    def residue(self) -> float:
        """Work that is neither lost nor stored nor handed on (J); a faultless model leaves what rounding and sampling leave."""
        return self.work - self.lost - self.stored - self.cabinet


def energy_balance(
    driver: DriverModel, motion: Motion, *, until: int | None = None, reference_c: float = 20.0
) -> EnergyBalance:
    """Energy balance of a motion that was played from rest with `inside`.

    Integrals are sums over samples with Gregory's corrections at the ends: exact for a burst that has died away.

    Parameters
    ----------
    driver, motion
        What was played, and what it did.
    until
        Number of samples to count; None: all. The last milliseconds of a motion that goes on are not to be trusted, see `large_signal`.
    reference_c
        Temperature at which Re holds (°C), where the motion has heat.

    Raises
    ------
    InputError
        The motion does not hold what goes on inside.
    """
    if motion.inside is None:
        raise InputError("An energy balance needs a motion that was played with its inside")
    cut = _cut(motion, until)
    i, v, inside = cut.current_a, cut.velocity_m_s, motion.inside
    follows = _follows(driver, cut.displacement_m)
    branches, currents = all_branches(driver), inside.branch_a[:, : i.size]
    warm = 1.0 if cut.coil_c is None else 1.0 + driver.alpha_per_k * (cut.coil_c - reference_c)
    eddy = sum(
        (r * follows * (i - one) ** 2 for (_, r), one in zip(branches, currents, strict=True)),
        np.zeros_like(i),
    )
    creep_lost, creep_stored = _creep(driver, cut, inside.creep_m[:, : i.size])

    def sum_of(power_w: FloatArray) -> float:
        return _integral(power_w) / motion.sample_rate_hz

    pressure = np.zeros_like(v) if cut.box_pressure_pa is None else cut.box_pressure_pa
    eddies = sum(
        0.5 * held * follows[-1] * one[-1] ** 2 for (held, _), one in zip(branches, currents, strict=True)
    )
    spring = polynomial.polyval(cut.displacement_m[-1], polynomial.polyint((0.0, *driver.K)))
    return EnergyBalance(
        work=sum_of(cut.voltage_v * i),
        coil=sum_of(driver.Re * warm * i**2),
        eddy=sum_of(eddy),
        mounting=sum_of(driver.Rms * v**2),
        creep=sum_of(creep_lost),
        cabinet=-sum_of(driver.Sd * pressure * v),
        magnetic=_in_the_coil(driver, float(i[-1]), float(cut.displacement_m[-1])) + float(eddies),
        moving=0.5 * driver.Mms * float(v[-1]) ** 2,
        elastic=float(spring) + creep_stored,
    )


def _integral(samples: FloatArray) -> float:
    """Integral over samples a unit apart: trapezoids and Gregory's first three end corrections. Simpson's rule would fold what is near half
    the sample rate.
    """
    total = float(np.trapezoid(samples))
    for weight, order in ((1.0 / 12.0, 1), (1.0 / 24.0, 2), (19.0 / 720.0, 3)):
        if samples.size > order:
            ends = np.diff(samples[-order - 1 :], order)[-1], np.diff(samples[: order + 1], order)[0]
            total -= weight * float(ends[0] + (-1.0) ** order * ends[1])
    return total


@dataclass(frozen=True)
class _Cut:
    voltage_v: FloatArray
    current_a: FloatArray
    velocity_m_s: FloatArray
    displacement_m: FloatArray
    box_pressure_pa: FloatArray | None
    coil_c: FloatArray | None


def _cut(motion: Motion, until: int | None) -> _Cut:
    kept = slice(0, until)
    pressure, warm = motion.box_pressure_pa, motion.coil_c
    return _Cut(
        motion.voltage_v[kept], motion.current_a[kept], motion.velocity_m_s[kept], motion.displacement_m[kept],
        None if pressure is None else pressure[kept], None if warm is None else warm[kept],
    )  # fmt: skip


def _follows(driver: DriverModel, x: FloatArray) -> FloatArray:
    if not driver.eddy_follows:
        return np.ones_like(x)
    return np.asarray(polynomial.polyval(x, driver.Le) / driver.Le[0])


def _in_the_coil(driver: DriverModel, i: float, x: float) -> float:
    curves = (driver.Le, *driver.Le_i)
    return sum(
        (n + 1) / (n + 2) * float(polynomial.polyval(x, c)) * i ** (n + 2) for n, c in enumerate(curves)
    )


def _creep(driver: DriverModel, cut: _Cut, yielded: FloatArray) -> tuple[FloatArray, float]:
    """Power lost in the creep (W), shape (n,), and what it stores in the end (J); `yielded` (c, n) is what the dampers gave."""
    spectrum = creep_spectrum(driver)
    stretched = cut.displacement_m - yielded
    stiffness, time = spectrum.stiffness[:, None], spectrum.time_s[:, None]
    lost = np.sum(stiffness * stretched**2 / time, axis=0) + spectrum.damper * cut.velocity_m_s**2
    springs = spectrum.stiffness @ stretched[:, -1] ** 2 + spectrum.constant * cut.displacement_m[-1] ** 2
    return np.asarray(lost), 0.5 * float(springs)
