"""Refusing moving parts that cannot be, with the key of ``version.toml`` that says so."""

from __future__ import annotations

from halfroll.core.errors import InputError
from halfroll.suspension.design import FlexureDesign, MovingDesign

LOWEST_C, HIGHEST_C = -60.0, 250.0


def check_moving(design: MovingDesign) -> None:
    """Refuse what cannot be built: profiles that cross or fold, arms that touch, a cap wider than its cone.

    Raises
    ------
    InputError
        Its `place.key` names the key in ``version.toml``.
    """
    from halfroll.suspension.profile import cap_height, cap_line, check_cone, check_flexure, check_strip

    if design.cone is not None:  # first: heights of the others follow from it
        check_cone(design.cone)
    if design.cap is not None:
        cap_line(design.cap)
        cap_height(design)
    for holder in (design.surround, design.spider):
        if isinstance(holder, FlexureDesign):
            check_flexure(holder)
        elif holder is not None:
            check_strip(holder)
    if not LOWEST_C <= design.temperature_c <= HIGHEST_C:
        raise InputError("The temperature of the moving parts must be a possible one", key="moving.temperature_c",
                         found=f"{design.temperature_c:g} °C", allowed=f"{LOWEST_C:g} to {HIGHEST_C:g} °C")  # fmt: skip
