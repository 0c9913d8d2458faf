"""Value objects of the catalogue, in SI units. Every one says where it comes from and how sure that is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Support = Literal["standard", "handbook", "data sheets", "practice", "memory", "own"]
"""How well a row is supported: a standard read, a printed handbook or paper, several makers' data sheets that agree,
common practice, written from memory, or the maker's own measurement."""

MagnetFamily = Literal["neodymium", "ferrite", "samarium-cobalt", "alnico"]


@dataclass(frozen=True, kw_only=True)
class Origin:
    """Where values come from (`source`: author, title, clause or table) and how well that supports them."""

    source: str
    support: Support
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class MagnetGrade:
    """A permanent-magnet grade at 20 °C.

    Parameters
    ----------
    key, title
        ``n42`` and ``N42``.
    br_t, br_u_t
        Remanence, middle of the range (T), and its standard uncertainty (T): half the range over sqrt 3.
    hcb_a_m, hcj_a_m
        Smallest coercivity of the flux density and of the polarisation (A/m, above zero).
    mu_rec
        Recoil permeability.
    alpha_br_per_k, beta_hcj_per_k
        Relative change of remanence and of HcJ per kelvin, between 20 °C and `highest_c` (-0.0012 for -0.12 %/K).
    highest_c, lowest_c
        Temperatures (°C) between which a magnet of the catalogue's usual shape keeps its magnetisation.
    density_kg_m3, conductivity_s_m
        Density and electrical conductivity (S/m; ferrite practically 0).
    """

    key: str
    title: str
    family: MagnetFamily
    br_t: float
    br_u_t: float
    hcb_a_m: float
    hcj_a_m: float
    mu_rec: float
    alpha_br_per_k: float
    beta_hcj_per_k: float
    highest_c: float
    lowest_c: float
    density_kg_m3: float
    conductivity_s_m: float
    origin: Origin

    def br_at(self, temperature_c: float) -> float:
        """Remanence (T) at a temperature (°C)."""
        return self.br_t * (1.0 + self.alpha_br_per_k * (temperature_c - 20.0))

    def hcj_at(self, temperature_c: float) -> float:
        """Coercivity of the polarisation (A/m) at a temperature (°C)."""
        return self.hcj_a_m * (1.0 + self.beta_hcj_per_k * (temperature_c - 20.0))


@dataclass(frozen=True, kw_only=True)
class Steel:
    """A soft magnetic steel by its normal magnetisation curve.

    Parameters
    ----------
    h_a_m, b_t
        Field strength (A/m) and flux density (T), (n,), both from 0 and strictly rising; above the last point the
        curve goes on with the slope of vacuum. Between points monotone cubic (`steel.curve`).
    conductivity_s_m, density_kg_m3
        Electrical conductivity (S/m) and density.
    h_factor_u
        Relative standard uncertainty of H at a given B of a part bought as such a steel: 0.5 for washers of unknown steel.
    """

    key: str
    title: str
    h_a_m: tuple[float, ...]
    b_t: tuple[float, ...]
    conductivity_s_m: float
    density_kg_m3: float
    origin: Origin
    h_factor_u: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Conductor:
    """A metal for wires and shorting rings at 20 °C."""

    key: str
    title: str
    resistivity_ohm_m: float
    alpha_per_k: float
    density_kg_m3: float
    specific_heat_j_kg_k: float
    expansion_per_k: float
    origin: Origin


@dataclass(frozen=True, kw_only=True)
class Wire:
    """A round enamelled winding wire.

    `overall_m` is the largest outer diameter over the enamel, `bare_m` the nominal of the metal; `core` is the metal
    inside when the wire is clad (`conductor` outside, `clad_share` of the cross-section). `class_c` is the temperature
    index of the enamel (°C), `enamel` its key in `wire.ENAMELS` when it is one of them.
    """

    key: str
    title: str
    bare_m: float
    overall_m: float
    conductor: Conductor
    class_c: float
    origin: Origin
    core: Conductor | None = None
    clad_share: float = 1.0
    enamel: str = ""


LineDirection = Literal["along", "across", "crossed"]
"""How a load meets the lines of a print: along them, across them, or in layers whose lines cross."""


@dataclass(frozen=True, kw_only=True)
class Filament:
    """A printing material, solid: a starting value of the catalogue, or calibrated from a print. `_u` are standard uncertainties.

    Parameters
    ----------
    modulus_pa, modulus_lines
        Bending modulus (Pa), and how its load met the printed lines when it was measured.
    across_factor
        Modulus across the printed lines (in a layer or from layer to layer) as a share of that along them.
    across_correlation
        Correlation of the logarithms of modulus and across factor, where both come from calibrations.
    glass_c, continuous_c
        Glass transition and the highest temperature in use under load (°C).
    loss_factor
        tan d at 20 °C and some tens of hertz.
    creep_per_decade
        Share of the first deflection that a constant load adds per decade of time (log creep).
    fatigue_strain, strength_pa
        Largest strain for millions of cycles, and tensile strength (Pa); None where nothing is known.
    origin, mechanics
        Where density, modulus and temperatures come from; where the others do, when that is somewhere else.
    calibrated
        What the modulus was last calibrated from ("strip, resonance"); empty for a starting value.
    sheet
        Whether it is film, card or metal that is cut and bent: nothing is printed of it.
    """

    key: str
    title: str
    density_kg_m3: float
    density_u_kg_m3: float
    modulus_pa: float
    modulus_u_pa: float
    glass_c: float
    continuous_c: float
    expansion_per_k: float
    origin: Origin
    poisson: float = 0.38
    poisson_u: float = 0.03
    loss_factor: float = 0.03
    loss_factor_u: float = 0.015
    creep_per_decade: float = 0.03
    creep_per_decade_u: float = 0.02
    across_factor: float = 0.75
    across_factor_u: float = 0.15
    fatigue_strain: float | None = None
    fatigue_strain_u: float | None = None
    strength_pa: float | None = None
    strength_u_pa: float | None = None
    modulus_lines: LineDirection = "along"
    across_correlation: float = 0.0
    mechanics: Origin | None = None
    calibrated: str = ""
    sheet: bool = False


@dataclass(frozen=True, kw_only=True)
class WasherSize:
    """A plain washer of a standard series, nominal sizes (m); `standard` ``ISO 7093-1``, `thread` ``M24``."""

    key: str
    standard: str
    thread: str
    inner_m: float
    outer_m: float
    height_m: float
    origin: Origin


@dataclass(frozen=True, kw_only=True)
class MagnetSize:
    """A common stock size of disc (`inner_m` 0) or ring magnet, magnetised through its height."""

    key: str
    family: MagnetFamily
    outer_m: float
    inner_m: float
    height_m: float
    origin: Origin


PartKind = Literal["magnet", "washer", "ring", "wire", "filament", "former", "glue", "other"]
PartForm = Literal["disc", "ring", "turned"]


@dataclass(frozen=True, kw_only=True)
class StockPart:
    """A thing of known shape that can be bought or was made: a size of the catalogue, or a record in ``parts/``.

    Parameters
    ----------
    key, title, kind
        ``iso7093-m8``, ``ISO 7093-1 M8``, ``washer``.
    shape, outer_m, inner_m, height_m
        A disc or ring by its diameters and height (m); no shape where nothing is known of it (a spool, a glue).
    profile_m
        Of a turned part: its half-section as corners (r, z) in m, z from its own base.
    material
        Key of the material when it is known: a washer's is ``steel-unknown``, a magnet size has none until a grade is chosen.
    wire
        Of a spool of wire: the wire's key.
    """

    key: str
    title: str
    kind: PartKind
    origin: Origin
    shape: PartForm | None = None
    outer_m: float | None = None
    inner_m: float | None = None
    height_m: float | None = None
    profile_m: tuple[tuple[float, float], ...] = ()
    material: str | None = None
    wire: str | None = None
