"""A strip studied over its travel: curve, limit, mass, area, shapes, and what is said about it."""

from dataclasses import replace
from functools import cache
from itertools import pairwise

import numpy as np
import pytest

from halfroll.core.errors import CancelledError, InputError
from halfroll.core.progress import CancelToken, silent
from halfroll.core.verdicts import Severity
from halfroll.suspension.elastic.laws import Elastic
from halfroll.suspension.results import StiffnessCurve
from halfroll.suspension.study.contact import narrowest_gap
from halfroll.suspension.study.curves import asymmetry_of, limit_range
from halfroll.suspension.study.strip import study_strip
from tests.suspension.strips import CASES, bellows, part, reference, roll, slope, waves

SOFT = Elastic(modulus_pa=26e6, poisson=0.45, density_kg_m3=1200.0)
STIFF = Elastic(modulus_pa=2e9, poisson=0.35, law="st-venant")
HALF_ROLL = roll(30e-3, 40e-3, 5e-3, 0.8e-3)


@cache
def half_roll():
    """The reference surround of TPU, 6 mm both ways."""
    return study_strip(part(HALF_ROLL, SOFT), 6e-3, u_relative=0.2)


def said(result):
    """Verdicts by their codes; several of one code in a list."""
    found = {}
    for verdict in result.verdicts:
        found.setdefault(verdict.code, []).append(verdict)
    return found


def test_curve_is_even_about_rest():
    """Rest is the middle, ends are the travel, Kms is F / x and its limit at rest the slope there."""
    curve = half_roll().curve
    middle = len(curve.x_m) // 2
    assert len(curve.x_m) >= 41
    assert curve.x_m[[0, middle, -1]].tolist() == [-6e-3, 0.0, 6e-3]
    assert curve.kms_n_per_m[middle] == curve.tangent_n_per_m[middle] == curve.at_rest()
    assert curve.kms_n_per_m[-1] == pytest.approx(curve.force_n[-1] / 6e-3)
    assert curve.u_relative == 0.2
    assert half_roll().reached_m == (-6e-3, 6e-3)


def test_stiffness_goes_with_modulus_and_size():
    """Twice the modulus: twice the force. Twice the size at twice the travel: twice the stiffness, the same strain."""
    stiffer = study_strip(part(HALF_ROLL, replace(SOFT, modulus_pa=52e6)), 6e-3, shapes=False)
    larger = study_strip(part(roll(60e-3, 80e-3, 10e-3, 1.6e-3), SOFT), 12e-3, shapes=False)
    assert stiffer.curve.force_n == pytest.approx(2 * half_roll().curve.force_n, rel=1e-8, abs=1e-9)
    assert larger.curve.tangent_n_per_m == pytest.approx(2 * half_roll().curve.tangent_n_per_m, rel=1e-8)
    assert larger.strain == pytest.approx(half_roll().strain, rel=1e-6, abs=1e-12)
    assert larger.moving_kg == pytest.approx(8 * half_roll().moving_kg, rel=1e-8)


def test_a_roll_turned_over_is_its_mirror():
    """Down at -x is up at x."""
    down = study_strip(part(roll(30e-3, 40e-3, -5e-3, 0.8e-3), SOFT), 6e-3, shapes=False)
    assert down.curve.kms_n_per_m == pytest.approx(half_roll().curve.kms_n_per_m[::-1], rel=1e-8)
    assert down.asymmetry == pytest.approx(-half_roll().asymmetry, rel=1e-8)


def test_mass_by_pappus():
    """A half ring of radii 4.6 and 5.4 mm turned about the axis at 35 mm: exact."""
    exact = 1200.0 * 2 * np.pi * 35e-3 * 0.5 * np.pi * ((5.4e-3) ** 2 - (4.6e-3) ** 2)
    assert half_roll().mass_kg == pytest.approx(exact, rel=1e-10)
    assert 0.2 * exact < half_roll().moving_kg < 0.5 * exact


def test_area_by_the_rule_of_half_the_width():
    """Sd counted to the middle of the surround (common practice): the half roll sweeps that within 1 %."""
    rule = np.pi * ((35e-3) ** 2 - (30e-3) ** 2)
    assert half_roll().area_m2 == pytest.approx(rule, rel=0.01)


def test_moving_share_and_area_of_a_flat_ring():
    """Against the guided annular plate's own shape, w = c0 + c1 ln r + c2 r² + c3 r² ln r (Timoshenko and Woinowsky-Krieger): within 0.3 %."""
    b, a, h = 25e-3, 50e-3, 0.2e-3
    found = study_strip(part(slope(b, a, 0.0, h), replace(STIFF, poisson=0.3)), 0.1e-3, shapes=False)

    def terms(r, power=0):
        one, log = np.ones_like(r), np.log(r)
        return [np.stack([one, log, r**2, r**2 * log]), np.stack([0 * r, 1 / r, 2 * r, r * (2 * log + 1)])][
            power
        ]

    ends = np.array([b, a])
    rows_ = np.concatenate([terms(ends).T, terms(ends, 1).T])
    shape = np.linalg.solve(rows_, [1, 0, 0, 0])
    points, weights = np.polynomial.legendre.leggauss(40)
    r = b + (a - b) * 0.5 * (points + 1)
    w, step = shape @ terms(r), 0.5 * (a - b) * weights * 2 * np.pi * r
    assert found.area_m2 == pytest.approx(float((w * step).sum()), rel=3e-3)
    assert found.moving_kg == pytest.approx(1000.0 * h * float((w**2 * step).sum()), rel=3e-3)


def cubic_curve(a, k=1000.0, lean=0.0):
    """Kms = k (1 + (x/a)² + lean x) over 6 mm both ways."""
    x = np.linspace(-6e-3, 6e-3, 81)
    kms = k * (1 + (x / a) ** 2 + lean * x)
    return StiffnessCurve(x_m=x, force_n=kms * x, tangent_n_per_m=kms, kms_n_per_m=kms, u_relative=0.0)


def test_limit_of_compliance():
    """Kms = k (1 + (x/a)²) reaches k / 0.75 at a / sqrt 3; where it does not within the travel, the range is full."""
    found = limit_range(cubic_curve(6e-3))
    assert (found.low_m, found.high_m) == pytest.approx((-6e-3 / np.sqrt(3), 6e-3 / np.sqrt(3)), rel=1e-3)
    assert not found.full_low
    wide = limit_range(cubic_curve(20e-3))
    assert (wide.low_m, wide.high_m, wide.full_low, wide.full_high) == (-6e-3, 6e-3, True, True)


def test_asymmetry():
    """Kms of 1.3 k and 0.7 k at the ends (with no other term): 0.3."""
    assert asymmetry_of(cubic_curve(1e9, lean=0.3 / 6e-3)) == pytest.approx(0.3)


def test_bent_shapes():
    """Nine outlines, closed; triangles fill what they enclose; no strain is told near the clamps, and the largest is the curve's."""
    shapes = half_roll().shapes
    assert [round(1e3 * one.x_m, 2) for one in shapes] == [-6, -4.5, -3, -1.5, 0, 1.5, 3, 4.5, 6]
    for one in shapes:
        assert one.outline_m[0].tolist() == one.outline_m[-1].tolist()
        corners = one.places_m[one.triangles]
        side, other = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
        filled = 0.5 * np.abs(side[:, 0] * other[:, 1] - side[:, 1] * other[:, 0]).sum()
        r, z = one.outline_m.T
        assert filled == pytest.approx(0.5 * abs((r[1:] * z[:-1] - r[:-1] * z[1:]).sum()), rel=1e-3)
        assert one.strain.shape == one.hoop_strain.shape == (len(one.places_m),)
        near = np.hypot(one.places_m[:, 0] - 30e-3, one.places_m[:, 1] - one.x_m) < 0.5e-3
        assert np.isnan(one.strain[near]).all()
    assert shapes[4].strain[~np.isnan(shapes[4].strain)] == pytest.approx(0.0, abs=1e-12)
    assert np.nanmax(shapes[-1].strain) == pytest.approx(half_roll().strain[-1], rel=1e-9)
    area = 0.5 * np.pi * ((5.4e-3) ** 2 - (4.6e-3) ** 2)
    r, z = shapes[4].outline_m.T
    assert 0.5 * abs((r[1:] * z[:-1] - r[:-1] * z[1:]).sum()) == pytest.approx(area, rel=1e-3)


def test_where_it_jumps():
    """A shallow cone of TPU gives way when pushed in: told with its displacement, where the slope turns negative; not the other way."""
    result = study_strip(part(slope(20e-3, 30e-3, 3e-3, 0.8e-3), SOFT), 7e-3, shapes=False)
    (verdict,) = said(result)["snap-through"]
    at = verdict.data["x_m"]
    assert verdict.severity == Severity.BAD
    assert "no longer grows" in verdict.text
    slopes = np.interp([at + 0.3e-3, at - 0.3e-3], result.curve.x_m, result.curve.tangent_n_per_m)
    assert slopes[0] > 0 > slopes[1]
    assert "stiffness-falls" in said(result)


def test_pulled_to_where_nothing_holds():
    """A half roll asked to go twice its height and more: what was found is kept and told, with both ends reached."""
    result = study_strip(part(HALF_ROLL, SOFT), 20e-3, shapes=False)
    found = said(result)
    assert {verdict.data["wanted_m"] for verdict in found["bend-not-reached"]} == {-20e-3, 20e-3}
    assert -20e-3 < result.reached_m[0] < -11e-3 < 11e-3 < result.reached_m[1] < 20e-3
    assert result.curve.x_m[[0, len(result.curve.x_m) // 2, -1]] == pytest.approx(
        [result.reached_m[0], 0.0, result.reached_m[1]]
    )
    # Half a circle of 15.7 mm over 10 mm: taut at sqrt(15.7² - 10²) = 12.1 mm.
    assert [abs(verdict.data["x_m"]) for verdict in found["pulled-straight"]] == pytest.approx(
        [12.1e-3] * 2, abs=0.5e-3
    )
    assert [np.isfinite(value).all() for value in (result.strain, result.stress_pa, result.hoop_strain)] == [
        True
    ] * 3


def test_folds_that_meet():
    """A bellows pushed by half its height: its folds touch on the way, told with the displacement; pulled, they do not."""
    result = study_strip(part(bellows(20e-3, 8e-3, 2, 1.2e-3, 0.3e-3), SOFT), 4e-3, shapes=False)
    (verdict,) = said(result)["walls-touch"]
    at = verdict.data["x_m"]
    assert -4e-3 < at < -3.2e-3
    assert verdict.data["gap_m"] < 0.03e-3
    # A tenth of a millimetre before, the same outline is still open.
    before = study_strip(part(bellows(20e-3, 8e-3, 2, 1.2e-3, 0.3e-3), SOFT), -at - 0.1e-3, shapes=False)
    assert "walls-touch" not in said(before)


def test_gap_of_a_channel():
    """A block with a slot of 2 mm, and without: the gap is that of the slot, or there is none."""
    slotted = 1e-3 * np.array([[0, 6], [4, 6], [4, 1], [6, 1], [6, 6], [10, 6], [10, 0], [0, 0], [0, 6]])
    fine = np.concatenate([np.linspace(a, b, 20)[:-1] for a, b in pairwise(slotted)] + [slotted[:1]])
    block = 1e-3 * np.array([[0, 5], [4, 5], [4, 0], [0, 0], [0, 5]])
    assert narrowest_gap(fine) == pytest.approx(2e-3, rel=1e-6)
    assert narrowest_gap(block) == np.inf


def test_what_the_plastic_bears():
    """Elongation against the fatigue limit and stress against strength, with place and displacement of the peak; nothing when both are far."""
    tender = part(HALF_ROLL, SOFT, fatigue_strain=0.05, strength_pa=2e6)
    found = said(study_strip(tender, 6e-3, shapes=False))
    (fatigue,), (strength,) = found["strain-fatigue"], found["stress-strength"]
    # Green-Lagrange 0.1009 of the stored reference at +6 mm is an elongation of 0.0963.
    assert fatigue.data["elongation"] == pytest.approx(0.0963, rel=0.05)
    assert strength.data["stress_pa"] == pytest.approx(3.05e6, rel=0.08)
    assert (fatigue.data["x_m"], strength.data["x_m"]) == (6e-3, 6e-3)
    assert 29e-3 < fatigue.data["r_m"] < 41e-3
    tough = part(HALF_ROLL, SOFT, fatigue_strain=0.3, strength_pa=30e6)
    assert not {"strain-fatigue", "stress-strength"} & set(said(study_strip(tough, 6e-3, shapes=False)))


def test_hoop_compression_and_wrinkles():
    """Pulled in, the roll's outer half is pressed together; at 0.8 mm it holds, at 0.2 mm waves appear. A flat strip is not warned of."""
    (hoop,) = said(half_roll())["hoop-compression"]
    assert hoop.data["hoop_strain"] == pytest.approx(half_roll().hoop_strain.min(), rel=1e-9)
    assert hoop.data["x_m"] < 0
    assert "1 to 64 waves around were looked for" in hoop.text
    assert "none was found" in hoop.text
    assert half_roll().wrinkle_x_m == ()
    thin = study_strip(part(roll(30e-3, 40e-3, 5e-3, 0.2e-3), SOFT), 8e-3, shapes=False)
    assert said(thin)["wrinkles"][0].data["waves"] > 3
    flat = study_strip(part(slope(20e-3, 30e-3, 0.0, 0.8e-3), SOFT), 3e-3, shapes=False)
    assert "hoop-compression" not in said(flat)


def test_stiffness_that_climbs_or_falls():
    """A flat strip stiffens at once, a spider far beyond its rolls gives way; the half roll within 6 mm does neither."""
    flat = study_strip(part(slope(20e-3, 30e-3, 0.0, 0.8e-3), SOFT), 3e-3, shapes=False)
    (verdict,) = said(flat)["stiffness-limit"]
    assert verdict.data["high_m"] == pytest.approx(flat.limit.high_m)
    assert 0 < flat.limit.high_m < 1e-3
    spider, _ = reference("S2")
    falls = said(study_strip(spider, 9e-3, shapes=False))["stiffness-falls"][0]
    assert falls.data["ratio"] < 0.75
    assert falls.data["x_m"] == pytest.approx(-9e-3)
    assert not {"stiffness-limit", "stiffness-falls", "pulled-straight"} & set(said(half_roll()))


def test_validity_of_law_and_mesh():
    """A stiff plastic compressed by a third, and a half roll pulled taut, where the elements at the clamps no longer do."""
    crushed = study_strip(part(slope(20e-3, 30e-3, 3e-3, 0.8e-3), STIFF), 7e-3, shapes=False)
    assert said(crushed)["strain-past-law"][0].data["least_strain"] < -0.1
    far = study_strip(part(HALF_ROLL, SOFT), 12e-3, shapes=False)
    assert said(far)["elements-coarse"][0].data["mesh_error"] == far.mesh_error > 0.005


@pytest.mark.parametrize("case", CASES)
def test_nothing_grave_about_the_reference_parts(case):
    """They are sound designs."""
    strip, rows = reference(case)
    result = study_strip(strip, float(rows["x"].max()))
    assert max(verdict.severity for verdict in result.verdicts) <= Severity.NOTE
    assert result.mesh_error < 0.005
    assert result.curve_error < 2e-4


@pytest.mark.parametrize(
    ("travel", "says"),
    [(0.0, "positive"), (-1e-3, "positive"), (float("nan"), "positive"), (25e-3, "15.7 mm long")],
)
def test_impossible_travel(travel, says):
    """No length, or past what the strip can be stretched to: refused with what was found."""
    with pytest.raises(InputError, match=says):
        study_strip(part(HALF_ROLL, SOFT), travel)


def test_impossible_wall():
    """A wall thicker than twice the tightest bend, or half as thick as the strip is long."""
    with pytest.raises(InputError, match="5 mm thick and 10 mm long"):
        study_strip(part(slope(20e-3, 30e-3, 0.0, 5e-3), SOFT), 1e-3)
    with pytest.raises(InputError, match="folds over itself"):
        study_strip(part(waves(12e-3, 28e-3, 6, 2e-3, 2e-3, 0.45e-3), SOFT), 1e-3)


def test_progress_and_stopping():
    """Progress rises from 0 to 1; stopping leaves nothing."""
    seen = []
    study_strip(
        part(HALF_ROLL, SOFT), 2e-3, progress=lambda done, what: seen.append((done, what)), shapes=False
    )
    done = [share for share, _ in seen]
    assert done == sorted(done)
    assert 0 <= done[0] < done[-1] <= 1
    assert "bending to" in seen[0][1]
    token = CancelToken()
    token.cancel()
    with pytest.raises(CancelledError):
        study_strip(part(HALF_ROLL, SOFT), 2e-3, progress=token.wrap(silent))


def test_asked_far_too_far_the_range_is_not_cut_short():
    """A thin half roll asked for 12 mm in steps of 2.4 mm: it holds until the wall is taut (8.5 mm) and past it, as a walk in small steps does."""
    thin = part(roll(29e-3, 36e-3, 3.5e-3, 0.4e-3), SOFT)
    result = study_strip(thin, 12e-3, shapes=False)
    taut = float(np.sqrt((np.pi * 3.5e-3) ** 2 - 7e-3**2))
    assert result.reached_m[0] < -taut
    assert taut < result.reached_m[1]
    near = study_strip(thin, 8e-3, shapes=False)
    assert np.interp(8e-3, result.curve.x_m, result.curve.force_n) == pytest.approx(
        near.curve.force_n[-1], rel=0.01
    )


def test_a_roll_as_thick_as_wide_has_nothing_to_touch():
    """A strip of which nothing is farther than its thickness from a clamp: no gap is looked for, and none is found."""
    stout = part(slope(29e-3, 36e-3, 0.0, 2.3e-3), SOFT)
    assert "walls-touch" not in said(study_strip(stout, 0.5e-3, shapes=False))
    assert narrowest_gap(np.zeros((1, 2))) == np.inf


def test_looking_sideways_can_be_stopped():
    """Cancelling is seen between own resonances and between the displacements at which wrinkles are looked for."""
    steps = []

    def stop(done, what):
        steps.append(what)
        if what == "looking for wrinkles":
            raise CancelledError("bending")

    with pytest.raises(CancelledError):
        study_strip(part(HALF_ROLL, SOFT), 4e-3, progress=stop)
    assert steps.count("sideways and own resonances") == 5
