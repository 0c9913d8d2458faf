"""Many units at once: the lumped driver with arrays in the place of numbers, so that hundreds of units of each kind cost a moment.

The same equations as `driver.lumped` and `driver.linear`, which a test holds them against.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR
from halfroll.acoustics.radiation import air_mass
from halfroll.builds.faults.types import Mounting
from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.driver.lumped import CREEP_LOSS, DriverModel

FREE_AIR_LOAD = 0.5
"""Share of the baffle's air load that moves in free air (H. Lamb, "Hydrodynamics": a disc in free air and one in a wall)."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Units:
    """Units, arrays (n,) unless said, SI; `x_range` is the same for all.

    Parameters
    ----------
    re, mms, rms, sd, creep
        As in `DriverModel`.
    bl, k, le
        Coefficients, (n, c), lowest power first.
    branch_l, branch_r
        Eddy-current branches, (n, b).
    polarity
        +1 where the cone moves out with plus on plus, -1 where it moves in.
    rub, leak
        Probability that whoever tries it finds a rub, a leak.
    leak_q
        Q of the leak at the resonance of the box; infinite where there is none.
    residue_db
        Level of what scrapes or buzzes, dB re fundamental.
    thd_ratio
        Factor on the distortion beside that of the curves.
    pull
        How hard the magnet pulls, re a good one.
    rest_mm
        Height of the coil over its drawn place.
    """

    re: FloatArray
    mms: FloatArray
    rms: FloatArray
    sd: FloatArray
    creep: FloatArray
    bl: FloatArray
    k: FloatArray
    le: FloatArray
    branch_l: FloatArray
    branch_r: FloatArray
    polarity: FloatArray
    rub: FloatArray
    leak: FloatArray
    leak_q: FloatArray
    residue_db: FloatArray
    thd_ratio: FloatArray
    pull: FloatArray
    rest_mm: FloatArray
    x_range: tuple[float, float]

    def __len__(self) -> int:
        return len(self.re)

    def put(self, **changes: FloatArray) -> Units:
        """The same with some arrays replaced."""
        return replace(self, **changes)  # type: ignore[arg-type]


RUB_HEARD, LEAK_SAID = 0.03, 0.05
"""How often somebody finds a rub or a leak where there is none (own choice)."""

LEAST_KG = 1e-6
"""No scale shows less; a driver lighter than its air is no driver."""

RESIDUE_DB = -48.0
"""Usual level of what a good unit leaves over its harmonics in a home recording (own choice, from takes with household noise)."""


def units_of(rows: FloatArray, like: DriverModel) -> Units:
    """Good units from packed models (n, p), as `predicted.packing` packs them."""
    n, half = len(rows), 0.5 * (like.x_range[1] - like.x_range[0])
    pairs = (1 if like.L2 > 0.0 else 0) + len(like.branches)
    logs = np.exp(rows[:, : 7 + 2 * pairs])
    at = 4 + 2 * pairs
    signs = [float(np.sign(curve[0])) for curve in (like.Bl, like.K, like.Le)]
    rest = [sign * logs[:, at + number] for number, sign in enumerate(signs)]
    place, curves = at + 4, []
    for zero, curve in zip(rest, (like.Bl, like.K, like.Le), strict=True):
        powers = np.arange(1, len(curve))
        shape = rows[:, place : place + len(powers)] / half**powers
        curves.append(zero[:, None] * np.concatenate([np.ones((n, 1)), shape], axis=1))
        place += len(powers)
    one = np.ones(n)
    return Units(
        re=logs[:, 0], mms=logs[:, 1], rms=logs[:, 2], sd=logs[:, 3], creep=np.clip(rows[:, at + 3], 0.0, None),
        bl=curves[0], k=curves[1], le=curves[2], branch_l=logs[:, 4:at:2], branch_r=logs[:, 5:at:2], polarity=one, rub=RUB_HEARD * one,
        leak=LEAK_SAID * one, leak_q=np.inf * one, residue_db=RESIDUE_DB * one, thd_ratio=one, pull=one, rest_mm=0.0 * one, x_range=like.x_range,
    )  # fmt: skip


def joined(parts: list[Units]) -> Units:
    """Units of several heaps in one."""
    names = [one.name for one in fields(Units) if one.name != "x_range"]
    return Units(
        **{name: np.concatenate([getattr(part, name) for part in parts]) for name in names},
        x_range=parts[0].x_range,
    )


def air_of_baffle(sd: FloatArray) -> FloatArray:
    """Mass of the air that moves in an infinite baffle (kg)."""
    return np.asarray(air_mass(1.0) * np.sqrt(sd / np.pi) ** 3)


def moving_kg(units: Units) -> FloatArray:
    """What a scale shows of all that moves."""
    return np.asarray(np.maximum(units.mms - air_of_baffle(units.sd), LEAST_KG))


def mass_in(units: Units, mounting: Mounting) -> FloatArray:
    """Moving mass with the air of a mounting (kg)."""
    if mounting.kind == "free air":
        return np.asarray(units.mms - (1.0 - FREE_AIR_LOAD) * air_of_baffle(units.sd))
    return units.mms


def compliance_of(mounting: Mounting) -> float:
    """Acoustic compliance of the air in a box (m³/Pa), V/(ρ c²)."""
    return mounting.volume_m3 / (STANDARD_AIR.density * STANDARD_AIR.speed_of_sound**2)


def resonance_hz(units: Units, mounting: Mounting) -> FloatArray:
    """Of the mass on its suspension and the air of a closed box."""
    stiffness = units.k[:, 0]
    if mounting.kind == "box":
        stiffness = stiffness + units.sd**2 / compliance_of(mounting)
    return np.asarray(np.sqrt(stiffness / mass_in(units, mounting)) / (2.0 * np.pi))


def losses(units: Units) -> FloatArray:
    """Mechanical resistance at resonance with what creep loses (N s/m)."""
    return np.asarray(units.rms + CREEP_LOSS * units.creep * np.sqrt(units.k[:, 0] * units.mms))


def electrical(units: Units, s: ComplexArray) -> ComplexArray:
    """Impedance of the blocked coil (ohm), (n, f); s = jω (n or 1, f)."""
    z = units.re[:, None] + s * units.le[:, :1]
    for number in range(units.branch_l.shape[1]):
        inductance, resistance = units.branch_l[:, number, None], units.branch_r[:, number, None]
        z = z + s * inductance * resistance / (resistance + s * inductance)
    return np.asarray(z)


def mechanical(units: Units, s: ComplexArray, mounting: Mounting, box_hz: float) -> ComplexArray:
    """Mechanical impedance with what is behind the cone (N s/m), (n, f)."""
    own = 2.0 * np.pi * resonance_hz(units, Mounting(kind="baffle"))
    spring = units.k[:, :1] / (1.0 - units.creep[:, None] * np.log10(s / own[:, None]))
    z = units.rms[:, None] + s * mass_in(units, mounting)[:, None] + spring / s
    if mounting.kind == "box":
        z = z + units.sd[:, None] ** 2 / admittance(units, s, mounting, box_hz)
    return np.asarray(z)


def admittance(units: Units, s: ComplexArray, mounting: Mounting, box_hz: float) -> ComplexArray:
    """Volume flow over pressure of a box with its leak and port (m³/s per Pa), (n, f): jωC + 1/R + 1/(jωM)."""
    compliance, omega = compliance_of(mounting), 2.0 * np.pi * box_hz
    y = s * compliance + (omega * compliance / units.leak_q)[:, None]
    if mounting.tuning_hz is not None:
        y = y + compliance * (2.0 * np.pi * mounting.tuning_hz) ** 2 / s
    return np.asarray(y)
