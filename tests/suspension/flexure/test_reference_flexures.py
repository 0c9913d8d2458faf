"""Flexures beside two general-purpose programs (``tests/references/flexures``): force, stiffness, strain, the hub's turn."""

import numpy as np
import pytest
from scipy.interpolate import CubicHermiteSpline

from halfroll.suspension.elastic.equilibrium import settle
from halfroll.suspension.elastic.solid import Solid
from halfroll.suspension.elastic.turning import end_held
from halfroll.suspension.flexure.cuts import FlexureSettings, mesh_arm
from halfroll.suspension.flexure.error import carried
from halfroll.suspension.flexure.strain import Looked, strains_over
from tests.suspension.flexure.arms import TRAVEL_M, bent, reference, studied, table

FIRST_NODE_M = {"S3": 0.6e-3, "S4": 1.1e-3, "free": 1.17e-3}
"""Where the stored meshes have their first node beyond one thickness at the hub: strain changes fast there, so like is held to like."""


def at(result, x_mm):
    """Force (N) and stiffness (N/mm) of a curve."""
    curve = result.curve
    force = CubicHermiteSpline(curve.x_m, curve.force_n, curve.tangent_n_per_m)
    return float(force(1e-3 * x_mm)), 1e-3 * float(np.interp(1e-3 * x_mm, curve.x_m, curve.tangent_n_per_m))


@pytest.mark.parametrize("case", ["S3", "S4"])
def test_force_and_stiffness_agree_at_every_stored_displacement(case):
    """Both programs, both signs of travel: force within 0.5 %, stiffness within 1 %."""
    result, second = (
        studied(case),
        table({"S3": "S3_ngsolve_12x2x1p5.csv", "S4": "S4_ngsolve_24x2x1p4.csv"}[case]),
    )
    rows = reference(case)
    assert len(rows) >= 21
    for x, row in rows.items():
        force, stiffness = at(result, x)
        assert stiffness == pytest.approx(row["K"], rel=0.01)
        assert stiffness == pytest.approx(second[abs(x)]["K"], rel=0.01)
        if x:
            assert force == pytest.approx(row["F"], rel=0.005)
            assert abs(force) == pytest.approx(second[abs(x)]["F"], rel=0.005)


@pytest.mark.parametrize("case", ["S3", "S4"])
def test_work_done_is_the_stored_energy(case):
    """The integral of the first program's force is our elastic energy."""
    arm, rows = bent(case), reference(case)
    end = arm.states[-1]
    assert 3e3 * arm.solid.energy(end.u) == pytest.approx(rows[1e3 * TRAVEL_M[case]]["U_intF"], rel=0.005)


@pytest.mark.parametrize("case", ["S3", "S4"])
def test_strain_away_from_the_clamps_agrees(case):
    """Largest principal strain within 5 % of the first program at every displacement; stress at the end within 10 %."""
    rows = {x: row for x, row in reference(case).items() if x > 0}
    looked = Looked(bent(case), near_m=FIRST_NODE_M[case], along=17)
    found = strains_over(looked, 1e-3 * np.array(list(rows)))
    np.testing.assert_allclose(found.strain, [row["e1_away"] for row in rows.values()], rtol=0.05)
    assert found.stress_pa[-1] / 1e6 == pytest.approx(rows[1e3 * TRAVEL_M[case]]["s1_away"], rel=0.10)


def test_a_free_hub_agrees_within_the_scatter_of_the_only_program():
    """One program alone, its two meshes 2.2 % apart: within that of the finer one, and on the side to which refining moves it."""
    result = studied("S4", "free")
    fine, coarse = (table(f"S4_rotation_free_ccx_{mesh}.csv") for mesh in ("40x4x2", "24x2x1"))
    turns = np.degrees(np.interp(1e-3 * np.array(list(fine)), result.curve.x_m, result.hub_turn_rad))
    for (x, row), turn in zip(fine.items(), turns, strict=True):
        force, stiffness = at(result, x)
        assert stiffness == pytest.approx(row["K"], rel=0.022)
        assert stiffness < row["K"] < coarse[x]["K"]
        if x:
            assert force == pytest.approx(row["F"], rel=0.022)
            assert turn == pytest.approx(row["rot_deg"], rel=0.01)
    looked = Looked(bent("S4", "free"), near_m=FIRST_NODE_M["free"], along=17)
    found = strains_over(looked, 1e-3 * np.arange(1.0, 6.0))
    np.testing.assert_allclose(found.strain, [fine[x]["e1_away"] for x in np.arange(1.0, 6.0)], rtol=0.05)


def test_the_result_says_whether_the_hub_turns():
    """Held and free differ by 24 % at the end of the travel, so the result names which it is."""
    held, free = studied("S4"), studied("S4", "free")
    assert held.hub_turn_rad is None
    assert "hub-held" in {verdict.code for verdict in held.verdicts}
    assert free.hub_turn_rad is not None
    (said,) = (verdict for verdict in free.verdicts if verdict.code == "hub-turns")
    assert said.data["turn_rad"] == pytest.approx(float(free.hub_turn_rad[-1]))
    assert "0.75°" in said.text
    assert free.curve.force_n[-1] < 0.8 * held.curve.force_n[-1]


def test_straight_legs_stiffen_forty_threefold():
    """The stored K(3 mm) over K(0) is 42.6; the result says that the legs are stretched, and that the hub has no reason to turn."""
    rows, result = reference("S3"), studied("S3")
    stored = rows[3.0]["K"] / rows[0.0]["K"]
    curve = result.curve
    assert curve.tangent_n_per_m[-1] / curve.at_rest() == pytest.approx(stored, rel=0.01)
    codes = {verdict.code for verdict in result.verdicts}
    assert {"legs-stretched", "stiffness-limit"} <= codes
    assert not codes & {"hub-turns", "hub-held"}


def test_own_error_is_told_and_covers_the_finer_mesh():
    """The error a result states is not smaller than what elements of higher order differ by, and below half a per cent."""
    result, arm = studied("S4"), bent("S4")
    end = arm.states[-1]
    finer = Solid(mesh_arm(arm.arm, FlexureSettings(orders=(5, 4, 3))), arm.solid.material)
    found = settle(finer, end_held(finer), end.x_m, carried(arm.solid.mesh, finer.mesh, end.u))
    assert found is not None
    assert abs(found.force_n / end.force_n - 1) < result.mesh_error < 0.005
    assert result.curve_error < 0.001
