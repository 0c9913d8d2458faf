"""What a motor with its coil takes of what is bought, and by which record each thing is bought: asked by its cost and by the bill."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from halfroll.materials.types import Filament, StockPart
from halfroll.motor.coil.design import CoilDesign
from halfroll.motor.coil.wound import wind
from halfroll.motor.heat.masses import mass_kg
from halfroll.motor.placing.design import Design
from halfroll.motor.types import Assembly, Filler
from halfroll.workshop.part_record import PartRecord

if TYPE_CHECKING:
    from halfroll.workshop.parts import OwnParts

NeedKind = Literal["part", "print", "wire", "former"]


@dataclass(frozen=True, kw_only=True)
class Need:
    """Something that is needed: its names in the design, the key it is bought as (None: it has none) and that of its material, and
    its amount in the units that are known of it.
    """

    kind: NeedKind
    names: tuple[str, ...]
    key: str | None
    material: str
    pieces: float | None = None
    metres: float | None = None
    grams: float | None = None


def motor_needs(design: Design, assembly: Assembly) -> Iterator[Need]:
    """Everything a motor and its coil need: parts by the piece, wire by its length with spare, prints and the former by their mass."""
    for part in design.motor.parts:
        body, material = assembly.body(part.name), part.material.key
        if part.part is None and isinstance(body.matter, Filler):
            yield Need(
                kind="print", names=(part.name,), key=material, material=material, grams=1e3 * mass_kg(body)
            )
        else:
            yield Need(kind="part", names=(part.name,), key=part.part, material=material, pieces=1.0)
    if design.coil is not None:
        yield from coil_needs(design.coil)


def coil_needs(coil: CoilDesign) -> Iterator[Need]:
    """Wire and former of a coil."""
    wound, wire, former = wind(coil), coil.wire.key, coil.former.key
    yield Need(kind="wire", names=("wire",), key=wire, material=wire, metres=wound.wire_to_buy_m)
    grams = 1e3 * wound.masses.former if isinstance(coil.former, Filament) else None
    yield Need(kind="former", names=("former",), key=former, material=former, grams=grams)


def record_of(owned: OwnParts, key: str | None, material: str) -> str | None:
    """Id of the record something is bought by: of the key itself or one it had before, else one that is of that key of the catalogue
    or that material, one with a price if there is such.
    """
    from halfroll.workshop.parts import current_id

    if key is None:
        return None
    key = current_id(owned, key)
    if key in owned.parts:
        return key
    found = [
        id_ for id_, loaded in owned.parts.items()
        if _sells(loaded.record, owned.catalogue.parts[id_], key, material)
    ]  # fmt: skip
    return min(found, key=lambda id_: owned.parts[id_].record.price is None, default=None)


def _sells(record: PartRecord, part: StockPart, key: str, material: str) -> bool:
    """Whether a record is one of a key of the catalogue; of another material it is something else, such as another grade."""
    if record.type == "filament" and part.material == key:
        return True
    return part.wire == key or (record.catalogue == key and record.material in (None, material))
