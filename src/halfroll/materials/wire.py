"""Round enamelled winding wire: resistance and mass of a metre, tolerances, enamels, gauge sizes.

All at 20 °C unless a temperature is given. A clad wire conducts as its metals side by side: the conductances of the two
cross-sections add, and so do their masses.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from halfroll.core.errors import InputError, choose
from halfroll.materials.types import Conductor, Wire

ENAMEL_KG_M3 = 1350.0
"""Density of enamel (kg/m³), polyurethane to polyamide-imide 1300 to 1400; from memory."""

COLDEST_C, HOTTEST_C = -60.0, 400.0
"""Between these the resistance is a straight line of temperature within 2 % (°C)."""

_TOLERANCE_MM = (
    (0.224, 0.003),
    (0.355, 0.004),
    (0.500, 0.005),
    (0.630, 0.006),
    (0.710, 0.007),
    (0.800, 0.008),
)
"""Largest nominal diameter and its tolerance (mm), IEC 60317-0-1 as a maker's table quotes it."""

_FINE_MM = 0.063
_FINE_SHARE = 0.045
"""Wires finer than 0.063 mm have limits of resistance instead, about ± 9 %; from memory."""


@dataclass(frozen=True, kw_only=True)
class Enamel:
    """A kind of enamel: temperature index (°C) and the part of IEC 60317 that specifies it; `solderable` without stripping."""

    key: str
    title: str
    class_c: float
    standard: str
    solderable: bool


ENAMELS: Mapping[str, Enamel] = MappingProxyType(
    {
        enamel.key: enamel
        for enamel in (
            Enamel(key="polyurethane-155", title="polyurethane", class_c=155.0, standard="IEC 60317-20", solderable=True),
            Enamel(key="polyurethane-180", title="polyurethane", class_c=180.0, standard="IEC 60317-51", solderable=True),
            Enamel(key="polyester-imide-180", title="polyester-imide", class_c=180.0, standard="IEC 60317-8", solderable=False),
            Enamel(key="polyamide-imide-200", title="polyester-imide under polyamide-imide", class_c=200.0,
                   standard="IEC 60317-13", solderable=False),
            Enamel(key="polyamide-imide-220", title="polyamide-imide", class_c=220.0, standard="IEC 60317-26", solderable=False),
            Enamel(key="polyimide-240", title="polyimide", class_c=240.0, standard="IEC 60317-46", solderable=False),
        )
    }
)  # fmt: skip
"""By key. The numbers of the parts are from memory but for IEC 60317-20 and -13, whose scopes were read."""


def with_enamel(wire: Wire, enamel: str) -> Wire:
    """The same wire with another enamel (a key of `ENAMELS`)."""
    chosen = ENAMELS[choose(enamel, ENAMELS, field="The enamel")]
    return replace(wire, class_c=chosen.class_c, enamel=chosen.key)


def awg_diameter_m(gauge: int) -> float:
    """Bare diameter (m) of an American wire gauge by ASTM B258: 0.127 mm times 92^((36 - n)/39).

    Raises
    ------
    InputError
        Not 0 to 50.
    """
    if not 0 <= gauge <= 50:
        raise InputError("An AWG size must be a whole number in range", found=str(gauge), allowed="0 to 50")
    return float(0.127e-3 * 92.0 ** ((36 - gauge) / 39.0))


def diameter_tolerance_m(bare_m: float) -> float:
    """How far the bare diameter may be off (m), ±; between sizes that of the next larger one (IEC 60317-0-1)."""
    bare_mm = 1e3 * bare_m
    if bare_mm < _FINE_MM - 1e-6:
        return _FINE_SHARE * bare_m
    return next((1e-3 * limit for size, limit in _TOLERANCE_MM if bare_mm <= size + 1e-6), 0.01 * bare_m)


def area_m2(wire: Wire) -> float:
    """Cross-section of the metal (m²)."""
    return math.pi / 4.0 * wire.bare_m**2


def resistivity_ohm_m(wire: Wire, temperature_c: float = 20.0) -> float:
    """Resistivity of the whole cross-section (ohm m)."""
    _check_temperature(temperature_c)
    return 1.0 / sum(share / _at(metal, temperature_c) for metal, share in _shares(wire))


def ohm_per_m(wire: Wire, temperature_c: float = 20.0) -> float:
    """Nominal resistance of a metre (ohm/m)."""
    return resistivity_ohm_m(wire, temperature_c) / area_m2(wire)


def ohm_per_m_range(wire: Wire) -> tuple[float, float]:
    """Smallest and largest resistance of a metre (ohm/m) within the tolerance of the diameter, with 59 and 58 MS/m of the copper.

    IEC 60317-0-1 makes its limits so; of a clad wire the largest has ASTM B566's least conductivity (62.9 and 64.4 % IACS).
    """
    off = diameter_tolerance_m(wire.bare_m)
    resistivity = resistivity_ohm_m(wire)
    low, high = resistivity, resistivity
    if wire.core is None and wire.conductor.key.startswith("copper"):
        low, high = 1e-6 / 59.0, 1e-6 / 58.0
    elif wire.core is not None:
        high = max(high, 1e-6 / (58.0 * (0.629 if wire.clad_share < 0.125 else 0.644)))
    return (
        low / (math.pi / 4.0 * (wire.bare_m + off) ** 2),
        high / (math.pi / 4.0 * (wire.bare_m - off) ** 2),
    )


def resistance_u(wire: Wire) -> float:
    """Relative standard uncertainty of the resistance of a metre: half of the range over sqrt 3."""
    low, high = ohm_per_m_range(wire)
    return (high - low) / (2.0 * math.sqrt(3.0) * ohm_per_m(wire))


def resistance_factor(wire: Wire, temperature_c: float, reference_c: float = 20.0) -> float:
    """R(T) over R(reference); copper from 20 °C to 120 °C 1.393."""
    return resistivity_ohm_m(wire, temperature_c) / resistivity_ohm_m(wire, reference_c)


def density_kg_m3(wire: Wire) -> float:
    """Density of the metal, copper and core together."""
    return sum(share * metal.density_kg_m3 for metal, share in _shares(wire))


def grams_per_m(wire: Wire) -> float:
    """Mass of the metal of a metre (g/m), without enamel."""
    return 1e3 * density_kg_m3(wire) * area_m2(wire)


def enamel_grams_per_m(wire: Wire) -> float:
    """Largest mass of the enamel of a metre (g/m): out to the largest overall diameter."""
    return 1e3 * ENAMEL_KG_M3 * math.pi / 4.0 * (wire.overall_m**2 - wire.bare_m**2)


def specific_heat_j_kg_k(wire: Wire) -> float:
    """Specific heat of the metal (J/(kg K)), by mass."""
    heat = sum(share * m.density_kg_m3 * m.specific_heat_j_kg_k for m, share in _shares(wire))
    return heat / density_kg_m3(wire)


def expansion_per_k(wire: Wire) -> float:
    """Linear expansion of the metal (1/K), by cross-section: what a clad wire is mostly made of sets it."""
    return sum(share * metal.expansion_per_k for metal, share in _shares(wire))


def _shares(wire: Wire) -> tuple[tuple[Conductor, float], ...]:
    """The wire's metals with their share of the cross-section."""
    if wire.core is None:
        return ((wire.conductor, 1.0),)
    return ((wire.conductor, wire.clad_share), (wire.core, 1.0 - wire.clad_share))


def _at(metal: Conductor, temperature_c: float) -> float:
    return metal.resistivity_ohm_m * (1.0 + metal.alpha_per_k * (temperature_c - 20.0))


def _check_temperature(temperature_c: float) -> None:
    if not COLDEST_C <= temperature_c <= HOTTEST_C:  # also refuses nan
        raise InputError("The temperature of a wire must be one it can have", found=f"{temperature_c:g} °C",
                         allowed=f"{COLDEST_C:g} to {HOTTEST_C:g} °C")  # fmt: skip
