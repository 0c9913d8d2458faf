"""What a flexure's study must hold whatever the numbers: scaling, symmetry, slopes, shapes, words, bad input, stopping."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from halfroll.core.errors import CancelledError, InputError
from halfroll.core.progress import CancelToken
from halfroll.suspension.design import PrintSettings
from halfroll.suspension.elastic.equilibrium import NoEquilibriumError, settle, walk
from halfroll.suspension.elastic.solid import Solid
from halfroll.suspension.elastic.turning import TurningEnd, end_held, end_turning
from halfroll.suspension.flexure import study_flexure
from halfroll.suspension.flexure.arm import arm_of, plastic_of
from halfroll.suspension.flexure.bend import bend_arm, mirrored
from halfroll.suspension.flexure.cuts import FlexureSettings, mesh_arm
from halfroll.suspension.flexure.strain import Looked, shape_of
from tests.suspension.flexure.arms import STIFF, bent, design, studied

QUICK = FlexureSettings(orders=(3, 2, 2), steps=2)
TRAVEL_M = 2e-3


@cache
def quick(case="S4", **changes):
    """A coarse study."""
    return study_flexure(design(case, **changes), TRAVEL_M, settings=QUICK)


def body_of(case, hub="held"):
    """A coarse arm as a body, and how it is held."""
    one = design(case)
    solid = Solid(mesh_arm(arm_of(one), QUICK), plastic_of(one)[0])
    if hub == "held":
        return solid, end_held(solid)
    turning = TurningEnd(solid, one.inner_radius_m)
    return turning, end_turning(turning)


def test_force_grows_with_the_modulus_and_the_number_of_arms():
    """Twice the modulus, twice the force, the same strain; five arms, five thirds of it; resonances with the root."""
    one = quick()
    stiffer = quick(material=replace(STIFF, modulus_pa=4e9, modulus_u_pa=2e8))
    np.testing.assert_allclose(stiffer.curve.force_n, 2 * one.curve.force_n, rtol=1e-6, atol=1e-9)
    np.testing.assert_allclose(stiffer.strain, one.strain, rtol=1e-6, atol=1e-12)
    np.testing.assert_allclose(stiffer.stress_pa, 2 * one.stress_pa, rtol=1e-6, atol=1)
    assert stiffer.own_hz[0][0] == pytest.approx(np.sqrt(2) * one.own_hz[0][0], rel=1e-6)
    more = quick(arms=5)
    np.testing.assert_allclose(more.curve.force_n, 5 / 3 * one.curve.force_n, rtol=1e-9, atol=1e-12)
    for name in ("mass_kg", "moving_kg", "radial_n_per_m", "tilt_nm_per_rad"):
        assert getattr(more, name) == pytest.approx(5 / 3 * getattr(one, name), rel=1e-6)


@pytest.mark.parametrize("hub", ["held", "free"])
def test_the_other_side_of_rest_is_the_mirror_image(hub):
    """Solved downwards without the mirror: the same force with the other sign, the same turn, the image of the displacements."""
    body, hold = body_of("S4", hub)
    up, down = walk(body, hold, [TRAVEL_M])[0], walk(body, hold, [-TRAVEL_M])[0]
    assert down.force_n == pytest.approx(-up.force_n, rel=1e-7)
    assert down.stiffness_n_per_m == pytest.approx(up.stiffness_n_per_m, rel=1e-7)
    if hub == "free":
        assert body.turn_rad(down.u) == pytest.approx(body.turn_rad(up.u), rel=1e-7)
        assert body.turn_rad(up.u) != 0
    solid, u, v = (body, up.u, down.u) if hub == "held" else (body.solid, up.u[1:], down.u[1:])
    np.testing.assert_allclose(v, mirrored(solid, u), atol=1e-7 * TRAVEL_M)
    curve = quick(hub=hub).curve
    np.testing.assert_allclose(curve.force_n, -curve.force_n[::-1], atol=1e-15)
    np.testing.assert_allclose(curve.kms_n_per_m, curve.kms_n_per_m[::-1], rtol=1e-12)
    assert quick(hub=hub).asymmetry == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize("hub", ["held", "free"])
def test_stiffness_is_the_slope_of_the_force(hub):
    """Central difference of two equilibria beside a state, with the hub's turn taken along."""
    body, hold = body_of("S4", hub)
    (middle,) = walk(body, hold, [TRAVEL_M])
    step = 1e-6
    beside = [settle(body, hold, TRAVEL_M + d, middle.u + d * middle.follow) for d in (-step, step)]
    low, high = (one.force_n for one in beside if one is not None)
    assert (high - low) / (2 * step) == pytest.approx(middle.stiffness_n_per_m, rel=1e-6)


def test_a_free_hub_feels_no_torque_and_a_held_one_does():
    """Torque of the end of the travel; straight legs have no side to turn to, so free or held is one."""
    free, held = bent("S4", "free"), bent("S4")
    assert abs(free.torque_nm()) < 1e-6 * abs(held.torque_nm())
    straight, loose = quick("S3"), quick("S3", hub="free")
    assert loose.hub_turn_rad is not None
    assert np.abs(loose.hub_turn_rad).max() < 1e-9
    np.testing.assert_allclose(loose.curve.force_n, straight.curve.force_n, rtol=1e-6, atol=1e-9)


def test_arms_the_other_way_round_turn_the_hub_the_other_way():
    """An arm that runs the other way is a mirror image: the same force; its hub turns as far, the other way."""
    body, hold = body_of("S4", "free")
    mesh = body.solid.mesh
    flipped = Solid(replace(mesh, nodes=mesh.nodes * np.array([1, -1, 1]), gradient=mesh.gradient * np.array([1, -1, 1])[:, None]),
                    body.solid.material)  # fmt: skip
    other = TurningEnd(flipped, body.lever_m)
    one, two = (walk(each, hold, [TRAVEL_M])[0] for each in (body, other))
    assert two.force_n == pytest.approx(one.force_n, rel=1e-7)
    assert other.turn_rad(two.u) == pytest.approx(-body.turn_rad(one.u), rel=1e-7)


def test_thickness_is_what_will_be_printed():
    """0.53 mm in layers of 0.2 mm is 0.6 mm; and its spread is three times that of the thickness, with the modulus's own."""
    snap = PrintSettings(layer_m=0.2e-3, snap="layers")
    result = quick("S3", thickness_m=0.53e-3, print=snap)
    np.testing.assert_allclose(result.curve.force_n, quick("S3").curve.force_n, rtol=1e-9, atol=1e-12)
    modulus = plastic_of(design("S3"))[1]
    by_thickness = np.sqrt(result.curve.u_relative**2 - modulus**2) / (0.02 / 0.6)
    assert 2.9 < by_thickness < 3.1


def test_shapes_are_those_of_the_bent_arm():
    """Hub moved by x, rim at rest, outline closed, strain nan at the clamps alone, hoop strain none; down is up mirrored."""
    result = studied("S4", "free")
    x = [one.x_m for one in result.shapes]
    assert x == [one.x_m for one in result.arm_shapes] == sorted(x)
    assert 0.0 in x
    assert np.isnan(result.hoop_strain).all()
    for shape, arm in zip(result.shapes, result.arm_shapes, strict=True):
        np.testing.assert_array_equal(shape.outline_m[0], shape.outline_m[-1])
        np.testing.assert_allclose(arm.upper_m[0, :, 2], shape.x_m + 0.4e-3, atol=1e-12)
        np.testing.assert_allclose(arm.lower_m[-1, :, 2], -0.4e-3, atol=1e-12)
        middle = arm.upper_m[0, arm.upper_m.shape[1] // 2]
        assert np.arctan2(middle[1], middle[0]) == pytest.approx(arm.turn_rad, abs=1e-9)
        assert np.hypot(middle[0], middle[1]) == pytest.approx(14e-3, rel=1e-9)
        gone = np.isnan(arm.strain)
        assert gone[0].all()
        assert gone[-1].all()
        assert not gone[4:-4].any()
        assert shape.triangles.max() == len(shape.places_m) - 1
        assert np.isnan(shape.hoop_strain).all()
    np.testing.assert_allclose(
        result.arm_shapes[0].upper_m * np.array([1, 1, -1]), result.arm_shapes[-1].lower_m, atol=1e-12
    )
    np.testing.assert_allclose(result.arm_shapes[0].strain, result.arm_shapes[-1].strain, rtol=1e-9)
    assert np.nanmax(result.arm_shapes[-1].strain) == pytest.approx(result.strain[-1], rel=1e-9)


def test_what_the_plastic_bears_is_said():
    """A plastic that stands 0.1 % again and again and breaks at 2 MPa: both are said, with numbers."""
    weak = replace(STIFF, fatigue_strain=1e-3, strength_pa=2e6)
    result = quick(material=weak)
    said = {one.code: one for one in result.verdicts}
    assert said["stress-strength"].data["stress_pa"] == pytest.approx(float(result.stress_pa.max()))
    assert said["strain-fatigue"].data["elongation"] > 1e-3
    assert not {"stress-strength", "strain-fatigue"} & {one.code for one in quick().verdicts}


@pytest.mark.parametrize(
    ("travel", "words"), [(0.0, "positive length"), (-1e-3, "positive length"), (float("nan"), "positive length"),
                          (25e-3, "what the arms can be stretched to")]
)  # fmt: skip
def test_a_travel_that_cannot_be_is_refused(travel, words):
    """No length, or half as long again as the legs."""
    with pytest.raises(InputError, match=words):
        study_flexure(design("S3"), travel, settings=QUICK)


def test_a_flexure_that_cannot_be_is_refused():
    """Arms that touch are told before anything is computed."""
    with pytest.raises(InputError, match="touch"):
        study_flexure(design("S4", arms=20), TRAVEL_M, settings=QUICK)


def test_an_arm_thicker_than_long_is_refused():
    """Arms are at least three times as long as thick."""
    with pytest.raises(InputError, match="longer than it is thick"):
        study_flexure(design("S4", thickness_m=200e-3), TRAVEL_M, settings=QUICK)


def test_progress_is_told_and_stopping_heeded():
    """It never goes back, says what is done in words, and a stop ends it."""
    told = []
    study_flexure(design("S3"), 1e-3, settings=QUICK, progress=lambda done, what: told.append((done, what)))
    done = [one for one, _ in told]
    assert done == sorted(done)
    assert {"strain over the travel", "sideways, tilting and own resonances"} <= {what for _, what in told}
    token = CancelToken()

    def stop(done, what):
        if done > 0.2:
            token.cancel()

    with pytest.raises(CancelledError):
        study_flexure(design("S3"), 1e-3, settings=QUICK, progress=token.wrap(stop))


def test_a_travel_that_is_not_reached_is_told_and_what_was_found_is_given(monkeypatch):
    """No equilibrium beyond the first step: the curve ends there, on both sides, and the sentence says where."""

    def short(body, hold, stops, start, progress=None):
        raise NoEquilibriumError(stops[0], stops[-1], walk(body, hold, stops[:1], start))

    monkeypatch.setattr("halfroll.suspension.flexure.bend.walk", short)
    result = study_flexure(design("S3"), 1e-3, settings=QUICK)
    (said,) = (one for one in result.verdicts if one.code == "bend-not-reached")
    assert said.data == {"reached_m": 0.5e-3, "wanted_m": 1e-3}
    assert result.reached_m == (-0.5e-3, 0.5e-3)
    assert result.curve.x_m[-1] == -result.curve.x_m[0] == 0.5e-3
    assert np.isfinite(result.strain).all()


def test_corners_turned_inside_out_are_not_looked_at():
    """A stub hardly longer than thick, sheared by its own length: only what is away from the clamps counts, and that is finite."""
    stubby = design("S3", outer_radius_m=14e-3, thickness_m=1.5e-3)
    result = study_flexure(stubby, 2e-3, settings=QUICK)
    assert np.isfinite(result.strain).all()
    assert "strain-past-law" in {one.code for one in result.verdicts}


def test_a_slender_arm_is_cut_into_no_more_pieces_than_it_needs():
    """Two turns of an arm 0.9 mm wide, 280 mm long: pieces by its turning, not by its width."""
    slender = design("S4", sweep_rad=4 * np.pi, width_m=0.9e-3, inner_radius_m=12e-3)
    arm = arm_of(slender)
    assert arm.whole_m > 0.25
    assert len(mesh_arm(arm).cuts[0]) < 34


def test_a_curve_with_few_states_is_filled_until_it_is_sure():
    """Two steps over five thicknesses of travel are not enough for straight legs: more are put between, and the rest is told."""
    arm = bend_arm(design("S3"), plastic_of(design("S3"))[0], 3e-3, QUICK)
    assert len(arm.states) > 3
    assert arm.curve_error <= QUICK.tolerance
    looked = Looked(arm)
    assert shape_of(looked, 0.0)[1].strain[10, 2] == pytest.approx(0, abs=1e-12)
