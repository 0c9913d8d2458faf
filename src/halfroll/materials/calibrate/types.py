"""What a calibration takes and gives: a strip and its readings; a modulus with its uncertainty, where that comes from, what is said of it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from halfroll.core.errors import InputError
from halfroll.core.uncertainty import coverage_factor
from halfroll.core.verdicts import Verdict
from halfroll.materials.types import LineDirection

Method = Literal["strip", "ring", "resonance", "curve", "creep", "update"]

Setup = Literal["fixed-free", "three-point"]
"""How a strip is held: at one end, or on two supports."""


MODULI_PA = (1e5, 5e11)
"""What a material may state, too: softer than the softest foam rubber, or stiffer than steel, is a slip of the pen."""


@dataclass(frozen=True, kw_only=True)
class Strip:
    """A strip and how it is held; `_u` are standard uncertainties (m).

    `length_m` is from the clamp to where the weight hangs, or the span between the supports. `overhang_m` of a fixed-free strip goes
    on beyond the weight. `density_kg_m3` is for its own weight. Deflections count from the strip without a weight.
    """

    setup: Setup
    length_m: float
    width_m: float
    thickness_m: float
    length_u_m: float = 0.5e-3
    width_u_m: float = 0.1e-3
    thickness_u_m: float = 0.03e-3
    overhang_m: float = 0.0
    density_kg_m3: float = 1200.0
    poisson: float = 0.38
    lines: LineDirection = "along"


@dataclass(frozen=True, kw_only=True)
class Loads:
    """Weights hung on a strip (kg) and how far the place where they hang sank (m), as many of each; repeats are further readings.

    `deflection_u_m` is how well one deflection is read, `mass_u` the relative standard uncertainty of the weights together.
    """

    mass_kg: tuple[float, ...]
    deflection_m: tuple[float, ...]
    deflection_u_m: float = 0.25e-3
    mass_u: float = 0.005


@dataclass(frozen=True, kw_only=True)
class Estimate:
    """A modulus (Pa) from readings of one kind.

    Parameters
    ----------
    log_u
        Standard uncertainty of its logarithm, so of a modulus known to a few per cent the relative one.
    dof
        Degrees of freedom of that; infinite when nothing was taken from the scatter of readings.
    lines
        How the load met the printed lines.
    budget
        Relative standard uncertainty of the modulus from each source.
    loss_factor, loss_factor_u
        tan d where the method gives it.
    readings_pa
        Modulus of each reading (Pa), in the order given; empty for methods with one.
    """

    method: Method
    modulus_pa: float
    log_u: float
    dof: float = math.inf
    lines: LineDirection = "along"
    budget: Mapping[str, float] = field(default_factory=dict)
    loss_factor: float | None = None
    loss_factor_u: float | None = None
    readings_pa: tuple[float, ...] = ()
    verdicts: tuple[Verdict, ...] = ()

    def __post_init__(self) -> None:
        low, high = MODULI_PA
        if not low <= self.modulus_pa <= high:
            raise InputError(
                "The modulus that follows must be that of a printing material", found=f"{self.modulus_pa / 1e6:.3g} MPa",
                allowed=f"{low / 1e6:g} to {high / 1e6:g} MPa", remedy="Look at the units: grams, millimetres, hertz; and for a slip of the decimal point",
            )  # fmt: skip

    @property
    def modulus_u_pa(self) -> float:
        """Standard uncertainty of the modulus (Pa)."""
        return self.modulus_pa * self.log_u

    @property
    def interval_pa(self) -> tuple[float, float]:
        """The interval (Pa) that covers the modulus with 95 %: Student's t at `dof`, even in the logarithm."""
        return interval(self.modulus_pa, self.log_u, self.dof)


@dataclass(frozen=True, kw_only=True)
class Creep:
    """Log creep: `per_decade` the share of the first deflection that each decade of time adds, with its standard uncertainty."""

    per_decade: float
    per_decade_u: float
    first_s: float
    last_s: float
    verdicts: tuple[Verdict, ...] = ()


def interval(value: float, log_u: float, dof: float = math.inf) -> tuple[float, float]:
    """95 % interval of a value above zero whose logarithm has the standard uncertainty `log_u`."""
    wide = math.exp(min(coverage_factor(dof) * log_u, 50.0))
    return value / wide, value * wide
