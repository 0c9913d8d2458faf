"""Moving mass against the mensuration of cones, spheres and tubes, and Sd against the swept half roll."""

import math
from dataclasses import replace

import pytest

from halfroll.acoustics.air import STANDARD_AIR
from halfroll.core.errors import InputError
from halfroll.suspension.build import part_of
from halfroll.suspension.design import ConeDesign, FlexureDesign, MovingDesign, PrintSettings, StripDesign
from halfroll.suspension.diaphragm import moving_mass
from halfroll.suspension.diaphragm.mass import SCALE_U_KG
from halfroll.suspension.elastic import revolved
from halfroll.suspension.profile.placed import cap_line
from halfroll.suspension.study.strip import study_strip
from tests.suspension.designs import cap
from tests.suspension.diaphragm.drivers import CONE, FORMER, PLA, SPIDER, SURROUND, TPU, dunlin


def part(mass, name):
    """One part by name."""
    return next(p for p in mass.parts if p.name == name)


def test_cone_is_a_hollow_frustum():
    """Guldin for the volume; centre and polar moment of a thin frustum by integrals of r dr and r³ dr (any handbook)."""
    cone = part(moving_mass(MovingDesign(cone=ConeDesign(**CONE))), "cone")
    a, b, depth, wall = 10e-3, 30e-3, 12e-3, 0.6e-3
    slant = math.hypot(b - a, depth)
    assert cone.mass_kg == pytest.approx(1240 * 2 * math.pi * (a + b) / 2 * slant * wall, rel=1e-12)
    share = (b**3 - a**3) / 3 - a * (b**2 - a**2) / 2
    thin = depth * share / (b - a) / ((b**2 - a**2) / 2)
    # The wall's own thickness lets the centre lie t² sin² cos/(12 r) lower than a sheet's: below 1e-5 m here.
    assert cone.centre_m - 10e-3 == pytest.approx(thin, abs=1e-5)
    assert cone.polar_kg_m2 == pytest.approx(cone.mass_kg * (a**2 + b**2) / 2, rel=1e-4)
    assert cone.basis == "geometry"


def test_cap_is_a_shell_between_two_spheres():
    """Volume of a spherical sector's shell, 2 pi (1 - cos)(R³ - r³)/3, and its centre of gravity."""
    found = revolved.of_wall(cap_line(cap(radius=12, height=4, thickness=0.6)))
    radius = (12e-3**2 + 4e-3**2) / 8e-3
    angle = math.asin(12e-3 / radius)
    outer, inner = radius + 0.3e-3, radius - 0.3e-3
    assert found.amount == pytest.approx(
        2 * math.pi / 3 * (1 - math.cos(angle)) * (outer**3 - inner**3), rel=1e-10
    )
    centre = 3 / 8 * (outer**4 - inner**4) / (outer**3 - inner**3) * (1 + math.cos(angle))
    assert found.centre_m - (4e-3 - radius) == pytest.approx(centre, rel=1e-10)


def test_tube_and_ring_moments():
    """The handbook's m (R² + r²)/2 and m (3 (R² + r²) + h²)/12 (handbook), by the closed form and by Gauss points."""
    closed = revolved.of_tube(9.85e-3, 10.15e-3, -4e-3, 10e-3)
    mass, sum2 = closed.amount, 10.15e-3**2 + 9.85e-3**2
    assert closed.diametral == pytest.approx(mass * (3 * sum2 + 14e-3**2) / 12)
    former = part(moving_mass(dunlin()), "former")
    assert former.polar_kg_m2 == pytest.approx(0.3e-3 * sum2 / 2, rel=1e-10)
    assert former.diametral_kg_m2 == pytest.approx(0.3e-3 * closed.diametral / closed.amount, rel=1e-10)
    assert former.centre_m == pytest.approx(3e-3)


def test_sum_centre_and_steiner():
    """The sum over the parts, and their names in order."""
    mass = moving_mass(dunlin())
    assert mass.mass_kg == pytest.approx(sum(p.mass_kg for p in mass.parts))
    assert mass.centre_m == pytest.approx(sum(p.mass_kg * p.centre_m for p in mass.parts) / mass.mass_kg)
    steiner = sum(p.diametral_kg_m2 + p.mass_kg * (p.centre_m - mass.centre_m) ** 2 for p in mass.parts)
    assert mass.diametral_kg_m2 == pytest.approx(steiner)
    assert [p.name for p in mass.parts] == [
        "cone",
        "dust cap",
        "former",
        "winding",
        "surround",
        "spider",
        "glue",
        "leads",
    ]


def test_piston_area_and_air():
    """A half roll adds about what half its width adds: pi (35² - 30²) mm²; air (16/3) rho a³."""
    mass = moving_mass(dunlin())
    assert mass.surround_area_m2 == pytest.approx(math.pi * (0.035**2 - 0.03**2), rel=0.02)
    assert mass.area_m2 == pytest.approx(math.pi * 0.03**2 + mass.surround_area_m2)
    assert mass.air_kg == pytest.approx(16 / 3 * STANDARD_AIR.density * (mass.area_m2 / math.pi) ** 1.5)
    assert mass.mms_kg == mass.mass_kg + mass.air_kg
    assert 0 < mass.area_u_m2 < 0.02 * mass.area_m2


def test_flat_ring_shares_after_the_plate():
    """A flat surround's moving share and added area, from the guided annular plate's own deflection.

    w = c1 + c2 r² + c3 ln r + c4 r² ln r with w(b) = 1, w'(b) = 0, w(a) = w'(a) = 0 (Timoshenko and Woinowsky-Krieger, art. 17).
    """
    import numpy as np

    a, b = 40e-3, 34e-3
    ring = StripDesign(**{**SURROUND, "family": "flat", "inner_radius_m": b, "outer_radius_m": a, "thickness_m": 0.3e-3, "lip_inner_m": 0.0, "lip_outer_m": 0.0})  # fmt: skip
    mass = moving_mass(MovingDesign(surround=ring))
    rows = [[1, r**2, np.log(r), r**2 * np.log(r)] for r in (b, a)]
    slopes = [[0, 2 * r, 1 / r, r * (2 * np.log(r) + 1)] for r in (b, a)]
    c = np.linalg.solve([*rows, *slopes], [1, 0, 0, 0])
    r = np.linspace(b, a, 4001)
    w = c @ np.stack([np.ones_like(r), r**2, np.log(r), r**2 * np.log(r)])
    assert mass.surround_area_m2 == pytest.approx(np.trapezoid(2 * np.pi * r * w, r), rel=2e-3)
    share = TPU.density_kg_m3 * 0.3e-3 * np.trapezoid(2 * np.pi * r * w**2, r)
    assert part(mass, "surround").mass_kg == pytest.approx(share, rel=5e-3)


def test_scale_wins_and_keeps_the_shape():
    """Over the slicer, and the slicer over geometry."""
    settings = PrintSettings(slicer_kg=2.4e-3, weighed_kg=2.5e-3)
    weighed = part(moving_mass(dunlin(cone=ConeDesign(**{**CONE, "print": settings}))), "cone")
    drawn = part(moving_mass(dunlin()), "cone")
    assert (weighed.mass_kg, weighed.mass_u_kg, weighed.basis) == (
        pytest.approx(2.5e-3),
        pytest.approx(SCALE_U_KG),
        "scale",
    )
    assert weighed.centre_m == pytest.approx(drawn.centre_m)
    assert weighed.polar_kg_m2 / weighed.mass_kg == pytest.approx(drawn.polar_kg_m2 / drawn.mass_kg)
    sliced = part(
        moving_mass(dunlin(cone=ConeDesign(**{**CONE, "print": replace(settings, weighed_kg=None)}))), "cone"
    )
    assert (sliced.mass_kg, sliced.basis) == (pytest.approx(2.4e-3), "slicer")


def test_a_surround_on_the_scale_counts_with_its_moving_share():
    """Twice as heavy as a whole, twice as heavy in motion."""
    drawn = part(moving_mass(dunlin()), "surround")
    whole = math.pi * TPU.density_kg_m3 * 0.6e-3 * (30e-3**2 - 28e-3**2 + 44e-3**2 - 40e-3**2)
    roll = TPU.density_kg_m3 * 0.6e-3 * 2 * math.pi * 35e-3 * math.pi * 5e-3
    twice = replace(dunlin().surround, print=PrintSettings(weighed_kg=2 * (whole + roll)))
    assert part(moving_mass(dunlin(surround=twice)), "surround").mass_kg == pytest.approx(
        2 * drawn.mass_kg, rel=1e-3
    )


def test_the_studys_share_takes_the_place_of_the_estimate():
    """A result that says twice the moving share and another area is believed; what the study finds is what is estimated."""
    surround = StripDesign(**SURROUND)
    studied = study_strip(part_of(surround), 1e-3, u_relative=0.1)
    drawn, known = moving_mass(dunlin()), moving_mass(dunlin(), surround=studied)
    assert part(known, "surround").mass_kg == pytest.approx(part(drawn, "surround").mass_kg, rel=1e-3)
    assert known.surround_area_m2 == pytest.approx(drawn.surround_area_m2, rel=1e-3)
    other = replace(studied, moving_kg=2 * studied.moving_kg, area_m2=1e-3)
    heavier = moving_mass(dunlin(), surround=other)
    assert heavier.mass_kg - known.mass_kg == pytest.approx(studied.moving_kg, rel=1e-6)
    assert heavier.surround_area_m2 == 1e-3


def test_a_flexure_moves_with_its_hub():
    """Three straight guided legs: 13/35 of their mass (Rayleigh's cubic), and the hub's ring."""
    legs = FlexureDesign(name="spider", family="straight-legs", inner_radius_m=10e-3, outer_radius_m=26e-3, thickness_m=0.8e-3,
                         width_m=4e-3, arms=3, lip_inner_m=1e-3, material=PLA)  # fmt: skip
    found = part(moving_mass(dunlin(spider=legs)), "spider")
    volume = 13 / 35 * 3 * 4e-3 * 0.8e-3 * 16e-3 + math.pi * (10e-3**2 - 9e-3**2) * 0.8e-3
    assert found.mass_kg == pytest.approx(1240 * volume, rel=1e-6)


def test_uncertainty_of_a_printed_part():
    """Some per cent, combined in quadrature."""
    cone = part(moving_mass(dunlin()), "cone")
    assert 0.01 < cone.mass_u_kg / cone.mass_kg < 0.1
    mass = moving_mass(dunlin())
    assert mass.mass_u_kg == pytest.approx(math.sqrt(sum(p.mass_u_kg**2 for p in mass.parts)))


def test_what_cannot_be_is_refused():
    """Nothing, negative glue, a cone inside out, a part that weighs nothing."""
    with pytest.raises(InputError, match="Nothing moves"):
        moving_mass(MovingDesign())
    with pytest.raises(InputError, match="negative"):
        moving_mass(dunlin(glue_kg=-1e-3))
    with pytest.raises(InputError):
        moving_mass(dunlin(cone=ConeDesign(**{**CONE, "outer_radius_m": 9e-3})))
    with pytest.raises(InputError, match="more than nothing"):
        moving_mass(dunlin(cone=ConeDesign(**{**CONE, "print": PrintSettings(weighed_kg=0.0)})))


def test_only_what_is_designed_counts():
    """No cone, no surround: no added area."""
    alone = moving_mass(MovingDesign(former=FORMER, spider=StripDesign(**SPIDER)))
    assert [p.name for p in alone.parts] == ["former", "winding", "spider"]
    assert alone.surround_area_m2 == 0.0
