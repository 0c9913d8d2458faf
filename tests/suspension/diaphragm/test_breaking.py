"""Break-up: against the rigid piston it becomes when stiff, a full solution, plate theory, and the part masses found otherwise."""

import math
from dataclasses import replace

import numpy as np
import pytest

from halfroll.acoustics.air import STANDARD_AIR
from halfroll.acoustics.radiation import directivity
from halfroll.core.errors import CancelledError, InputError
from halfroll.suspension.design import ConeDesign, FlexureDesign, MovingDesign, PrintSettings, StripDesign
from halfroll.suspension.diaphragm import break_up, moving_mass
from halfroll.suspension.diaphragm.assembly import assemble
from halfroll.suspension.diaphragm.breaking import _close_calls, _on_the_border
from halfroll.suspension.diaphragm.forced import forced
from halfroll.suspension.diaphragm.modes import (
    air_load,
    describe,
    is_break_up,
    nodal_circles,
    rigid_piston,
    solve_modes,
)
from tests.suspension.diaphragm.drivers import CONE, FORMER, PLA, SPIDER, SURROUND, dunlin


@pytest.fixture(scope="module")
def found():
    """The dunlin's break-up."""
    return break_up(dunlin())


def test_what_is_found(found):
    """Order, shapes of the arrays, words, and what is always said."""
    assert found.modes[0].kind == "piston"
    assert found.modes[0].heard == pytest.approx(1.0, abs=0.02)
    assert found.first_hz < found.second_hz < found.frequency_hz[-1]
    assert found.response_db.shape == found.piston_db.shape == (5, len(found.frequency_hz))
    assert found.frequency_hz[-1] >= 1.25 * found.second_hz
    assert (np.diff(found.frequency_hz) > 0).all()
    first = next(mode for mode in found.modes if mode.frequency_hz == found.first_hz)
    assert is_break_up(first)
    assert first.kind == "cone"
    assert "nodal circle" in first.words
    assert sum(first.lines) == len(first.shape) == len(first.places_m)
    assert np.hypot(*first.shape.T).max() == pytest.approx(1.0)
    assert {v.code for v in found.verdicts} >= {"bell-modes-not-covered", "cone-depth-approximate"}


def test_low_down_it_is_the_piston(found):
    """The level starts at 0 dB and is 3 dB away at the usable frequency."""
    low = found.frequency_hz < 400.0
    assert np.abs(found.response_db[0, low]).max() < 0.2
    assert found.usable_hz > 1000.0
    at = np.interp(math.log(found.usable_hz), np.log(found.frequency_hz), np.abs(found.response_db[0]))
    assert at == pytest.approx(found.usable_db, abs=0.3)


def test_mass_resonance_and_area_found_in_two_ways():
    """Rigid motion of the shell of lines against the sums over solids: mass, Sd, and with them the resonance."""
    mass = moving_mass(dunlin())
    rigid = rigid_piston(assemble(dunlin(), mass))
    assert rigid.mass_kg == pytest.approx(mass.mass_kg, rel=5e-3)
    assert rigid.area_m2 == pytest.approx(mass.area_m2, rel=5e-3)


def test_a_stiff_flat_disc_is_rayleighs_piston():
    """2 J1(x)/x at every angle, and 0 dB on axis, up to 20 kHz."""
    stiff = replace(PLA, modulus_pa=1e7 * PLA.modulus_pa)
    disc = ConeDesign(**{**CONE, "depth_m": 0.0, "material": stiff})
    assembly = assemble(MovingDesign(cone=disc))
    rigid = rigid_piston(assembly)
    hz = np.geomspace(100.0, 20e3, 40)
    angles = np.radians([0.0, 30.0, 60.0])
    result = forced(assembly, solve_modes(assembly), rigid, hz, angles)
    assert rigid.area_m2 == pytest.approx(math.pi * 0.03**2, rel=1e-9)
    for n, angle in enumerate(angles):
        expected = np.abs(directivity(2 * np.pi * hz * 0.03 / STANDARD_AIR.speed_of_sound, float(angle)))
        assert 10 ** (result.response_db[n] / 20) == pytest.approx(expected, abs=2e-3)


def test_reduced_solution_is_the_full_one():
    """Shapes and static rest against the whole lossy matrix solved outright."""
    assembly = assemble(dunlin())
    shell, rigid = assembly.shell, rigid_piston(assembly)
    hz = np.array([300.0, 2500.0, 6000.0, 11000.0])
    result = forced(assembly, solve_modes(assembly), rigid, hz, np.zeros(1))
    load = air_load(hz, rigid.radius_m)
    for n, f in enumerate(hz):
        w = 2 * np.pi * f
        matrix = shell.stiffness + 1j * shell.loss - w**2 * shell.mass + 1j * w * load[n] * assembly.air_area
        moved = 1j * w * np.linalg.solve(matrix, assembly.drive.astype(complex))
        phase = np.exp(1j * w / STANDARD_AIR.speed_of_sound * assembly.z)
        assert result.shell[0, n] == pytest.approx(phase @ (assembly.flow @ moved), rel=2e-3)


def test_modes_of_a_free_disc_make_no_sound_on_axis():
    """An even free plate's bending modes displace no volume (they are orthogonal to its rigid motion); the first is lambda² 9.003."""
    flat = replace(PLA, poisson=0.3)
    disc = ConeDesign(
        shape="dome", inner_radius_m=0.0, outer_radius_m=30e-3, depth_m=0.0, thickness_m=0.3e-3, material=flat
    )
    assembly = assemble(MovingDesign(cone=disc))
    modes, rigid = solve_modes(assembly), rigid_piston(assembly)
    shown = describe(assembly, modes, rigid)
    plastic = assembly.shell.lines[0]
    bending = math.sqrt(plastic.modulus_pa * 0.3e-3**2 / 12 / (1 - 0.09) / plastic.density_kg_m3)
    assert modes.omega[1] == pytest.approx(9.003 * bending / 0.03**2, rel=1e-3)
    assert shown[0].frequency_hz < modes.omega[1] / 2 / math.pi
    assert shown[0].heard < 1e-3
    assert not is_break_up(shown[0])
    # The nodal circle of that mode: r/a 0.6795 for nu 0.3 (zero of J0 + C I0 with the mode's own condition).
    (name, r, z), *others = nodal_circles(shown[0])
    assert (name, z, others) == ("dome", pytest.approx(0.0), [])
    assert r / 0.03 == pytest.approx(free_plate_node(3.00052, 0.3), rel=2e-3)


def free_plate_node(k: float, nu: float) -> float:
    """Where w = J0(kx) + C I0(kx) is zero, C from no moment at the free edge."""
    from scipy.optimize import brentq
    from scipy.special import i0, i1, j0, j1

    bent = k * j0(k) - (1 - nu) * j1(k)
    hollow = k * i0(k) - (1 - nu) * i1(k)
    return float(brentq(lambda x: j0(k * x) + bent / hollow * i0(k * x), 0.3, 0.95))


def test_modulus_and_scale():
    """All moduli by four: all resonances by two. All lengths by two, walls too: all by a half."""
    base = assemble(MovingDesign(cone=ConeDesign(**CONE)))
    stiffer = assemble(
        MovingDesign(cone=ConeDesign(**{**CONE, "material": replace(PLA, modulus_pa=4 * PLA.modulus_pa)}))
    )
    lengths = {k: 2 * v if k.endswith("_m") else v for k, v in CONE.items()}
    larger = assemble(MovingDesign(cone=ConeDesign(**lengths)))
    first = solve_modes(base, 6).omega[1:]
    assert solve_modes(stiffer, 6).omega[1:] == pytest.approx(2 * first, rel=1e-9)
    assert solve_modes(larger, 6).omega[1:] == pytest.approx(first / 2, rel=1e-9)


def test_uncertainty_by_solving_again(found):
    """Modulus, density and wall of every part of one material moved by their uncertainty, one after the other."""
    stiff = {k: replace(PLA, **{k: getattr(PLA, k) * 1.01}) for k in ("modulus_pa", "density_kg_m3")}
    alone = break_up(MovingDesign(cone=ConeDesign(**CONE)))

    def changed(**more):
        return break_up(MovingDesign(cone=ConeDesign(**{**CONE, **more}))).first_hz / alone.first_hz - 1

    modulus, density = (changed(material=stiff[k]) for k in ("modulus_pa", "density_kg_m3"))
    wall = changed(thickness_m=0.606e-3)
    assert modulus == pytest.approx(0.005, rel=0.01)
    assert density == pytest.approx(-0.005, rel=0.01)
    (spread,) = assemble(MovingDesign(cone=ConeDesign(**CONE))).spreads
    total = 100 * math.sqrt(
        (modulus * spread.modulus) ** 2 + (density * spread.density) ** 2 + (wall * spread.thickness) ** 2
    )
    assert alone.u_relative == pytest.approx(total, rel=0.02)
    assert 0.01 < found.u_relative < 0.2


def test_losses_add_and_set_the_height_of_the_peak():
    """1/Q is the plastic's loss factor and what the air takes; a resonance adds share times Q to what the rest does."""
    lossy, better = (
        break_up(MovingDesign(cone=ConeDesign(**{**CONE, "material": replace(PLA, loss_factor=loss)})))
        for loss in (0.04, 0.02)
    )
    first, second = lossy.modes[0], better.modes[0]
    assert first.frequency_hz == lossy.first_hz
    assert 1 / first.quality - 1 / second.quality == pytest.approx(0.02, rel=1e-6)
    near = [np.abs(r.frequency_hz / r.first_hz - 1) < 0.05 for r in (lossy, better)]
    rise = better.response_db[0, near[1]].max() - lossy.response_db[0, near[0]].max()
    assert rise == pytest.approx(second.peak_db - first.peak_db, abs=0.3)


def test_what_is_weighed_counts():
    """A cone heavier on the scale lowers the resonance."""
    heavy = ConeDesign(**{**CONE, "print": PrintSettings(weighed_kg=4e-3)})
    assert break_up(dunlin(cone=heavy)).modes[0].frequency_hz < break_up(dunlin()).modes[0].frequency_hz


@pytest.mark.parametrize("shape", ["dome", "flared", "free"])
def test_other_shapes(shape):
    """Domes, flared and free cones break up, too."""
    cones = {
        "dome": ConeDesign(
            shape="dome",
            inner_radius_m=0.0,
            outer_radius_m=12.5e-3,
            depth_m=-4e-3,
            thickness_m=0.4e-3,
            material=PLA,
        ),
        "flared": ConeDesign(**{**CONE, "shape": "flared", "flare_m": 2e-3}),
        "free": ConeDesign(
            **{**CONE, "shape": "free", "points": ((10e-3, 0.0), (18e-3, 7e-3), (30e-3, 12e-3))}
        ),
    }
    result = break_up(MovingDesign(cone=cones[shape]))
    assert result.first_hz > 1000.0
    assert np.isfinite(result.response_db).all()


def test_a_flexure_is_a_spring():
    """Stiff legs raise the resonance."""
    legs = FlexureDesign(name="spider", family="straight-legs", inner_radius_m=10e-3, outer_radius_m=26e-3, thickness_m=0.8e-3,
                         width_m=4e-3, arms=3, height_over_gap_m=8e-3, material=PLA)  # fmt: skip
    result = break_up(dunlin(spider=legs))
    assert result.modes[0].kind == "piston"
    assert result.modes[0].frequency_hz > break_up(dunlin()).modes[0].frequency_hz


def test_what_is_said_of_missing_and_misplaced_parts():
    """A part drawn elsewhere is moved to where it is glued, and changes nothing."""
    codes = {v.code for v in break_up(MovingDesign(cone=ConeDesign(**CONE))).verdicts}
    assert {"cone-edge-free", "cone-driven-at-neck", "neck-counted-closed"} <= codes
    high = replace(StripDesign(**SURROUND), height_over_gap_m=40e-3)
    apart = break_up(dunlin(surround=high))
    assert "moving-parts-apart" in {v.code for v in apart.verdicts}
    assert apart.first_hz == pytest.approx(break_up(dunlin()).first_hz, rel=1e-3)


def test_a_heavy_soft_surround_ends_the_piston_first(found):
    """A double roll of a soft plastic resonates far below the cone, and that is said; the thin half roll's cone comes first."""
    double = replace(StripDesign(**SURROUND), family="double-roll", thickness_m=0.8e-3)
    result = break_up(dunlin(surround=double))
    assert result.usable_hz < 0.4 * result.first_hz
    assert "surround-before-cone" in {v.code for v in result.verdicts}
    assert "surround-before-cone" not in {v.code for v in found.verdicts}


def test_refused_and_cancelled():
    """No cone, a winding beside its former, and a stop."""
    with pytest.raises(InputError, match="needs a cone"):
        break_up(MovingDesign(spider=StripDesign(**SPIDER)))
    with pytest.raises(InputError, match="winding must lie"):
        break_up(dunlin(former=replace(dunlin().former, winding_low_m=20e-3, winding_high_m=24e-3)))

    def stop(done: float, what: str) -> None:
        if done > 0.3:
            raise CancelledError("The break-up")

    with pytest.raises(CancelledError):
        break_up(dunlin(), progress=stop)


def test_a_former_moved_to_meet_the_cone_keeps_its_winding():
    """A former that ends 8 mm below the neck: told, moved up, and the winding still lies where it was wound."""
    low = replace(FORMER, low_m=-12e-3, high_m=2e-3, winding_low_m=-12e-3, winding_high_m=-6e-3)
    found = break_up(dunlin(former=low))
    assert "moving-parts-apart" in {verdict.code for verdict in found.verdicts}
    assert found.modes[0].kind == "piston"


def test_a_close_call_is_told_and_a_clear_one_is_not(found):
    """A resonance that moves the level by 3.5 dB or has 45 % of its energy in the cone stands at the border; clear ones do not."""
    clear = replace(
        next(mode for mode in found.modes if is_break_up(mode)),
        own_share=0.95,
        peak_db=12.0,
        frequency_hz=2000.0,
    )
    second = replace(clear, frequency_hz=3000.0)
    faint, shared = (
        replace(clear, peak_db=3.5, frequency_hz=1000.0),
        replace(clear, own_share=0.45, frequency_hz=1500.0),
    )
    assert not any(_on_the_border(mode) for mode in (clear, second))
    assert all(_on_the_border(mode) for mode in (faint, shared))
    assert _close_calls([clear, second], []) == []
    (verdict,) = _close_calls([faint, clear], [faint, shared])
    assert verdict.data == {"frequency_hz": [1000, 1500], "counted": [True, False]}
    # Beyond the second break-up nothing hangs on it.
    assert _close_calls([clear, second], [replace(shared, frequency_hz=4000.0)]) == []


def test_the_usable_frequency_is_as_unsure_as_what_ends_it(found):
    """The resonance whose part of the level there is largest, by the formula of one degree of freedom."""
    share = {
        mode: (10 ** (mode.peak_db / 20) - 1) / mode.quality * (r := (found.usable_hz / mode.frequency_hz) ** 2)
        / abs(complex(1 - r, r / mode.quality))
        for mode in found.modes[1:]
    }  # fmt: skip
    assert found.usable_u_relative == max(share, key=share.get).u_relative
