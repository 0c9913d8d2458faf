"""The blocked impedance of whole motors: against a stored reference, a static difference, and what must hold of any motor."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from halfroll.core.errors import CancelledError, InputError
from halfroll.core.progress import CancelToken, silent
from halfroll.core.text import THIN
from halfroll.materials.catalogue import catalogue
from halfroll.motor.eddy.blocked import EddySettings, blocked_impedance
from halfroll.motor.eddy.verdicts import eddy_verdicts
from halfroll.motor.field.magnetostatics import solve
from halfroll.motor.field.mesh import MeshSettings, mesh_of
from halfroll.motor.results import BlockedImpedance
from halfroll.motor.types import Assembly, FieldCoil, Magnet, SoftSteel
from tests.motor.eddy_motors import copper_ring, ferrite, rectangle_body, reference, with_body, with_matter

MM = 1e-3
STORED, MOTOR = reference("A1")
SMALL = STORED["small_signal"]
FREQUENCIES = np.array(SMALL["f_Hz"], dtype=float)
QUICK = EddySettings(judge=False, low_level=False)


@pytest.fixture(scope="module")
def at_rest() -> BlockedImpedance:
    """The reference motor at all frequencies."""
    return blocked_impedance(MOTOR, FREQUENCIES)


def test_reference_motor(at_rest: BlockedImpedance) -> None:
    """Ferrite motor, 20 Hz to 20 kHz, by biquadratic elements on a tensor grid (scikit-fem, first layer 10 µm), agreeing with
    FreeFem++ 4.11 within 0.2 %; its own error up to 0.03 % of L and 0.26 % of R. See tests/references/motor.
    """
    assert at_rest.inductance_h[0] == pytest.approx(np.array(SMALL["L_H"]), rel=2e-3)
    assert at_rest.resistance_ohm[0] == pytest.approx(np.array(SMALL["R_eddy_ohm"]), rel=6e-3)


def test_uncertainty_covers_the_error_and_is_small(at_rest: BlockedImpedance) -> None:
    """The distance to the reference lies within what is said, the reference's own error allowed for."""
    off = max(
        np.abs(at_rest.inductance_h[0] / SMALL["L_H"] - 1.0).max(),
        np.abs(at_rest.resistance_ohm[0] / SMALL["R_eddy_ohm"] - 1.0).max(),
    )
    assert off < at_rest.u_rel + max(SMALL["rel_err_R"])
    assert at_rest.u_rel < 0.02


def test_a_coarse_answer_says_so() -> None:
    """Five times larger elements are off by more than 3 % in the loss at 20 kHz, and the uncertainty owns up to it."""
    coarse = blocked_impedance(MOTOR, FREQUENCIES, settings=EddySettings(refinement=5.0))
    off = np.abs(coarse.resistance_ohm[0] / SMALL["R_eddy_ohm"] - 1.0).max()
    assert 0.03 < off < coarse.u_rel
    assert "inductance-rough" in _codes(coarse)


def test_other_positions_change_neither_result() -> None:
    """Positions share one mesh; the answer at rest stays that of the reference, and those of the two ends differ as they must."""
    found = blocked_impedance(MOTOR, FREQUENCIES, (-4 * MM, -2 * MM, 0.0, 2 * MM, 4 * MM), QUICK)
    assert found.inductance_h[2] == pytest.approx(np.array(SMALL["L_H"]), rel=2e-3)
    assert found.resistance_ohm[2] == pytest.approx(np.array(SMALL["R_eddy_ohm"]), rel=8e-3)
    assert found.inductance_h.shape == (5, len(FREQUENCIES))
    # inwards the coil has more iron around it
    assert (np.diff(found.inductance_h, axis=0) < 0.0).all()


def test_positions_agree_with_each_alone() -> None:
    """One mesh for two positions and a mesh for each."""
    together = blocked_impedance(MOTOR, [1e3], (-3 * MM, 3 * MM), QUICK)
    for n, x in enumerate((-3 * MM, 3 * MM)):
        alone = blocked_impedance(MOTOR, [1e3], (x,), QUICK)
        assert together.inductance_h[n] == pytest.approx(alone.inductance_h[0], rel=2e-3)
        assert together.resistance_ohm[n] == pytest.approx(alone.resistance_ohm[0], rel=6e-3)


def test_slow_limit_is_the_static_difference() -> None:
    """At a hundred-thousandth of a hertz: the change of linkage between a current and its opposite, from the whole nonlinear field."""
    current, winding = 0.02, MOTOR.winding
    assert winding is not None
    mesh = mesh_of(MOTOR, MeshSettings(travel_m=1 * MM, cut_winding_at_m=0.0))
    node, weight = np.polynomial.legendre.leggauss(12)
    r = winding.r_inner + 0.5 * (winding.r_outer - winding.r_inner) * (node + 1.0)
    z = winding.z_low + 0.5 * winding.height_m * (node + 1.0)
    fluxes = [solve(mesh, current_a=i).flux(r[None, :], z[:, None]) for i in (current, -current)]
    linkage = winding.turns * 0.25 * (weight @ (fluxes[0] - fluxes[1]) @ weight)
    slow = blocked_impedance(MOTOR, [1e-5], settings=QUICK)
    assert slow.inductance_h[0, 0] == pytest.approx(linkage / (2.0 * current), rel=2e-3)


def test_causal_and_passive(at_rest: BlockedImpedance) -> None:
    """Of any passive winding by metal: L falls and R rises with frequency; R + jωL has a real part above zero."""
    assert (np.diff(at_rest.inductance_h[0]) < 0.0).all()
    assert (np.diff(at_rest.resistance_ohm[0]) > 0.0).all()
    assert (at_rest.resistance_ohm > 0.0).all()


def test_copper_sleeve_lowers_inductance_and_shifts_loss() -> None:
    """A shorting ring beside the coil: L falls above its corner, R is higher below it and lower far above."""
    sleeve = copper_ring("sleeve", 12.5 * MM, 12.8 * MM, -12.0 * MM, 2.0 * MM)
    frequencies = np.array([20.0, 200.0, 20e3])
    bare = blocked_impedance(MOTOR, frequencies, settings=QUICK)
    capped = blocked_impedance(with_body(MOTOR, sleeve), frequencies, settings=QUICK)
    change_l = capped.inductance_h[0] / bare.inductance_h[0]
    change_r = capped.resistance_ohm[0] / bare.resistance_ohm[0]
    assert change_l[0] == pytest.approx(1.0, abs=0.02)
    assert change_l[2] < 0.6
    assert change_r[0] > 2.0
    assert change_r[2] < 0.6


def test_a_magnet_that_conducts_loses_inductance() -> None:
    """Neodymium of 0.67 MS/m in place of a magnet that does not conduct: nothing at 20 Hz, a little less L and more R above."""
    hard = MOTOR.body("magnet").matter
    assert isinstance(hard, Magnet)
    frequencies = np.array([20.0, 2e3])
    plain = blocked_impedance(MOTOR, frequencies, settings=QUICK)
    metal = Magnet(grade=ferrite(0.38, 1.06, conductivity_s_m=6.7e5), direction=hard.direction)
    conducting = blocked_impedance(with_matter(MOTOR, "magnet", metal), frequencies, settings=QUICK)
    assert conducting.inductance_h[0, 0] == pytest.approx(plain.inductance_h[0, 0], rel=1e-3)
    assert conducting.inductance_h[0, 1] < plain.inductance_h[0, 1]
    assert "magnet-conducts" in _codes(conducting)
    assert "magnet-conducts" not in _codes(plain)
    ceramic = with_matter(MOTOR, "magnet", Magnet(grade=catalogue().magnets["y30"], direction=hard.direction))
    assert "magnet-conducts" not in {v.code for v in eddy_verdicts(ceramic, plain)}


def test_low_level_is_lower(at_rest: BlockedImpedance) -> None:
    """The curve's slope at middling field is fifty times that at none, so the reversible answer lies below at all frequencies, and
    both meet where the steel no longer matters. It is said with numbers.
    """
    low = at_rest.low_level_inductance_h
    assert low is not None
    assert (low < at_rest.inductance_h).all()
    said = next(v for v in at_rest.verdicts if v.code == "inductance-of-level")
    assert said.data["low_level_inductance_mh"] == pytest.approx(1e3 * low[0, 5])
    assert f"0.248{THIN}mH" in said.text
    far = blocked_impedance(MOTOR, [1e3], (40 * MM,), replace(QUICK, low_level=True))
    assert far.low_level_inductance_h == pytest.approx(far.inductance_h, rel=0.03)


def test_thin_joints() -> None:
    """Air of 50, 10 and 2 µm between pole, magnet and back plate: all parts stay in the field, and the slow inductance tends to that
    of parts which touch, from below, as every reluctance in the flux path lowers it: by less than g/(mu0 pi r²) asks, 2 % for 50 µm.
    """
    iron, hard = MOTOR.body("pole").matter, MOTOR.body("magnet").matter
    found = []
    for joint in (0.05, 0.01, 0.002):
        z = (-12.0 + joint) * MM
        bodies = (
            rectangle_body("pole", 0.0, 12.5 * MM, z, 2 * MM, iron),
            rectangle_body("back plate", 0.0, 30 * MM, -16 * MM, -12 * MM, iron),
            rectangle_body("magnet", 16 * MM, 30 * MM, z, -2 * MM, hard),
            MOTOR.body("top plate"),
        )
        loose = blocked_impedance(replace(MOTOR, bodies=bodies), [1e-3], settings=QUICK)
        found.append(float(loose.inductance_h[0, 0]))
    tight = float(blocked_impedance(MOTOR, [1e-3], settings=QUICK).inductance_h[0, 0])
    assert 0.98 * tight < found[0] < found[1] < found[2] < 1.0003 * tight
    assert found[2] == pytest.approx(tight, rel=1e-3)


def test_turns_count_squared() -> None:
    """In the same room twice the turns have four times the impedance."""
    assert MOTOR.winding is not None
    double = replace(MOTOR, winding=replace(MOTOR.winding, turns=2.0 * MOTOR.winding.turns))
    one, two = (blocked_impedance(motor, [500.0], settings=QUICK) for motor in (MOTOR, double))
    assert two.inductance_h == pytest.approx(4.0 * one.inductance_h)
    assert two.resistance_ohm == pytest.approx(4.0 * one.resistance_ohm)


def _codes(found: BlockedImpedance) -> set[str]:
    return {verdict.code for verdict in found.verdicts}


def test_what_is_said() -> None:
    """A field coil and a steel known poorly are said."""
    iron = MOTOR.body("pole").matter
    assert isinstance(iron, SoftSteel)
    unsure = with_matter(MOTOR, "pole", SoftSteel(steel=replace(iron.steel, h_factor_u=0.5)))
    field_coil = rectangle_body(
        "field coil", 32 * MM, 34 * MM, -12 * MM, -2 * MM, FieldCoil(turns=10.0, current_a=1.0)
    )
    said = _codes(
        blocked_impedance(
            with_body(unsure, field_coil), [1e3], settings=EddySettings(refinement=4.0, judge=False)
        )
    )
    assert {"field-coil-open", "inductance-steel-unsure", "inductance-small-signal"} <= said


@pytest.mark.parametrize("frequencies", [[], [0.0], [100.0, -1.0], [float("nan")], [float("inf")]])
def test_frequencies_that_are_none(frequencies: list[float]) -> None:
    """No, zero, negative and endless frequencies."""
    with pytest.raises(InputError, match="must be above 0 Hz"):
        blocked_impedance(MOTOR, frequencies)


def test_a_winding_that_meets_a_body_is_refused_with_both_names() -> None:
    """Refused before anything is computed."""
    floor = copper_ring("ring", 12.6 * MM, 13.9 * MM, -11.0 * MM, -9.0 * MM)
    with pytest.raises(InputError, match=r"winding at x = -6 mm would run into ring"):
        blocked_impedance(with_body(MOTOR, floor), [1e3], (0.0, -6 * MM))


@pytest.mark.parametrize(
    ("x", "words"), [((9.0,), "stay near the motor"), ((float("nan"),), "finite"), ((), "finite")]
)
def test_displacements_that_are_none(x: tuple[float, ...], words: str) -> None:
    """Far away, no number, none at all."""
    with pytest.raises(InputError, match=words):
        blocked_impedance(MOTOR, [1e3], x)


def test_no_coil() -> None:
    """There is nothing to measure at."""
    with pytest.raises(InputError, match="needs a coil"):
        blocked_impedance(Assembly(bodies=MOTOR.bodies, gap=MOTOR.gap), [1e3])


def test_progress_rises_and_cancelling_stops() -> None:
    """From 0 towards 1 without a step back."""
    seen: list[float] = []
    blocked_impedance(
        MOTOR, [1e3], settings=EddySettings(refinement=4.0), progress=lambda done, what: seen.append(done)
    )
    assert seen == sorted(seen)
    assert 0.0 <= seen[0] < seen[-1] <= 1.0
    token = CancelToken()
    token.cancel()
    with pytest.raises(CancelledError):
        blocked_impedance(MOTOR, [1e3], progress=token.wrap(silent))
