"""The section of a version's motor as a thumbnail: from its record alone, nothing is computed."""

from __future__ import annotations

from halfroll.core.errors import InputError
from halfroll.publish.section import section_svg
from halfroll.workshop import VersionRecord, Workshop
from halfroll.workshop.motor_design import design_of
from halfroll.workshop.parts import lookups


def motor_drawing(workshop: Workshop, record: VersionRecord, name: str, *, width_px: float = 300) -> str | None:
    """SVG of the whole section; None when the version has no motor that can be built."""
    if record.motor is None:
        return None
    from halfroll.motor.coil import wind
    from halfroll.motor.stack import assemble

    try:
        design = design_of(record.motor, record.coil, lookups(workshop))
        assembly = assemble(design)
        coil = None if design.coil is None else wind(design.coil)
    except InputError:  # the page of the design says what is wrong with it
        return None
    return section_svg(assembly, coil=coil, theme=None, width_px=width_px, dimensions=False, mirrored=True, name=name)
