"""How much farther a plastic gives under a load that stays: the slope of log creep.

w(t) = w1 (1 + c lg(t/t1)) from the first reading on, the law of B. Knudsen and J. G. Jensen, "Low-Frequency Loudspeaker Models that
Include Suspension Creep", JAES 41, 3-18, 1993, read over time instead of frequency. Straight line in lg t by least squares.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.core.uncertainty import coverage_factor
from halfroll.core.verdicts import Severity, Verdict
from halfroll.materials.calibrate.types import Creep

SHORTEST_DECADES = 1.0


def creep_slope(time_s: Sequence[float], deflection_m: Sequence[float]) -> Creep:
    """Log-creep slope from deflections (any one unit) over time (s), three readings or more.

    The standard uncertainty is widened to cover as much as Student's t does, so few readings make it wide.

    Raises
    ------
    InputError
        Fewer than three readings, times that do not rise from above 0, or a deflection that is none.
    """
    t, w = np.asarray(time_s, float), np.asarray(deflection_m, float)
    _check(t, w)
    decades = np.log10(t / t[0])
    matrix = np.stack([np.ones_like(decades), decades], axis=1)
    (first, rise), *_ = np.linalg.lstsq(matrix, w, rcond=None)
    rest = w - matrix @ np.array([first, rise])
    spread = math.sqrt(float(rest @ rest) / (t.size - 2))
    deviation = float(np.sum((decades - decades.mean()) ** 2))
    widen = coverage_factor(t.size - 2) / coverage_factor(math.inf)
    slope = float(rise / first)
    return Creep(
        per_decade=slope, per_decade_u=widen * spread / math.sqrt(deviation) / float(first), first_s=float(t[0]), last_s=float(t[-1]),
        verdicts=_verdicts(decades, w, rest, slope),
    )  # fmt: skip


def _verdicts(decades: FloatArray, w: FloatArray, rest: FloatArray, slope: float) -> tuple[Verdict, ...]:
    found = []
    if decades[-1] < SHORTEST_DECADES:
        found.append(Verdict(code="creep-short", severity=Severity.CAUTION, data={"decades": float(decades[-1])},
                             text=f"The readings span {decades[-1]:.1f} decades of time: too short for a slope that is to hold for days.",
                             remedy="Read after 10 s, 1 min, 10 min, 1 h and a night."))  # fmt: skip
    if slope < 0.0:
        found.append(Verdict(code="creep-backwards", severity=Severity.CAUTION, data={"per_decade_percent": 100 * slope},
                             text="The strip rises under its load: it warmed or cooled, or the zero moved.", remedy="Keep the room's temperature and read again."))  # fmt: skip
    if w.size >= 5 and (bend := _curved(decades, w, rest)):
        found.append(Verdict(code="creep-not-log", severity=Severity.CAUTION, data={"bend": bend},
                             text="The deflection does not go with the logarithm of time: it "
                             + ("speeds up, so the load is near what the plastic bears for long." if bend > 0 else "slows down, as after a load before."),
                             remedy="Use half the load and a rested strip." if bend > 0 else "Let the strip rest for a day."))  # fmt: skip
    return tuple(found)


def _curved(decades: FloatArray, w: FloatArray, rest: FloatArray) -> float:
    """Deflection per decade squared over the first, where a parabola fits significantly better (F test, 5 %) and by 1 % or more; else 0."""
    from scipy.special import fdtrc

    matrix = np.stack([np.ones_like(decades), decades, decades**2], axis=1)
    found, *_ = np.linalg.lstsq(matrix, w, rcond=None)
    left = w - matrix @ found
    dof = w.size - 3
    gain = (float(rest @ rest) - float(left @ left)) / max(float(left @ left) / dof, 1e-30)
    bend = float(found[2] / found[0])
    return bend if fdtrc(1, dof, gain) < 0.05 and abs(bend) * decades[-1] ** 2 > 0.01 else 0.0


def _check(t: FloatArray, w: FloatArray) -> None:
    if t.size < 3 or t.shape != w.shape:
        raise InputError("Creep needs three readings or more, a time and a deflection each", key="readings", found=f"{t.size} times, {w.size} deflections")  # fmt: skip
    if not (np.isfinite(t).all() and t[0] > 0.0 and (np.diff(t) > 0.0).all()):
        raise InputError("Times must rise, from above 0", key="times_s", found=", ".join(f"{one:g}" for one in t[:8]),
                         remedy="Count from when the load was hung; the first reading after about 1 s.")  # fmt: skip
    if not (np.isfinite(w).all() and (w > 0.0).all()):
        raise InputError(
            "Deflections must be above 0", key="deflections_mm", found=", ".join(f"{one:g}" for one in w[:8])
        )
