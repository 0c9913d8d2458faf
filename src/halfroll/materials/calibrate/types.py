"""What a calibration gives: a modulus with its uncertainty, where that comes from, and what is to be said about it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from halfroll.core.uncertainty import coverage_factor
from halfroll.core.verdicts import Verdict
from halfroll.materials.types import LineDirection

Method = Literal["strip", "ring", "resonance", "curve", "creep"]


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
