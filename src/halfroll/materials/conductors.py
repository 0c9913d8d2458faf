"""Metals for wire and shorting rings: the one home of their resistivity and temperature coefficient.

Copper: 1/58 ohm mm²/m at 20 °C (100 % IACS), 8.89 g/cm³ and 0.00393 /K at constant mass (IEC 60028; read in tables that quote
it). The nominal resistance of IEC winding wire is made with 1/58.5 instead (IEC 60317-0-1), 0.86 % less: that is
`copper-winding`. Aluminium: 0.028264 ohm mm²/m (61 % IACS), 2.703 g/cm³, 0.00403 /K (IEC 60228 for conductors; from memory).
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from halfroll.materials.types import Conductor, Origin

COPPER = Conductor(
    key="copper",
    title="Copper, annealed",
    resistivity_ohm_m=1e-6 / 58.0,
    alpha_per_k=0.00393,
    density_kg_m3=8890.0,
    specific_heat_j_kg_k=385.0,
    expansion_per_k=17e-6,
    origin=Origin(source="IEC 60028: annealed copper, 58 MS/m", support="handbook",
                  note="Temperature coefficient at constant mass, specific heat and expansion from memory."),
)  # fmt: skip

COPPER_WINDING = Conductor(
    key="copper-winding",
    title="Copper of winding wire, nominal",
    resistivity_ohm_m=1e-6 / 58.5,
    alpha_per_k=COPPER.alpha_per_k,
    density_kg_m3=COPPER.density_kg_m3,
    specific_heat_j_kg_k=COPPER.specific_heat_j_kg_k,
    expansion_per_k=COPPER.expansion_per_k,
    origin=Origin(source="IEC 60317-0-1: nominal resistance with 58.5 MS/m, limits with 58 and 59 MS/m", support="handbook",
                  note="The three conductivities follow from published tables of resistance per metre."),
)  # fmt: skip

ALUMINIUM = Conductor(
    key="aluminium",
    title="Aluminium, conductor grade",
    resistivity_ohm_m=0.028264e-6,
    alpha_per_k=0.00403,
    density_kg_m3=2703.0,
    specific_heat_j_kg_k=897.0,
    expansion_per_k=23e-6,
    origin=Origin(source="IEC 60228 and IEC 60889: 61 % IACS", support="memory"),
)

ALUMINIUM_6082 = Conductor(
    key="aluminium-6082",
    title="Aluminium EN AW-6082 (turned parts, tube)",
    resistivity_ohm_m=0.038e-6,
    alpha_per_k=0.0035,
    density_kg_m3=2700.0,
    specific_heat_j_kg_k=895.0,
    expansion_per_k=23e-6,
    origin=Origin(source="Makers' data sheets, temper T6: 24 to 28 MS/m", support="memory"),
)

BRASS = Conductor(
    key="brass",
    title="Brass CuZn37 / CuZn39Pb3",
    resistivity_ohm_m=0.067e-6,
    alpha_per_k=0.0016,
    density_kg_m3=8450.0,
    specific_heat_j_kg_k=380.0,
    expansion_per_k=20e-6,
    origin=Origin(source="Makers' data sheets: 14 to 16 MS/m", support="memory"),
)

CONDUCTORS: Mapping[str, Conductor] = MappingProxyType(
    {metal.key: metal for metal in (COPPER, COPPER_WINDING, ALUMINIUM, ALUMINIUM_6082, BRASS)}
)
"""By key."""
