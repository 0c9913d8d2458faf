"""The shipped catalogue: whole, consistent, each row with its source; keys are found and near ones named."""

from typing import Any

import pytest

from halfroll.core.errors import InputError
from halfroll.materials.catalogue import catalogue, nearest
from halfroll.materials.check import check_bh_table
from halfroll.materials.listing import KINDS, SUPPORT, details, find, kind_of, matching, row
from halfroll.materials.types import StockPart

EVERYTHING: list[Any] = [entry for kind in KINDS for entry in kind.of(catalogue()).values()]


def test_every_kind_is_there_and_every_row_says_where_it_is_from():
    """Nothing stands in the catalogue without a source and how well it is supported."""
    assert {kind.name for kind in KINDS} == {
        "magnets", "steels", "conductors", "wires", "washers", "magnet-sizes", "filaments"}  # fmt: skip
    for entry in [*EVERYTHING, *catalogue().parts.values()]:
        assert entry.origin.source
        assert entry.origin.support in SUPPORT


def test_a_key_means_one_thing():
    """A design names materials and parts by key alone, so no key stands for two."""
    known = catalogue()
    materials = [*known.magnets, *known.steels, *known.conductors, *known.filaments]
    assert len(set(materials)) == len(materials) == len(known.materials)
    assert not set(materials) & set(known.wires)
    assert not set(materials) & set(known.parts)
    for key, entry in ((k, e) for kind in KINDS for k, e in kind.of(known).items()):
        assert key == entry.key == key.casefold()


def test_the_catalogue_cannot_be_changed():
    """It is read once and shared."""
    known = catalogue()
    assert known is catalogue()
    with pytest.raises(TypeError):
        known.magnets["n42"] = known.magnets["n35"]  # type: ignore[index]


@pytest.mark.parametrize("steel", catalogue().steels.values(), ids=lambda s: s.key)
def test_every_steel_passes_the_check_of_tables(steel):
    """From 0, rising, never less steep than vacuum, and far enough for a gap."""
    check_bh_table(steel.h_a_m, steel.b_t)
    assert steel.b_t[-1] > 2.2


# ISO 7089, 7092, 7093-1, 7094: (hole, outer, nominal thickness) mm, read in a third table than the catalogue's own, a
# browser library of fasteners that quotes a fastener shop's tables of the standards, and DIN 125/433/9021 from memory.
WASHERS = {
    "iso7089-m3": (3.2, 7.0, 0.5), "iso7089-m4": (4.3, 9.0, 0.8), "iso7089-m6": (6.4, 12.0, 1.6), "iso7089-m8": (8.4, 16.0, 1.6),
    "iso7093-m3": (3.2, 9.0, 0.8), "iso7093-m4": (4.3, 12.0, 1.0), "iso7093-m6": (6.4, 18.0, 1.6), "iso7093-m8": (8.4, 24.0, 2.0),
}  # fmt: skip


@pytest.mark.parametrize(("key", "size"), WASHERS.items())
def test_washers_have_the_standards_sizes(key, size):
    """Sizes against another published table of the same standards."""
    washer = catalogue().washers[key]
    assert (1e3 * washer.inner_m, 1e3 * washer.outer_m, 1e3 * washer.height_m) == pytest.approx(size)


# Largest thickness (mm) of ISO 7089, 7093-1 and 7094 washers as another public library of parts tabulates them.
THICKEST = {
    "iso7089-m10": 2.2, "iso7089-m12": 2.7, "iso7089-m16": 3.3, "iso7089-m24": 4.3, "iso7089-m36": 5.6, "iso7093-m10": 2.7,
    "iso7093-m12": 3.3, "iso7093-m16": 3.3, "iso7094-m8": 3.6, "iso7094-m12": 4.6, "iso7094-m20": 7.0, "iso7094-m30": 7.0,
}  # fmt: skip


@pytest.mark.parametrize(("key", "thickest_mm"), THICKEST.items())
def test_nominal_thickness_lies_below_the_largest(key, thickest_mm):
    """The nominal one is 7 to 20 % less than the largest, in every series."""
    nominal = 1e3 * catalogue().washers[key].height_m
    assert 0.82 * thickest_mm < nominal < 0.94 * thickest_mm


def test_washer_series_are_ordered():
    """Of one thread the small series is smallest and the extra large one largest, and every washer is a ring."""
    washers = catalogue().washers
    for thread in ("m5", "m8", "m12", "m24", "m36"):
        outer = [washers[f"iso{n}-{thread}"].outer_m for n in (7092, 7089, 7093, 7094)]
        assert outer == sorted(outer)
    assert all(0 < w.inner_m < w.outer_m for w in washers.values())
    assert len([w for w in washers.values() if w.standard == "ISO 7094"]) == 10  # begins at M5


def test_sizes_are_parts():
    """A washer is a ring of unknown steel, a magnet size a disc or ring whose grade is not known yet."""
    washer, disc, ring = (
        catalogue().part(key) for key in ("iso7093-m8", "nd-disc-20x5", "Ferrite-Ring-72x32x10")
    )
    assert isinstance(washer, StockPart)
    assert (washer.kind, washer.shape, washer.material) == ("washer", "ring", "steel-unknown")
    assert (disc.shape, disc.inner_m, disc.material) == ("disc", None, None)
    assert (ring.shape, ring.inner_m) == ("ring", 0.032)


def test_an_unknown_key_names_near_ones():
    """The message names what was asked for, keys written much like it, and the place it was asked from."""
    with pytest.raises(InputError) as caught:
        catalogue().material("n43", file="version.toml", key="motor.parts[2].material", line=9)
    assert str(caught.value).startswith(
        "version.toml:9, motor.parts[2].material: There is no material of that key; found n43."
    )
    assert "n42" in str(caught.value.allowed)
    assert nearest(catalogue().steels, "1008")[0] == "steel-1008"
    assert nearest(catalogue().wires, "cu-0.20")[:2] == ["cu-0.200-g1", "cu-0.200-g2"]
    with pytest.raises(InputError, match="no wire"):
        catalogue().wire("cu-0.21-g1")
    with pytest.raises(InputError, match="no part"):
        catalogue().part("iso7093-m9")


@pytest.mark.parametrize("entry", EVERYTHING[::7], ids=lambda e: e.key)
def test_every_entry_can_be_told_to_a_machine(entry):
    """Rows are plain values, found again by key alone; texts of all columns can be made."""
    kind, found = find(catalogue(), entry.key)
    assert found is entry
    said = row(entry)
    assert {column.key for column in kind.columns} <= said.keys()
    assert all(column.text(said[column.key]) for column in kind.columns)
    assert all(isinstance(v, str | float | int | list | dict | None) for v in details(entry).values())


def test_lists_are_narrowed_by_words():
    """In keys and titles, capitals or not."""
    known = catalogue()
    assert [m.key for m in matching(known.magnets, "N42S")] == ["n42sh"]
    assert matching(known.steels, "free-cutting")[0].key == "steel-12l14"
    assert len(matching(known.magnets, "")) == len(known.magnets)
    with pytest.raises(InputError, match="magnet-sizes"):
        kind_of("frogs")
    with pytest.raises(InputError, match="n42"):
        find(known, "n4z")


def test_uncertainty_of_filaments_is_half_of_the_range_over_root_three_or_what_brands_differ_by():
    """PLA has 3 to 4 GPa: 0.35 GPa is a tenth, more than half a range over sqrt 3; ABS has one density, of which 1.5 % are taken."""
    known = catalogue().filaments
    assert known["pla"].modulus_u_pa == pytest.approx(0.35e9)
    assert known["tpu-85a"].modulus_u_pa == pytest.approx(15e6 / 12**0.5)
    assert known["abs"].density_u_kg_m3 == pytest.approx(15.6)


def test_uncertainty_of_remanence_is_that_of_the_grade_or_of_its_batches():
    """N42 is sold from 1.28 to 1.32 T; of C5 tables give one value, of which batches lie within 3 %, as is told of C7 (370 ± 10 mT)."""
    known = catalogue().magnets
    assert known["n42"].br_u_t == pytest.approx(0.04 / 12**0.5)
    assert known["c5"].br_u_t == pytest.approx(0.03 * 0.38 / 3**0.5)
    assert known["y25"].br_u_t == pytest.approx(0.04 / 12**0.5)
    assert all(grade.br_u_t > 0.005 * grade.br_t for grade in known.values())
