"""The step from one version to another drawn: both sections to one scale, every part marked by what becomes of it.

The marks are classes (``fate-stays``, ``fate-new`` ...); the page's style sheet makes them pale, heavy, dashed, so that they read
without colour.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from html import unescape
from typing import TYPE_CHECKING

from halfroll.builds.bill.carry import CarryOver, Fate
from halfroll.publish.version_drawing import motor_drawings

if TYPE_CHECKING:
    from halfroll.workshop.store import Workshop

_GROUP = re.compile(r'<g class="(body|moving|coil)"(?: data-(?:body|part)="([^"]*)")?')

COIL = "coil wire"


def carry_drawings(workshop: Workshop, found: CarryOver, *, width_px: float) -> dict[str, str]:
    """SVG of the old and of the new version, those that can be drawn, by ``old`` and ``new``."""
    ids = {found.old_id: found.titles[0], found.new_id: found.titles[1]}
    records = {id_: workshop.version(id_).record for id_ in ids}
    drawn = motor_drawings(workshop, records, ids, width_px=width_px)
    sides = (("old", found.old_id, old_fates(found)), ("new", found.new_id, new_fates(found)))
    return {side: marked(drawn[id_], fates) for side, id_, fates in sides if id_ in drawn}


def old_fates(found: CarryOver) -> dict[str, Fate]:
    """What becomes of every line of the old version; of one that is split the gravest."""
    fates: dict[str, Fate] = {one.old: one.fate for one in found.lines if one.old and one.fate != "left over"}
    return fates | {one.line.key: one.fate for one in found.of("left over")}


def new_fates(found: CarryOver) -> dict[str, Fate]:
    """Where every line of the new version comes from; of one that is split the gravest."""
    order: tuple[Fate, ...] = ("stays", "reworked", "new")
    return {one.line.key: one.fate for fate in order for one in found.of(fate)}


def marked(svg: str, fates: Mapping[str, Fate]) -> str:
    """A section whose parts carry what becomes of them as a class of their group."""

    def with_fate(group: re.Match[str]) -> str:
        name = COIL if group[1] == "coil" else unescape(group[2] or "")
        fate = fates.get(name)
        if fate is None:
            return group[0]
        return group[0].replace(f'class="{group[1]}"', f'class="{group[1]} fate-{fate.replace(" ", "-")}"')

    return _GROUP.sub(with_fate, svg)
