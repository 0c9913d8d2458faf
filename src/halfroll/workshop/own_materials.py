"""From records in ``parts/`` and ``materials/`` to the value objects of the materials room."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

from halfroll.core.errors import InputError
from halfroll.materials.catalogue import Catalogue, found_in
from halfroll.materials.check import check_bh_table
from halfroll.materials.conductors import ALUMINIUM, COPPER
from halfroll.materials.printed import SOFT_PA
from halfroll.materials.types import Conductor, Filament, MagnetGrade, Origin, Steel, StockPart, Wire
from halfroll.workshop.calibrated import Calibrated, calibrated
from halfroll.workshop.files import read_whole
from halfroll.workshop.material_record import (
    ConductorTable,
    FilamentTable,
    MagnetTable,
    MaterialRecord,
    SteelTable,
    WireTable,
)
from halfroll.workshop.number_table import read_number_table, text_of
from halfroll.workshop.part_record import PartRecord
from halfroll.workshop.toml_lines import line_of

Made = MagnetGrade | Steel | Conductor | Wire | Filament
COLUMNS = ("h_a_m", "b_t")


def material_of(key: str, record: MaterialRecord, path: Path, shipped: Catalogue) -> Made:
    """The material a record describes.

    Raises
    ------
    InputError
        The grade it is `like` does not exist, or its B-H file is missing or no magnetisation curve.
    """
    origin = Origin(source=record.source or f"own record {key}", support="own", note=record.notes)
    common: dict[str, Any] = {"key": key, "title": record.title or key, "origin": origin}
    if record.magnet is not None:
        return _magnet(record.magnet, common, path, shipped)
    if record.steel is not None:
        return _steel(record.steel, common, path)
    if record.conductor is not None:
        return _conductor(record.conductor, common)
    if record.wire is not None:
        return _wire(record.wire, common)
    return calibrated_of(key, record, path, shipped).filament


def calibrated_of(key: str, record: MaterialRecord, path: Path, shipped: Catalogue) -> Calibrated:
    """A filament's record as its starting value, its calibrations, and both together.

    Raises
    ------
    InputError
        The filament it is `like` does not exist, or a calibration has readings that cannot be.
    """
    assert record.filament is not None
    origin = Origin(source=record.source or f"own record {key}", support="own", note=record.notes)
    start = _filament(record.filament, {"key": key, "title": record.title, "origin": origin}, path, shipped)
    return calibrated(start, record.filament.calibrations, path)


def _magnet(table: MagnetTable, common: dict[str, Any], path: Path, shipped: Catalogue) -> MagnetGrade:
    stated = {
        "family": table.family,
        "br_t": table.br_t,
        "br_u_t": table.br_u_t,
        "hcb_a_m": _times(table.hcb_ka_m, 1e3),
        "hcj_a_m": _times(table.hcj_ka_m, 1e3),
        "mu_rec": table.mu_rec,
        "alpha_br_per_k": _times(table.alpha_br_percent_per_k, 0.01),
        "beta_hcj_per_k": _times(table.beta_hcj_percent_per_k, 0.01),
        "highest_c": table.highest_c,
        "lowest_c": table.lowest_c,
        "density_kg_m3": table.density_kg_m3,
        "conductivity_s_m": table.conductivity_s_m,
    }
    known: dict[str, Any] = {name: value for name, value in stated.items() if value is not None}
    if table.like is None:
        return MagnetGrade(
            **{"br_u_t": 0.03 * known["br_t"], **known, **common}
        )  # 3 %: two makers of one grade
    like = found_in(shipped.magnets, table.like, "magnet grade", **_where(path, "magnet", "like"))
    return replace(like, **known, **common)


def _times(value: float | None, factor: float) -> float | None:
    return None if value is None else factor * value


def _steel(table: SteelTable, common: dict[str, Any], path: Path) -> Steel:
    h, b = (table.h_a_m, table.b_t) if table.table is None else read_bh(path.parent / table.table)
    return Steel(h_a_m=h, b_t=b, conductivity_s_m=table.conductivity_s_m, density_kg_m3=table.density_kg_m3,
                 h_factor_u=table.h_factor_u, **common)  # fmt: skip


def read_bh(path: Path) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Field strengths (A/m) and flux densities (T) of a CSV file with the columns ``h_a_m`` and ``b_t``.

    Raises
    ------
    InputError
        No such file, no such columns, or no magnetisation curve; the file and the first wrong line are named.
    """
    file = str(path)
    table = read_number_table(text_of(read_whole(path), file), file)
    head = [name.strip().casefold() for name in table.head]
    if not set(COLUMNS) <= set(head):
        raise InputError("The B-H file must have a column h_a_m and a column b_t", file=file, line=table.head_line,
                         found=", ".join(table.head), allowed="h_a_m (A/m), b_t (T)")  # fmt: skip
    h, b = (tuple(table.values[:, head.index(name)].tolist()) for name in COLUMNS)
    check_bh_table(h, b, lines=table.lines, file=file)
    return h, b


def _conductor(table: ConductorTable, common: dict[str, Any]) -> Conductor:
    return Conductor(
        resistivity_ohm_m=table.resistivity_ohm_m, alpha_per_k=table.alpha_per_k, density_kg_m3=table.density_kg_m3,
        specific_heat_j_kg_k=table.specific_heat_j_kg_k, expansion_per_k=table.expansion_per_k, **common,
    )  # fmt: skip


def _wire(table: WireTable, common: dict[str, Any]) -> Wire:
    clad = {"cca10": 0.10, "cca15": 0.15}.get(table.metal)
    return Wire(
        bare_m=1e-3 * table.bare_mm, overall_m=1e-3 * table.overall_mm, class_c=table.enamel_class_c,
        conductor=ALUMINIUM if table.metal == "aluminium" else COPPER, core=None if clad is None else ALUMINIUM,
        clad_share=1.0 if clad is None else clad, **common,
    )  # fmt: skip


def _filament(table: FilamentTable, named: dict[str, Any], path: Path, shipped: Catalogue) -> Filament:
    """The starting value: what is stated, the rest as the filament it is like."""
    scales = {"modulus_mpa": ("modulus_pa", 1e6), "modulus_u_mpa": ("modulus_u_pa", 1e6), "strength_mpa": ("strength_pa", 1e6),
              "strength_u_mpa": ("strength_u_pa", 1e6)}  # fmt: skip
    stated: dict[str, Any] = {}
    for key in FilamentTable.model_fields:
        value = getattr(table, key)
        if value is not None and key not in ("like", "calibrations"):
            name, scale = scales.get(key, (key, None))
            stated[name] = value if scale is None else scale * value
    if "modulus_pa" in stated and "modulus_u_pa" not in stated:
        stated["modulus_u_pa"] = 0.1 * stated["modulus_pa"]
    if table.like is None:
        soft = {"poisson": 0.47, "poisson_u": 0.015} if stated["modulus_pa"] < SOFT_PA else {}
        usual = {"density_u_kg_m3": 20.0, "expansion_per_k": 80e-6, **soft}
        return Filament(**{**usual, **stated, **named, "title": named["title"] or named["key"]})
    like = found_in(shipped.filaments, table.like, "filament", **_where(path, "filament", "like"))
    origin = named["origin"] if stated or named["origin"].note else like.origin
    title = named["title"] or (like.title if named["key"] == like.key else named["key"])
    return replace(like, **stated, key=named["key"], title=title, origin=origin)


def part_of(key: str, record: PartRecord, path: Path, known: Catalogue) -> StockPart:
    """The part a record describes; `known` holds the own materials too.

    Raises
    ------
    InputError
        Its catalogue key or its material does not exist.
    """
    origin = Origin(source=record.supplier or f"own record {key}", support="own", note=record.notes)
    _check_material(record, path, known)
    if record.catalogue is None:
        return StockPart(
            key=key, title=record.title or key, kind=record.type, shape=record.shape, outer_m=_times(record.outer_mm, 1e-3),
            inner_m=_times(record.inner_mm, 1e-3), height_m=_times(record.height_mm, 1e-3),
            profile_m=tuple((1e-3 * r, 1e-3 * z) for r, z in record.profile_mm), material=record.material, origin=origin,
        )  # fmt: skip
    everything = {**known.materials, **known.wires, **known.parts}
    found = found_in(everything, record.catalogue, "entry of the catalogue", **_where(path, "catalogue"))
    named: dict[str, Any] = {
        "key": key,
        "title": record.title or found.title,
        "kind": record.type,
        "origin": origin,
    }
    if isinstance(found, StockPart):
        return replace(found, material=record.material or found.material, **named)
    if isinstance(found, Wire):
        return StockPart(wire=found.key, material=record.material, **named)
    return StockPart(material=record.material or found.key, **named)


def _check_material(record: PartRecord, path: Path, known: Catalogue) -> None:
    """Refuse a material that does not exist, and a magnet of something else than a magnet grade."""
    if record.material is None:
        return
    material = known.material(record.material, **_where(path, "material"))
    if record.type == "magnet" and not isinstance(material, MagnetGrade):
        raise InputError("A magnet must be of a magnet grade", found=f"{record.material}: {material.title}",
                         remedy="Look grades up with: halfroll catalogue magnets", **_where(path, "material"))  # fmt: skip


def _where(path: Path, *keys: str) -> dict[str, Any]:
    """File, key and line of a key of a record, which need not be on the disk yet."""
    line = line_of(text_of(read_whole(path), str(path)), keys) if path.exists() else None
    return {"file": str(path), "key": ".".join(keys), "line": line}
