"""What is said of the temperature of moving parts: everything is computed with moduli at room temperature.

A glassy plastic is used well below its glass transition and loses its stiffness there, by a factor of ten to a thousand; a soft one
is used well above its own and stiffens towards it (J. D. Ferry, "Viscoelastic Properties of Polymers", 3rd ed. 1980, chapter 11; from memory).
"""

from __future__ import annotations

from collections.abc import Iterator

from halfroll.core.text import join_words
from halfroll.core.verdicts import Severity, Verdict
from halfroll.materials.types import Filament
from halfroll.suspension.design import MovingDesign

ROOM_C = 23.0
"""At which moduli of plastics are measured (ISO 291)."""
NEAR_ROOM_K = 10.0
"""Within so much of it nothing is said (own choice)."""
NEAR_GLASS_K = 15.0
"""From so far below its glass transition a glassy plastic softens (common practice)."""
ABOVE_GLASS_K = 30.0
"""To so far above its glass transition a soft plastic is leathery, stiff and lossy (own choice; the transition is some 30 K wide)."""


def warmth_verdicts(design: MovingDesign) -> tuple[Verdict, ...]:
    """Plastics that are too warm or too cold for what was computed, gravest first."""
    used: dict[str, tuple[Filament, list[str]]] = {}
    for name in ("surround", "spider", "cone", "cap"):
        one = getattr(design, name)
        if one is not None:
            used.setdefault(one.material.key, (one.material, []))[1].append(
                "dust cap" if name == "cap" else name
            )
    here = design.temperature_c
    said = [verdict for plastic, names in used.values() for verdict in _of_one(plastic, names, here)]
    if not said and used and abs(here - ROOM_C) > NEAR_ROOM_K:
        said.append(Verdict(
            code="modulus-at-room-temperature", severity=Severity.NOTE,
            text=f"The moving parts are said to be at {_c(here)}; everything is computed with the plastics' moduli at {_c(ROOM_C)}. "
            f"Plastics soften as they warm and stiffen as they cool: expect resonances {'lower' if here > ROOM_C else 'higher'} than shown.",
            remedy="Calibrate the filament at that temperature.", data={"temperature_c": here},
        ))  # fmt: skip
    return tuple(sorted(said, key=lambda verdict: -verdict.severity))


def _of_one(plastic: Filament, names: list[str], here: float) -> Iterator[Verdict]:
    parts = f"{join_words(names)} of {plastic.title}"
    glassy = plastic.glass_c > ROOM_C
    data = {
        "temperature_c": here,
        "glass_c": plastic.glass_c,
        "continuous_c": plastic.continuous_c,
        "parts": names,
    }
    if (glassy and here > plastic.glass_c - NEAR_GLASS_K) or here > plastic.continuous_c:
        why = (
            f"Its glass transition is at {_c(plastic.glass_c)}"
            if glassy
            else f"It bears {_c(plastic.continuous_c)} for long"
        )
        yield Verdict(
            code="plastic-too-warm", severity=Severity.CAUTION,
            text=f"{_c(here)} is too warm for the {parts}. {why}; it softens and creeps, and what is computed here, with its modulus at {_c(ROOM_C)}, does not hold.",
            remedy="Use a plastic that bears the heat, or keep the parts cooler.", data=data,
        )  # fmt: skip
    elif not glassy and here < plastic.glass_c + ABOVE_GLASS_K:
        yield Verdict(
            code="plastic-too-cold", severity=Severity.CAUTION,
            text=f"{_c(here)} is too cold for the {parts}. Its glass transition is at {_c(plastic.glass_c)}: it is much stiffer and more lossy near there than at {_c(ROOM_C)}, for which everything is computed, and may crack.",
            remedy="Use a plastic that stays soft in the cold, and try it there.", data=data,
        )  # fmt: skip


def _c(celsius: float) -> str:
    return f"{celsius:.0f} °C".replace("-", "\N{MINUS SIGN}")
