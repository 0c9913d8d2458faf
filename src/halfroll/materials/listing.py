"""The catalogue as tables for people and programs: rows of plain values whose keys carry the unit, and what to head them with."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from halfroll.core.errors import InputError
from halfroll.materials.catalogue import Catalogue, found_in, nearest
from halfroll.materials.magnet import REFERENCE_C, demagnetisation, knee
from halfroll.materials.steel import curve
from halfroll.materials.types import (
    Conductor,
    Filament,
    MagnetGrade,
    MagnetSize,
    Origin,
    Steel,
    WasherSize,
    Wire,
)
from halfroll.materials.wire import enamel_grams_per_m, grams_per_m, ohm_per_m, ohm_per_m_range

Entry = MagnetGrade | Steel | Conductor | Wire | WasherSize | MagnetSize | Filament
Row = dict[str, Any]


@dataclass(frozen=True)
class Column:
    """A column of a table: key of the row, heading, unit, significant digits (0: text as it is)."""

    key: str
    head: str
    unit: str = ""
    digits: int = 3

    def text(self, value: Any) -> str:
        """A value as it stands in the table."""
        if value is None:
            return "–"
        if not self.digits or not isinstance(value, float | int):
            return str(value)
        return f"{value:.0f}" if abs(value) >= 10**self.digits else f"{value:.{self.digits}g}"


@dataclass(frozen=True)
class Kind:
    """A kind of entries: its name on the command line, its title, where the catalogue has it, its columns."""

    name: str
    title: str
    of: Callable[[Catalogue], Mapping[str, Any]]
    columns: tuple[Column, ...]


def origin_row(origin: Origin) -> Row:
    """Where values come from."""
    return {"source": origin.source, "support": origin.support, "note": origin.note}


def row(entry: Entry) -> Row:
    """The plain values of an entry, its origin last."""
    made = _MAKERS[type(entry)](entry)
    return {"key": entry.key, **made, "origin": origin_row(entry.origin)}


def _magnet(grade: MagnetGrade) -> Row:
    return {
        "title": grade.title, "family": grade.family, "br_t": grade.br_t, "br_u_t": grade.br_u_t,
        "hcb_ka_m": 1e-3 * grade.hcb_a_m, "hcj_ka_m": 1e-3 * grade.hcj_a_m, "mu_rec": grade.mu_rec,
        "alpha_br_percent_per_k": 100.0 * grade.alpha_br_per_k, "beta_hcj_percent_per_k": 100.0 * grade.beta_hcj_per_k,
        "knee_t": knee(grade).b_t, "lowest_c": grade.lowest_c, "highest_c": grade.highest_c,
        "density_kg_m3": grade.density_kg_m3, "conductivity_s_m": grade.conductivity_s_m,
    }  # fmt: skip


def _steel(steel: Steel) -> Row:
    law = curve(steel)
    return {
        "title": steel.title, "h_at_1_t_a_m": float(law.h(1.0)), "h_at_1_5_t_a_m": float(law.h(1.5)),
        "h_at_1_8_t_a_m": float(law.h(1.8)), "b_at_20_ka_m_t": float(law.b(20e3)), "table_end_t": law.table_end_t,
        "h_factor_u": steel.h_factor_u, "conductivity_s_m": steel.conductivity_s_m, "density_kg_m3": steel.density_kg_m3,
    }  # fmt: skip


def _conductor(metal: Conductor) -> Row:
    return {
        "title": metal.title, "resistivity_ohm_m": metal.resistivity_ohm_m,
        "conductivity_ms_m": 1e-6 / metal.resistivity_ohm_m, "alpha_per_k": metal.alpha_per_k,
        "density_kg_m3": metal.density_kg_m3, "specific_heat_j_kg_k": metal.specific_heat_j_kg_k,
        "expansion_per_k": metal.expansion_per_k,
    }  # fmt: skip


def _wire(wire: Wire) -> Row:
    low, high = ohm_per_m_range(wire)
    return {
        "title": wire.title, "metal": wire.conductor.key if wire.core is None else f"{wire.conductor.key} on {wire.core.key}",
        "bare_mm": 1e3 * wire.bare_m, "overall_mm": 1e3 * wire.overall_m, "ohm_per_m": ohm_per_m(wire),
        "ohm_per_m_low": low, "ohm_per_m_high": high, "metal_g_per_m": grams_per_m(wire),
        "enamel_g_per_m": enamel_grams_per_m(wire), "g_per_m": grams_per_m(wire) + enamel_grams_per_m(wire),
        "enamel_class_c": wire.class_c, "enamel": wire.enamel,
    }  # fmt: skip


def _washer(washer: WasherSize) -> Row:
    return {
        "standard": washer.standard, "thread": washer.thread, "inner_mm": 1e3 * washer.inner_m, "outer_mm": 1e3 * washer.outer_m,
        "height_mm": 1e3 * washer.height_m,
    }  # fmt: skip


def _magnet_size(size: MagnetSize) -> Row:
    return {
        "family": size.family, "shape": "ring" if size.inner_m else "disc", "outer_mm": 1e3 * size.outer_m,
        "inner_mm": 1e3 * size.inner_m or None, "height_mm": 1e3 * size.height_m,
    }  # fmt: skip


def _filament(filament: Filament) -> Row:
    return {
        "title": filament.title, "density_kg_m3": filament.density_kg_m3, "density_u_kg_m3": filament.density_u_kg_m3,
        "modulus_mpa": 1e-6 * filament.modulus_pa, "modulus_u_mpa": 1e-6 * filament.modulus_u_pa,
        "modulus_lines": filament.modulus_lines, "calibrated": filament.calibrated or None,
        "poisson": filament.poisson, "poisson_u": filament.poisson_u,
        "loss_factor": filament.loss_factor, "loss_factor_u": filament.loss_factor_u,
        "creep_per_decade": filament.creep_per_decade, "creep_per_decade_u": filament.creep_per_decade_u,
        "across_factor": filament.across_factor, "across_factor_u": filament.across_factor_u,
        "fatigue_strain": filament.fatigue_strain, "fatigue_strain_u": filament.fatigue_strain_u,
        "strength_mpa": _mega(filament.strength_pa), "strength_u_mpa": _mega(filament.strength_u_pa),
        "glass_c": filament.glass_c, "continuous_c": filament.continuous_c, "expansion_per_k": filament.expansion_per_k,
        "mechanics": None if filament.mechanics is None else origin_row(filament.mechanics),
    }  # fmt: skip


def _mega(pascal: float | None) -> float | None:
    return None if pascal is None else 1e-6 * pascal


_MAKERS: Mapping[type, Callable[[Any], Row]] = {
    MagnetGrade: _magnet, Steel: _steel, Conductor: _conductor, Wire: _wire, WasherSize: _washer,
    MagnetSize: _magnet_size, Filament: _filament,
}  # fmt: skip

_KEY = Column("key", "key", digits=0)
_TITLE = Column("title", "title", digits=0)

KINDS: tuple[Kind, ...] = (
    Kind("magnets", "Magnet grades", lambda c: c.magnets, (
        _KEY, Column("br_t", "Br", "T"), Column("hcb_ka_m", "HcB", "kA/m"), Column("hcj_ka_m", "HcJ", "kA/m", 4),
        Column("mu_rec", "μrec"), Column("knee_t", "knee at 20 °C", "T"), Column("beta_hcj_percent_per_k", "HcJ change", "%/K", 2),
        Column("highest_c", "highest", "°C"),
    )),
    Kind("steels", "Steels", lambda c: c.steels, (
        _KEY, _TITLE, Column("h_at_1_t_a_m", "H at 1 T", "A/m"), Column("h_at_1_5_t_a_m", "H at 1.5 T", "A/m", 4),
        Column("h_at_1_8_t_a_m", "H at 1.8 T", "A/m", 4), Column("b_at_20_ka_m_t", "B at 20 kA/m", "T"),
    )),
    Kind("conductors", "Metals", lambda c: c.conductors, (
        _KEY, _TITLE, Column("conductivity_ms_m", "conductivity", "MS/m"), Column("alpha_per_k", "α20", "1/K"),
        Column("density_kg_m3", "density", "kg/m³", 4),
    )),
    Kind("wires", "Winding wire", lambda c: c.wires, (
        _KEY, Column("bare_mm", "bare", "mm"), Column("overall_mm", "overall", "mm"), Column("ohm_per_m", "resistance", "Ω/m", 4),
        Column("metal_g_per_m", "metal", "g/m"), Column("g_per_m", "with enamel", "g/m"), Column("enamel_class_c", "class", "°C"),
    )),
    Kind("washers", "Washers", lambda c: c.washers, (
        _KEY, Column("standard", "standard", digits=0), Column("thread", "thread", digits=0), Column("inner_mm", "hole", "mm"),
        Column("outer_mm", "outer", "mm"), Column("height_mm", "thickness", "mm"),
    )),
    Kind("magnet-sizes", "Magnet sizes", lambda c: c.magnet_sizes, (
        _KEY, Column("family", "family", digits=0), Column("shape", "shape", digits=0), Column("outer_mm", "outer", "mm", 4),
        Column("inner_mm", "hole", "mm"), Column("height_mm", "height", "mm"),
    )),
    Kind("filaments", "Filaments and sheet", lambda c: c.filaments, (
        _KEY, _TITLE, Column("density_kg_m3", "density", "kg/m³", 4), Column("modulus_mpa", "modulus", "MPa"),
        Column("modulus_u_mpa", "± u", "MPa", 2), Column("across_factor", "across lines", digits=2),
        Column("loss_factor", "loss factor", digits=2), Column("creep_per_decade", "creep/decade", digits=2),
        Column("continuous_c", "in use to", "°C"), Column("calibrated", "calibrated by", digits=0),
    )),
)  # fmt: skip
"""In the order in which a driver is built."""

SUPPORT = {
    "standard": "read in the standard",
    "handbook": "a printed handbook or paper",
    "data sheets": "makers' data sheets",
    "practice": "common practice, no source",
    "memory": "from memory: check it before it decides something",
    "own": "your own record",
}
"""How well values are supported, in words."""


def kind_of(name: str) -> Kind:
    """The kind of a name; `InputError` with the names there are."""
    for kind in KINDS:
        if kind.name == name:
            return kind
    raise InputError(
        "There is no such kind in the catalogue", found=name, allowed=[kind.name for kind in KINDS]
    )


def matching(entries: Mapping[str, Entry], word: str) -> list[Entry]:
    """Entries whose key or title holds a text, capitals or not; all for an empty one."""
    wanted = word.strip().casefold()
    return [
        e for e in entries.values() if wanted in e.key or wanted in str(getattr(e, "title", "")).casefold()
    ]


def find(known: Catalogue, key: str, kind: Kind | None = None) -> tuple[Kind, Entry]:
    """The entry of a key, in one kind or in all; `InputError` names the nearest keys."""
    if kind is not None:
        return kind, found_in(kind.of(known), key, f"entry in {kind.title.casefold()}")
    for one in KINDS:
        if (entry := one.of(known).get(key.strip().casefold())) is not None:
            return one, entry
    kinds = [one.name for one in KINDS]
    near = [*nearest(kinds, key), *nearest([one for kind in KINDS for one in kind.of(known)], key)]
    raise InputError("The catalogue has no such kind or key", found=key, allowed=near[:6] or kinds)


def details(entry: Entry, temperature_c: float | None = None) -> Row:
    """Everything about an entry: its row, and of a steel its table, of a magnet its curve at a temperature.

    Raises
    ------
    InputError
        The magnet does not bear that temperature.
    """
    more: Row = {}
    if isinstance(entry, Steel):
        more = {"h_a_m": list(entry.h_a_m), "b_t": list(entry.b_t)}
    if isinstance(entry, MagnetGrade):
        at = demagnetisation(entry, REFERENCE_C if temperature_c is None else temperature_c)
        more = {"curve": {
            "temperature_c": at.temperature_c, "br_t": entry.br_at(at.temperature_c), "hcj_a_m": entry.hcj_at(at.temperature_c),
            "knee_h_a_m": at.knee.h_a_m, "knee_t": at.knee.b_t,
            "h_a_m": at.h_a_m.tolist(), "b_t": at.b_t.tolist(), "j_t": at.j_t.tolist(),
        }}  # fmt: skip
    return {**row(entry), **more}
