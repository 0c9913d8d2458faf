"""Which dimensions of moving parts can be moved in their drawing, and where their handles stand."""

from __future__ import annotations

from halfroll.app.drawing import Handle, length_handle
from halfroll.suspension.design import ConeDesign, FlexureDesign, MovingDesign, StripDesign

LEAST_RING_MM = 1.0
"""A ring is left at least so much wider outside than inside, in diameter."""


def handles(design: MovingDesign) -> list[Handle]:
    """The handles of the parts there are: diameters and heights; thicknesses are typed, they are too thin to be dragged."""
    found: list[Handle] = []
    for name, part in (("surround", design.surround), ("spider", design.spider)):
        if isinstance(part, StripDesign):
            found += [*_edges(name, part), *_roll(name, part)]
        elif part is not None:
            found += _edges(name, part)
    if design.cone is not None:
        found += _cone(design.cone, joined=design.surround is not None)
    if design.cap is not None:
        found.append(_cap(design))
    return found


def _edges(name: str, part: StripDesign | FlexureDesign) -> list[Handle]:
    if isinstance(part, StripDesign) and part.family == "free":
        return []
    inner, outer, z = 2e3 * part.inner_radius_m, 2e3 * part.outer_radius_m, 1e3 * part.height_over_gap_m
    return [
        length_handle(f"{name}.inner_mm", f"Inner diameter of {name}", inner, 0.5 * inner, z, "r", 2.0, 1.0, outer - LEAST_RING_MM),
        length_handle(f"{name}.outer_mm", f"Outer diameter of {name}", outer, 0.5 * outer, z, "r", 2.0, inner + LEAST_RING_MM),
    ]  # fmt: skip


def _roll(name: str, part: StripDesign) -> list[Handle]:
    """The height of rolls, or the amplitude of corrugations, where it is a dimension of its own."""
    way = -1.0 if part.direction == "down" else 1.0
    inner, outer, z = 1e3 * part.inner_radius_m, 1e3 * part.outer_radius_m, 1e3 * part.height_over_gap_m
    if part.height_m is not None and part.family != "half-roll":
        first = {"m-roll": 0.18, "double-roll": 0.25}.get(part.family, 0.5)
        height = 1e3 * part.height_m
        r = inner + first * (outer - inner)
        return [
            length_handle(
                f"{name}.height_mm",
                f"Height of {name}",
                height,
                r,
                z + way * height,
                "z",
                way,
                0.1,
                outer - inner,
            )
        ]
    if part.amplitude_m is not None and part.rolls:
        height = 1e3 * part.amplitude_m
        r = inner + 0.25 * (outer - inner) / part.rolls
        return [
            length_handle(
                f"{name}.amplitude_mm",
                f"Amplitude of {name}",
                height,
                r,
                z + way * height,
                "z",
                way,
                0.0,
                outer - inner,
            )
        ]
    return []


def _cone(cone: ConeDesign, *, joined: bool) -> list[Handle]:
    if cone.shape == "free":
        return []
    inner, outer = 2e3 * cone.inner_radius_m, 2e3 * cone.outer_radius_m
    foot, depth = 1e3 * cone.height_over_gap_m, 1e3 * cone.depth_m
    middle = 0.25 * (inner + outer)
    found = [
        length_handle(
            "cone.depth_mm", "Depth of cone", depth, middle, foot + 0.5 * depth, "z", 1.0, -200.0, 200.0
        )
    ]
    if cone.shape != "dome" and inner > 0:
        found.append(
            length_handle(
                "cone.inner_mm",
                "Inner diameter of cone",
                inner,
                0.5 * inner,
                foot,
                "r",
                2.0,
                1.0,
                outer - LEAST_RING_MM,
            )
        )
    if not joined:
        found.append(
            length_handle(
                "cone.outer_mm",
                "Outer diameter of cone",
                outer,
                0.5 * outer,
                foot + depth,
                "r",
                2.0,
                inner + LEAST_RING_MM,
            )
        )
    return found


def _cap(design: MovingDesign) -> Handle:
    from halfroll.suspension.profile import cap_height

    assert design.cap is not None
    rim, height = 1e3 * cap_height(design), 1e3 * design.cap.height_m
    return length_handle("cap.height_mm", "Height of cap", height, 0.0, rim + height, "z", 1.0, -50.0, 50.0)
