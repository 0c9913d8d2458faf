"""Parts to print for the tests, with the volumes of their curved bodies by closed forms."""

import math

from halfroll.materials.catalogue import catalogue
from halfroll.suspension.design import (
    CapDesign,
    ConeDesign,
    FlexureDesign,
    FormerDesign,
    MovingDesign,
    PrintSettings,
    StripDesign,
)
from halfroll.suspension.models.jig import GapJig

TPU, PLA = (catalogue().filaments[key] for key in ("tpu-95a", "pla"))
THICK = 0.84e-3


def half_roll(*, lips=True, direction="up", thickness=THICK, **more):
    """A surround of TPU, 80 to 100 mm."""
    lip = {"lip_inner_m": 4e-3, "lip_outer_m": 5e-3} if lips else {}
    return StripDesign(
        name="surround",
        family="half-roll",
        inner_radius_m=40e-3,
        outer_radius_m=50e-3,
        thickness_m=thickness,
        direction=direction,
        material=TPU,
        **{**lip, **more},
    )


def half_roll_volume(thickness=THICK, lips=True):
    """Pappus: half a ring's area times the way of its centroid, which is at the middle radius; lips are flat rings under its feet."""
    roll = 2 * math.pi * 45e-3 * 0.5 * math.pi * ((5e-3 + thickness / 2) ** 2 - (5e-3 - thickness / 2) ** 2)
    if not lips:
        return roll
    inner = math.pi * ((40e-3 + thickness / 2) ** 2 - 36e-3**2) * thickness
    outer = math.pi * (55e-3**2 - (50e-3 - thickness / 2) ** 2) * thickness
    return roll + inner + outer


def cone():
    """A straight cone whose wall leans by 42° from the axis."""
    return ConeDesign(
        shape="straight",
        inner_radius_m=13e-3,
        outer_radius_m=40e-3,
        depth_m=30e-3,
        thickness_m=THICK,
        material=PLA,
    )


def cone_volume():
    """Pappus: a rectangle along the straight line, its centroid on the line's middle."""
    return 2 * math.pi * 26.5e-3 * math.hypot(27e-3, 30e-3) * THICK


def cap():
    """A part of a sphere."""
    return CapDesign(radius_m=14e-3, height_m=4e-3, thickness_m=THICK, material=PLA)


def cap_volume():
    """The part of a spherical shell inside a cone about the axis: 2/3 pi (Ro³ - Ri³) (1 - cos of half its opening)."""
    radius = (14e-3**2 + 4e-3**2) / (2 * 4e-3)
    opening = (radius - 4e-3) / radius
    return 2 / 3 * math.pi * ((radius + THICK / 2) ** 3 - (radius - THICK / 2) ** 3) * (1 - opening)


def former():
    """A tube of one line."""
    return FormerDesign(
        inner_radius_m=12.2e-3,
        wall_m=0.42e-3,
        low_m=-6e-3,
        high_m=18e-3,
        material=PLA,
        winding_kg=3e-3,
        winding_low_m=-6e-3,
        winding_high_m=6e-3,
        former_kg=1e-3,
    )


def former_volume():
    """A tube."""
    return math.pi * (12.62e-3**2 - 12.2e-3**2) * 24e-3


def corrugated(material=TPU):
    """A spider of four waves with an outer lip."""
    return StripDesign(
        name="spider",
        family="corrugated",
        inner_radius_m=13e-3,
        outer_radius_m=34e-3,
        thickness_m=0.45e-3,
        rolls=4,
        amplitude_m=1.2e-3,
        lip_outer_m=5e-3,
        material=material,
    )


def legs(**more):
    """A flexure of three straight legs."""
    return FlexureDesign(
        name="spider",
        family="straight-legs",
        inner_radius_m=13e-3,
        outer_radius_m=34e-3,
        thickness_m=1e-3,
        width_m=2.1e-3,
        arms=3,
        lip_inner_m=2e-3,
        lip_outer_m=5e-3,
        material=TPU,
        **more,
    )


def spirals():
    """A flexure of three spiral arms."""
    return FlexureDesign(
        name="spider",
        family="spiral-arms",
        inner_radius_m=13e-3,
        outer_radius_m=34e-3,
        thickness_m=1e-3,
        width_m=2.1e-3,
        arms=3,
        sweep_rad=3.0,
        lip_inner_m=2e-3,
        lip_outer_m=5e-3,
        material=TPU,
    )


def jig(**more):
    """A gap with room for one line inside and one layer outside."""
    return GapJig(
        **{
            "pole_radius_m": 11.5e-3,
            "former_inner_m": 12.2e-3,
            "coil_outer_m": 13.1e-3,
            "plate_radius_m": 13.5e-3,
            "gap_height_m": 5e-3,
            "reach_m": 4e-3,
            "material": PLA,
            **more,
        }
    )


def moving(**more):
    """A driver with everything."""
    return MovingDesign(
        **{
            "surround": half_roll(),
            "spider": corrugated(),
            "cone": cone(),
            "cap": cap(),
            "former": former(),
            **more,
        }
    )


LINES = PrintSettings(snap="lines")
