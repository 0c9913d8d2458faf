"""What gives way first when a coil gets warm."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from halfroll.materials.types import Filament
from halfroll.motor.coil.wound import Coil
from halfroll.motor.types import Assembly, Magnet

FILAMENT_U_K = 5.0
"""Standard uncertainty of a filament's glass transition between brands and prints (K); common practice."""


@dataclass(frozen=True, kw_only=True)
class HeatLimit:
    """What a part bears.

    Parameters
    ----------
    part
        In words, such as "former of PETG".
    node
        Whether it is as warm as the coil or as the motor.
    lasting_c, brief_c
        For hours, and for a minute at most (°C).
    u_k
        Standard uncertainty (K).
    """

    part: str
    node: Literal["coil", "motor"]
    lasting_c: float
    brief_c: float
    u_k: float = 0.0


def limits_of(coil: Coil, motor: Assembly | None = None) -> tuple[HeatLimit, ...]:
    """Limits of former, glue, enamel and, where the motor is known, its magnets; the lowest lasting one first.

    A printed former bears its continuous temperature for hours; for a minute its glass transition, or the former where that is
    higher (a half-crystalline plastic carries load above its glass transition). A metal former has no limit of its own.
    """
    return tuple(sorted((*_of_coil(coil), *_of_motor(motor)), key=lambda limit: limit.lasting_c))


def _of_coil(coil: Coil) -> Iterable[HeatLimit]:
    design = coil.design
    if isinstance(design.former, Filament):
        former = design.former
        yield HeatLimit(part=f"former of {former.title}", node="coil", lasting_c=former.continuous_c,
                        brief_c=max(former.glass_c, former.continuous_c), u_k=FILAMENT_U_K)  # fmt: skip
    if design.glue is not None:
        yield HeatLimit(part=f"glue ({design.glue.title})", node="coil", lasting_c=design.glue.softens_c,
                        brief_c=design.glue.softens_c, u_k=design.glue.softens_u_c)  # fmt: skip
    yield HeatLimit(part=f"wire's enamel, class {design.wire.class_c:g}", node="coil", lasting_c=design.wire.class_c, brief_c=design.wire.class_c)  # fmt: skip


def _of_motor(motor: Assembly | None) -> Iterable[HeatLimit]:
    for body in () if motor is None else motor.bodies:
        if isinstance(body.matter, Magnet):
            grade = body.matter.grade
            yield HeatLimit(part=f"{body.name} ({grade.title})", node="motor", lasting_c=grade.highest_c, brief_c=grade.highest_c)  # fmt: skip
