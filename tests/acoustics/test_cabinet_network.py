"""A cabinet as a load: against Small's definitions worked out by complex arithmetic, and what cannot be."""

import dataclasses
import math

import numpy as np
import pytest

from halfroll.acoustics.air import Air
from halfroll.acoustics.baffle import Baffle
from halfroll.acoustics.cabinet.fits import DriverSize, cabinet_verdicts, check_fit
from halfroll.acoustics.cabinet.network import leak_branch, load_of
from halfroll.acoustics.cabinet.port import Port
from halfroll.acoustics.cabinet.stuffing import Stuffing
from halfroll.acoustics.cabinet.types import Box, Cabinet, Cylinder, Gap, Hole, Losses, Radiator
from halfroll.acoustics.cabinet.walls import Walls
from halfroll.core.errors import InputError, RefusedError

AIR = Air(1.2, 343.0)
F = np.geomspace(5.0, 2000.0, 80)
S = 2j * np.pi * F
PORT = Port.round(0.05, 0.1)


def _vented(**more: object) -> Cabinet:
    return Cabinet(kind="vented", gross_m3=0.02, port=PORT, **more)  # type: ignore[arg-type]


def test_closed_is_a_spring() -> None:
    """Sealed: p = -x Sd ρ c²/V at any frequency."""
    found = load_of(Cabinet(kind="closed", gross_m3=0.005), AIR).pressure(F)
    assert np.allclose(found, -AIR.density * AIR.speed_of_sound**2 / 0.005 / S, rtol=1e-12)


def test_vented_with_all_losses() -> None:
    """Compliance behind RA, beside leak RL and the port's mass with RP, by their definitions (Small 1973)."""
    cabinet = _vented(losses=Losses(leak_q=7.0, absorption_q=30.0, port_q=40.0))
    tuning = cabinet.tuning_hz(AIR)
    assert tuning is not None
    w, c = 2 * np.pi * tuning, cabinet.compliance(AIR)
    air = 1.0 / (S * c) + 1.0 / (w * c * 30.0)
    port = S * PORT.mass(AIR) + 1.0 / (w * c * 40.0)
    leak = 7.0 / (w * c)
    impedance = 1.0 / (1.0 / air + 1.0 / port + 1.0 / leak)
    load = load_of(cabinet, AIR)
    assert np.allclose(load.pressure(F), -impedance, rtol=1e-10)
    flows = dict(zip(load.outlets, load.flows(F), strict=True))
    assert np.allclose(flows["port"], -impedance / port, rtol=1e-10)
    assert np.allclose(flows["leak"], -impedance / leak, rtol=1e-10)


def test_passive_radiator() -> None:
    """Mass, compliance and loss over area squared, in the port's place; the displacement is told."""
    radiator = Radiator(mass_kg=0.03, compliance_m_n=8e-4, resistance=0.9, area_m2=9e-3, count=2)
    cabinet = Cabinet(kind="passive-radiator", gross_m3=0.004, radiator=radiator)
    load = load_of(cabinet, AIR)
    mechanical = S * 0.03 + 0.9 + 1.0 / (S * 8e-4)
    branch = mechanical / 9e-3**2 / 2.0
    impedance = 1.0 / (S * cabinet.compliance(AIR) + 1.0 / branch)
    assert np.allclose(load.pressure(F), -impedance, rtol=1e-10)
    assert load.displacement_rows is not None
    moved = (load.displacement_rows @ load.states(F))[0]
    assert np.allclose(moved, -impedance * 9e-3 / mechanical / S, rtol=1e-10)
    tuned = cabinet.tuning_hz(AIR)
    assert tuned is not None
    assert 2 * math.pi * tuned == pytest.approx(
        math.sqrt((1 / 8e-4 + 2 * 9e-3**2 / cabinet.compliance(AIR)) / 0.03)
    )


def test_stuffing() -> None:
    """Compliance between adiabatic and isothermal with one relaxation; with leak and absorption beside it."""
    stuffing = Stuffing(packing_kg_m3=8.0)
    cabinet = Cabinet(
        kind="closed",
        gross_m3=0.005,
        stuffing=stuffing,
        losses=Losses(leak_q=10.0, absorption_q=5.0, at_hz=80.0),
    )
    c = cabinet.compliance(AIR) * stuffing.air_share
    w = 2 * np.pi * 80.0
    air = 1.0 / (S * c) + 1.0 / (w * c * 5.0)
    admittance = 1.0 / air + S * c * stuffing.gain / (1.0 + S * stuffing.time_s) + w * c / 10.0
    assert np.allclose(load_of(cabinet, AIR).pressure(F), -1.0 / admittance, rtol=1e-10)


def test_known_leak() -> None:
    """A slit of 0.1 x 50 mm in 3 mm, R = 12 μ t/(l h³) (Beranek); the leak is an outlet, its flow adds to that of QL."""
    mass, resists = leak_branch(Gap(long_m=0.05, open_m=1e-4, through_m=3e-3), AIR)
    assert resists == pytest.approx(12 * 1.81e-5 * 3e-3 / (0.05 * 1e-12))
    assert mass == pytest.approx(1.2 * 1.2 * 3e-3 / (0.05 * 1e-4))
    hole_mass, hole = leak_branch(Hole(diameter_m=1e-3, through_m=3e-3), AIR)
    assert hole == pytest.approx(8 * 1.81e-5 * 3e-3 / (math.pi * 0.5e-3**4))
    assert hole_mass == pytest.approx(4 / 3 * 1.2 * 3e-3 / (math.pi * 0.5e-3**2))
    cabinet = Cabinet(
        kind="closed",
        gross_m3=0.005,
        leak=Hole(diameter_m=1e-3, through_m=3e-3),
        losses=Losses(leak_q=20.0, at_hz=100.0),
    )
    load = load_of(cabinet, AIR)
    assert load.outlets == ("leak",)
    through = 1.0 / (S * hole_mass + hole) + 2 * np.pi * 100.0 * cabinet.compliance(AIR) / 20.0
    impedance = 1.0 / (S * cabinet.compliance(AIR) + through)
    assert np.allclose(load.flows(F)[0], -impedance * through, rtol=1e-10)


def test_net_volume() -> None:
    """Driver, bracing and the tube come off; what leaves no air is refused."""
    cabinet = Cabinet(
        kind="vented", gross_m3=0.003, taken_m3=2e-4, port=Port.round(0.03, 0.1, tube_wall_m=2e-3)
    )
    assert cabinet.net_m3 == pytest.approx(0.003 - 2e-4 - math.pi * 0.017**2 * 0.1)
    with pytest.raises(InputError, match="leaves no air"):
        Cabinet(kind="closed", gross_m3=0.001, taken_m3=0.00099)


@pytest.mark.parametrize(
    ("cabinet", "driver", "said"),
    [
        (Cabinet(kind="closed", gross_m3=0.001, inside=Box(width_m=0.1, height_m=0.1, depth_m=0.1)), DriverSize(outer_m=0.105, depth_m=0.05),
         r"inside: The driver's frame is wider than the inside.*105 mm in 100 mm"),
        (Cabinet(kind="closed", gross_m3=0.001, inside=Cylinder(diameter_m=0.12, depth_m=0.04)), DriverSize(outer_m=0.105, depth_m=0.05),
         r"inside.depth_mm: The driver is deeper.*50 mm in 40 mm"),
        (Cabinet(kind="vented", gross_m3=0.001, inside=Box(width_m=0.1, height_m=0.1, depth_m=0.1), port=Port.round(0.02, 0.16)), None,
         r"port.length_mm: The port is longer.*160 mm in 100 mm"),
        (Cabinet(kind="vented", gross_m3=0.001, inside=Box(width_m=0.1, height_m=0.1, depth_m=0.1), port=Port.slot(0.12, 0.01, 0.08)), None,
         r"port: The port is wider.*120 mm in 100 mm"),
    ],
)  # fmt: skip
def test_does_not_fit(cabinet: Cabinet, driver: DriverSize | None, said: str) -> None:
    """What cannot be built is refused, with what and where."""
    with pytest.raises(RefusedError, match=said):
        check_fit(cabinet, driver)


def test_said_of_a_cabinet() -> None:
    """Thin walls are soft and resonate, a long port sings; good ones are passed over."""
    soft = Walls(thickness_m=1.2e-3, modulus_pa=2.1e9, material="PETG")
    cabinet = Cabinet(kind="vented", gross_m3=0.006, inside=Box(width_m=0.15, height_m=0.2, depth_m=0.2), port=Port.round(0.03, 0.19), walls=soft,
                      front=Baffle(width_m=0.15, height_m=0.2, x_m=0.07, y_m=0.1))  # fmt: skip
    codes = {one.code for one in cabinet_verdicts(cabinet, used_to_hz=1000.0, air=AIR)}
    assert {"walls-soft", "walls-resonate", "port-resonates", "port-near-wall", "standing-wave"} <= codes
    reading = cabinet.wall_reading(AIR)
    assert reading is not None
    assert reading.lowest_hz < reading.highest_hz
    good = dataclasses.replace(
        cabinet, walls=Walls(thickness_m=8e-3, modulus_pa=3.5e9, ribs=20.0), port=Port.round(0.03, 0.05)
    )
    assert not {one.code for one in cabinet_verdicts(good, used_to_hz=400.0, air=AIR)} & {
        "walls-soft",
        "walls-resonate",
        "port-resonates",
    }


def test_bad_values() -> None:
    """Each names its key and what is allowed."""
    with pytest.raises(InputError, match=r"losses.ql.*0.5 or more.*0.2"):
        Losses(leak_q=0.2)
    with pytest.raises(InputError, match=r"radiator.mass_g"):
        Radiator(mass_kg=-1.0, compliance_m_n=1e-3, resistance=1.0, area_m2=1e-2)
    with pytest.raises(InputError, match=r"needs a table \[port\]"):
        Cabinet(kind="vented", gross_m3=0.01)
    with pytest.raises(InputError, match=r"length_mm.*0.1 to 5000 mm"):
        Port.round(0.05, -0.1)
