"""The half-section of moving parts as it is drawn on pages, in their motor where that is designed."""

from __future__ import annotations

from dataclasses import dataclass

from halfroll.core.errors import InputError
from halfroll.materials.catalogue import Catalogue
from halfroll.motor.coil.wound import Coil
from halfroll.motor.types import Assembly
from halfroll.publish.section import section_svg
from halfroll.publish.section_moving import moving_svg, moving_words
from halfroll.publish.theme import Theme
from halfroll.suspension.design import MovingDesign
from halfroll.workshop import VersionRecord
from halfroll.workshop.motor_design import design_of


@dataclass(frozen=True, kw_only=True)
class Around:
    """The motor around moving parts: its bodies in their places, and its coil; None where not designed."""

    assembly: Assembly | None = None
    coil: Coil | None = None


def around(record: VersionRecord, catalogue: Catalogue) -> Around:
    """The motor of a version as far as it can be built."""
    from halfroll.motor.coil.wound import wind
    from halfroll.motor.placing.stack import assemble

    if record.motor is None:
        return Around()
    try:
        design = design_of(record.motor, record.coil, catalogue)
        return Around(assembly=assemble(design), coil=None if design.coil is None else wind(design.coil))
    except InputError:  # the page of the design says what is wrong with it
        return Around()


def section(design: MovingDesign, motor: Around, *, theme: Theme | None, width_px: float, name: str) -> str:
    """SVG of all parts at rest in their motor, to scale, half of them."""
    if motor.assembly is None:
        return moving_svg(design, theme=theme, width_px=width_px, mirrored=False, name=name)
    return section_svg(
        motor.assembly,
        coil=motor.coil,
        theme=theme,
        width_px=width_px,
        dimensions=False,
        moving=design,
        name=name,
    )


def words(design: MovingDesign, name: str) -> str:
    """The drawing in a sentence."""
    return f"{name}: half-section of {moving_words(design)}"
