"""Modulus from a printed strip, bent by weights: held at one end, or on two supports.

Fixed-free   w = P L³/(3 E I) (1 + 0.6 (1 + nu) (t/L)²), the shape by the elastica with the strip's own weight
Three-point  E = P L³/(48 I w) (1 + 2.4 (1 + nu) (t/L)²), the shape by the elastica of a strip that slides on its supports

with I = b t³/12. The three-point formula without its brackets is that of ISO 178:2019, 9.3, and ASTM D790-17, 12.5 (both from
memory); they ask for a span of 16 thicknesses or more, so that the shear in the brackets (S. P. Timoshenko, "Strength of
Materials" I, 3rd ed. 1955, art. 39; shear coefficient 5/6) is 1.3 % or less. It is taken into account at every span.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.core.uncertainty import welch_satterthwaite
from halfroll.materials.calibrate.elastica import MOST_LOAD, MOST_THREE_POINT, fixed_free, three_point
from halfroll.materials.calibrate.strip_verdicts import strip_verdicts
from halfroll.materials.calibrate.types import Estimate, Loads, Strip

GRAVITY = 9.80665
"""Standard acceleration of free fall (m/s²), CGPM 1901; it varies by 0.3 % over the earth."""

SETTING = 0.01
"""Relative standard uncertainty that any reading has besides what is stated: how the weight hangs, how the eye looks (own choice). It
only weighs readings against each other; what they scatter by is taken from them."""

MOST_FIXED_FREE, MOST_OF_SPAN = 0.90, 0.15
"""Largest deflection over length, and over span, that is solved for."""


def strip_modulus(strip: Strip, loads: Loads) -> Estimate:
    """Modulus of a strip from its readings.

    Each reading gives a modulus. Their mean is weighted by how well each deflection was read; its uncertainty comes from how
    they scatter (Student's t), from the zero of the deflections they share, and from length, width, thickness (three times) and mass.

    Raises
    ------
    InputError
        Dimensions that make no strip, a deflection that is none or farther than a strip can bend; the reading is named.
    """
    check_strip(strip)
    check_loads(strip, loads)
    mass, deflection = (np.asarray(one, float) for one in (loads.mass_kg, loads.deflection_m))
    logs = np.log(moduli(strip, mass, deflection))
    weights = 1.0 / (SETTING**2 + (loads.deflection_u_m / deflection) ** 2)
    weights /= weights.sum()
    mean = float(weights @ logs)
    scatter, dof = _scatter(logs - mean, weights, loads, deflection)
    budget = {"readings": scatter, **_systematic(strip, loads, logs, weights)}
    return Estimate(
        method="strip",
        modulus_pa=math.exp(mean),
        log_u=math.sqrt(sum(u**2 for u in budget.values())),
        dof=welch_satterthwaite((u, dof if name == "readings" else math.inf) for name, u in budget.items()),
        lines=strip.lines,
        budget=budget,
        readings_pa=tuple(np.exp(logs).tolist()),
        verdicts=strip_verdicts(strip, loads, np.exp(logs), math.exp(mean)),
    )


def moduli(strip: Strip, mass_kg: FloatArray, deflection_m: FloatArray) -> FloatArray:
    """The modulus (Pa) that each reading gives by itself, (n,). By secants in the logarithm of the load number."""
    reach = deflection_m / strip.length_m
    start = 3.0 * reach if strip.setup == "fixed-free" else 6.0 * reach
    most = MOST_LOAD if strip.setup == "fixed-free" else MOST_THREE_POINT
    target, bound = np.log(reach), math.log(most)
    before = np.log(np.minimum(start, 0.8 * most))
    miss_before = np.log(_reach(strip, mass_kg, before)) - target
    x = np.minimum(before - np.clip(miss_before, -1.0, 1.0), bound)
    for _ in range(60):
        miss = np.log(_reach(strip, mass_kg, x)) - target
        if np.abs(miss).max(initial=0.0) < 1e-9:
            break
        run = np.where(x == before, 1.0, x - before)
        slope = np.where(x == before, 1.0, (miss - miss_before) / run)
        before, miss_before = x, miss
        x = np.minimum(x - np.clip(miss / np.maximum(slope, 0.02), -1.0, 1.0), bound)
    return np.asarray(_force(strip, mass_kg) / np.exp(x))


def deflections(strip: Strip, mass_kg: Sequence[float], modulus_pa: float) -> FloatArray:
    """How far weights (kg) bend a strip of known modulus (m), (n,): what `strip_modulus` turns round."""
    mass = np.asarray(mass_kg, float)
    return np.asarray(strip.length_m * _reach(strip, mass, np.log(_force(strip, mass) / modulus_pa)))


def _force(strip: Strip, mass_kg: FloatArray) -> FloatArray:
    """Load number times modulus (Pa): P L²/I, or P a²/(2 I) with half the span a."""
    inertia = strip.width_m * strip.thickness_m**3 / 12.0
    share = 1.0 if strip.setup == "fixed-free" else 0.125
    return np.asarray(share * GRAVITY * mass_kg * strip.length_m**2 / inertia)


def _reach(strip: Strip, mass_kg: FloatArray, log_load: FloatArray) -> FloatArray:
    """Deflection over length by load numbers, which may repeat the row of masses."""
    load = np.exp(log_load)
    slender = (1.0 + strip.poisson) * (strip.thickness_m / strip.length_m) ** 2
    if strip.setup == "three-point":
        shear = 0.5 * 2.4 * slender * load / 3.0
        return np.asarray(0.5 * three_point(load) + shear)
    own = strip.density_kg_m3 * strip.width_m * strip.thickness_m * strip.length_m
    weight = load * own / np.resize(mass_kg, load.shape)
    over = strip.overhang_m / strip.length_m
    both = fixed_free(np.concatenate([load, np.zeros_like(load)]), np.concatenate([weight, weight]), over)
    loaded, bare = both.reshape(2, -1)
    return np.asarray(loaded - bare + 0.6 * slender * load / 3.0)


def _scatter(
    rest: FloatArray, weights: FloatArray, loads: Loads, deflection: FloatArray
) -> tuple[float, float]:
    """Standard uncertainty of the weighted mean and its degrees of freedom: from the scatter of three readings or more."""
    stated = math.sqrt(float(np.sum((weights * np.hypot(SETTING, loads.deflection_u_m / deflection)) ** 2)))
    if rest.size < 3:
        return stated, math.inf
    return math.sqrt(float(weights @ rest**2) / (rest.size - 1)), rest.size - 1.0


def _systematic(strip: Strip, loads: Loads, logs: FloatArray, weights: FloatArray) -> dict[str, float]:
    """What all readings share, as relative uncertainties of the modulus; dimensions one standard uncertainty off."""
    mass, deflection = (np.asarray(one, float) for one in (loads.mass_kg, loads.deflection_m))

    def log_bend(strip: Strip, logs: FloatArray) -> FloatArray:
        load = np.log(_force(strip, mass)) - logs
        return np.asarray(np.log(strip.length_m * _reach(strip, mass, load)))

    here = log_bend(strip, logs)
    slope = (log_bend(strip, logs + 1e-4) - here) / 1e-4

    def change(off: Strip) -> float:
        return abs(float(np.sum(weights * (log_bend(off, logs) - here) / slope)))

    return {
        "thickness": change(replace(strip, thickness_m=strip.thickness_m + strip.thickness_u_m)),
        "width": change(replace(strip, width_m=strip.width_m + strip.width_u_m)),
        "length": change(replace(strip, length_m=strip.length_m + strip.length_u_m)),
        "zero": loads.deflection_u_m * float(np.sum(weights / deflection)),
        "mass": loads.mass_u,
    }


def check_strip(strip: Strip) -> None:
    """Refuse dimensions that make no strip; the key is named."""
    sizes: Mapping[str, tuple[float, float, float]] = {
        "length": (strip.length_m, 5e-3, 1.0),
        "width": (strip.width_m, 1e-3, 0.2),
        "thickness": (strip.thickness_m, 0.1e-3, 20e-3),
    }
    for key, (value, low, high) in sizes.items():
        if not (math.isfinite(value) and low <= value <= high):
            raise InputError(f"The {key} of the strip must be that of a printed strip", key=f"{key}_mm",
                             found=f"{1e3 * value:g} mm", allowed=f"{1e3 * low:g} to {1e3 * high:g} mm")  # fmt: skip
    if strip.thickness_m > strip.length_m / 5.0:
        raise InputError("The strip must be at least five times as long as it is thick, or it does not bend like one",
                         key="length_mm", found=f"{1e3 * strip.length_m:g} mm long, {1e3 * strip.thickness_m:g} mm thick")  # fmt: skip
    for key, u in (
        ("length", strip.length_u_m),
        ("width", strip.width_u_m),
        ("thickness", strip.thickness_u_m),
    ):
        value = sizes[key][0]
        if not 0.0 <= u < 0.3 * value:
            raise InputError(f"The uncertainty of the {key} must be below 30 % of it", key=f"{key}_u_mm",
                             found=f"{1e3 * u:g} mm", allowed=f"0 to {300 * value:.3g} mm")  # fmt: skip
    if not 0.0 <= strip.overhang_m <= strip.length_m:
        raise InputError("The strip must not go on farther beyond the weight than it is long", key="overhang_mm",
                         found=f"{1e3 * strip.overhang_m:g} mm", allowed=f"0 to {1e3 * strip.length_m:g} mm")  # fmt: skip


def check_loads(strip: Strip, loads: Loads) -> None:
    """Refuse readings that cannot be; the first wrong one is named, counted from 1."""
    if not loads.mass_kg or len(loads.mass_kg) != len(loads.deflection_m):
        raise InputError("There must be as many deflections as weights, one or more", key="deflections_mm",
                         found=f"{len(loads.mass_kg)} weights, {len(loads.deflection_m)} deflections",
                         remedy="Give a weight and a deflection for each reading")  # fmt: skip
    farthest = MOST_FIXED_FREE if strip.setup == "fixed-free" else MOST_OF_SPAN
    for row, (mass, deflection) in enumerate(zip(loads.mass_kg, loads.deflection_m, strict=True), 1):
        if not (math.isfinite(mass) and 0.0 < mass <= 50.0):
            raise InputError(f"Reading {row} must have a weight", key="loads_g", found=f"{1e3 * mass:g} g", allowed="more than 0 to 50 000 g")  # fmt: skip
        if not (math.isfinite(deflection) and deflection > 0.0):
            raise InputError(f"Reading {row} must have a deflection the way the weight pulls", key="deflections_mm",
                             found=f"{1e3 * deflection:g} mm", allowed="more than 0, counted from the strip without a weight")  # fmt: skip
        if deflection > strip.length_m:
            raise InputError(f"Reading {row} sinks farther than the strip is long", key="deflections_mm",
                             found=f"{1e3 * deflection:g} mm", allowed=f"at most {1e3 * farthest * strip.length_m:.3g} mm")  # fmt: skip
        if deflection > farthest * strip.length_m:
            why = "hang almost straight down" if strip.setup == "fixed-free" else "slip through its supports"
            raise InputError(f"Reading {row} is too far for this strip: it would {why} and says nothing of its modulus",
                             key="deflections_mm", found=f"{1e3 * deflection:g} mm of {1e3 * strip.length_m:g} mm",
                             allowed=f"at most {1e3 * farthest * strip.length_m:.3g} mm", remedy="Hang less on it, or make it shorter.")  # fmt: skip
