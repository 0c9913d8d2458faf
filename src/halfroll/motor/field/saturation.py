"""How full the steel is: means over whole cross-sections, and the largest flux density inside.

The mean over a section is flux over area and converges well. With the potential A the flux through the disc of radius r
at height z is 2 pi r A(r, z), so a mean needs the values at the section's two ends only.
"""

from __future__ import annotations

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.materials.steel import curve
from halfroll.motor.field.magnetostatics import StaticField
from halfroll.motor.field.sections import Section, across_axis, around_axis, extreme
from halfroll.motor.results import Saturation
from halfroll.motor.types import Body, SoftSteel


def saturation(field: StaticField) -> tuple[Saturation, ...]:
    """The fullest cross-section and the largest flux density inside of every steel body, in the assembly's order."""
    bodies = field.motor.assembly.bodies
    return tuple(_of_body(field, body, body.matter) for body in bodies if isinstance(body.matter, SoftSteel))


def largest_mean(
    field: StaticField, outline: tuple[tuple[float, float], ...], across: str
) -> tuple[float, float]:
    """Largest mean flux density (T, without sign) through sections at heights (`across` "z") or radii ("r"), and where (m)."""
    sections = across_axis(outline) if across == "z" else around_axis(outline)
    if not sections:
        return 0.0, 0.0
    means = np.abs(section_means(field, sections, across))
    best = int(means.argmax())
    return float(means[best]), sections[best].at


def section_means(field: StaticField, sections: list[Section], across: str) -> FloatArray:
    """Mean of the flux density's normal component (T) over sections at heights (`across` "z") or radii ("r"), (n,)."""
    at, low, high = np.transpose([(s.at, s.low, s.high) for s in sections])
    if across == "z":
        return np.asarray((field.flux(high, at) - field.flux(low, at)) / (np.pi * (high**2 - low**2)))
    return np.asarray((field.flux(at, low) - field.flux(at, high)) / (2.0 * np.pi * at * (high - low)))


def _of_body(field: StaticField, body: Body, matter: SoftSteel) -> Saturation:
    def size(r: FloatArray, z: FloatArray) -> FloatArray:
        return np.asarray(np.linalg.norm(field.flux_density(r, z), axis=-1))

    (mean, at), across = max((largest_mean(field, body.outline, way), way) for way in ("z", "r"))
    peak, r, z = extreme(size, body.outline)
    return Saturation(
        body=body.name,
        mean_t=mean,
        across=across,
        at_m=at,
        peak_t=peak,
        peak_at_m=(r, z),
        mu_r=curve(matter.steel).mu_r(mean),
    )
