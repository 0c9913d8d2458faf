"""Glues that hold a winding on its former: how warm they may get, how much they weigh.

Softening temperatures are those of what a workshop buys, as ranges; the lower end counts. All from memory of makers' data
sheets and common practice: the sheet of the very glue goes before this table.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from halfroll.core.errors import choose
from halfroll.materials.types import Origin


@dataclass(frozen=True, kw_only=True)
class Glue:
    """A glue once it is hard.

    `softens_c` temperature (°C) from which it lets a loaded joint creep (glass transition of an epoxy), and `softens_u_c`
    its standard uncertainty between brands (K); `density_kg_m3` hard.
    """

    key: str
    title: str
    softens_c: float
    softens_u_c: float
    density_kg_m3: float
    origin: Origin


def _row(key: str, title: str, softens_c: float, u_c: float, density: float, note: str = "") -> Glue:
    origin = Origin(source="Common practice; makers' data sheets, from memory", support="memory", note=note)
    return Glue(
        key=key, title=title, softens_c=softens_c, softens_u_c=u_c, density_kg_m3=density, origin=origin
    )


GLUES: Mapping[str, Glue] = MappingProxyType(
    {
        glue.key: glue
        for glue in (
            _row("cyanoacrylate", "cyanoacrylate", 80.0, 6.0, 1050.0),
            _row("epoxy", "epoxy, cured at room temperature", 50.0, 5.0, 1150.0, "Tg 45 to 60 °C; a warm cure raises it."),
            _row("epoxy-warm", "epoxy for heat, cured warm", 130.0, 10.0, 1200.0, "Tg 120 to 150 °C after its cure."),
            _row("wood-glue", "wood glue (PVA)", 60.0, 6.0, 1100.0),
            _row("baked-varnish", "baking varnish", 155.0, 10.0, 1100.0, "Needs an oven hotter than a printed former bears."),
        )
    }
)  # fmt: skip
"""By key. PVA of a wood glue softens at about 60 °C, cyanoacrylate at 80 °C, room-cured epoxy at its Tg of 45 to 60 °C."""


def glue_of(key: str, **place: object) -> Glue:
    """The glue of that key; raises `InputError` with the keys there are."""
    return GLUES[choose(key, GLUES, field="The coil's glue", **place)]
