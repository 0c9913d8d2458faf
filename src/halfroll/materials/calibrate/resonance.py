"""Modulus of a printed suspension from a unit's measured resonance and moving mass.

Kms = (2 pi fs)² Mms (A. N. Thiele 1961; R. H. Small, JAES 20, 383, 1972). The stiffness predicted with a modulus goes with that
modulus, whatever the shape, so E = E_ref (Kms - K_rest)/K_ref, with K_rest what other materials hold. The loss factor is 1/Qms at
resonance: all that is lost, of which the air and metal parts near the coil take some.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from halfroll.core.errors import InputError
from halfroll.core.verdicts import Severity, Verdict
from halfroll.materials.calibrate.types import Estimate
from halfroll.materials.types import LineDirection

PREDICTION_U = 0.12
"""Relative standard uncertainty of a predicted stiffness at a known modulus where none is stated: a thickness of 0.8 mm printed to 0.03 mm,
three times (own choice)."""

LOSS_U = 0.3
"""Relative standard uncertainty of 1/Qms as the plastic's own loss factor (own choice)."""


@dataclass(frozen=True, kw_only=True)
class Resonance:
    """What was measured of a unit and what is predicted for it; `_u` are relative standard uncertainties.

    `predicted_n_m` is the stiffness at rest of the parts made of this material if its modulus in the print, in the direction
    `lines`, is `reference_pa`; `rest_n_m` what other materials add. `moving_mass_kg` is Mms, with its air. `qms` may be unknown.
    """

    resonance_hz: float
    moving_mass_kg: float
    predicted_n_m: float
    reference_pa: float
    rest_n_m: float = 0.0
    resonance_u: float = 0.02
    moving_mass_u: float = 0.03
    predicted_u: float = PREDICTION_U
    rest_u: float = 0.15
    qms: float | None = None
    qms_u: float = 0.05
    lines: LineDirection = "across"


def resonance_modulus(reading: Resonance) -> Estimate:
    """Modulus at the speed of the resonance, and the loss factor where Qms is known.

    Raises
    ------
    InputError
        A value that cannot be, or other parts that are stiffer than all that was measured.
    """
    _check(reading)
    stiffness = (2.0 * math.pi * reading.resonance_hz) ** 2 * reading.moving_mass_kg
    held = stiffness - reading.rest_n_m
    if held <= 0.02 * stiffness:
        raise InputError("The other parts must be softer than the whole suspension that was measured", key="rest_n_m",
                         found=f"{reading.rest_n_m:g} N/m of {stiffness:.4g} N/m measured")  # fmt: skip
    share = stiffness / held
    budget = {
        "resonance": 2.0 * reading.resonance_u * share,
        "moving mass": reading.moving_mass_u * share,
        "other parts": reading.rest_u * reading.rest_n_m / held,
        "predicted stiffness": reading.predicted_u,
    }
    loss = None if reading.qms is None else 1.0 / reading.qms
    return Estimate(
        method="resonance",
        modulus_pa=reading.reference_pa * held / reading.predicted_n_m,
        log_u=math.sqrt(sum(u**2 for u in budget.values())),
        lines=reading.lines,
        budget=budget,
        loss_factor=loss,
        loss_factor_u=None if loss is None else loss * math.hypot(reading.qms_u, LOSS_U),
        verdicts=_verdicts(reading, share),
    )


def _verdicts(reading: Resonance, share: float) -> tuple[Verdict, ...]:
    found = [Verdict(code="resonance-modulus", severity=Severity.NOTE, data={"resonance_hz": reading.resonance_hz},
                     text=f"This is the modulus at {reading.resonance_hz:.0f} Hz and small travel; it takes up whatever the prediction has wrong, "
                     "thickness above all.", remedy="Weigh or gauge the printed part first; bend a strip for the slow modulus.")]  # fmt: skip
    if share > 2.0:
        found.insert(0, Verdict(code="resonance-minor-part", severity=Severity.CAUTION, data={"share_percent": 100 / share},
                                text=f"This material holds only {100 / share:.0f} % of the stiffness; what is said of the other parts decides the result.",
                                remedy="Measure a unit with this part alone, or a strip."))  # fmt: skip
    return tuple(found)


def _check(reading: Resonance) -> None:
    limits = {
        "resonance_hz": (reading.resonance_hz, 1.0, 2000.0), "moving_mass_kg": (reading.moving_mass_kg, 5e-5, 2.0),
        "predicted_n_m": (reading.predicted_n_m, 1e-2, 1e7), "reference_pa": (reading.reference_pa, 1e5, 5e11),
        "qms": (1.0 if reading.qms is None else reading.qms, 0.1, 200.0),
    }  # fmt: skip
    for key, (value, low, high) in limits.items():
        if not (math.isfinite(value) and low <= value <= high):
            raise InputError(f"{key} of the resonance is out of range", key=key, found=f"{value:g}", allowed=f"{low:g} to {high:g}")  # fmt: skip
