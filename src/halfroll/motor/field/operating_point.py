"""Where magnets work on their demagnetisation curve, and whether part of them is beyond its knee.

Flux density B and field strength H along the polarisation; in the magnet B = Br + mu0 mu_rec H. The permeance is
-B/(mu0 H) of the means over the volume (IEC 60404-8-1 and MMPA 0100 call B/H of the working point so).
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.materials.magnet import knee as knee_of
from halfroll.materials.magnet import safe_temperature_c
from halfroll.materials.steel import MU_0
from halfroll.materials.types import MagnetGrade
from halfroll.motor.field.magnetostatics import StaticField, flux_density_of
from halfroll.motor.field.sections import extreme
from halfroll.motor.results import OperatingPoint
from halfroll.motor.types import Body, Magnet

_ORDER = 8
"""Of the integration that finds the share of a magnet below its knee."""


def operating_points(field: StaticField) -> tuple[OperatingPoint, ...]:
    """The working point of every magnet at the temperature its field was found for, in the assembly's order."""
    bodies = enumerate(field.motor.assembly.bodies)
    return tuple(
        _of_magnet(field, i, body, body.matter) for i, body in bodies if isinstance(body.matter, Magnet)
    )


def _of_magnet(field: StaticField, index: int, body: Body, magnet: Magnet) -> OperatingPoint:
    grade, temperature = magnet.grade, magnet.temperature_c
    direction = np.asarray(magnet.direction) / math.hypot(*magnet.direction)

    def against(r: FloatArray, z: FloatArray) -> FloatArray:
        return np.asarray(-(field.flux_density(r, z) @ direction))

    knee = knee_of(grade, temperature, beyond=True).b_t
    mean, share = _mean_and_share(field, index, direction, knee)
    h_mean = (mean - grade.br_at(temperature)) / (MU_0 * grade.mu_rec)
    low, r, z = extreme(against, body.outline)
    return OperatingPoint(
        body=body.name,
        temperature_c=temperature,
        b_mean_t=mean,
        h_mean_a_m=h_mean,
        permeance=-mean / (MU_0 * h_mean) if h_mean else math.inf,
        b_worst_t=-low,
        worst_at_m=(r, z),
        knee_t=knee,
        margin_t=-low - knee,
        share_below_knee=share,
        safe_to_c=_safe_to(grade, temperature, -low),
    )


def _safe_to(grade: MagnetGrade, temperature_c: float, b_t: float) -> float:
    """Temperature (°C) at which a place with flux density `b_t` along the polarisation reaches its knee.

    Infinite where the grade's own limit comes first: beyond it the temperature coefficients do not hold.
    The place's load line B/H stays as it is: exact where the steel is far from full, a little kind where warmth empties it.
    """
    h = (b_t - grade.br_at(temperature_c)) / (MU_0 * grade.mu_rec)
    if h >= 0.0:  # something else magnetises it further
        return math.inf if grade.beta_hcj_per_k < 0.0 else -math.inf
    limit = safe_temperature_c(grade, -b_t / (MU_0 * h))
    if limit > grade.highest_c:
        return math.inf
    return limit if limit >= grade.lowest_c else -math.inf


def _mean_and_share(
    field: StaticField, index: int, direction: FloatArray, knee: float
) -> tuple[float, float]:
    """Mean flux density (T) along the polarisation over a magnet's volume, and the share of it below the knee."""
    import ngsolve as ng

    b = flux_density_of(field.potential)
    along: Any = direction[0] * b[0] + direction[1] * b[1]
    sums = ng.CF((ng.x, ng.x * along, ng.IfPos(knee - along, ng.x, 0.0)))
    region = field.motor.mesh.Materials(f"body{index}")
    volume, flux, below = ng.Integrate(sums, field.motor.mesh, definedon=region, order=_ORDER)
    return float(flux / volume), min(1.0, max(0.0, float(below / volume)))
