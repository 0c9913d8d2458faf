"""The static study: what it says beside its numbers, its map, its materials, and what it refuses."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from halfroll.core.errors import CancelledError, InputError
from halfroll.core.verdicts import Severity
from halfroll.materials.steel import MU_0
from halfroll.motor.field.field_map import field_map
from halfroll.motor.field.magnetostatics import solve
from halfroll.motor.field.mesh import MeshSettings, mesh_of
from halfroll.motor.field.study import StudySettings, displacements, study
from halfroll.motor.placing.polygons import signed_area
from halfroll.motor.results import MotorResult
from halfroll.motor.types import Assembly, FieldCoil, Filler, Magnet, SoftSteel
from tests.motor.eddy_motors import reference

QUICK = StudySettings(refinement=2.0, judge_error=False, points=9, travel_m=5e-3)


def changed(assembly: Assembly, name: str, matter: object) -> Assembly:
    """The motor with one part of other matter."""
    bodies = tuple(
        replace(body, matter=matter) if body.name == name else body  # type: ignore[arg-type]
        for body in assembly.bodies
    )
    return replace(assembly, bodies=bodies)


def with_magnet(assembly: Assembly, **grade: float) -> Assembly:
    """The motor with its magnet's grade changed; `temperature_c` is the magnet's."""
    magnet = assembly.body("magnet").matter
    assert isinstance(magnet, Magnet)
    temperature = grade.pop("temperature_c", magnet.temperature_c)
    other = replace(magnet, grade=replace(magnet.grade, **grade), temperature_c=temperature)  # type: ignore[arg-type]
    return changed(assembly, "magnet", other)


def codes(result: MotorResult) -> set[str]:
    """Codes of the verdicts."""
    return {verdict.code for verdict in result.verdicts}


@pytest.fixture(scope="module")
def motor() -> Assembly:
    """The reference motor A1."""
    return reference("A1")[1]


def test_map_shows_the_field(motor: Assembly) -> None:
    """Triangles of every body fill its half-section; flux and flux density at nodes are those of the field."""
    field = solve(mesh_of(motor, MeshSettings()))
    drawn = field_map(field)
    corner = drawn.points_m[drawn.triangles]
    sides = corner[:, 1:] - corner[:, :1]
    areas = 0.5 * np.abs(sides[:, 0, 0] * sides[:, 1, 1] - sides[:, 0, 1] * sides[:, 1, 0])
    for i, body in enumerate(motor.bodies):
        assert areas[drawn.body == i].sum() == pytest.approx(signed_area(body.outline), rel=1e-9)
    r, z = drawn.points_m.T
    assert drawn.flux_wb == pytest.approx(field.flux(r, z), abs=1e-12)
    assert np.isfinite(drawn.b_t).all()
    on_axis = r < 1e-12
    assert drawn.b_t[on_axis, 0] == pytest.approx(0.0, abs=1e-9)
    _, to, times = np.unique(np.round(1e9 * drawn.points_m), axis=0, return_inverse=True, return_counts=True)
    inner = times[to.ravel()] == 1  # on a face the field has one value for each body
    apart = np.linalg.norm(drawn.b_t - field.flux_density(r, z), axis=1)[inner]
    assert np.quantile(apart, 0.5) < 1e-3
    assert np.quantile(apart, 0.95) < 0.03


def test_flux_is_conserved(motor: Assembly) -> None:
    """Gap flux is gap flux density times area; what leaks and what crosses the gap make up the magnet's flux.

    The magnet's flux from its mean flux density at its fullest section lies within 10 % of it: for a ring it is B times area.
    """
    result = study(motor, StudySettings(judge_error=False))
    gap = motor.gap
    cylinder = np.pi * (gap.r_inner + gap.r_outer) * (gap.z_high - gap.z_low)
    assert result.gap_flux_wb == pytest.approx(result.gap_mean_t * cylinder, rel=1e-9)
    assert result.leakage_share == pytest.approx(1 - result.gap_flux_wb / result.magnet_flux_wb, rel=1e-9)
    r0, r1, _, _ = motor.body("magnet").bounds
    assert result.magnet_flux_wb == pytest.approx(
        result.magnets[0].b_mean_t * np.pi * (r1**2 - r0**2), rel=0.1
    )


def test_turned_over_magnet(motor: Assembly) -> None:
    """The same motor magnetised the other way: everything of opposite sign, and it says so."""
    magnet = motor.body("magnet").matter
    assert isinstance(magnet, Magnet)
    plus, minus = (
        study(motor, QUICK),
        study(changed(motor, "magnet", replace(magnet, direction=(0.0, 1.0))), QUICK),
    )
    assert plus.force_factor is not None
    assert minus.force_factor is not None
    assert minus.force_factor.bl == pytest.approx(-plus.force_factor.bl, rel=1e-6)
    assert minus.offset_best_m == pytest.approx(plus.offset_best_m, abs=1e-7)
    assert minus.magnets[0].permeance == pytest.approx(plus.magnets[0].permeance, rel=1e-6)
    assert codes(minus) - codes(plus) == {"force-factor-negative"}


def test_warm_magnet(motor: Assembly) -> None:
    """Remanence down by 0.2 %/K times 50 K: in unsaturated steel Bl falls by nearly as much."""
    motor = with_magnet(motor, alpha_br_per_k=-0.002)
    cold, warm = study(motor, QUICK), study(motor, replace(QUICK, temperature_c=70.0))
    assert cold.force_factor is not None
    assert warm.force_factor is not None
    assert warm.magnets[0].temperature_c == 70.0
    assert warm.force_factor.at_rest / cold.force_factor.at_rest == pytest.approx(0.9, abs=0.02)


def test_magnet_beyond_its_knee(motor: Assembly) -> None:
    """A magnet with little coercivity is said to lose magnetisation, and the field to be a bound."""
    result = study(with_magnet(motor, hcj_a_m=1e5), QUICK)
    verdict = next(v for v in result.verdicts if v.code == "magnet-demagnetised")
    assert verdict.severity is Severity.BAD
    assert "upper bounds" in verdict.text
    assert result.magnets[0].share_below_knee > 0.1
    assert "magnet-demagnetised" not in codes(study(with_magnet(motor, hcj_a_m=4e5), QUICK))


def test_magnet_above_its_limit(motor: Assembly) -> None:
    """A magnet hotter than its grade bears is bad, with both temperatures."""
    result = study(with_magnet(motor, highest_c=80.0, temperature_c=90.0), QUICK)
    verdict = result.verdicts[0]
    assert (verdict.code, verdict.severity) == ("magnet-above-its-limit", Severity.BAD)
    assert "90 °C" in verdict.text
    assert "80 °C" in verdict.text


def test_full_steel(motor: Assembly) -> None:
    """Three times the remanence: the plates are full, and a table that ends at 1.6 T is said to end there."""
    steel = motor.body("pole").matter
    assert isinstance(steel, SoftSteel)
    b, h = steel.steel.b_t, steel.steel.h_a_m
    short = replace(steel.steel, b_t=b[: b.index(1.6) + 1], h_a_m=h[: b.index(1.6) + 1])
    strong = with_magnet(motor, br_t=1.2)
    result = study(changed(strong, "back plate", SoftSteel(steel=short)), QUICK)
    full = [v.data["body"] for v in result.verdicts if v.code == "steel-saturated"]
    ended = {v.data["body"]: v.data for v in result.verdicts if v.code == "beyond-steel-table"}
    assert "back plate" in full
    assert ended["back plate"]["table_end_t"] == 1.6
    assert ended["back plate"]["peak_t"] > 1.6
    assert not {"steel-saturated", "beyond-steel-table"} & codes(study(motor, QUICK))


def test_spread_of_materials(motor: Assembly) -> None:
    """Remanence known to 3 % makes Bl uncertain by about 3 %; soft steel by half its H much less."""
    steel = motor.body("pole").matter
    assert isinstance(steel, SoftSteel)
    doubtful = SoftSteel(steel=replace(steel.steel, h_factor_u=0.5))
    motor = with_magnet(motor, br_u_t=0.03 * 0.38)
    for name in ("pole", "back plate", "top plate"):
        motor = changed(motor, name, doubtful)
    result = study(motor, replace(QUICK, material_spread=True))
    verdict = next(v for v in result.verdicts if v.code == "material-spread")
    assert verdict.data["magnet_rel"] == pytest.approx(0.03, abs=0.005)
    assert 1e-4 < verdict.data["steel_rel"] < 0.03
    bl = result.force_factor
    assert bl is not None
    assert bl.u[4] / bl.at_rest == pytest.approx(
        np.hypot(verdict.data["magnet_rel"], verdict.data["steel_rel"]), rel=0.2
    )


def test_coil_in_the_steel(motor: Assembly) -> None:
    """A winding wider than the gap is bad."""
    assert motor.winding is not None
    wide = replace(motor, winding=replace(motor.winding, r_outer=14.5e-3))
    assert study(wide, QUICK).verdicts[0].code == "coil-outside-gap"


def test_coarse_mesh_is_said(motor: Assembly) -> None:
    """The note on the mesh appears with an error above 1 % only."""
    assert "mesh-coarse" not in codes(study(motor, StudySettings(points=9)))
    rough = study(motor, StudySettings(points=9, refinement=4.0))
    assert ("mesh-coarse" in codes(rough)) == (rough.error > 0.01)


def test_field_coil_instead_of_a_magnet(motor: Assembly) -> None:
    """A field coil's ampere turns drive the gap: by Ampère's law no more than mu0 N I over its width, and twice for twice the
    current while the steel is far from full.
    """
    once = study(changed(motor, "magnet", FieldCoil(turns=1000.0, current_a=0.25)), QUICK)
    twice = study(changed(motor, "magnet", FieldCoil(turns=1000.0, current_a=0.5)), QUICK)
    bound = MU_0 * 250.0 / (motor.gap.r_outer - motor.gap.r_inner)
    assert 0.0 < abs(once.gap_mean_t) < bound
    assert twice.gap_mean_t == pytest.approx(2.0 * once.gap_mean_t, rel=0.05)
    assert once.magnets == ()
    assert 0.0 < once.leakage_share < 1.0
    assert "field-coil-steady" in codes(once)


def test_no_coil_and_no_steel(motor: Assembly) -> None:
    """Without a coil there is a gap's field but no force factor; without steel nothing is said of it."""
    air = Filler(title="air", density_kg_m3=1.2)
    for name in ("pole", "back plate", "top plate"):
        motor = changed(motor, name, air)
    result = study(replace(motor, winding=None), StudySettings(refinement=2.0))
    assert result.force_factor is None
    assert result.offset_best_m is None
    assert result.steel == ()
    assert "steel-without-memory" not in codes(result)
    assert result.gap_z_m[0] < motor.gap.z_low < motor.gap.z_high < result.gap_z_m[-1]


def test_progress_and_cancel(motor: Assembly) -> None:
    """Progress rises to one; an exception of the callback stops the work."""
    told: list[float] = []
    study(motor, QUICK, lambda done, what: told.append(done))
    assert told == sorted(told)
    assert told[-1] == 1.0

    def stop(done: float, what: str) -> None:
        if done > 0.3:
            raise CancelledError("The study")

    with pytest.raises(CancelledError):
        study(motor, QUICK, stop)


def test_refused_settings(motor: Assembly) -> None:
    """Settings that cannot be, and a coil that leaves the field region."""
    for wrong in ({"points": 8}, {"travel_m": 0.0}, {"travel_m": float("nan")}, {"refinement": 9.0}):
        with pytest.raises(InputError):
            StudySettings(**wrong)  # type: ignore[arg-type]
    assert motor.winding is not None
    away = replace(motor, winding=replace(motor.winding, z_low=0.5, z_high=0.508))
    with pytest.raises(InputError, match="field region"):
        study(away, QUICK)


def test_displacements_hold_rest() -> None:
    """Odd numbers of points, symmetric, with an exact zero."""
    x = displacements(0.3e-3, 7)
    assert x[3] == 0.0
    assert x == pytest.approx(-x[::-1], abs=0.0)
    assert x[-1] == 0.3e-3
