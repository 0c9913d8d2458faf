"""What stands in for a part that is not designed: a value somebody stated or measured, as an ingredient with its uncertainty."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.driver.predicted.eddy_fit import EddyFit
from halfroll.driver.predicted.entered import LABELS, LEAST_LE_H, UNITS, USUAL_U, Known
from halfroll.driver.predicted.ingredients import Holder, Ingredients
from halfroll.driver.predicted.levers import Lever, relative

POINTS = 41


def flat_holder(stiffness: float, travel_m: float, creep: float = 0.0) -> Holder:
    """A linear spring (N/m) over a travel both ways (m), without a loss of its own."""
    half = travel_m * np.arange(1, POINTS // 2 + 1) / (POINTS // 2)
    x = np.concatenate([-half[::-1], [0.0], half])
    return Holder(name="suspension", x_m=x, force_n=stiffness * x, tangent_n_per_m=np.full(len(x), stiffness), loss_factor=0.0,
                  creep_per_decade=creep)  # fmt: skip


def flat_bl(bl: float, travel_m: float) -> tuple[FloatArray, FloatArray]:
    """A Bl (T m) that stays, as displacements (m) and values, (n,) each, half as far again as the travel."""
    x = np.linspace(-1.5 * travel_m, 1.5 * travel_m, POINTS)
    return x, np.full(POINTS, bl)


def plain_coil(values: Mapping[str, Known]) -> EddyFit:
    """Le, with L2 and R2 where they are known."""
    le = max(values["le_h"].value if "le_h" in values else 0.0, LEAST_LE_H)
    branches = (
        ((values["l2_h"].value, values["r2_ohm"].value),) if "l2_h" in values and "r2_ohm" in values else ()
    )
    return EddyFit(le=(le,), branches=branches, follows=False, misfit=0.0, misfit_x=0.0)


def known_levers(values: Mapping[str, Known], where: str) -> Iterator[Lever]:
    """A lever for each value that stands in."""
    for key, known in values.items():
        change = _CHANGES.get(key)
        u = USUAL_U[key] if known.u is None else known.u / known.value
        if change is None or not u > 0.0:
            continue
        lever = relative(
            f"entered.{key}",
            f"{LABELS[key]}, {where}",
            "entered",
            known.value,
            UNITS.get(key, ""),
            u,
            change,
            source=where,
        )
        yield lever


def _mass(found: Ingredients, factor: float) -> Ingredients:
    return found.heavier((factor - 1.0) * found.moving_kg)


_CHANGES = {
    "re_ohm": lambda found, factor: replace(found, re_ohm=factor * found.re_ohm),
    "bl_n_per_a": lambda found, factor: replace(found, bl=factor * found.bl),
    "mms_kg": _mass,
    "cms_m_per_n": lambda found, factor: replace(
        found, holders=tuple(one.stiffer(1.0 / factor) for one in found.holders)
    ),
    "rms_ns_per_m": lambda found, factor: replace(found, other_rms=factor * (found.other_rms or 0.0)),
    "le_h": lambda found, factor: replace(found, eddies=found.eddies.scaled(_first(found, factor))),
    "sd_m2": lambda found, factor: replace(found, area_m2=factor * found.area_m2),
}


def _first(found: Ingredients, factor: float) -> FloatArray:
    logs = np.zeros(1 + 2 * len(found.eddies.branches))
    logs[0] = np.log(factor)
    return logs
