"""What a blocked impedance assumes and where it ends."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from halfroll.core.text import THIN
from halfroll.core.verdicts import Severity, Verdict
from halfroll.motor.results import BlockedImpedance
from halfroll.motor.types import Assembly, FieldCoil, Magnet, SoftSteel

ROUGH = 0.03
"""Relative uncertainty by discretisation from which it is said."""

CONDUCTS_S_M = 1e3
"""Conductivity from which the currents in a magnet are said: metals have some 1e6 S/m, ferrite some 1e-4."""


def eddy_verdicts(assembly: Assembly, found: BlockedImpedance) -> tuple[Verdict, ...]:
    """Verdicts on the blocked impedance of a motor."""
    return (*_of_result(found.u_rel), *_of_steel(assembly, found), *_of_others(assembly))


def _of_result(u_rel: float) -> Iterator[Verdict]:
    if u_rel > ROUGH:
        yield Verdict(
            code="inductance-rough", severity=Severity.CAUTION, data={"u_rel": u_rel},
            text=f"Larger elements change the inductance or its resistance by up to {100.0 * u_rel:.0f}{THIN}%: the elements are too large.",
            remedy="Compute again with a smaller refinement.",
        )  # fmt: skip
    yield Verdict(
        code="inductance-small-signal", severity=Severity.NOTE,
        text="The inductance is that of a small current in the blocked coil. Hysteresis, currents across the wire itself, "
        "the capacitance between turns and a metal former are not in it.",
        remedy="With a large current expect another inductance: it changes how far the steel is saturated.",
    )  # fmt: skip


def _of_steel(assembly: Assembly, found: BlockedImpedance) -> Iterator[Verdict]:
    steels = [body.matter.steel for body in assembly.bodies if isinstance(body.matter, SoftSteel)]
    if not steels:
        return
    yield Verdict(
        code="inductance-of-level", severity=Severity.CAUTION, data=_low_level(found),
        text="The steel answers with the slope of its magnetisation curve. A real steel answers a small alternating field "
        f"with a lower, reversible permeability, so the inductance at a low level is smaller{_by_how_much(found)}.",
        remedy="Take the two answers as the ends within which a real motor lies, and measure the impedance of the coil held fast.",
    )  # fmt: skip
    spread = max(steel.h_factor_u for steel in steels)
    if spread > 0.0:
        yield Verdict(
            code="inductance-steel-unsure", severity=Severity.CAUTION, data={"h_factor_u": spread},
            text=f"The field strength this steel needs is known to {100.0 * spread:.0f}{THIN}%, and its permeability no better. "
            "Where the skin is thin, inductance and loss through the steel go with the root of it.",
            remedy="Use a steel whose curve is known, or measure.",
        )  # fmt: skip


def _by_how_much(found: BlockedImpedance) -> str:
    low = _low_level(found)
    if not low:
        return ""
    return (
        f": at {low['frequency_hz']:.4g}{THIN}Hz and rest about {low['low_level_inductance_mh']:.3g}{THIN}mH instead of "
        f"{low['inductance_mh']:.3g}{THIN}mH, estimated from the first slope of the curve"
    )


def _low_level(found: BlockedImpedance) -> dict[str, float]:
    """Both inductances at rest near 1 kHz."""
    if found.low_level_inductance_h is None:
        return {}
    rest, at = int(np.argmin(np.abs(found.x_m))), int(np.argmin(np.abs(np.log(found.frequency_hz / 1e3))))
    return {
        "frequency_hz": float(found.frequency_hz[at]),
        "inductance_mh": 1e3 * float(found.inductance_h[rest, at]),
        "low_level_inductance_mh": 1e3 * float(found.low_level_inductance_h[rest, at]),
    }


def _of_others(assembly: Assembly) -> Iterator[Verdict]:
    magnets = [
        b.name
        for b in assembly.bodies
        if isinstance(b.matter, Magnet) and b.matter.grade.conductivity_s_m > CONDUCTS_S_M
    ]
    if magnets:
        yield Verdict(
            code="magnet-conducts", severity=Severity.NOTE, data={"bodies": magnets},
            text=f"Currents flow around in {', '.join(magnets)} as in one whole piece, with the usual conductivity of its kind.",
            remedy="A ring made of glued segments carries none: its inductance is higher above some kilohertz.",
        )  # fmt: skip
    coils = [b.name for b in assembly.bodies if isinstance(b.matter, FieldCoil)]
    if coils:
        yield Verdict(
            code="field-coil-open", severity=Severity.NOTE, data={"bodies": coils},
            text=f"No alternating current is let flow in {', '.join(coils)}. A field coil on a stiff supply acts as a shorting "
            "ring and lowers the inductance.",
            remedy="Measure with the supply connected.",
        )  # fmt: skip
