"""Ingredients to put a driver together from, by hand."""

from __future__ import annotations

from typing import Any

import numpy as np

from halfroll.acoustics.air import Air
from halfroll.driver.predicted.eddy_fit import EddyFit
from halfroll.driver.predicted.ingredients import Holder, Ingredients

AIR = Air(density=1.2, speed_of_sound=343.0)


def holder(
    name: str, stiffness: float, *, harder: float = 0.0, loss: float = 0.0, creep: float = 0.0
) -> Holder:
    """F = K x + harder x³ over 5 mm both ways."""
    half = np.linspace(0.0, 5e-3, 41)
    x = np.concatenate([-half[:0:-1], half])
    return Holder(name=name, x_m=x, force_n=stiffness * x + harder * x**3, tangent_n_per_m=stiffness + 3 * harder * x**2, loss_factor=loss,
                  creep_per_decade=creep)  # fmt: skip


def ingredients(*holders: Holder, **changes: Any) -> Ingredients:
    """A driver near the worked one W1 (its mass without the air of 133 cm²)."""
    x = np.linspace(-8e-3, 8e-3, 33)
    given: dict[str, Any] = {
        "re_ohm": 6.0, "alpha_per_k": 0.00393, "bl_x_m": x, "bl": 6.0 * (1.0 - (x / 9e-3) ** 2),
        "eddies": EddyFit(le=(0.3e-3,), branches=((0.5e-3, 8.0),), follows=True, misfit=0.0, misfit_x=0.0), "current_terms": None,
        "holders": holders, "moving_kg": 0.0102, "area_m2": 0.0133, "x_range": (-4e-3, 4e-3), "air": AIR,
    }  # fmt: skip
    return Ingredients(**{**given, **changes})
