"""Modulus and loss factor from a strip that is held at one end, plucked and left to ring.

f1 = 3.51602/(2 pi L²) sqrt(E I/(rho A))  (R. D. Blevins, "Formulas for Natural Frequency and Mode Shape", 1979, Table 8-1; eigenvalue
computed), so E = 12 rho (2 pi f1 L²/(3.51602 t))². Loss factor = ln(a0/an)/(pi n) from amplitudes n cycles apart.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from halfroll.core.errors import InputError
from halfroll.core.verdicts import Severity, Verdict
from halfroll.materials.calibrate.strip import check_strip
from halfroll.materials.calibrate.types import Estimate, Strip

FIRST_MODE = 3.5160152685


@dataclass(frozen=True, kw_only=True)
class Ringing:
    """First frequency of a bare strip (Hz), and by what the amplitude fell (`fall` = a0/an) in how many cycles, where known.

    `density_u` is relative; weighing the strip gives it to a few per cent.
    """

    frequency_hz: float
    frequency_u: float = 0.01
    density_u: float = 0.02
    fall: float | None = None
    cycles: int | None = None


def ring_modulus(strip: Strip, ringing: Ringing) -> Estimate:
    """Modulus at the strip's frequency; its loss factor when the fall of the amplitude is known.

    Raises
    ------
    InputError
        No fixed-free strip, or values out of range.
    """
    check_strip(strip)
    if strip.setup != "fixed-free":
        raise InputError(
            "A strip rings when it is held at one end", key="setup", found=strip.setup, allowed="fixed-free"
        )
    if not 0.5 <= ringing.frequency_hz <= 5000.0:
        raise InputError("The frequency of the strip is out of range", key="frequency_hz", found=f"{ringing.frequency_hz:g} Hz", allowed="0.5 to 5000 Hz")  # fmt: skip
    root = 2.0 * math.pi * ringing.frequency_hz * strip.length_m**2 / (FIRST_MODE * strip.thickness_m)
    budget = {
        "frequency": 2.0 * ringing.frequency_u,
        "length": 4.0 * strip.length_u_m / strip.length_m,
        "thickness": 2.0 * strip.thickness_u_m / strip.thickness_m,
        "density": ringing.density_u,
    }
    loss = _loss(ringing)
    return Estimate(
        method="ring",
        modulus_pa=12.0 * strip.density_kg_m3 * root**2,
        log_u=math.sqrt(sum(u**2 for u in budget.values())),
        lines=strip.lines,
        budget=budget,
        loss_factor=loss,
        loss_factor_u=None if loss is None else 0.15 * loss,
        verdicts=(Verdict(code="ring-modulus", severity=Severity.NOTE, data={"frequency_hz": ringing.frequency_hz},
                          text=f"This is the modulus at {ringing.frequency_hz:.0f} Hz; a clamp that gives way makes it look softer.",
                          remedy="Clamp between hard plates, without a weight on the strip."),),
    )  # fmt: skip


def _loss(ringing: Ringing) -> float | None:
    if ringing.fall is None or ringing.cycles is None:
        return None
    if not (ringing.fall > 1.0 and ringing.cycles >= 1):
        raise InputError("The amplitude must fall over one cycle or more", key="fall", found=f"{ringing.fall:g} in {ringing.cycles} cycles",
                         allowed="first over last amplitude, more than 1")  # fmt: skip
    return math.log(ringing.fall) / (math.pi * ringing.cycles)
