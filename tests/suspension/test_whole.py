"""What is said of surround and spider together, of their temperature, and that every caller gets arrays nobody has spoilt."""

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from halfroll.core.progress import silent
from halfroll.core.verdicts import Severity, Verdict
from halfroll.materials.catalogue import catalogue
from halfroll.suspension.build import part_of
from halfroll.suspension.density import strip_density
from halfroll.suspension.design import ConeDesign, MovingDesign, PrintSettings, StripDesign
from halfroll.suspension.diaphragm import break_up, moving_mass
from halfroll.suspension.elastic import basis
from halfroll.suspension.elastic.laws import Elastic
from halfroll.suspension.elastic.revolved import of_wall
from halfroll.suspension.stated import not_rigid, thin_fillings
from halfroll.suspension.study import sideways as sideways_module
from halfroll.suspension.study.curves import limit_range
from halfroll.suspension.study.strip import study_strip
from halfroll.suspension.study.system import rocking, study_parts, together
from halfroll.suspension.study.travel import bend
from halfroll.suspension.warmth import warmth_verdicts
from tests.suspension.diaphragm.drivers import SURROUND, dunlin
from tests.suspension.strips import part, slope
from tests.suspension.test_system import PLA, TPU, moving, spring, strip

SOFT = Elastic(modulus_pa=26e6, poisson=0.45, density_kg_m3=1200.0)


def said(verdicts):
    """Verdicts by their codes."""
    return {verdict.code: verdict for verdict in verdicts}


def hardening(k, share, name, **more):
    """A spring whose Kms grows by a share of k at 5 mm, with what a study says of it."""
    one = spring(k, cubic=share * k / 25e-6, name=name, **more)
    limit = limit_range(one.curve)
    told = Verdict(
        code="stiffness-limit", severity=Severity.CAUTION, text="Alone.", data={"low_m": limit.low_m}
    )
    return replace(one, limit=limit, verdicts=(told,))


def test_a_part_that_carries_little_is_a_note_with_its_share():
    """A spider of 4 % that grows threefold: the system grows by 8 % and holds to the end, so only a note names it."""
    parts = (spring(2400.0, name="surround"), hardening(100.0, 2.0, "spider"))
    found = together(MovingDesign(surround=strip(0.02), spider=strip(0.0)), parts)
    assert found.limit.full_low
    assert found.limit.full_high
    assert "stiffness-limit" not in said(found.verdicts)
    note = said(found.parts[1].verdicts)["stiffness-limit"]
    assert note.severity == Severity.NOTE
    assert note.data["share"] == pytest.approx(0.04)
    # Kms = k (1 + 2 (x/5 mm)²) reaches k / 0.75 at 5 mm sqrt(1/6) = 2.04 mm.
    assert "spider by itself, 4 % of the stiffness at rest" in note.text
    assert "±2.0 mm" in note.text
    assert "all over the travel" in note.text
    assert note.remedy == ""


def test_the_systems_range_is_the_caution_and_names_what_stiffens():
    """With a spider of half the stiffness the system ends where (1 + share (x/5 mm)²) is 4/3."""
    parts = (spring(1000.0, name="surround"), hardening(1000.0, 2.0, "spider"))
    found = together(MovingDesign(surround=strip(0.02), spider=strip(0.0)), parts)
    whole = said(found.verdicts)["stiffness-limit"]
    assert whole.severity == Severity.CAUTION
    assert whole.data["high_m"] == pytest.approx(5e-3 / math.sqrt(3), rel=1e-3)
    assert whole.data["stiffens_most"] == "spider"
    assert "more roll" in whole.remedy
    assert "surround and spider together" in whole.text


def test_one_part_alone_is_the_system():
    """Nothing is said twice."""
    found = together(MovingDesign(surround=strip(0.02)), (hardening(1000.0, 2.0, "surround"),))
    assert [verdict.code for verdict in found.parts[0].verdicts] == []
    assert "Compliance of the surround falls" in said(found.verdicts)["stiffness-limit"].text


def test_a_suspension_that_gives_way_is_told_of_the_sum():
    """K = 1000 - 1.2e5 x falls to 400 at +5 mm; on a linear spider of 3000 N/m that is 3400 of 4000."""
    soft = spring(1000.0, square=-1.2e5, name="surround")
    alone = together(MovingDesign(surround=strip(0.02)), (soft,))
    assert said(alone.verdicts)["stiffness-falls"].data["ratio"] == pytest.approx(0.4)
    fallen = Verdict(
        code="stiffness-falls", severity=Severity.CAUTION, text="Alone.", data={"ratio": 0.4, "x_m": 5e-3}
    )
    parts = (replace(soft, verdicts=(fallen,)), spring(3000.0))
    both = together(MovingDesign(surround=strip(0.02), spider=strip(0.0)), parts)
    assert "keep 85 % of theirs" in said(both.parts[0].verdicts)["stiffness-falls"].text
    assert "stiffness-falls" not in said(both.verdicts)  # 3400 of 4000


def test_a_slow_modulus_is_told_beside_the_resonance():
    """With half as much again in a part of a quarter of K the resonance is sqrt(1.125) higher; calibrated from a resonance nothing is said."""
    parts = (spring(1000.0, radial_n_per_m=1e5), spring(3000.0, radial_n_per_m=1e5))
    design = MovingDesign(surround=strip(0.02, TPU), spider=strip(0.0, PLA))
    found = together(design, parts, moving())
    verdict = said(found.verdicts)["resonance-from-slow-modulus"]
    assert verdict.data["share"] == pytest.approx(0.25)
    assert verdict.data["resonance_if_stiffer_hz"] == pytest.approx(math.sqrt(1.125) * found.resonance_hz)
    known = replace(design, surround=strip(0.02, replace(TPU, calibrated="strip and resonance")))
    assert "resonance-from-slow-modulus" not in said(together(known, parts, moving()).verdicts)
    assert "resonance-from-slow-modulus" not in said(together(design, parts).verdicts)


def test_the_lower_sideways_resonance_is_the_one_told():
    """One radial spring k far from the centre of gravity, with a tilting spring: the roots of the 2 x 2 problem by hand."""
    k, tilt, d, m, inertia = 5e3, 0.02, 12e-3, 2e-3, 5e-7
    part_ = spring(50.0, radial_n_per_m=k, tilt_nm_per_rad=tilt)
    found = rocking(
        together(MovingDesign(surround=strip(d)), (part_,)), [strip(d)], moving(mass=m, inertia=inertia)
    )
    # (k - m w²)(tilt + k d² - J w²) = (k d)²
    a, b, c = m * inertia, -(m * (tilt + k * d**2) + inertia * k), k * tilt
    roots = np.sqrt(np.sort(np.roots([a, b, c]))) / (2 * math.pi)
    assert (found.rocking_hz, found.shift_hz) == pytest.approx(tuple(roots), rel=1e-9)
    assert found.rocking_hz < found.shift_hz


def test_rocking_near_the_resonance_is_told():
    """Resonance sqrt(2000/11 g) = 68 Hz; two springs d apart from the middle rock at sqrt(2 k d²/J): 151 Hz at 3 mm, 50 Hz at 1 mm."""
    for d, told in ((3e-3, False), (1e-3, True)):
        parts = (spring(1000.0, radial_n_per_m=2e5), spring(1000.0, radial_n_per_m=2e5))
        found = together(MovingDesign(surround=strip(d), spider=strip(-d)), parts, moving())
        assert found.rocking.rocking_hz == pytest.approx(math.sqrt(4e5 * d**2 / 4e-6) / (2 * math.pi))
        assert ("rocking-near-resonance" in said(found.verdicts)) == told


@pytest.mark.parametrize(
    ("plastic", "celsius", "code"),
    [
        ("pla", 50.0, "plastic-too-warm"),
        ("pla", 30.0, None),
        ("petg", 62.0, "plastic-too-warm"),
        ("tpu-95a", -10.0, "plastic-too-cold"),
        ("tpu-95a", 5.0, "modulus-at-room-temperature"),
        ("tpu-95a", 75.0, "plastic-too-warm"),
        ("asa", 40.0, "modulus-at-room-temperature"),
    ],
)
def test_temperature(plastic, celsius, code):
    """PLA softens at 60 °C, PETG at 78, TPU turns leathery below 0; ten degrees from 23 °C are only told."""
    design = MovingDesign(surround=strip(0.0, catalogue().filaments[plastic]), temperature_c=celsius)
    assert [verdict.code for verdict in warmth_verdicts(design)] == ([] if code is None else [code])


def test_shared_arrays_cannot_be_written_to():
    """What is kept from call to call is the same for all; a caller that writes into it is stopped."""
    for array in (basis.nodes(4), *basis.gauss(5)):
        with pytest.raises(ValueError, match="read-only"):
            array[0] = 1.0


def test_a_snapping_cone_is_the_same_to_the_last_bit_every_time():
    """Forces and slopes through the fold, twice, with other arrays in memory between: nothing is read that was not written."""
    cone = part(slope(20e-3, 30e-3, 3e-3, 0.8e-3), SOFT)

    def table():
        return np.array([[s.x_m, s.force_n, s.stiffness_n_per_m] for s in bend(cone, 7e-3).states])

    first = table()
    rubbish = [np.full(1000 + 17 * k, np.nan) for k in range(50)]
    del rubbish[::2]
    assert table().tobytes() == first.tobytes()
    between = first[(first[:, 0] < -1.5e-3) & (first[:, 0] > -3.5e-3)]
    assert (between[:, 2] < 0).all()


def test_a_filling_in_a_thin_wall_is_told():
    """A cone of 0.6 mm is 1.4 lines: solid, whatever is written; a wall of 3 mm can be filled."""
    thin = ConeDesign(
        shape="straight", inner_radius_m=0.01, outer_radius_m=0.03, depth_m=0.01, thickness_m=0.6e-3, material=PLA,
        print=PrintSettings(infill=0.3),
    )  # fmt: skip
    (verdict,) = thin_fillings(MovingDesign(cone=thin))
    assert verdict.code == "filling-in-thin-wall"
    assert "1.4 lines" in verdict.text
    assert not list(thin_fillings(MovingDesign(cone=replace(thin, thickness_m=3e-3))))
    assert not list(thin_fillings(MovingDesign(cone=replace(thin, print=PrintSettings()))))


def test_a_resonance_of_bending_parts_is_told():
    """A flat ring of PLA 1 mm thick is stiffer than the cone it carries: the whole does not move as one. A soft roll: it does."""
    for holder, told in (({"family": "flat", "material": PLA, "thickness_m": 1e-3}, True), ({}, False)):
        design = dunlin(surround=StripDesign(**{**SURROUND, **holder}), spider=None, travel_m=0.2e-3)
        parts = study_parts(design)
        found = together(design, parts, moving_mass(design, surround=parts[0]))
        bent = break_up(design, surround=parts[0])
        assert [verdict.code for verdict in not_rigid(found, bent)] == (
            ["resonance-not-of-one-piece"] if told else []
        )


def test_a_weighed_strip_resonates_as_heavy_as_it_is():
    """Twice the mass: its own resonances lower by the square root of two, its stiffness as it was."""
    light = StripDesign(**SURROUND)
    grams = strip_density(light, of_wall(part_of(light).profile).amount)
    volume = part_mass(light) / grams
    heavy = replace(light, print=PrintSettings(weighed_kg=2 * grams * volume))
    one, other = (study_strip(part_of(design), 0.2e-3, shapes=False) for design in (light, heavy))
    assert other.own_hz[0][0] == pytest.approx(one.own_hz[0][0] / math.sqrt(2), rel=1e-6)
    assert other.mass_kg == pytest.approx(2 * one.mass_kg, rel=1e-9)
    assert other.curve.at_rest() == pytest.approx(one.curve.at_rest(), rel=1e-12)


def part_mass(design):
    """Mass of a strip with its lips (kg)."""
    between = of_wall(part_of(design).profile).amount
    h, inner, outer = design.thickness_m, design.inner_radius_m, design.outer_radius_m
    lips = (
        math.pi
        * h
        * (inner**2 - (inner - design.lip_inner_m) ** 2 + (outer + design.lip_outer_m) ** 2 - outer**2)
    )
    return (between + lips) * part_of(design).material.density_kg_m3


def test_wrinkles_halfway_are_found():
    """States 0.5 to 6 mm of which only those from 2 to 3 mm wrinkle: the first of them is told, and it was looked for from rest outwards."""
    ring_states = [SimpleNamespace(x_m=0.5e-3 * k, u=k) for k in range(1, 13)]
    seen = []

    def stand_in(ring, u):
        seen.append(u)
        return u

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sideways_module, "waves_about", stand_in)
        patch.setattr(sideways_module, "first_unstable", lambda u, numbers: 7 if 3 <= u <= 6 else None)
        found, looked = sideways_module._first_wrinkle(None, ring_states, silent)
    assert found == (1.5e-3, 7)
    assert seen == [2, 4, 3]
    assert looked == [1.0e-3, 2.0e-3, 1.5e-3]
