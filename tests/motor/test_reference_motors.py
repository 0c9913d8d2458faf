"""The reference motors A1 and A2, solved with other programs on other meshes (tests/references/motor): every figure of the field."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from halfroll.motor.field.magnetostatics import StaticField, solve
from halfroll.motor.field.mesh import MeshSettings, mesh_of
from halfroll.motor.field.saturation import section_means
from halfroll.motor.field.sections import Section, across_axis, around_axis
from halfroll.motor.field.study import StudySettings, study
from halfroll.motor.results import MotorResult
from halfroll.motor.types import Assembly, Filler, Magnet, SoftSteel, Winding
from tests.motor.eddy_motors import REFERENCES, reference

TRAVEL_M = 8e-3
NAMES = ("A1", "A2")


class Solved:
    """A reference motor, its stored results, its field on the standard mesh and its study."""

    def __init__(self, name: str) -> None:
        self.stored: dict[str, Any]
        self.assembly: Assembly
        self.stored, self.assembly = reference(name)
        self.field: StaticField = solve(mesh_of(self.assembly, MeshSettings(travel_m=TRAVEL_M)))
        self.result: MotorResult = study(self.assembly, StudySettings(travel_m=TRAVEL_M))

    @property
    def truth(self) -> dict[str, Any]:
        """The stored results."""
        return dict(self.stored["results"])


@pytest.fixture(scope="module", params=NAMES)
def solved(request: pytest.FixtureRequest) -> Solved:
    """Both motors in turn."""
    return Solved(request.param)


def test_force_factor_over_displacement(solved: Solved) -> None:
    """Bl(x) from -8 to +8 mm within 0.2 % of its maximum."""
    bl, want = solved.result.force_factor, np.asarray(solved.truth["Bl_Tm"])
    assert bl is not None
    assert bl.x_m == pytest.approx(1e-3 * np.asarray(solved.truth["x_mm"]), abs=1e-12)
    assert bl.bl == pytest.approx(want, abs=2e-3 * want.max())


def test_error_estimate_holds_the_true_error(solved: Solved) -> None:
    """Stated uncertainty: not below the true error against the finest stored mesh, nor more than ten times above it."""
    bl, want = solved.result.force_factor, np.asarray(solved.truth["Bl_Tm"])
    assert bl is not None
    true = float(np.abs(bl.bl - want).max())
    assert true <= bl.u.max() <= 10.0 * true
    assert bl.u.max() < 2e-3 * want.max()


def test_gap_field_along_the_axis(solved: Solved) -> None:
    """B_r at the gap's middle radius from the back plate to 16 mm outside within 3 mT."""
    z = 1e-3 * np.asarray(solved.truth["z_mm"])
    gap = solved.assembly.gap
    got = solved.field.flux_density(np.full(len(z), 0.5 * (gap.r_inner + gap.r_outer)), z)[:, 0]
    assert got == pytest.approx(np.asarray(solved.truth["Br_z_T"]), abs=3e-3)


def test_gap_flux_density(solved: Solved) -> None:
    """Mean over the gap's height within 0.2 %, and its stated uncertainty holds the difference."""
    want = solved.truth["B_gap_avg_T"]
    assert solved.result.gap_mean_t == pytest.approx(want, rel=2e-3)
    assert abs(solved.result.gap_mean_t - want) <= 3.0 * solved.result.gap_u_t


def test_section_means(solved: Solved) -> None:
    """Means over the cross-sections the reference names within 0.5 %, and our fullest section is at least as full.

    The reference looked at sections a few tenths of a millimetre apart, so it may have missed the very fullest one.
    """
    parts = [body for body in solved.assembly.bodies if isinstance(body.matter, SoftSteel)]
    for body, stored, ours in zip(parts, solved.truth["steel"], solved.result.steel, strict=True):
        across = Section(1e-3 * stored["at_z_mm"], *body.bounds[:2])
        around = Section(1e-3 * stored["at_r_mm"], *body.bounds[2:])
        got_z, got_r = section_means(solved.field, [across], "z"), section_means(solved.field, [around], "r")
        largest = max(stored["max_section_mean_Bz"], stored["max_section_mean_Br"])
        assert abs(got_z[0]) == pytest.approx(stored["max_section_mean_Bz"], rel=5e-3, abs=1e-3 * largest)
        assert abs(got_r[0]) == pytest.approx(stored["max_section_mean_Br"], rel=5e-3, abs=1e-3 * largest)
        assert largest * (1 - 1e-3) < ours.mean_t < 1.01 * largest


def test_interior_peaks(solved: Solved) -> None:
    """Largest flux density half a millimetre inside the steel's faces within 3 %."""
    want = [stored["peak_B_interior"] for stored in solved.truth["steel"]]
    assert [steel.peak_t for steel in solved.result.steel] == pytest.approx(want, rel=0.03)


def test_operating_point(solved: Solved) -> None:
    """Mean flux density in the magnet within 0.2 %, permeance within 0.3 %, worst place within 1 %."""
    (stored,), (ours,) = solved.truth["magnet"], solved.result.magnets
    assert ours.b_mean_t == pytest.approx(abs(stored["Bz_avg"]), rel=2e-3)
    assert ours.permeance == pytest.approx(stored["permeance"], rel=3e-3)
    assert ours.b_worst_t == pytest.approx(stored["min_B_along_M"], rel=1e-2)
    assert ours.worst_at_m == pytest.approx(1e-3 * np.asarray(stored["min_at"]), abs=0.1e-3)


@pytest.mark.parametrize("name", NAMES)
def test_without_steel(name: str) -> None:
    """The same magnets in air (mu_rec 1): Bl at rest against magpylib's closed forms, as stored, within 0.1 %."""
    _, assembly = reference(name)

    def bare(matter: object) -> Any:
        if isinstance(matter, Magnet):
            return replace(matter, grade=replace(matter.grade, mu_rec=1.0))
        return Filler(title="air", density_kg_m3=1.2)

    assembly = replace(
        assembly, bodies=tuple(replace(body, matter=bare(body.matter)) for body in assembly.bodies)
    )
    assert assembly.winding is not None
    field = solve(mesh_of(assembly, MeshSettings(travel_m=TRAVEL_M)))
    stored = json.loads((REFERENCES / "noiron_check.json").read_text(encoding="utf-8"))[name]
    bl = abs(float(field.force_factor(assembly.winding, np.zeros(1))[0]))
    assert bl == pytest.approx(stored["Bl0_magpylib"], rel=1e-3)


def test_start_does_not_matter() -> None:
    """The energy is convex, so Newton's method ends at one field from anywhere: here from noise."""
    _, assembly = reference("A1")
    motor = mesh_of(assembly, MeshSettings(refinement=2.0, travel_m=TRAVEL_M))
    first = solve(motor)
    noisy = first.potential.space
    import ngsolve as ng

    start = ng.GridFunction(noisy)
    values = start.vec.FV().NumPy()
    values[:] = np.where(noisy.FreeDofs(), np.random.default_rng(4).normal(0.0, 1e-3, len(values)), 0.0)
    again = solve(motor, start=replace(first, potential=start))
    assert again.energy_j == pytest.approx(first.energy_j, rel=1e-9)
    z = np.linspace(-0.01, 0.01, 9)
    assert again.flux_density(0.0132 + 0 * z, z) == pytest.approx(
        first.flux_density(0.0132 + 0 * z, z), abs=1e-5
    )


@pytest.mark.parametrize("seed", range(5))
def test_error_estimate_on_motors_of_random_dimensions(seed: int) -> None:
    """A disc magnet in a cup of other dimensions each time: the stated error holds the change to a mesh twice as fine."""
    rng = np.random.default_rng(seed)
    pole, gap, plate, height, floor, wall = (
        1e-3 * rng.uniform(*reach) for reach in ((5, 15), (0.8, 2.5), (1, 6), (2, 15), (1, 6), (1, 5))
    )
    _, assembly = reference("A2")
    top, outer = 0.5 * plate, pole + gap
    sizes = {
        "pole": (0.0, outer + wall, -top - height - floor, -top - height),
        "back plate": (outer, outer + wall, -top - height, top),
        "magnet": (0.0, rng.uniform(0.7, 1.0) * pole, -top - height, -top),
        "top plate": (0.0, pole, -top, top),
    }
    bodies = tuple(
        replace(body, outline=((a, c), (b, c), (b, d), (a, d)))
        for body in assembly.bodies
        for a, b, c, d in [sizes[body.name]]
    )
    half = rng.uniform(0.6, 2.0) * top
    winding = Winding(
        r_inner=pole + 0.25 * gap, r_outer=pole + 0.75 * gap, z_low=-half, z_high=half, turns=40
    )
    cup = replace(assembly.gap, r_inner=pole, r_outer=outer, z_low=-top, z_high=top)
    motor = Assembly(bodies=bodies, gap=cup, winding=winding)
    bl = study(motor).force_factor
    assert bl is not None
    settings = MeshSettings(refinement=0.5, travel_m=float(bl.x_m[-1]))
    fine = solve(mesh_of(motor, settings)).force_factor(winding, bl.x_m)
    assert np.abs(bl.bl - fine).max() <= bl.u.max() < 5e-3 * np.abs(fine).max()


def test_sections_of_a_stepped_pole() -> None:
    """A pole with a plate in one piece: discs of both radii are among its sections, none of them crosses air."""
    outline = ((0.0, 0.0), (30e-3, 0.0), (30e-3, 5e-3), (12e-3, 5e-3), (12e-3, 20e-3), (0.0, 20e-3))
    widths = {round(1e3 * (section.high - section.low), 6) for section in across_axis(outline)}
    heights = {round(1e3 * (section.high - section.low), 6) for section in around_axis(outline)}
    assert widths == {30.0, 12.0}
    assert heights == {20.0, 5.0}
