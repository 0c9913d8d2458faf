"""A coil once wound: where its turns lie, how much wire it takes, what it weighs, its resistance and inductance.

Turns are rings of the wire's largest overall diameter, side by side: the enamel's smallest and the slack of winding by hand
about cancel (common practice). The pitch of the helix adds less than 1e-4 to a turn's length and is left out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cached_property

from halfroll.core.errors import InputError
from halfroll.core.verdicts import Verdict
from halfroll.materials.types import Filament
from halfroll.materials.wire import (
    enamel_grams_per_m,
    grams_per_m,
    ohm_per_m,
    resistance_factor,
    resistance_u,
)
from halfroll.motor.coil.design import CoilDesign
from halfroll.motor.coil.verdicts import coil_verdicts
from halfroll.motor.types import Winding

NEST = math.sqrt(3.0) / 2.0
"""Distance of nested layers in wire diameters."""

GLUE_FILM_M = 0.02e-3
"""Glue that stands over the outer layer once wiped; common practice, no source."""

GLUE_FILL = 0.5
"""Share of the room between round turns that glue fills; common practice, ± 0.3."""

HEIGHT_U = 0.02
"""Relative standard uncertainty of the winding height: turns wound by hand by the width of their wire; common practice."""

BUILD_U = 0.02
"""The same of the build."""

LEAD_M = 0.05
"""Free wire at each end up to the terminal or the flexible lead (m); common practice."""

COLLAR_M = 5e-3
"""Former beyond the winding where its length is not designed (m)."""

SPARE = 1.1
"""Wire to buy over wire wound: ends, one turn too many, a broken start."""

SPARE_M = 0.5
"""And this much more to hold on to (m)."""


@dataclass(frozen=True, kw_only=True)
class Masses:
    """What a coil is made of, by mass (kg)."""

    metal: float
    enamel: float
    glue: float
    former: float
    insulation: float

    @property
    def total(self) -> float:
        """All of it: the coil's share of the moving mass (kg)."""
        return self.metal + self.enamel + self.glue + self.former + self.insulation


@dataclass(frozen=True, kw_only=True)
class Coil:
    """A wound coil. Lengths in m, masses in kg, at 20 °C unless said.

    Parameters
    ----------
    design
        What was decided.
    layer_turns, layer_radii_m
        Turns and radius of the middle of the wire of every layer, from inside.
    former_inner_m, former_outer_m
        Radii of the former.
    inner_m, outer_m
        Radii of the winding, over the enamel, without the glue that stands over it.
    glue_film_m
        Glue over the outer layer.
    height_m, height_u_m, build_u_m
        Winding height, its standard uncertainty, and that of the build.
    former_height_m
        Length of the former.
    winding_length_m, lead_length_m
        Wire in the winding, and in both leads together.
    resistance_ohm, resistance_u_ohm
        Of winding and leads at 20 °C with standard uncertainty: cross-section of the wire, resistivity, length.
    masses, mass_u_kg
        By matter, and the standard uncertainty of the whole.
    verdicts
        What winder and reader should know.
    """

    design: CoilDesign
    layer_turns: tuple[int, ...]
    layer_radii_m: tuple[float, ...]
    former_inner_m: float
    former_outer_m: float
    inner_m: float
    outer_m: float
    glue_film_m: float
    height_m: float
    height_u_m: float
    build_u_m: float
    former_height_m: float
    winding_length_m: float
    lead_length_m: float
    resistance_ohm: float
    resistance_u_ohm: float
    masses: Masses
    mass_u_kg: float
    verdicts: tuple[Verdict, ...] = field(default=())

    @property
    def turns(self) -> int:
        """All turns."""
        return sum(self.layer_turns)

    @property
    def build_m(self) -> float:
        """Thickness of the winding on the radius, without glue."""
        return self.outer_m - self.inner_m

    @property
    def outermost_m(self) -> float:
        """Largest radius anything of the coil reaches (m): glue over it, and nested turns where they cross, a full wire apart."""
        crossing = self.inner_m + self.design.layers * self.design.wire.overall_m
        return max(self.outer_m, crossing) + self.glue_film_m

    @property
    def mean_diameter_m(self) -> float:
        """Mean diameter of the turns."""
        return (
            2.0 * sum(n * r for n, r in zip(self.layer_turns, self.layer_radii_m, strict=True)) / self.turns
        )

    @property
    def length_m(self) -> float:
        """All the wire: winding and leads."""
        return self.winding_length_m + self.lead_length_m

    @property
    def wire_to_buy_m(self) -> float:
        """Wire to have at hand: a tenth more than is wound and half a metre, rounded up to half metres."""
        return math.ceil(2.0 * (SPARE * self.length_m + SPARE_M)) / 2.0

    @property
    def fill_factor(self) -> float:
        """Share of metal in the winding's cross-section."""
        metal = self.turns * 0.25 * math.pi * self.design.wire.bare_m**2
        return metal / (self.height_m * self.build_m)

    @property
    def mass_kg(self) -> float:
        """Moving mass of the coil with its former and glue, leads with it."""
        return self.masses.total

    @cached_property
    def inductance_h(self) -> float:
        """Inductance in air (H), see `motor.coil.inductance`; the motor's iron raises it several times and makes it fall with frequency."""
        from halfroll.motor.coil.inductance import layered

        return layered(self.layer_radii_m, self.layer_turns, self.height_m)

    def resistance_at(self, temperature_c: float) -> float:
        """Resistance (ohm) at a temperature (°C)."""
        return self.resistance_ohm * resistance_factor(self.design.wire, temperature_c)

    def winding(self) -> Winding:
        """The rectangle the current flows in, at rest."""
        middle = self.design.offset_m
        return Winding(
            r_inner=self.inner_m, r_outer=self.outer_m, z_low=middle - 0.5 * self.height_m,
            z_high=middle + 0.5 * self.height_m, turns=float(self.turns),
        )  # fmt: skip


def turns_by_layer(turns: int, layers: int, packing: str) -> tuple[int, ...]:
    """How turns lie in layers, from inside; their sum is `turns`.

    Stacked layers differ by one turn at most. Of nested ones every second lies in the grooves of a longer one and has one turn
    less; what is then too many is left off the outer layers.

    Raises
    ------
    InputError
        A layer would have no turn.
    """
    if packing == "stacked":
        each, more = divmod(turns, layers)
        lying = [each + 1] * more + [each] * (layers - more)
    else:
        first = -(-(turns + layers // 2) // layers)
        lying = [first - i % 2 for i in range(layers)]
        for i in range(sum(lying) - turns):
            lying[-1 - i] -= 1
    if min(lying) < 1:
        raise InputError("The coil has too few turns for its layers", key="coil.turns", found=f"{turns} in {layers} layers",
                         allowed=f"from {_fewest_nested(layers) if packing == 'nested' else layers} on")  # fmt: skip
    return tuple(lying)


def _fewest_nested(layers: int) -> int:
    """Fewest turns of nested layers: two and one in turns, the outermost never more than one."""
    return 2 * layers - layers // 2 - layers % 2


def wind(design: CoilDesign) -> Coil:
    """Wind a coil: the whole of it from what was decided.

    Raises
    ------
    InputError
        A layer would have no turn, or the former is shorter than the winding.
    """
    wire, pitch = design.wire, design.wire.overall_m
    lying = turns_by_layer(design.turns, design.layers, design.packing)
    former_inner = 0.5 * design.former_inner_m
    former_outer = former_inner + design.former_wall_m
    inner = former_outer + design.insulation_m
    step = pitch * (NEST if design.packing == "nested" else 1.0)
    radii = tuple(inner + 0.5 * pitch + i * step for i in range(design.layers))
    height = max(lying) * pitch
    outer = inner + pitch + (design.layers - 1) * step
    former_height = _former_height(design, height)
    length = sum(2.0 * math.pi * r * n for r, n in zip(radii, lying, strict=True))
    leads = 2.0 * LEAD_M + (height if design.layers % 2 else 0.0)
    ohm = ohm_per_m(wire) * (length + leads)
    masses, mass_u = _masses(design, inner, outer, height, former_height, length, leads)
    return Coil(
        design=design, layer_turns=lying, layer_radii_m=radii, former_inner_m=former_inner, former_outer_m=former_outer,
        inner_m=inner, outer_m=outer, glue_film_m=GLUE_FILM_M if design.glue is not None else 0.0,
        height_m=height, height_u_m=HEIGHT_U * height, build_u_m=BUILD_U * (outer - inner), former_height_m=former_height,
        winding_length_m=length, lead_length_m=leads, resistance_ohm=ohm,
        resistance_u_ohm=ohm * math.hypot(resistance_u(wire), _length_u(design, inner)),
        masses=masses, mass_u_kg=mass_u, verdicts=coil_verdicts(design, lying, former_height),
    )  # fmt: skip


def _former_height(design: CoilDesign, height: float) -> float:
    if design.former_height_m is None:
        return height + COLLAR_M
    if design.former_height_m < height:
        raise InputError("The coil's former must be as long as the winding", key="coil.former_height_mm",
                         found=f"{1e3 * design.former_height_m:g} mm", allowed=f"from {1e3 * height:.2f} mm on")  # fmt: skip
    return design.former_height_m


def _length_u(design: CoilDesign, inner: float) -> float:
    """Relative standard uncertainty of the wire's length: the printed diameter within its tolerance, the build."""
    printed = 0.5 * design.print_tolerance_m / math.sqrt(3.0) / inner
    build = BUILD_U * design.layers * design.wire.overall_m / (2.0 * inner)
    return math.hypot(printed, build)


def _masses(
    design: CoilDesign,
    inner: float,
    outer: float,
    height: float,
    former_height: float,
    length: float,
    leads: float,
) -> tuple[Masses, float]:
    """Masses (kg), and the standard uncertainty of their sum."""
    wire, wall = design.wire, design.former_wall_m
    film = GLUE_FILM_M if design.glue is not None else 0.0
    ring = math.pi * (outer**2 - inner**2) * height
    voids = max(ring - 0.25 * math.pi * wire.overall_m**2 * length, 0.0)
    glue = 0.0
    if design.glue is not None:
        glue = design.glue.density_kg_m3 * (GLUE_FILL * voids + 2.0 * math.pi * outer * height * film)
    former_area = math.pi * wall * (design.former_inner_m + wall)
    former = design.former.density_kg_m3 * former_area * former_height
    paper = (
        800.0 * math.pi * (inner**2 - (inner - design.insulation_m) ** 2) * height
    )  # kg/m³, paper and film
    masses = Masses(
        metal=grams_per_m(wire) * 1e-3 * (length + leads), enamel=enamel_grams_per_m(wire) * 1e-3 * (length + leads),
        glue=glue, former=former, insulation=paper,
    )  # fmt: skip
    density_u = (
        design.former.density_u_kg_m3 / design.former.density_kg_m3
        if isinstance(design.former, Filament)
        else 0.005
    )
    wall_u = (
        0.5 * design.print_tolerance_m / math.sqrt(3.0) / wall
        if isinstance(design.former, Filament)
        else 0.03
    )
    parts = (
        resistance_u(wire) * masses.metal,  # both go with the cross-section
        0.3 * masses.enamel,
        0.6 * masses.glue,
        math.hypot(density_u, wall_u) * masses.former,
        0.2 * masses.insulation,
    )
    return masses, math.sqrt(sum(part * part for part in parts))
