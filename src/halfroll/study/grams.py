"""Grams that a slicer or a scale told of a part, carried over to the same part with another dimension.

They belong to the shape they were told of. Kept as they are, a thicker cone would weigh no more; left away, what the filament's density
misses would look like an effect of the dimension. So they go with the part's own volume and share of plastic; a weighed mass becomes
one as unsure as a slicer's.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from halfroll.core.errors import InputError

if TYPE_CHECKING:
    from halfroll.suspension.design import MovingDesign
    from halfroll.workshop.records import VersionRecord
    from halfroll.workshop.store import Workshop

PRINTED = ("surround", "spider", "cone", "cap")


def with_grams(
    workshop: Workshop, version_id: str, before: VersionRecord, after: VersionRecord
) -> VersionRecord:
    """A changed record with the stated grams of every part whose dimensions changed scaled to its new shape.

    A design that cannot be is given back as it is: whoever solves it says what is wrong.
    """
    changed = [
        name for name in PRINTED if _stated(before, name) and _table(before, name) != _table(after, name)
    ]
    if not changed:
        return after
    try:
        was, now = (_design(workshop, version_id, record) for record in (before, after))
        ratios = {name: printed_kg(now, name) / printed_kg(was, name) for name in changed}
    except InputError:
        return after
    return after.changed(**{name: _scaled(after, name, ratio) for name, ratio in ratios.items()})


def printed_kg(design: MovingDesign, name: str) -> float:
    """Mass (kg) of a whole printed part, lips and all, by its volume and the density of its plastic."""
    from halfroll.suspension.density import lip, plastic_of
    from halfroll.suspension.design import FlexureDesign, StripDesign
    from halfroll.suspension.elastic import revolved
    from halfroll.suspension.profile.families import profile_of
    from halfroll.suspension.profile.flexure import arm_length, thickness_of
    from halfroll.suspension.profile.placed import placed_cap, placed_cone

    part = getattr(design, name)
    if isinstance(part, FlexureDesign):
        volume = part.arms * part.width_m * thickness_of(part) * arm_length(part)
    elif isinstance(part, StripDesign):
        volume = revolved.of_wall(profile_of(part)).amount
    else:
        volume = revolved.of_wall(placed_cap(design) if name == "cap" else placed_cone(part)).amount
    if isinstance(part, FlexureDesign | StripDesign):
        volume += lip(part, inner=True).amount + lip(part, inner=False).amount
    return float(volume * plastic_of(part.material, part.print).density_kg_m3)


def _table(record: VersionRecord, name: str) -> object:
    return getattr(record, name)


def _stated(record: VersionRecord, name: str) -> bool:
    table = getattr(record, name)
    return table is not None and not (table.print.slicer_g is None and table.print.weighed_g is None)


def _scaled(record: VersionRecord, name: str, ratio: float) -> object:
    table = getattr(record, name)
    told = table.print.weighed_g if table.print.weighed_g is not None else table.print.slicer_g
    return table.changed(print=table.print.changed(weighed_g=None, slicer_g=round(ratio * told, 4)))


def _design(workshop: Workshop, version_id: str, record: VersionRecord) -> MovingDesign:
    from halfroll.workshop.parts import lookups
    from halfroll.workshop.suspension_design import moving_of

    return moving_of(record, lookups(workshop), workshop.version(version_id).path.parent)
