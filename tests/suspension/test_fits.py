"""Joints of glued parts by their diameters, and a moving mass without its coil."""

from __future__ import annotations

import pytest

from halfroll.suspension.design import FormerDesign, MovingDesign
from halfroll.suspension.fits import fit_verdicts
from tests.suspension.designs import cone, flexure, plastic, strip


def former(outer: float) -> FormerDesign:
    """A former by its outer radius, mm."""
    return FormerDesign(
        inner_radius_m=1e-3 * outer - 2e-4, wall_m=2e-4, low_m=-5e-3, high_m=10e-3, material=plastic(), winding_kg=2e-3,
        winding_low_m=-4e-3, winding_high_m=4e-3, former_kg=1e-3,
    )  # fmt: skip


def codes(**parts: object) -> list[tuple[str, str]]:
    """Code and part of what is said."""
    return [(said.code, said.data.get("part", "")) for said in fit_verdicts(MovingDesign(**parts))]  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("inner", "lip", "fits"),
    [(30, 0, True), (30.9, 0, True), (31.1, 0, False), (33, 3, True), (34.1, 3, False), (28.9, 3, False)],
)
def test_a_lip_must_reach_the_cone(inner: float, lip: float, fits: bool) -> None:
    """The cone ends at 30 mm; the surround's glue runs from its inner edge inwards by the lip, and a millimetre is glue."""
    found = codes(surround=strip(inner=inner, lip_inner=lip), cone=cone(), former=former(12))
    assert found == ([] if fits else [("glued-parts-miss", "surround")])


def test_what_sits_on_the_former() -> None:
    """Spider and neck must meet the former; a closed dome has no neck."""
    assert codes(spider=flexure(inner=14), former=former(14)) == []
    assert codes(spider=flexure(inner=16), former=former(14)) == [("glued-parts-miss", "spider")]
    assert codes(cone=cone(inner=12), former=former(14)) == [("glued-parts-miss", "cone")]
    assert codes(cone=cone("dome", inner=0, depth=-8), former=former(14)) == []


def test_a_mass_needs_its_coil() -> None:
    """A cone without a coil is said; a surround alone has no moving mass that could mislead."""
    assert codes(surround=strip(), cone=cone()) == [("mass-without-coil", "")]
    assert codes(surround=strip()) == []
