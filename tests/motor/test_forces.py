"""Axial forces: closed forms, the stress against virtual work, and the pull on parts while a motor is put together.

Sources: D. Vokoun, M. Beleggia, L. Heller, P. Sittner, "Magnetostatic interactions and forces between cylindrical permanent
magnets", J. Magn. Magn. Mater. 321, 3758 (2009), eq. 13 form for equal coaxial cylinders; Maxwell's mutual inductance for two coils;
images in a plane of high permeability; B^2 A / (2 mu0). Motors A1 and A2 are those of the shared oracles by shape.
"""

import math

import magpylib
import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import j1

from halfroll.core.errors import CancelledError, InputError
from halfroll.core.progress import CancelToken, silent
from halfroll.core.verdicts import Severity
from halfroll.materials.catalogue import catalogue
from halfroll.materials.steel import MU_0
from halfroll.motor.coil.inductance import circles
from halfroll.motor.field.free_mesh import NO_GAP
from halfroll.motor.force.assembly_cautions import implant_distance
from halfroll.motor.force.assembly_force import assembly_force, assembly_forces, building_order, contact_force
from halfroll.motor.force.stress import axial_force
from halfroll.motor.types import Assembly, FieldCoil, Filler, SoftSteel
from tests.motor.bodies import body, down, field_of, lifted, linear, ring, up


def two_discs(radius_m, height_m, distance_m, br_t):
    """Attraction (N) of two equal coaxial discs magnetised alike, their middles apart by `distance_m`."""
    tau, zeta = height_m / (2 * radius_m), distance_m / radius_m
    integral = quad(
        lambda q: j1(q) ** 2 / q * math.sinh(q * tau) ** 2 * math.exp(-q * zeta), 0, 200, limit=400
    )[0]
    return 8 * math.pi * (br_t**2 / (2 * MU_0)) * radius_m**2 * integral


@pytest.mark.parametrize("air_mm", [0.5, 2.0, 10.0, 30.0])
def test_two_disc_magnets(air_mm):
    """Attraction and, one turned over, repulsion by the closed form, within 0.5 %."""
    low, high = ring("low", up(1.2), 0, 10, 0, 5), ring("high", up(1.2), 0, 10, 5 + air_mm, 10 + air_mm)
    want = two_discs(10e-3, 5e-3, 1e-3 * (5 + air_mm), 1.2)
    field = field_of(low, high, refinement=2.0)
    assert axial_force(field, ["high"]) == pytest.approx(-want, rel=0.005)
    assert axial_force(field, ["low"]) == pytest.approx(want, rel=0.005)
    turned = field_of(low, ring("high", down(1.2), 0, 10, 5 + air_mm, 10 + air_mm), refinement=2.0)
    assert axial_force(turned, ["high"]) == pytest.approx(want, rel=0.005)


def test_two_coils():
    """i1 i2 dM/dz of two loops, Maxwell's elliptic form."""
    one = ring("one", FieldCoil(turns=1.0, current_a=100.0), 49.75, 50.25, -0.25, 0.25)
    other = ring("other", FieldCoil(turns=1.0, current_a=100.0), 39.75, 40.25, 19.75, 20.25)
    step = 1e-6
    low, high = circles(0.05, 0.04, np.array([0.02 - step, 0.02 + step]))
    want = 1e4 * (high - low) / (2 * step)
    assert axial_force(field_of(one, other), ["other"]) == pytest.approx(want, rel=0.003)


@pytest.mark.parametrize("air_mm", [0.5, 3.0])
def test_disc_on_a_wide_plate_is_pulled_by_its_image(air_mm):
    """Flux density at the plate is twice that of the disc alone (magpylib), the pull the integral of B^2/(2 mu0)."""
    disc, plate = ring("disc", up(1.2), 0, 8, 0, 4), ring("plate", linear(2e4), 0, 60, -10 - air_mm, -air_mm)
    magnet = magpylib.magnet.Cylinder(
        polarization=(0, 0, 1.2), dimension=(16e-3, 4e-3), position=(0, 0, 2e-3)
    )
    r = np.linspace(0.0, 60e-3, 3001)
    b = 2.0 * magnet.getB(np.column_stack([r, 0 * r, 0 * r - 1e-3 * air_mm]))[:, 2]
    want = np.trapezoid(b**2 / (2 * MU_0) * 2 * math.pi * r, r)
    assert axial_force(field_of(disc, plate), ["plate"]) == pytest.approx(want, rel=0.01)


def test_narrow_gap_pulls_with_b_squared():
    """A pot magnet and its lid 0.1 mm apart, iron of very high permeability: the ampere turns lie across both gaps,
    N I = (B1 + B2) g / mu0 with B1 A1 = B2 A2, and the pull is B1^2 A1 + B2^2 A2 over 2 mu0. Within 3 %: the gaps' fringe is left out.
    """
    iron, gap, turns = linear(1e5), 0.1e-3, 100.0
    pot = body("pot", iron, (0, -30), (19, -30), (19, 0), (16, 0), (16, -24), (10, -24), (10, 0), (0, 0))
    lid = ring("lid", iron, 0, 19, 0.1, 6.1)
    coil = ring("coil", FieldCoil(turns=turns, current_a=1.0), 11, 15, -22, -4)
    inner, outer = math.pi * 0.010**2, math.pi * (0.019**2 - 0.016**2)
    b1 = MU_0 * turns / gap / (1.0 + inner / outer)
    want = (b1**2 * inner + (b1 * inner / outer) ** 2 * outer) / (2 * MU_0)
    assert -axial_force(field_of(pot, lid, coil, refinement=2.0), ["lid"]) == pytest.approx(want, rel=0.03)


def ferrite_motor():
    """Ring magnet round a pole, as shared oracle A1."""
    soft, ferrite = SoftSteel(steel=catalogue().steels["steel-1010"]), down(0.38, 1.06)
    return (ring("pole", soft, 0, 12.5, -16, 2), ring("back plate", soft, 12.5, 30, -16, -12),
            ring("magnet", ferrite, 16, 30, -12, -2), ring("top plate", soft, 14, 25, -2, 2))  # fmt: skip


def cup_motor():
    """Disc magnet in a cup, as shared oracle A2."""
    soft = SoftSteel(steel=catalogue().steels["steel-1010"])
    return (ring("base", soft, 0, 15.5, -16, -12), ring("wall", soft, 11.5, 15.5, -12, 2),
            ring("magnet", up(1.28, 1.05), 0, 10, -12, -2), ring("pole plate", soft, 0, 10, -2, 2))  # fmt: skip


@pytest.mark.parametrize(("motor", "air_mm"), [(ferrite_motor, 0.3), (ferrite_motor, 3.0), (cup_motor, 1.0)])
def test_stress_and_virtual_work_agree(motor, air_mm):
    """Saturating steel: force by the stress against the fall of energy over a small way, from two fields on meshes of their own:
    within 2 %. And what acts on one part acts on the others the other way round.
    """
    *rest, last = motor()
    step = max(0.05, 0.05 * air_mm)
    forces, energies = [], []
    for away in (air_mm - step, air_mm + step):
        field = field_of(*rest, lifted(last, away))
        forces.append(axial_force(field, [last.name]))
        energies.append(field.energy_j)
        assert axial_force(field, [part.name for part in rest]) == pytest.approx(-forces[-1], rel=1e-3)
    work = -(energies[1] - energies[0]) / (2e-3 * step)
    assert np.mean(forces) == pytest.approx(work, rel=0.02)


def test_a_touching_part_is_refused():
    """Between bodies in contact there is no air to take the stress from."""
    field = field_of(*cup_motor(), refinement=2.0)
    with pytest.raises(InputError, match="must not touch another magnet or steel part"):
        axial_force(field, ["magnet"])
    with pytest.raises(InputError, match="must be asked for on a part of the motor"):
        axial_force(field, ["lid"])


def whole(*parts):
    """Parts as a finished stack."""
    return Assembly(bodies=parts, gap=NO_GAP)


def test_building_order_and_forces_of_a_ferrite_motor():
    """From the bottom up, steel before magnets at one height; the plate is pulled harder the nearer it comes."""
    motor = whole(*reversed(ferrite_motor()))
    assert building_order(motor) == ("pole", "back plate", "magnet", "top plate")
    magnet, plate = assembly_forces(motor, (0.2e-3, 0.5e-3, 1e-3))
    assert (magnet.body, plate.body) == ("magnet", "top plate")
    for found in (magnet, plate):
        assert (np.diff(found.force_n) < 0).all()
        assert found.force_n[-1] > 0
        assert found.contact_n > found.force_n[0]
        assert found.u_rel < 0.002
        pinch = next(v for v in found.verdicts if v.code == "magnet-pinch")
        assert pinch.severity is Severity.CAUTION
        assert pinch.data["force_n"] == pytest.approx(found.contact_n)
        assert pinch.data["mass_kg"] == pytest.approx(found.contact_n / 9.80665)
        assert "like lifting" in pinch.text
        assert "wedges" in pinch.remedy


@pytest.mark.parametrize("motor", [ferrite_motor, cup_motor])
def test_contact_force_is_where_a_thin_gap_leads(motor):
    """Extrapolated from 0.1, 0.2 and 0.5 mm, against the field at 0.02 mm: more, by less than 2 %."""
    *rest, last = motor()
    distances = np.array([0.1e-3, 0.2e-3, 0.5e-3])
    forces, near = (
        np.array(
            [-axial_force(field_of(*rest, lifted(last, 1e3 * d), refinement=2.0), [last.name]) for d in which]
        )
        for which in (distances, [0.02e-3])
    )
    assert near[0] < contact_force(distances, forces) < 1.02 * near[0]


def test_opposed_magnets_push_and_are_said_to():
    """A second magnet the wrong way round, and its strength by the closed form."""
    motor = whole(ring("low", up(1.2), 0, 10, 0, 5), ring("high", down(1.2), 0, 10, 5, 10))
    found = assembly_forces(motor, (1e-3, 5e-3))[0]
    want = [-two_discs(10e-3, 5e-3, 5e-3 + d, 1.2) for d in (1e-3, 5e-3)]
    assert found.force_n == pytest.approx(want, rel=0.01)
    pushed = next(v for v in found.verdicts if v.code == "magnet-repelled")
    assert not pushed.data["stays"]
    assert "turns over" in pushed.text


def test_strong_pull_is_no_work_for_hands():
    """A 50 mm neodymium disc on a plate."""
    motor = whole(ring("plate", linear(1000.0), 0, 30, -10, 0), ring("magnet", up(1.3), 0, 25, 0, 10))
    found = assembly_force(motor, "magnet", (0.2e-3, 0.5e-3, 1e-3))
    pinch = next(v for v in found.verdicts if v.code == "magnet-pinch")
    assert pinch.severity is Severity.BAD
    assert pinch.data["force_n"] > 140


def test_on_glue_the_force_is_that_in_its_place():
    """A tenth of a millimetre of glue: the extrapolation ends where the part lies, within 1 % of the field there."""
    plate, magnet = ring("plate", linear(1000.0), 0, 10, -4, 0), ring("magnet", up(1.2), 0, 8, 0.1, 4.1)
    found = assembly_force(whole(plate, magnet), "magnet", (0.1e-3, 0.2e-3, 0.5e-3))
    there = -axial_force(field_of(plate, magnet, refinement=2.0), ["magnet"])
    assert found.contact_n == pytest.approx(there, rel=0.01)
    assert assembly_force(whole(plate, magnet), "magnet", (2e-3,)).contact_n is None


def test_parts_joined_before_move_as_one():
    """Two discs of 5 mm brought together feel what one disc of 10 mm feels."""
    plate = ring("plate", linear(1000.0), 0, 12, -6, 0)
    low, high = ring("low", up(1.2), 0, 10, 0, 5), ring("high", up(1.2), 0, 10, 5, 10)
    pair = assembly_force(whole(plate, low, high), ("low", "high"), (1e-3,))
    one = assembly_force(whole(plate, ring("disc", up(1.2), 0, 10, 0, 10)), "disc", (1e-3,))
    assert pair.body == "low and high"
    assert pair.force_n == pytest.approx(one.force_n, rel=2e-3)


def test_from_below_when_the_way_is_blocked_above():
    """A plate under a hood comes from below, with the same pull as the mirrored motor from above."""
    hood = body("hood", linear(1000.0), (0, 5), (12, 5), (12, 0), (15, 0), (15, 9), (0, 9))
    magnet = ring("magnet", up(1.2), 0, 8, 0, 4.8)
    found = assembly_force(whole(hood, magnet), "magnet", (0.5e-3, 2e-3))
    turned = whole(
        body("hood", linear(1000.0), (0, -9), (15, -9), (15, 0), (12, 0), (12, -5), (0, -5)),
        ring("magnet", up(1.2), 0, 8, -4.8, 0),
    )
    assert found.force_n == pytest.approx(assembly_force(turned, "magnet", (0.5e-3, 2e-3)).force_n, rel=2e-3)
    assert found.force_n[0] > 0


def test_what_cannot_be_computed_is_said():
    """A disc that slides in a bore without air, and one shut in from both sides."""
    bore = ring("bore", linear(1000.0), 8, 12, 0, 10)
    sliding = assembly_force(whole(bore, ring("magnet", up(1.2), 0, 8, 0, 4)), "magnet", (0.5e-3,))
    assert sliding.force_n.size == 0
    assert sliding.verdicts[0].code == "assembly-force-unknown"
    assert "slides along" in sliding.verdicts[0].text
    box = body("box", linear(1000.0), (0, 0), (12, 0), (12, 10), (0, 10), (0, 8), (10, 8), (10, 2), (0, 2))
    shut = assembly_force(whole(box, ring("magnet", up(1.2), 0, 8, 3, 6)), "magnet", (0.5e-3,))
    assert "in the way" in shut.verdicts[0].text


def test_fillers_and_idle_field_coils_do_not_count():
    """A printed spacer that touches both changes nothing, nor does a field coil without current."""
    plate, magnet = ring("plate", linear(1000.0), 0, 10, -4, 0), ring("magnet", up(1.2), 0, 8, 0.5, 4)
    spacer = ring("spacer", Filler(title="petg", density_kg_m3=1270.0), 0, 8, 0, 0.5)
    coil = ring("coil", FieldCoil(turns=100.0, current_a=5.0), 11, 14, -4, 4)
    bare = assembly_force(whole(plate, magnet), "magnet", (1e-3,))
    full = assembly_force(whole(plate, spacer, magnet, coil), "magnet", (1e-3,))
    assert full.force_n == pytest.approx(bare.force_n, rel=1e-9)


def test_stopping_and_bad_distances():
    """A stop is obeyed before the first field; distances and names are checked."""
    motor = whole(*cup_motor())
    token = CancelToken()
    token.cancel()
    with pytest.raises(CancelledError):
        assembly_forces(motor, progress=token.wrap(silent))
    for wrong in ((), (0.0, 1e-3), (2e-3, 1e-3), (math.nan,)):
        with pytest.raises(InputError, match="must ascend and lie above 0"):
            assembly_force(motor, "magnet", wrong)
    with pytest.raises(InputError, match="must be a magnet or of steel"):
        assembly_force(motor, "glue")


@pytest.mark.parametrize(("radius_mm", "distance_mm"), [(10.0, 107.0), (20.0, 172.0)])
def test_distance_of_half_a_millitesla(radius_mm, distance_mm):
    """Discs of 1.42 T, 10 mm high: 107 and 172 mm from the face by the exact axial field; the dipole counts from the middle."""
    disc = ring("disc", up(1.42), 0, radius_mm, 0, 10)
    assert 1e3 * implant_distance([disc]) - 5.0 == pytest.approx(distance_mm, rel=0.02)
