"""A permanent magnet's demagnetisation curve at a temperature, and the knee below which it loses magnetisation for good.

The curve is the straight recoil line B = Br + mu0 mu_rec H from H = 0 down to the knee, then falls as a quarter of an ellipse
of the polarisation J = B - mu0 H, which is zero at -HcJ. The knee lies at H = -0.9 HcJ: squareness Hk/HcJ is 0.9 or more for
good sintered magnets by makers' data sheets. The model is the project's own choice and cautious: HcJ is the smallest of its
grade, and real curves bend later or less. It is not cautious for alnico, whose curve is bent from the start.

Remanence and HcJ change in a straight line with temperature. That holds between 20 °C and the grade's highest temperature;
beyond it, and far below 20 °C, the coefficients themselves change (handbooks; from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.materials.steel import MU_0
from halfroll.materials.types import MagnetGrade

SQUARENESS = 0.9
"""Field of the knee over HcJ."""

REFERENCE_C = 20.0


@dataclass(frozen=True, kw_only=True)
class Knee:
    """Where the straight recoil line ends: field strength (A/m, below zero), flux density and polarisation (T) there.

    A magnet whose flux density stays above `b_t` everywhere comes back to its remanence; `b_t` below zero means that it
    may even be driven against by an opposing field without loss.
    """

    h_a_m: float
    b_t: float
    j_t: float


@dataclass(frozen=True, eq=False)
class Demagnetisation:
    """The second quadrant of a magnet at a temperature: field strength (A/m, 0 downwards to -HcJ), flux density B and
    polarisation J (T), all (n,), and the knee. B is the normal curve, J the intrinsic one.
    """

    temperature_c: float
    h_a_m: FloatArray
    b_t: FloatArray
    j_t: FloatArray
    knee: Knee


def check_temperature(grade: MagnetGrade, temperature_c: float, *, beyond: bool = False) -> None:
    """Refuse a temperature the grade does not bear.

    Raises
    ------
    InputError
        Above `highest_c` or below `lowest_c` of the grade, unless `beyond`; or so far that no coercivity or remanence is left.
    """
    if not math.isfinite(temperature_c) or temperature_c < -273.15:
        raise InputError("The temperature of a magnet must be a temperature", found=f"{temperature_c:g} °C")
    if not beyond and not grade.lowest_c <= temperature_c <= grade.highest_c:
        above = temperature_c > grade.highest_c
        raise InputError(
            f"A magnet of {grade.title} must not get {'hotter' if above else 'colder'} than its limit",
            found=f"{temperature_c:g} °C", allowed=f"{grade.lowest_c:g} to {grade.highest_c:g} °C",
            remedy="Choose a grade for more heat, or keep the magnet cooler" if above else "Choose another grade",
        )  # fmt: skip
    if grade.hcj_at(temperature_c) <= 0.0 or grade.br_at(temperature_c) <= 0.0:
        raise InputError(f"A magnet of {grade.title} has nothing left at this temperature", found=f"{temperature_c:g} °C",
                         remedy="Its coefficients do not reach so far")  # fmt: skip


def knee(grade: MagnetGrade, temperature_c: float = REFERENCE_C, *, beyond: bool = False) -> Knee:
    """The knee of a grade at a temperature (°C); raises as `check_temperature`."""
    check_temperature(grade, temperature_c, beyond=beyond)
    h = -SQUARENESS * grade.hcj_at(temperature_c)
    b = grade.br_at(temperature_c) + MU_0 * grade.mu_rec * h
    return Knee(h_a_m=h, b_t=b, j_t=b - MU_0 * h)


def demagnetisation(
    grade: MagnetGrade, temperature_c: float = REFERENCE_C, *, beyond: bool = False, points: int = 121
) -> Demagnetisation:
    """The demagnetisation curve at a temperature (°C), half of its points above the knee and half below.

    Raises
    ------
    InputError
        As `check_temperature`.
    """
    at = knee(grade, temperature_c, beyond=beyond)
    hcj, half = grade.hcj_at(temperature_c), points // 2
    bend = np.sin(np.linspace(0.0, np.pi / 2.0, points - half))  # close points where the ellipse is steep
    h = np.concatenate([np.linspace(0.0, at.h_a_m, half, endpoint=False), at.h_a_m - bend * (hcj + at.h_a_m)])
    share = np.clip((-h + at.h_a_m) / (hcj + at.h_a_m), 0.0, 1.0)  # 0 at the knee, 1 at -HcJ
    straight = grade.br_at(temperature_c) + MU_0 * (grade.mu_rec - 1.0) * h
    j = np.where(h >= at.h_a_m, straight, at.j_t * np.sqrt(1.0 - share**2))
    return Demagnetisation(temperature_c, h, j + MU_0 * h, j, at)


def on_load_line(
    grade: MagnetGrade, permeance: float, temperature_c: float = REFERENCE_C
) -> tuple[float, float]:
    """Field strength (A/m) and flux density (T) where the load line B = -mu0 P H meets the recoil line.

    Parameters
    ----------
    permeance
        Permeance coefficient P of the magnet's surroundings and shape, from 0. A disc in free air of height over diameter
        0.2 has 0.47, of 0.7 has 1.54 (magnetometric factor of a cylinder: Chen, Brug and Goldfarb, IEEE Trans. Magn. 27,
        3601, 1991).
    """
    if not 0.0 <= permeance < math.inf:
        raise InputError("A permeance coefficient must be 0 or more", found=f"{permeance:g}")
    h = -grade.br_at(temperature_c) / (MU_0 * (permeance + grade.mu_rec))
    return h, -MU_0 * permeance * h


def safe_temperature_c(grade: MagnetGrade, permeance: float) -> float:
    """Temperature (°C) at which a magnet on this load line reaches its knee; for ferrite the coldest one, else the hottest.

    Infinite (or minus infinite for ferrite) where Br falls as fast as HcJ and the knee is never reached.
    """
    # Br (1 + a t) / (mu0 (P + mu_rec)) = 0.9 HcJ (1 + b t)
    pull = grade.br_t / (MU_0 * (permeance + grade.mu_rec))
    hold = SQUARENESS * grade.hcj_a_m
    fall = hold * grade.beta_hcj_per_k - pull * grade.alpha_br_per_k
    never = math.inf if grade.beta_hcj_per_k < 0.0 else -math.inf
    if fall == 0.0 or (fall > 0.0) != (never < 0.0):
        return never
    return REFERENCE_C + (pull - hold) / fall
