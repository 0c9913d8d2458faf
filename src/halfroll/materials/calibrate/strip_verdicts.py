"""What is to be said about the readings of a bent strip."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.core.verdicts import Severity, Verdict
from halfroll.materials.calibrate.types import Loads, Strip
from halfroll.materials.printed import SOFT_PA

FEW = 3
WIDE_SCATTER = 0.10
FAR = 0.10
SHORT_SPAN = 16.0
"""Span over thickness that ISO 178 asks for."""

HIGH_STRAIN = 0.02
PLATE = 5.0
"""b²/(R t) from which a bent strip begins to act as a plate (it is a beam below about 1, a plate above about 100: G. F. C. Searle,
"Experimental Elasticity", 1908; from memory)."""


def strip_verdicts(
    strip: Strip, loads: Loads, readings_pa: FloatArray, modulus_pa: float
) -> tuple[Verdict, ...]:
    """All there is to say, worst first."""
    found = [
        *_readings(loads, readings_pa),
        *_trend(loads, readings_pa),
        *_shape(strip, loads),
        *_rate(modulus_pa),
    ]
    return tuple(sorted(found, key=lambda one: -one.severity))


def _readings(loads: Loads, readings_pa: FloatArray) -> Iterator[Verdict]:
    n = readings_pa.size
    if n < FEW:
        yield Verdict(code="strip-few-readings", severity=Severity.CAUTION, data={"readings": n},
                      text=f"{n} reading{'s' if n > 1 else ''}: nothing shows how well they repeat, so the interval rests on what was stated alone.",
                      remedy="Take three weights or more, each twice, setting the strip anew in between.")  # fmt: skip
    scatter = float(np.std(np.log(readings_pa), ddof=1)) if n > 1 else 0.0
    if scatter > WIDE_SCATTER:
        yield Verdict(code="strip-readings-scatter", severity=Severity.CAUTION, data={"scatter_percent": 100 * scatter},
                      text=f"The readings scatter by {100 * scatter:.0f} %: the clamp slips, a weight swung, or a number is mistyped.",
                      remedy="Look for the reading that stands apart, clamp harder and read again.")  # fmt: skip
    small = max(float(loads.deflection_u_m / w) for w in loads.deflection_m)
    if small > 0.1:
        yield Verdict(code="strip-deflection-small", severity=Severity.CAUTION, data={"share_percent": 100 * small},
                      text=f"The smallest deflection is read to {100 * small:.0f} % only.",
                      remedy="Hang more on it, or make the strip longer or thinner.")  # fmt: skip


def _trend(loads: Loads, readings_pa: FloatArray) -> Iterator[Verdict]:
    """Readings out of order, and a modulus that goes with the load."""
    mass, deflection = np.asarray(loads.mass_kg), np.asarray(loads.deflection_m)
    levels = np.unique(mass)
    means = np.array([deflection[mass == m].mean() for m in levels])
    if (np.diff(means) <= 0.0).any():
        at = int(np.argmax(np.diff(means) <= 0.0)) + 1
        yield Verdict(code="strip-not-monotonic", severity=Severity.CAUTION, data={"load_g": 1e3 * float(levels[at])},
                      text=f"With {1e3 * levels[at]:g} g the strip sinks no farther than with {1e3 * levels[at - 1]:g} g.",
                      remedy="Check that readings and weights stand in the same order.")  # fmt: skip
        return
    if levels.size < 3 or mass.size < 4:
        return
    slope, chance = _slope(np.log(mass), np.log(readings_pa))
    span = slope * math.log(levels[-1] / levels[0])
    if chance < 0.02 and abs(span) > 0.03:
        way = "falls" if span < 0 else "rises"
        yield Verdict(code="strip-modulus-with-load", severity=Severity.CAUTION, data={"change_percent": 100 * span},
                      text=f"The modulus {way} by {100 * abs(span):.0f} % from the smallest to the largest weight: "
                      "the clamp gives way, the plastic creeps while it hangs, or the zero of the deflections is wrong.",
                      remedy="Read each weight after the same time, and the zero again between them.")  # fmt: skip


def _slope(x: FloatArray, y: FloatArray) -> tuple[float, float]:
    """Slope of a line through points, and the chance that one as steep comes about without any (Student's t)."""
    from scipy.special import stdtr

    x = x - x.mean()
    slope = float(x @ y / (x @ x))
    rest = y - y.mean() - slope * x
    error = math.sqrt(float(rest @ rest) / (x.size - 2) / float(x @ x))
    return slope, 2.0 * float(stdtr(x.size - 2, -abs(slope) / error)) if error > 0.0 else 0.0


def _shape(strip: Strip, loads: Loads) -> Iterator[Verdict]:
    farthest = float(max(loads.deflection_m))
    over, slender = farthest / strip.length_m, strip.length_m / strip.thickness_m
    if over > FAR:
        yield Verdict(code="strip-bends-far", severity=Severity.NOTE, data={"share_percent": 100 * over},
                      text=f"It bends to {100 * over:.0f} % of its length, where the plain formula is wrong; the exact shape is used.")  # fmt: skip
    if slender < SHORT_SPAN:
        nu = strip.poisson
        shear = (0.6 if strip.setup == "fixed-free" else 2.4) * (1 + nu) / slender**2
        yield Verdict(code="strip-short", severity=Severity.CAUTION, data={"length_over_thickness": slender},
                      text=f"It is only {slender:.0f} times as long as thick: {100 * shear:.1f} % of the deflection is shear, which is taken off, "
                      "and how it is held counts for more.", remedy="Use 16 times the thickness or more (ISO 178).")  # fmt: skip
    strain = (1.5 if strip.setup == "fixed-free" else 6.0) * farthest * strip.thickness_m / strip.length_m**2
    if strain > HIGH_STRAIN:
        yield Verdict(code="strip-strain-high", severity=Severity.NOTE, data={"strain_percent": 100 * strain},
                      text=f"Its surface is strained by {100 * strain:.1f} %; plastics are softer there than at the small strains the modulus is for.",
                      remedy="Use smaller weights too and compare.")  # fmt: skip
    curvature = (3.0 if strip.setup == "fixed-free" else 12.0) * farthest / strip.length_m**2
    plate = strip.width_m**2 * curvature / strip.thickness_m
    if plate > PLATE:
        most = 100 * strip.poisson**2 / (1 - strip.poisson**2)
        yield Verdict(code="strip-wide", severity=Severity.CAUTION, data={"b2_over_rt": plate},
                      text=f"So wide and thin a strip is held flat across and bends up to {most:.0f} % stiffer than its modulus says.",
                      remedy="Make it narrower, or bend it less.")  # fmt: skip


def _rate(modulus_pa: float) -> Iterator[Verdict]:
    if modulus_pa < SOFT_PA:
        yield Verdict(code="slow-bending", severity=Severity.NOTE, data={},
                      text="This is the modulus of slow bending. Soft plastics are stiffer when they move fast: four printed TPUs gained "
                      "up to 183 % at a strain rate of 16 1/s (Haid, Duncan, Hart, Foster 2022), so resonances come out higher.",
                      remedy="Calibrate from a unit's resonance too; for sag and slow travel this one holds.")  # fmt: skip
