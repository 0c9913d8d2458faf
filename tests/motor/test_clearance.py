"""Clearance of a coil in its gap: sums by hand, growth by heat, refusals that name both parts."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfroll.core.errors import InputError
from halfroll.materials.catalogue import catalogue
from halfroll.materials.wire import expansion_per_k
from halfroll.motor.coil.clearance import STEEL_PER_K, Clearance, clearance
from halfroll.motor.coil.wound import wind
from halfroll.motor.types import Gap
from tests.motor.designs import MM, coil

GAP = Gap(
    inner="pole plate", outer="cup wall", r_inner=10 * MM, r_outer=11.5 * MM, z_low=-2 * MM, z_high=2 * MM
)


def of(inner_mm: float = 20.5, gap: Gap = GAP, wall_mm: float = 0.2, **more: Any) -> Clearance:
    """Two layers of 0.3 mm on a former of that inner diameter."""
    return clearance(wind(coil(inner_mm, former_wall_m=wall_mm * MM)), gap, **more)


def test_as_drawn_by_hand() -> None:
    """Bore 10.25 mm on a pole of 10 mm; 10.25 + 0.2 + 2 x 0.3 = 11.05 mm in a bore of 11.5 mm."""
    found = of()
    assert found.inside.nominal_m == pytest.approx(0.25 * MM)
    assert found.outside.nominal_m == pytest.approx(0.45 * MM)
    assert (found.inside.part, found.inside.wall) == ("former", "pole plate")
    assert (found.outside.part, found.outside.wall) == ("winding", "cup wall")
    assert found.inside.warm_m == found.inside.nominal_m
    assert found.tightest is found.inside


def test_worst_case_and_root_sum_square_by_hand() -> None:
    """Inside: diameter ± 0.1 mm is ± 0.05 mm of radius, runout ± 0.1, walls ± 0.05: worst 0.25 - 0.2 = 0.05 mm, and with uniform
    tolerances 0.25 - 2 sqrt((0.05² + 0.1² + 0.05²)/3) = 0.1086 mm.
    """
    inside = of().inside
    assert inside.worst_m == pytest.approx(0.05 * MM)
    assert inside.likely_m == pytest.approx((0.25 - 2 * math.sqrt((0.05**2 + 0.1**2 + 0.05**2) / 3)) * MM)


def test_the_outside_has_the_build_against_it_too() -> None:
    """Beside 0.05, 0.1 and 0.05 mm: the former's wall ± 0.05 mm, and the build of 0.6 mm by 2 % standard, ± 0.0208 mm as a uniform band."""
    outside, build = of().outside, 0.6 * 0.02 * math.sqrt(3)
    assert outside.worst_m == pytest.approx((0.45 - 0.25 - build) * MM)
    squares = (0.05**2 + 0.1**2 + 0.05**2 + 0.05**2 + build**2) / 3
    assert outside.likely_m == pytest.approx((0.45 - 2 * math.sqrt(squares)) * MM)


def test_growth_by_heat_by_hand() -> None:
    """At 120 °C a winding of copper, 17e-6 /K, on a radius of 11.05 mm grows by 0.0188 mm; the former of PETG, 60e-6 /K, would push it by
    0.0627 mm where it is 10.45 mm wide. The bore of steel, 12e-6 /K, opens by 0.0083 mm at 80 °C.
    """
    found = of(coil_c=120.0, motor_c=80.0)
    pushed = 10.45 * 60e-6 * 100 + 0.6 * 17e-6 * 100
    assert found.outside.warm_m == pytest.approx((0.45 + 11.5 * 12e-6 * 60 - pushed) * MM)
    held = 10.25 * 17e-6 * 100 - 10.0 * STEEL_PER_K * 60
    assert found.inside.warm_m == pytest.approx((0.25 + held) * MM)


def test_the_cold_by_hand() -> None:
    """At -20 °C everything is 40 K colder: a former that shrinks as PETG does, 60e-6 /K, comes nearer to the pole, 12e-6 /K; outside a
    winding held as wide as its copper lets it, 17e-6 /K, keeps the most.
    """
    cold = of(coil_c=-20.0, motor_c=-20.0)
    assert cold.inside.warm_m == pytest.approx((0.25 - (10.25 * 60e-6 - 10.0 * 12e-6) * 40) * MM)
    assert cold.outside.warm_m == pytest.approx((0.45 - (11.5 * 12e-6 - 11.05 * 17e-6) * 40) * MM)


def test_a_clad_wire_grows_as_the_metal_it_is_mostly_made_of() -> None:
    """85 % aluminium at 23e-6 /K and 15 % copper at 17e-6 /K: 22.1e-6 /K (handbook values), more than copper alone."""
    clad = catalogue().wires["cca15-0.250-g1"]
    assert expansion_per_k(clad) == pytest.approx(22.1e-6)
    hot = clearance(wind(coil(20.5, wire=clad, former=catalogue().filaments["polyimide"])), GAP, coil_c=120.0)
    outer = wind(coil(20.5, wire=clad)).outer_m
    assert hot.outside.nominal_m - hot.outside.warm_m == pytest.approx(outer * 22.1e-6 * 100, rel=1e-6)


def test_a_tight_gap_is_said() -> None:
    """0.25 mm is enough, 0.15 mm may rub, and 0.075 mm is what is usually off."""
    assert of().verdicts == ()
    tight = of(20.3)
    assert [v.code for v in tight.verdicts] == ["coil-may-rub"]
    assert "former and pole plate" in tight.verdicts[0].text
    assert [v.code for v in of(20.15).verdicts] == ["coil-rubs"]


def test_no_clearance_names_both_parts() -> None:
    """Inside the former and the pole plate, outside the winding and the cup; the key says what to change."""
    with pytest.raises(InputError, match=r"former and the motor's pole plate") as fault:
        of(19.9)
    assert fault.value.place.key == "coil.former_inner_mm"
    with pytest.raises(InputError, match=r"winding and the motor's cup wall") as fault:
        of(20.5, wall_mm=0.7)
    assert fault.value.place.key == "coil.layers"


@given(inner=st.floats(20.4, 21.0), hotter=st.floats(1.0, 150.0))
def test_tolerances_only_take(inner: float, hotter: float) -> None:
    """Worst never exceeds likely, likely never the drawing; a wider former gives inside what it takes outside."""
    found, wider = of(inner, coil_c=20.0 + hotter), of(inner + 0.1)
    for side in (found.inside, found.outside):
        assert side.worst_m <= side.likely_m <= side.nominal_m
    assert found.outside.warm_m < found.outside.nominal_m
    assert wider.inside.nominal_m - of(inner).inside.nominal_m == pytest.approx(0.05 * MM)
    assert of(inner).outside.nominal_m - wider.outside.nominal_m == pytest.approx(0.05 * MM)


def test_a_wider_gap_is_the_other_way_round() -> None:
    """Half a millimetre more bore is half a millimetre more clearance."""
    assert of(gap=replace(GAP, r_outer=12 * MM)).outside.nominal_m == pytest.approx(0.95 * MM)
