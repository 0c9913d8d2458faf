"""Which dimensions of a design can be moved in its drawing, and where their handles stand."""

from __future__ import annotations

from halfroll.app.design_tables import Built
from halfroll.app.drawing import Handle, length_handle


def handles(built: Built) -> list[Handle]:
    """The handles: outer and inner diameter and height of every disc and ring; offset, turns and former of the coil."""
    found = []
    for index, part in enumerate(built.design.motor.parts):
        if part.shape == "turned":
            continue
        key = f"motor.parts[{index + 1}]"
        r_low, r_high, z_low, z_high = (1e3 * bound for bound in built.assembly.bodies[index].bounds)
        middle = 0.5 * (z_low + z_high)
        inner, outer = 2.0 * r_low, 2.0 * r_high
        found.append(
            length_handle(
                f"{key}.outer_mm",
                f"Outer diameter of {part.name}",
                outer,
                r_high,
                middle,
                "r",
                2.0,
                inner + 0.1,
            )
        )
        if part.shape == "ring":
            level = middle - 0.2 * (z_high - z_low)
            found.append(
                length_handle(
                    f"{key}.inner_mm",
                    f"Inner diameter of {part.name}",
                    inner,
                    r_low,
                    level,
                    "r",
                    2.0,
                    0.1,
                    outer - 0.1,
                )
            )
        across = r_low + 0.6 * (r_high - r_low)
        found.append(
            length_handle(
                f"{key}.height_mm", f"Height of {part.name}", z_high - z_low, across, z_high, "z", 1.0, 0.1
            )
        )
    return [*found, *_coil(built)]


def _coil(built: Built) -> list[Handle]:
    coil, winding = built.coil, built.assembly.winding
    if coil is None or winding is None:
        return []
    middle = 0.5e3 * (winding.r_inner + winding.r_outer)
    pitch = 1e3 * coil.design.wire.overall_m
    layers = coil.design.layers
    top, centre = 1e3 * winding.z_high, 1e3 * winding.centre_m
    return [
        length_handle("coil.offset_mm", "Offset of the coil", 1e3 * coil.design.offset_m, middle, centre, "z", 1.0, -100.0, 100.0),
        Handle(
            key="coil.turns", label="Turns of the coil", value=coil.design.turns, unit="turns", r=middle, z=top, axis="z",
            factor=2.0 * layers / pitch, least=layers, most=5000, grain=float(layers),
        ),
        length_handle("coil.former_inner_mm", "Inner diameter of the former", 1e3 * coil.design.former_inner_m, 1e3 * coil.former_inner_m,
                1e3 * (winding.z_low + coil.former_height_m), "r", 2.0, 3.0, 300.0),
    ]  # fmt: skip
