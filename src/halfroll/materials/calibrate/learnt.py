"""A modulus from what a whole driver measured against its prediction said of it.

The update of a prediction gives z ± u, in standard uncertainties of the value assumed, with that assumption as its prior. What the driver
says by itself is that without the prior: precisions subtract (product of two normal distributions), 1/u² - 1 of the data alone about
z/(1 - u²). Combined with the starting value and other calibrations it counts the assumption once, not twice.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from halfroll.core.errors import InputError
from halfroll.materials.calibrate.types import Estimate
from halfroll.materials.types import LineDirection

MOST_U = 0.98
"""A posterior uncertainty from which a driver says nothing of a modulus."""


@dataclass(frozen=True, kw_only=True)
class Learnt:
    """The modulus assumed (Pa) with its relative standard uncertainty, and where the update puts it, in those."""

    assumed_pa: float
    assumed_u: float
    moved: float
    moved_u: float
    lines: LineDirection = "along"


def learnt_modulus(found: Learnt) -> Estimate:
    """The modulus the driver says by itself.

    Raises
    ------
    InputError
        The update is no surer than what was assumed.
    """
    if not 0.0 < found.moved_u < MOST_U:
        raise InputError("An update must be surer than what was assumed", key="moved_u_sd", found=f"{found.moved_u:g}",
                         allowed=f"above 0, below {MOST_U:g}")  # fmt: skip
    left = 1.0 - found.moved_u**2
    return Estimate(
        method="update", modulus_pa=found.assumed_pa * math.exp(found.assumed_u * found.moved / left),
        log_u=found.assumed_u * found.moved_u / math.sqrt(left), lines=found.lines,
        budget={"prediction and measurement of the driver": found.assumed_u * found.moved_u / math.sqrt(left)},
    )  # fmt: skip
