"""How far the coil may travel: where the force factor falls to a share of its value at rest, and what the lengths of coil
and gap say.

The share 82 % stands for 10 % distortion (IEC 62458:2010 for the limits read from Bl(x); AES2-2012 for the 10 %).
Geometric figures are common practice; they and the 82 % limit can differ by 40 %, so each goes by its own name.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.core.verdicts import Severity, Verdict
from halfroll.motor.results import ForceFactor
from halfroll.motor.types import Gap, Winding

BL_SHARE = 0.82
"""Share of Bl at rest at the limit of travel: 10 % distortion in the usual case (IEC 62458:2010)."""

_EQUAL_M = 1e-6
_FINE = 2001

Hang = Literal["overhung", "underhung", "equal"]


@dataclass(frozen=True, kw_only=True)
class Limit:
    """How far one way (m, above zero) until Bl has fallen to the share; `reached` False: the range ends there, the limit is
    farther out.
    """

    distance_m: float
    reached: bool
    u_m: float
    """Standard uncertainty by that of Bl(x) (m)."""


@dataclass(frozen=True, kw_only=True)
class TravelLimits:
    """Limits of travel by the force factor.

    Parameters
    ----------
    share
        The share of Bl at rest that counts as the limit.
    outwards, inwards
        Each way.
    peak_m
        The smaller of both (m): the peak displacement by IEC 62458.
    asymmetry
        (outwards - inwards)/(outwards + inwards): 0 symmetric, above 0 when the coil may go farther outwards. A bound when one
        of both is.
    """

    share: float
    outwards: Limit
    inwards: Limit
    peak_m: float
    reached: bool
    asymmetry: float


@dataclass(frozen=True, kw_only=True)
class GeometricTravel:
    """What coil and gap say by their lengths (common practice).

    `linear_m` is half the difference of both lengths, on either side of the gap's middle; `plus_15_percent_m` the same and
    15 % more; `plus_third_of_gap_m` the same and a third of the gap's height. `centred` False: the coil does not stand in the
    middle of the gap, so one way has less by `off_m`.
    """

    hang: Hang
    linear_m: float
    plus_15_percent_m: float
    plus_third_of_gap_m: float
    off_m: float


def travel_limits(bl: ForceFactor, share: float = BL_SHARE) -> TravelLimits:
    """Where Bl(x) falls to `share` of Bl(0), each way from rest."""
    if not 0.0 < share < 1.0:
        raise InputError(
            "The share of Bl at the limit of travel must lie between 0 and 1", found=f"{share:g}"
        )
    curve = smooth(bl)
    outwards = _limit(bl, curve, share, way=1.0)
    inwards = _limit(bl, curve, share, way=-1.0)
    sides = sorted((outwards, inwards), key=lambda side: side.distance_m)
    both = outwards.distance_m + inwards.distance_m
    return TravelLimits(
        share=share,
        outwards=outwards,
        inwards=inwards,
        peak_m=sides[0].distance_m,
        reached=sides[0].reached,
        asymmetry=(outwards.distance_m - inwards.distance_m) / both if both > 0 else 0.0,
    )


def smooth(bl: ForceFactor) -> Callable[[FloatArray], FloatArray]:
    """Bl over displacement as a smooth curve through its points (monotone cubic: no overshoot)."""
    from scipy.interpolate import PchipInterpolator

    sign = -1.0 if bl.at_rest < 0 else 1.0
    through = PchipInterpolator(bl.x_m, sign * bl.bl)
    return lambda x: np.asarray(through(x))


def _limit(bl: ForceFactor, curve: Callable[[FloatArray], FloatArray], share: float, way: float) -> Limit:
    """First displacement one way where the curve lies below the share of its value at rest."""
    from scipy.optimize import brentq

    end = float(bl.x_m[-1] if way > 0 else -bl.x_m[0])
    if end <= 0:
        raise InputError(
            "Displacements must lie on both sides of rest",
            found=f"{1e3 * bl.x_m[0]:g} to {1e3 * bl.x_m[-1]:g} mm",
        )
    x = np.linspace(0.0, end, _FINE)
    aim = share * float(curve(np.zeros(1))[0])
    under = np.nonzero(curve(way * x) < aim)[0]
    if not len(under):
        return Limit(distance_m=end, reached=False, u_m=0.0)
    i = int(under[0])
    at = float(brentq(lambda s: float(curve(np.asarray([way * s]))[0]) - aim, x[i - 1], x[i]))
    slope = abs(float(np.diff(curve(way * (at + np.asarray([-1e-5, 1e-5]))))[0]) / 2e-5)
    u = float(np.interp(way * at, bl.x_m, bl.u))
    return Limit(distance_m=at, reached=True, u_m=u / slope if slope > 0 else 0.0)


def most_symmetric_shift(bl: ForceFactor, share: float = BL_SHARE) -> float | None:
    """How far (m, positive outwards) to move the coil so that Bl falls to `share` of its rest value equally far each way.

    None when the range of displacements is too short to tell.
    """
    from scipy.optimize import brentq

    curve = smooth(bl)
    x = np.linspace(float(bl.x_m[0]), float(bl.x_m[-1]), 2 * _FINE - 1)
    values = curve(x)

    def lopsided(shift: float) -> float:
        aim = share * float(curve(np.asarray([shift]))[0])
        right, left = _first_below(x, values, aim, shift, 1), _first_below(x, values, aim, shift, -1)
        return right + left - 2.0 * shift

    top = float(x[values.argmax()])
    tries = np.linspace(top - 0.25 * np.ptp(x), top + 0.25 * np.ptp(x), 41)
    known = [(s, lopsided(s)) for s in tries if x[0] < s < x[-1]]
    known = [(s, f) for s, f in known if np.isfinite(f)]
    for (a, fa), (b, fb) in pairwise(known):
        if fa >= 0.0 >= fb:
            return float(brentq(lopsided, a, b, xtol=1e-8))
    return None


def _first_below(x: FloatArray, values: FloatArray, aim: float, start: float, way: int) -> float:
    """Where the curve first falls below `aim`, going from `start` one way; nan when it does not."""
    beyond = (x - start) * way > 0
    xs, ys = x[beyond][::way], values[beyond][::way]
    under = np.nonzero(ys < aim)[0]
    if not len(under) or under[0] == 0:
        return float("nan")
    i = int(under[0])
    return float(xs[i - 1] + (xs[i] - xs[i - 1]) * (ys[i - 1] - aim) / (ys[i - 1] - ys[i]))


def geometric_travel(gap: Gap, winding: Winding) -> GeometricTravel:
    """Travel by the lengths of coil and gap."""
    gap_m = gap.z_high - gap.z_low
    over = winding.height_m - gap_m
    linear = 0.5 * abs(over)
    hang: Hang = "equal" if abs(over) <= _EQUAL_M else "overhung" if over > 0 else "underhung"
    return GeometricTravel(
        hang=hang,
        linear_m=linear,
        plus_15_percent_m=1.15 * linear,
        plus_third_of_gap_m=linear + gap_m / 3.0,
        off_m=winding.centre_m - 0.5 * (gap.z_low + gap.z_high),
    )


def travel_verdicts(limits: TravelLimits) -> tuple[Verdict, ...]:
    """What is said beside the limits."""
    found = []
    ways = [w for w, side in (("outwards", limits.outwards), ("inwards", limits.inwards)) if not side.reached]
    if ways:
        shortest = min(side.distance_m for side in (limits.outwards, limits.inwards) if not side.reached)
        found.append(
            Verdict(
                code="travel-not-reached",
                severity=Severity.NOTE,
                text=f"Bl does not fall to {limits.share:.0%} of its value at rest within {1e3 * shortest:.3g} mm "
                f"{' or '.join(ways)}: the limit is farther out than was computed.",
                remedy="Compute a longer range of displacement to find it.",
                data={"share": limits.share, "range_mm": 1e3 * shortest, "ways": ways},
            )
        )
    if abs(limits.asymmetry) > 0.1 and not ways:
        lesser = "inwards" if limits.asymmetry > 0 else "outwards"
        found.append(
            Verdict(
                code="travel-lopsided",
                severity=Severity.NOTE,
                text=f"The coil may travel {1e3 * limits.outwards.distance_m:.3g} mm outwards but "
                f"{1e3 * limits.inwards.distance_m:.3g} mm inwards before Bl falls to {limits.share:.0%}.",
                remedy=f"Move the coil's rest position {'outwards' if lesser == 'inwards' else 'inwards'}; "
                "the most symmetric offset is listed.",
                data={
                    "outwards_mm": 1e3 * limits.outwards.distance_m,
                    "inwards_mm": 1e3 * limits.inwards.distance_m,
                },
            )
        )
    return tuple(found)
