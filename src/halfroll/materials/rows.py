"""From rows of the shipped tables to value objects in SI units."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any, get_args

from halfroll.materials.conductors import ALUMINIUM, COPPER, COPPER_WINDING
from halfroll.materials.fit import RoschkeFit, tabulate
from halfroll.materials.types import (
    Conductor,
    Filament,
    MagnetFamily,
    MagnetGrade,
    MagnetSize,
    Origin,
    Steel,
    StockPart,
    WasherSize,
    Wire,
)
from halfroll.materials.wire import ENAMELS, awg_diameter_m

Row = Mapping[str, Any]

USUAL_ENAMEL = ENAMELS["polyurethane-155"]
"""What hobby spools carry (common practice)."""


def origin_of(row: Row, note: str = "") -> Origin:
    """Source, support and note of a row or table."""
    return Origin(source=row["source"], support=row["support"], note=f"{row.get('note', '')} {note}".strip())


def half_range(low: float, high: float) -> float:
    """Standard uncertainty of a value between two limits: half of what lies between them over sqrt 3."""
    return (high - low) / (2.0 * math.sqrt(3.0))


def magnets(tables: Row) -> Iterator[MagnetGrade]:
    """Grades of all families; neodymium in every class it is sold in."""
    for family in get_args(MagnetFamily):
        for table in tables[family]:
            yield from _neodymium(table) if family == "neodymium" else _grades(table, family)


def _neodymium(table: Row) -> Iterator[MagnetGrade]:
    """All grades of the plain class, then those of each harder class."""
    for place, letters in enumerate(table["classes"]):
        for title, low, high, hcb_plain, hcb_class, classes in table["grades"]:
            if place >= classes:
                continue
            row = {
                "highest_c": table["highest_c"][place],
                "beta_hcj_percent_per_k": table["beta_hcj_percent_per_k"][place],
                **(table["lower"].get(title, {}) if place == 0 else {}),
            }
            hcj = row.pop("hcj_ka_m", table["hcj_ka_m"][place])
            hcb = hcb_class if place else hcb_plain
            yield _grade({**table, **row}, "neodymium", f"{title}{letters}", low, high, hcb, hcj)


def _grades(table: Row, family: MagnetFamily) -> Iterator[MagnetGrade]:
    for title, low, high, hcb, hcj in table["grades"]:
        yield _grade(table, family, title, low, high, hcb, hcj)


def _grade(
    table: Row, family: MagnetFamily, title: str, low: float, high: float, hcb: float, hcj: float
) -> MagnetGrade:
    batch = 0.5 * (low + high) * table.get("br_spread", 0.0)
    return MagnetGrade(
        key=title.casefold(),
        title=title.replace("-", " ") if family == "alnico" else title,
        family=family,
        br_t=0.5 * (low + high),
        br_u_t=max(half_range(low, high), half_range(-batch, batch)),
        hcb_a_m=1e3 * hcb,
        hcj_a_m=1e3 * hcj,
        mu_rec=table["mu_rec"],
        alpha_br_per_k=0.01 * table["alpha_br_percent_per_k"],
        beta_hcj_per_k=0.01 * table["beta_hcj_percent_per_k"],
        highest_c=float(table["highest_c"]),
        lowest_c=float(table["lowest_c"]),
        density_kg_m3=float(table["density_kg_m3"]),
        conductivity_s_m=table["conductivity_s_m"],
        origin=origin_of(table),
    )


def steels(tables: Row) -> Iterator[Steel]:
    """Tabulated and fitted steels, and the readings of an unknown one."""
    known: dict[str, Steel] = {}
    for row in (*tables["table"], *tables["fit"]):
        known[row["key"]] = _steel(row)
    yield from known.values()
    for row in tables["unknown"]:
        of = known[row["of"]]
        origin = Origin(source=f"{of.title}: {of.origin.source}", support=of.origin.support, note=row["note"])
        yield Steel(key=row["key"], title=row["title"], h_a_m=of.h_a_m, b_t=of.b_t, conductivity_s_m=of.conductivity_s_m,
                    density_kg_m3=of.density_kg_m3, origin=origin, h_factor_u=row["h_factor_u"])  # fmt: skip


def _steel(row: Row) -> Steel:
    if "h_a_m" in row:
        h, b, note = tuple(map(float, row["h_a_m"])), tuple(map(float, row["b_t"])), ""
    else:
        h, b = tabulate(RoschkeFit(**{key: row[key] for key in ("mu_i", "b_my_max_t", "c_a", "c_b", "n")}))
        note = "The fit up to about 1.9 T, then the law of approach to a saturation polarisation of 2.15 T."
    return Steel(key=row["key"], title=row["title"], h_a_m=h, b_t=b, conductivity_s_m=row["conductivity_s_m"],
                 density_kg_m3=float(row["density_kg_m3"]), origin=origin_of(row, note))  # fmt: skip


def wires(tables: Row) -> list[Wire]:
    """Metric and gauge sizes in both grades, of copper and then of copper-clad aluminium."""
    return sorted(_wires(tables), key=lambda wire: (wire.core is not None, wire.clad_share))


def _wires(tables: Row) -> Iterator[Wire]:
    sizes = tables["iec"]["sizes_mm"]
    metric = [(f"{bare:.3f}", f"{bare:.3f} mm", bare, (grade_1, grade_2)) for bare, grade_1, grade_2 in sizes
              if bare <= tables["iec"]["largest_mm"]]  # fmt: skip
    for name, title, bare_mm, overall in metric:
        yield from _grades_of(name, title, bare_mm, overall, COPPER_WINDING, tables, origin_of(tables["iec"]))
    for gauge in range(tables["awg"]["first"], tables["awg"]["last"] + 1):
        bare_mm = 1e3 * awg_diameter_m(gauge)
        yield from _grades_of(
            f"awg{gauge}",
            f"AWG {gauge}",
            bare_mm,
            _overall(bare_mm, sizes),
            COPPER,
            tables,
            origin_of(tables["awg"]),
        )


def _overall(bare_mm: float, sizes: list[list[float]]) -> tuple[float, float]:
    """Largest overall diameters (mm), grade 1 and 2, of a wire between sizes: the next larger one's increase, or that of a
    size that is all but the same (AWG 34 and 0.160 mm).
    """
    size, grade_1, grade_2 = next(row for row in sizes if row[0] >= 0.995 * bare_mm)
    return bare_mm + grade_1 - size, bare_mm + grade_2 - size


def _grades_of(
    name: str,
    title: str,
    bare_mm: float,
    overall_mm: tuple[float, float],
    copper: Conductor,
    tables: Row,
    origin: Origin,
) -> Iterator[Wire]:
    for grade, over in enumerate(overall_mm, 1):
        yield _wire(f"cu-{name}-g{grade}", f"Copper {title}, grade {grade}", bare_mm, over, copper, origin)
        for clad, share in tables["clad"]["shares"].items():
            both = Origin(
                source=f"{origin.source}; {tables['clad']['source']}", support=origin.support,
                note=f"Its metals side by side. {origin.note}".strip(),
            )  # fmt: skip
            what = f"Copper-clad aluminium ({100 * share:.0f} %) {title}, grade {grade}"
            yield _wire(f"{clad}-{name}-g{grade}", what, bare_mm, over, COPPER, both, ALUMINIUM, share)


def _wire(
    key: str, title: str, bare_mm: float, overall_mm: float, conductor: Conductor, origin: Origin,
    core: Conductor | None = None, share: float = 1.0,
) -> Wire:  # fmt: skip
    return Wire(key=key, title=title, bare_m=1e-3 * bare_mm, overall_m=1e-3 * overall_mm, conductor=conductor,
                class_c=USUAL_ENAMEL.class_c, enamel=USUAL_ENAMEL.key, origin=origin, core=core, clad_share=share)  # fmt: skip


def filaments(tables: Row) -> Iterator[Filament]:
    """Printing materials and sheet for formers."""
    mechanics = origin_of(tables["mechanics"])
    for row in tables["filament"]:
        # One value stands for a row of brands all the same: 3 % of density and 20 % of modulus are usual.
        density, density_u = middle(row["density_g_cm3"], least=0.015)
        modulus, modulus_u = middle(row["modulus_gpa"], least=row.get("spread", 0.1))
        yield Filament(
            key=row["key"],
            title=row["title"],
            density_kg_m3=1e3 * density,
            density_u_kg_m3=1e3 * density_u,
            modulus_pa=1e9 * modulus,
            modulus_u_pa=1e9 * modulus_u,
            modulus_lines=row.get("lines", "along"),
            sheet=row.get("sheet", False),
            glass_c=float(row["glass_c"]),
            continuous_c=float(row["continuous_c"]),
            expansion_per_k=row["expansion_per_k"],
            origin=origin_of({**tables["origin"], **row}),
            mechanics=mechanics,
            **_mechanics(row),
        )


def middle(limits: tuple[float, float], least: float = 0.0) -> tuple[float, float]:
    """The middle of a range and its standard uncertainty, `least` as a share of the middle or more."""
    low, high = limits
    return 0.5 * (low + high), max(half_range(low, high), 0.5 * least * (low + high))


def _mechanics(row: Row) -> dict[str, Any]:
    """Fields of a filament that are ranges and may be missing; isotropic sheet has no factor across lines."""
    found: dict[str, Any] = {}
    for name in ("poisson", "loss_factor", "creep_per_decade", "across_factor", "fatigue_strain"):
        if name in row:
            found[name], found[f"{name}_u"] = middle(row[name])
    if "across_factor" not in row:
        found["across_factor"], found["across_factor_u"] = 1.0, 0.0
    if "strength_mpa" in row:
        value, u = middle(row["strength_mpa"])
        found["strength_pa"], found["strength_u_pa"] = 1e6 * value, 1e6 * u
    return found


def washers(tables: Row) -> Iterator[WasherSize]:
    """Sizes of all series; keys such as ``iso7093-m8``."""
    for series in tables["series"]:
        standard = series["standard"]
        number = standard.removeprefix("ISO ").split("-")[0]
        source = f"{standard} (series {series['name']}), {tables['origin']['source']}"
        origin = origin_of({**tables["origin"], "source": source}, series.get("note", ""))
        for thread, inner, outer, height in series["sizes"]:
            yield WasherSize(key=f"iso{number}-{thread.casefold()}", standard=standard, thread=thread, inner_m=1e-3 * inner,
                             outer_m=1e-3 * outer, height_m=1e-3 * height, origin=origin)  # fmt: skip


def magnet_sizes(tables: Row) -> Iterator[MagnetSize]:
    """Discs and rings; keys such as ``nd-disc-20x5`` and ``ferrite-ring-72x32x10``."""
    origin = origin_of(tables["origin"])
    families: tuple[tuple[MagnetFamily, str], ...] = (("neodymium", "nd"), ("ferrite", "ferrite"))
    for family, short in families:
        for outer, height in tables[family]["discs"]:
            yield MagnetSize(key=f"{short}-disc-{outer:g}x{height:g}", family=family, outer_m=1e-3 * outer, inner_m=0.0,
                             height_m=1e-3 * height, origin=origin)  # fmt: skip
        for outer, inner, height in tables[family]["rings"]:
            yield MagnetSize(key=f"{short}-ring-{outer:g}x{inner:g}x{height:g}", family=family, outer_m=1e-3 * outer,
                             inner_m=1e-3 * inner, height_m=1e-3 * height, origin=origin)  # fmt: skip


def washer_part(washer: WasherSize) -> StockPart:
    """A washer as a part: a ring of unknown mild steel."""
    return StockPart(key=washer.key, title=f"Washer {washer.standard} {washer.thread}", kind="washer", shape="ring",
                     outer_m=washer.outer_m, inner_m=washer.inner_m, height_m=washer.height_m, material="steel-unknown",
                     origin=washer.origin)  # fmt: skip


def magnet_part(size: MagnetSize) -> StockPart:
    """A magnet size as a part; its grade is not known."""
    bore = f" × {1e3 * size.inner_m:g}" if size.inner_m else ""
    title = f"{size.family.capitalize()} {'ring' if size.inner_m else 'disc'} {1e3 * size.outer_m:g}{bore} × {1e3 * size.height_m:g} mm"
    return StockPart(key=size.key, title=title, kind="magnet", shape="ring" if size.inner_m else "disc", outer_m=size.outer_m,
                     inner_m=size.inner_m or None, height_m=size.height_m, origin=size.origin)  # fmt: skip
