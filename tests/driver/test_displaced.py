"""What a driver takes of its cabinet: rings of revolution and a straight cone, by hand."""

import math

import pytest

from halfroll.driver.displaced import driver_body, ring_volume
from halfroll.materials.catalogue import catalogue
from halfroll.suspension.design import ConeDesign, MovingDesign, StripDesign


def test_rings() -> None:
    """A ring of rectangular and a cone of triangular half-section (closed forms)."""
    square = ((0.01, 0.0), (0.03, 0.0), (0.03, 0.02), (0.01, 0.02))
    assert ring_volume(square) == pytest.approx(math.pi * (0.03**2 - 0.01**2) * 0.02)
    assert ring_volume(tuple(reversed(square))) == pytest.approx(ring_volume(square))
    assert ring_volume(((0.0, 0.0), (0.03, 0.0), (0.0, 0.04))) == pytest.approx(math.pi * 0.03**2 * 0.04 / 3)


def test_cone_and_flat_surround() -> None:
    """Without a motor: the truncated cone in front of the diaphragm behind the front's inner face, less the thin walls; the frame's width is the surround's."""
    filament = catalogue().filaments["pla"]
    cone = ConeDesign(
        shape="straight",
        inner_radius_m=0.0,
        outer_radius_m=0.04,
        depth_m=0.02,
        thickness_m=1e-4,
        material=filament,
        height_over_gap_m=0.0,
    )
    surround = StripDesign(name="surround", family="flat", inner_radius_m=0.04, outer_radius_m=0.05, thickness_m=1e-4, lip_outer_m=0.005, material=filament,
                           height_over_gap_m=0.02)  # fmt: skip
    body = driver_body(None, MovingDesign(surround=surround, cone=cone), 0.0)
    assert body is not None
    assert body.size.outer_m == pytest.approx(0.11, abs=2e-4)
    assert body.hole_m == 0.05
    assert body.taken_m3 == pytest.approx(math.pi * 0.04**2 * 0.02 / 3, rel=0.03)
    thick = driver_body(None, MovingDesign(surround=surround, cone=cone), 0.004)
    assert thick is not None
    assert body.taken_m3 - thick.taken_m3 == pytest.approx(math.pi * 0.05**2 * 0.004, rel=0.02)


def test_no_surround() -> None:
    """Nothing says where the front is: nothing is taken."""
    assert driver_body(None, MovingDesign(), 0.003) is None
