"""The blocked impedance of whole motors: against a stored reference, a static difference, and what must hold of any motor."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from halfroll.core.errors import CancelledError, InputError
from halfroll.core.progress import CancelToken, silent
from halfroll.motor.eddy import EddySettings, blocked_impedance
from halfroll.motor.magnetostatics import solve
from halfroll.motor.mesh import MeshSettings, mesh_of
from halfroll.motor.results import BlockedImpedance
from halfroll.motor.types import Assembly, FieldCoil, Magnet, SoftSteel
from tests.motor.eddy_motors import copper_ring, ferrite, rectangle_body, reference, with_body, with_matter

MM = 1e-3
STORED, MOTOR = reference("A1")
SMALL = STORED["small_signal"]
FREQUENCIES = np.array(SMALL["f_Hz"], dtype=float)
QUICK = EddySettings(judge=False)


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
    """Without slices the same motor is known to be half wrong at 20 kHz; coarser elements must raise the uncertainty."""
    fine, coarse = (
        blocked_impedance(MOTOR, [20e3], settings=EddySettings(refinement=size)).u_rel for size in (0.7, 4.0)
    )
    assert coarse > 1.5 * fine


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


def test_reversible_is_lower() -> None:
    """The curve's slope at middling field is fifty times that at none, so the reversible answer must lie below at all frequencies."""
    found = [blocked_impedance(MOTOR, FREQUENCIES[::3], settings=EddySettings(permeability=p, judge=False)) for p in ("tangent", "reversible")]  # fmt: skip
    assert (found[1].inductance_h < found[0].inductance_h).all()
    assert "inductance-tangent" in _codes(found[0])
    assert "inductance-reversible" in _codes(found[1])


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


def test_no_coil_and_an_unknown_permeability() -> None:
    """Both are said by name."""
    with pytest.raises(InputError, match="needs a coil"):
        blocked_impedance(Assembly(bodies=MOTOR.bodies, gap=MOTOR.gap), [1e3])
    with pytest.raises(InputError, match="Permeability must be one of"):
        blocked_impedance(MOTOR, [1e3], settings=EddySettings(permeability="initial"))  # type: ignore[arg-type]


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
