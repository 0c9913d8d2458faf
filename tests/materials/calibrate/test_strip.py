"""Modulus from bent strips: worked by hand, and as many trials as show that the interval is honest."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from halfroll.core.errors import InputError
from halfroll.materials.calibrate.strip import GRAVITY, deflections, strip_modulus
from halfroll.materials.calibrate.types import Loads, Setup, Strip

MM, G = 1e-3, 1e-3

HANGING = Strip(
    setup="fixed-free", length_m=80 * MM, width_m=12 * MM, thickness_m=1.2 * MM, density_kg_m3=1220
)
SPANNING = Strip(setup="three-point", length_m=100 * MM, width_m=15 * MM, thickness_m=2 * MM)
WEIGHTS: dict[Setup, list[float]] = {
    "fixed-free": [4 * G, 8 * G, 12 * G] * 2,
    "three-point": [200 * G, 400 * G, 700 * G, 1000 * G] * 2,
}
MODULUS = {"fixed-free": 110e6, "three-point": 2.2e9}


def codes(strip: Strip, loads: Loads) -> list[str]:
    """Codes of all verdicts."""
    return [one.code for one in strip_modulus(strip, loads).verdicts]


def test_a_cantilever_by_hand() -> None:
    """F-01 of Roark's Table 8.1: 2.3 GPa, 8 x 1.2 mm, 20 mm long is 993.6 N/m; a small weight, without shear and own weight."""
    strip = Strip(
        setup="fixed-free",
        length_m=20 * MM,
        width_m=8 * MM,
        thickness_m=1.2 * MM,
        density_kg_m3=1e-6,
        poisson=-1.0,
    )
    mass = 1e-3
    bent = mass * GRAVITY / 993.6
    found = strip_modulus(strip, Loads(mass_kg=(mass,), deflection_m=(bent,), deflection_u_m=1e-7))
    assert found.modulus_pa == pytest.approx(2.3e9, rel=1e-5)


def test_a_three_point_strip_by_hand() -> None:
    """E = L³ F/(4 b h³ s) (ISO 178, ASTM D790): 64 mm span, 10 x 4 mm, 10 N give 0.512 mm at 2 GPa; shear 2.4 · 1.38/256 = 1.29 % more."""
    strip = Strip(setup="three-point", length_m=64 * MM, width_m=10 * MM, thickness_m=4 * MM, poisson=0.38)
    force = 10.0
    bent = force * 64**3 / (4 * 10 * 4**3 * 2000) * MM
    assert bent == pytest.approx(0.512 * MM)
    found = strip_modulus(strip, Loads(mass_kg=(force / GRAVITY,), deflection_m=(bent,), deflection_u_m=1e-6))
    assert found.modulus_pa == pytest.approx(2e9 * (1 + 2.4 * 1.38 / 256), rel=1e-3)


def test_thickness_counts_three_times_and_width_once() -> None:
    """The budget at small deflection: 3 u(t)/t, u(b)/b, 3 u(L)/L."""
    loads = Loads(mass_kg=(0.1 * G,), deflection_m=tuple(deflections(HANGING, [0.1 * G], 110e6)))
    budget = strip_modulus(replace(HANGING, density_kg_m3=1.0), loads).budget
    assert budget["thickness"] == pytest.approx(3 * 0.03 / 1.2, rel=0.04)
    assert budget["width"] == pytest.approx(0.1 / 12, rel=0.02)
    assert budget["length"] == pytest.approx(3 * 0.5 / 80, rel=0.04)


@pytest.mark.parametrize("setup", ["fixed-free", "three-point"])
@pytest.mark.parametrize("sizes", [1.0, 0.05])
def test_200_strips_with_3_percent_noise_hold_the_modulus_in_their_interval(
    setup: Setup, sizes: float
) -> None:
    """92 to 98 % (and one trial) of 200; once with usual callipers, once with sizes so sure that the readings decide."""
    nominal = HANGING if setup == "fixed-free" else SPANNING
    nominal = replace(
        nominal, length_u_m=sizes * 0.5 * MM, width_u_m=sizes * 0.1 * MM, thickness_u_m=sizes * 0.03 * MM
    )
    modulus, weights = MODULUS[setup], WEIGHTS[setup]
    zero, mass_u = sizes * 0.2 * MM, sizes * 0.005
    rng, held = np.random.default_rng(2026), 0
    for _ in range(200):
        off = rng.normal(size=4)
        true = replace(
            nominal, length_m=nominal.length_m + nominal.length_u_m * off[0], width_m=nominal.width_m + nominal.width_u_m * off[1],
            thickness_m=nominal.thickness_m + nominal.thickness_u_m * off[2],
        )  # fmt: skip
        exact = deflections(true, np.array(weights) * (1 + mass_u * off[3]), modulus)  # type: ignore[arg-type]
        read = exact * (1 + 0.03 * rng.normal(size=exact.size)) + zero * rng.normal()
        found = strip_modulus(
            nominal,
            Loads(mass_kg=tuple(weights), deflection_m=tuple(read), deflection_u_m=zero, mass_u=mass_u),
        )
        low, high = found.interval_pa
        held += low <= modulus <= high
    assert 0.92 <= held / 200 <= 0.98


def test_the_exact_shape_where_the_plain_formula_is_wrong() -> None:
    """At half its length in deflection the plain formula is 26 % off (Mattiasson, P L²/EI = 2: 0.7402 of the linear); this is not."""
    light = replace(HANGING, density_kg_m3=1e-3, poisson=-1.0)
    inertia = light.width_m * light.thickness_m**3 / 12
    mass = 2.0 * 110e6 * inertia / light.length_m**2 / GRAVITY
    found = strip_modulus(light, Loads(mass_kg=(mass,), deflection_m=(0.49346 * light.length_m,)))
    assert found.modulus_pa == pytest.approx(110e6, rel=3e-4)
    assert "strip-bends-far" in [one.code for one in found.verdicts]


@pytest.mark.parametrize(
    ("deflection", "message"),
    [(85.0, "farther than the strip is long"), (75.0, "too far for this strip"), (-3.0, "the way the weight pulls"), (0.0, "the way the weight pulls")],
)  # fmt: skip
def test_a_deflection_that_cannot_be_is_refused(deflection: float, message: str) -> None:
    """The reading is named, with what is possible."""
    with pytest.raises(InputError, match=f"Reading 2.*{message}") as caught:
        strip_modulus(HANGING, Loads(mass_kg=(5 * G, 10 * G), deflection_m=(20 * MM, deflection * MM)))
    assert caught.value.allowed


def test_a_modulus_that_no_plastic_has_is_refused() -> None:
    """A millionth of a gram bends it by a fifth: the weight was mistyped, and nothing of the kind is kept."""
    with pytest.raises(InputError, match=r"printing material; found .* MPa. Allowed: 0.1 to 500000 MPa"):
        strip_modulus(HANGING, Loads(mass_kg=(1e-9,), deflection_m=(20 * MM,)))


def test_a_strip_between_supports_that_would_slip_through_is_refused() -> None:
    """More than 15 % of the span."""
    with pytest.raises(InputError, match="slip through its supports"):
        strip_modulus(SPANNING, Loads(mass_kg=(0.5,), deflection_m=(16 * MM,)))


@pytest.mark.parametrize(
    ("change", "key"),
    [({"thickness_m": 0.0}, "thickness_mm"), ({"width_m": -1.0}, "width_mm"), ({"length_m": 1e-3}, "length_mm"),
     ({"thickness_m": 18e-3}, "length_mm"), ({"thickness_u_m": 1e-3}, "thickness_u_mm"), ({"overhang_m": 0.2}, "overhang_mm")],
)  # fmt: skip
def test_dimensions_that_make_no_strip_are_refused(change: dict[str, float], key: str) -> None:
    """The key is named."""
    with pytest.raises(InputError) as caught:
        strip_modulus(replace(HANGING, **change), Loads(mass_kg=(1 * G,), deflection_m=(1 * MM,)))  # type: ignore[arg-type]
    assert caught.value.place.key == key


def test_readings_out_of_order_are_said() -> None:
    """A heavier weight that bends it less."""
    loads = Loads(mass_kg=(4 * G, 8 * G, 12 * G), deflection_m=(22 * MM, 21 * MM, 40 * MM))
    assert "strip-not-monotonic" in codes(HANGING, loads)
    assert "strip-readings-scatter" in codes(HANGING, loads)


def test_a_zero_that_is_wrong_shows_as_a_modulus_that_goes_with_the_load() -> None:
    """Every deflection 3 mm short: small weights make it look stiffer."""
    weights = [1 * G, 2 * G, 4 * G] * 2
    bent = deflections(HANGING, weights, 110e6) - 1 * MM
    assert "strip-modulus-with-load" in codes(
        HANGING, Loads(mass_kg=tuple(weights), deflection_m=tuple(bent))
    )
    bent = deflections(HANGING, weights, 110e6)
    assert "strip-modulus-with-load" not in codes(
        HANGING, Loads(mass_kg=tuple(weights), deflection_m=tuple(bent))
    )


def test_what_else_is_said() -> None:
    """Few readings, a short strip, slow bending of a soft plastic."""
    short = replace(SPANNING, length_m=25 * MM)
    loads = Loads(mass_kg=(2.0,), deflection_m=tuple(deflections(short, [2.0], 2.2e9)))
    assert {"strip-few-readings", "strip-short"} <= set(codes(short, loads))
    assert "slow-bending" not in codes(short, loads)
    assert "slow-bending" in codes(HANGING, Loads(mass_kg=(5 * G,), deflection_m=(20 * MM,)))


def test_a_reading_near_what_can_be_read_is_said() -> None:
    """1 mm read to 0.25 mm is a quarter; 20 mm is not."""
    assert "strip-deflection-small" in codes(HANGING, Loads(mass_kg=(0.2 * G,), deflection_m=(1 * MM,)))
    assert "strip-deflection-small" not in codes(HANGING, Loads(mass_kg=(5 * G,), deflection_m=(20 * MM,)))


def test_a_strip_bent_as_a_plate_is_said() -> None:
    """b² k/t with a clamp's curvature k = 3 w/L²: 40 mm wide and 1.2 mm thick, bent by 20 mm over 80 mm it is 12.5; 12 mm wide 1.1."""
    loads = Loads(mass_kg=(5 * G,), deflection_m=(20 * MM,))
    assert "strip-wide" in codes(replace(HANGING, width_m=40 * MM), loads)
    assert "strip-wide" not in codes(HANGING, loads)


def test_a_surface_strained_far_is_said() -> None:
    """6 w t/L² (ISO 178): 10 mm over a span of 100 mm at a thickness of 4 mm is 2.4 %, at 2 mm 1.2 %."""
    for thickness, is_high in ((4 * MM, True), (2 * MM, False)):
        strip = replace(SPANNING, thickness_m=thickness)
        force = 4 * strip.width_m * thickness**3 * 2.2e9 * 10 * MM / strip.length_m**3
        found = codes(strip, Loads(mass_kg=(force / GRAVITY,), deflection_m=(10 * MM,)))
        assert ("strip-strain-high" in found) is is_high
