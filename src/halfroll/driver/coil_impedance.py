"""The computed impedance of a blocked coil in the few parameters that a measured impedance is fitted with.

So that the coil of a design and the coil of a built unit are compared by the same numbers: the models are those of
`measure.lumped.impedance_model` (Le; Le and L2 parallel to R2; K(jω)ⁿ), and the misfit is taken relative to the modulus of the whole
impedance, the resistance of the wire included, as the fit of a measured curve does.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.measure.lumped.impedance_fit import Points, solve
from halfroll.measure.lumped.impedance_model import Model
from halfroll.measure.lumped.impedance_start import start
from halfroll.measure.lumped.parameter_types import CoilModel
from halfroll.motor.results import BlockedImpedance

_CLOSE = 1e-4
"""Size of a residual that counts as one; so small that the start of the fit has no say in its end."""

_FEWEST = 4


@dataclass(frozen=True, kw_only=True, eq=False)
class LumpedCoil:
    """A coil model fitted to a computed impedance.

    Parameters
    ----------
    coil
        Which model.
    values
        SI values by the names of a measured fit: ``re_ohm``, and ``le_h``, ``l2_h``, ``r2_ohm`` or ``semi_k``, ``semi_n``.
    frequency_hz, computed_ohm, fitted_ohm
        The impedance with the wire's resistance, computed and by the model, (f,).
    """

    coil: CoilModel
    values: dict[str, float]
    frequency_hz: FloatArray
    computed_ohm: ComplexArray
    fitted_ohm: ComplexArray

    @property
    def misfit(self) -> float:
        """Root mean square of (computed - fitted) over the modulus."""
        off = np.abs(self.computed_ohm - self.fitted_ohm) / np.abs(self.fitted_ohm)
        return float(np.sqrt(np.mean(off**2)))


def as_lumped(
    found: BlockedImpedance,
    re_ohm: float,
    coil: CoilModel = "lr2",
    x_m: float = 0.0,
    *,
    low_level: bool = False,
) -> LumpedCoil:
    """Fit a coil model to a blocked impedance.

    Parameters
    ----------
    found
        The computed impedance, at four frequencies at least. Spread them evenly over the logarithm of frequency, as a
        measured curve is, for each counts the same.
    re_ohm
        Direct-current resistance of the coil (ohm), which says how much the inductance weighs at each frequency.
    coil
        ``ideal``, ``lr2`` or ``semi``.
    x_m
        Displacement (m); between the computed ones straight lines.
    low_level
        Take the estimate for a low level, which is nearer to what a measured impedance shows.

    Raises
    ------
    InputError
        For too few frequencies, a resistance that is not above zero, or a displacement outside the computed ones.
    """
    impedance = total_impedance(found, re_ohm, x_m, low_level=low_level)
    if len(found.frequency_hz) < _FEWEST:
        raise InputError("A coil model needs more frequencies", found=f"{len(found.frequency_hz)}",
                         allowed=f"at least {_FEWEST}")  # fmt: skip
    order = np.argsort(found.frequency_hz)
    frequency, impedance = found.frequency_hz[order], impedance[order]
    model = Model(coil, resonance=False)
    points = Points(frequency, impedance, None, phase_known=True)
    begin = start(model, frequency, impedance, None)
    same = np.ones(len(frequency))
    solution = solve(points, model, begin, _CLOSE * same, same)
    values, _ = model.values(solution.theta)
    return LumpedCoil(
        coil=coil,
        values={name: float(value) for name, value in zip(model.names, values, strict=True)},
        frequency_hz=frequency,
        computed_ohm=impedance,
        fitted_ohm=solution.fitted,
    )


def total_impedance(
    found: BlockedImpedance, re_ohm: float, x_m: float = 0.0, *, low_level: bool = False
) -> ComplexArray:
    """Impedance of the blocked coil with the resistance of its wire (ohm), (f,), at a displacement (m).

    Raises `InputError` for a resistance that is not above zero, a displacement outside the computed ones, or a low level that
    was not computed.
    """
    if not 0.0 < re_ohm < np.inf:
        raise InputError("The resistance of the coil must be above 0 ohm", found=f"{re_ohm:g} ohm")
    order = np.argsort(found.x_m)
    places = found.x_m[order]
    if not places[0] - 1e-9 <= x_m <= places[-1] + 1e-9:
        raise InputError("The inductance was not computed at this displacement", found=f"{1e3 * x_m:.3g} mm",
                         allowed=f"{1e3 * places[0]:.3g} to {1e3 * places[-1]:.3g} mm")  # fmt: skip
    inductance, resistance = (
        np.array([np.interp(x_m, places, column) for column in values[order].T])
        for values in _of_level(found, low_level=low_level)
    )
    return np.asarray(re_ohm + resistance + 2j * np.pi * found.frequency_hz * inductance)


def _of_level(found: BlockedImpedance, *, low_level: bool) -> tuple[FloatArray, FloatArray]:
    if not low_level:
        return found.inductance_h, found.resistance_ohm
    if found.low_level_inductance_h is None or found.low_level_resistance_ohm is None:
        raise InputError(
            "The inductance at a low level was not computed",
            remedy="Compute it with low_level, in a motor with steel",
        )
    return found.low_level_inductance_h, found.low_level_resistance_ohm
