"""Near-field takes of cones and ports against King's integral for a piston and against a circuit solver's vented box."""

import json
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import quad_vec
from scipy.special import j0, j1

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.acoustics.nearfield import near_field_limit_hz
from halfroll.core.conditions import Conditions, Space
from halfroll.core.errors import InputError, RefusedError
from halfroll.core.frequency import log_grid
from halfroll.measure.analysis.response import Gate, ImpulseResponse, Response
from halfroll.measure.joining.near_far import Mouth, near_sum, scale_u_db

GRID = log_grid(5.0, 6000.0)
VENTED = json.loads(
    (Path(__file__).parents[1] / "references" / "vented_box" / "ac_vented.json").read_text(encoding="utf-8")
)


def king(frequency_hz: np.ndarray, radius: float, height: float, aside: float, air: Air) -> np.ndarray:
    """Pressure of a baffled piston per acceleration near its face by King's integral over Bessel functions.

    L. V. King, Canadian Journal of Research 11, 1934: p = ρ a ∫ J0(κr) J1(κa) e^{-μz}/μ dκ, μ² = κ² - k².
    """
    k = 2.0 * np.pi * frequency_hz / air.speed_of_sound

    def waves(angle: float) -> np.ndarray:
        kappa = k * np.sin(angle)
        return -1j * j0(kappa * aside) * j1(kappa * radius) * np.exp(-1j * height * k * np.cos(angle))

    def near(mu: float) -> np.ndarray:
        kappa = np.hypot(k, mu)
        return j0(kappa * aside) * j1(kappa * radius) * np.exp(-height * mu) / kappa + 0j

    return (
        air.density
        * radius
        * (quad_vec(waves, 0.0, np.pi / 2.0)[0] + quad_vec(near, 0.0, 60.0 / height, limit=2000)[0])
    )


def near_response(
    pressure_pa: np.ndarray,
    *,
    microphone_m: float,
    frequency_hz: np.ndarray = GRID,
    drive_v: float = 1.0,
    harmonics_pa: np.ndarray | None = None,
    space: Space = Space.NEAR,
) -> Response:
    """A near-field response of a given pressure at its drive."""
    n = len(frequency_hz)
    return Response(
        frequency_hz=frequency_hz, pressure_pa=pressure_pa, pressure_full_pa=pressure_pa,
        voltage_v=np.full(n, drive_v), noise_pa=np.zeros((10, n)), impedance_ohm=None,
        harmonics_pa=np.zeros((9, n), dtype=complex) if harmonics_pa is None else harmonics_pa,
        impulse=ImpulseResponse(values=np.zeros(1), start_s=0.0, rate_hz=48000), gate=Gate(),
        valid_hz=(float(frequency_hz[0]), float(frequency_hz[-1])),
        conditions=Conditions(drive_v=drive_v, distance_m=microphone_m, space=space), calibrated=True, voltage_recorded=True,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("radius", "microphone"), [(0.05, 0.003), (0.05, 0.0055), (0.13, 0.01), (0.02, 0.002)]
)
def test_piston_comes_out_at_a_distance_as_the_exact_integral_has_it(
    radius: float, microphone: float
) -> None:
    """Within 0.1 dB over the whole range claimed: near by King's integral, far by Rayleigh's low-frequency ρ S a/(2πr)
    with the piston's own pattern, both in place of halfroll's closed form. A microphone a tenth of the radius aside too.
    """
    grid = log_grid(10.0, 2.0 * near_field_limit_hz(radius))[::8]
    found = [
        near_sum([Mouth(response=_of_king(grid, radius, microphone, aside), radius_m=radius)], 3.0)
        for aside in (0.0, radius / 10.0)
    ]
    low, high = found[0].valid_hz
    assert high == pytest.approx(1.643 * STANDARD_AIR.speed_of_sound / (2 * np.pi * radius), rel=1e-3)
    k = 2.0 * np.pi * grid / STANDARD_AIR.speed_of_sound
    node, weight = np.polynomial.legendre.leggauss(40)  # Rayleigh's integral over rings, at 3 m
    rings, weights = radius * (node + 1.0) / 2.0, radius * weight / 2.0
    way = np.hypot(3.0, rings)
    true = STANDARD_AIR.density * np.exp(-1j * np.outer(k, way)) @ (weights * rings / way)
    claimed = (grid >= low) & (grid <= high)
    for one in found:
        assert np.abs(20.0 * np.log10(np.abs(one.pressure_pa_per_v / true)))[claimed].max() < 0.1
    assert np.abs(np.angle(found[0].pressure_pa_per_v / true))[claimed].max() < np.radians(1.0)


def _of_king(grid: np.ndarray, radius: float, height: float, aside: float) -> Response:
    return near_response(
        king(grid, radius, height, aside, STANDARD_AIR), microphone_m=height, frequency_hz=grid
    )


def test_at_low_frequency_it_is_keeles_rule() -> None:
    """Keele 1974: 50 mm and 1 m are -32.04 dB at the cone; L_far = L_near + 20 lg(a/2r)."""
    far = near_sum(
        [Mouth(response=near_response(np.ones(len(GRID), dtype=complex), microphone_m=1e-6), radius_m=0.05)]
    )
    assert 20.0 * math.log10(abs(far.pressure_pa_per_v[0])) == pytest.approx(-32.0412, abs=6e-3)


def test_cone_and_port_give_the_vented_box_of_the_circuit_solver() -> None:
    """Near fields of both are made from ngspice's volume velocities by King's integral; the sum is ngspice's sum."""
    constants = VENTED["constants"]
    air = Air(constants["rho0"], constants["c"])
    frequency = np.array(VENTED["frequency_hz"])
    cone_area, port_area = constants["Sd_m2"], 3.5e-4
    mouths = [
        _of_volume("p_cone_Pa_per_V", "cone", cone_area, 0.004, air),
        _of_volume("p_port_Pa_per_V", "port", port_area, 0.001, air),
    ]
    found = near_sum(mouths, 10.0, air)  # ngspice's 1/r is that of the far field
    rebuilt = 10.0 * found.pressure_pa_per_v * np.exp(10.0 * 2j * np.pi * frequency / air.speed_of_sound)
    true, cone = (_complex(key) for key in ("p_Pa_per_V", "p_cone_Pa_per_V"))
    valid = frequency <= found.valid_hz[1]
    assert np.abs(20.0 * np.log10(np.abs(rebuilt / true)))[valid & (frequency > 20.0)].max() < 0.1
    assert (np.abs(rebuilt - true) / np.maximum(np.abs(true), 0.1 * np.abs(cone)))[
        valid
    ].max() < 0.0116  # 0.1 dB
    assert np.abs(true[0]) < 0.02 * np.abs(cone[0])  # far below the tuning cone and port nearly cancel
    assert found.verdicts == ()


def test_weights_go_by_radius() -> None:
    """Equal near-field pressures of cone and port: the port counts by its radius over the cone's, the root of areas."""
    flat = near_response(np.ones(len(GRID), dtype=complex), microphone_m=1e-6)
    found = near_sum(
        [Mouth(response=flat, radius_m=0.06), Mouth(response=flat, radius_m=0.02, kind="port", count=2)]
    )
    cone, port = (abs(part[0]) for _, part in found.parts)
    assert port / cone == pytest.approx(2.0 * math.sqrt(0.02**2 / 0.06**2), rel=1e-3)


def _complex(key: str) -> np.ndarray:
    return np.array(VENTED[key]["re"]) + 1j * np.array(VENTED[key]["im"])


def _of_volume(key: str, kind: str, area: float, microphone: float, air: Air) -> Mouth:
    """A near field from ngspice's volume acceleration, 2π r p/ρ."""
    frequency, radius = np.array(VENTED["frequency_hz"]), math.sqrt(area / math.pi)
    acceleration = _complex(key) * 2.0 * np.pi / air.density / area
    pressure = acceleration * king(frequency, radius, microphone, 0.0, air)
    response = near_response(pressure, microphone_m=microphone, frequency_hz=frequency)
    return Mouth(response=response, radius_m=radius, kind=kind)  # type: ignore[arg-type]


def test_harmonics_are_carried_at_their_own_frequency() -> None:
    """An order at 3f is carried by the piston's factor at 3f, and left out where the drives differ."""
    harmonics = np.zeros((9, len(GRID)), dtype=complex)
    harmonics[1] = 0.01
    one = near_response(np.ones(len(GRID), dtype=complex), microphone_m=0.005, harmonics_pa=harmonics)
    found = near_sum([Mouth(response=one, radius_m=0.05)])
    at = int(np.argmin(np.abs(GRID - 100.0)))
    fundamental = int(np.argmin(np.abs(GRID - 3.0 * GRID[at])))
    gain = abs(found.pressure_pa_per_v[fundamental])
    assert abs(found.harmonics_pa[1, at]) == pytest.approx(0.01 * gain, rel=1e-3)
    louder = replace(one, voltage_v=2.0 * one.voltage_v)
    apart = near_sum([Mouth(response=one, radius_m=0.05), Mouth(response=louder, radius_m=0.02, kind="port")])
    assert np.isnan(apart.harmonics_pa).all()
    assert "near-drives-differ" in {verdict.code for verdict in apart.verdicts}


def test_uncertainty_of_the_scale_follows_the_radius() -> None:
    """2 % of radius are 0.17 dB (20 lg 1.02); a millimetre before a small cone counts for more than before a large one."""
    flat = near_response(np.ones(len(GRID), dtype=complex), microphone_m=0.005)
    small, large = (scale_u_db(Mouth(response=flat, radius_m=r)) for r in (0.02, 0.13))
    assert small > large > 20.0 * math.log10(1.02)


def test_refusals() -> None:
    """Without a cone, with a take from a distance, with a radius of nought: a reason each."""
    flat = near_response(np.ones(len(GRID), dtype=complex), microphone_m=0.005)
    with pytest.raises(InputError, match="one cone at least"):
        near_sum([Mouth(response=flat, radius_m=0.02, kind="port")])
    with pytest.raises(InputError, match="radius"):
        near_sum([Mouth(response=flat, radius_m=0.0)])
    far = near_response(np.ones(len(GRID), dtype=complex), microphone_m=1.0, space=Space.HALF)
    with pytest.raises(RefusedError, match="must be near-field"):
        near_sum([Mouth(response=far, radius_m=0.05)])


def test_microphone_too_far_and_phase_unsure_are_said() -> None:
    """Keele's 0.11 of the radius; phases of cone and port need the voltage."""
    flat = near_response(np.ones(len(GRID), dtype=complex), microphone_m=0.02)
    unsure = replace(flat, voltage_recorded=False)
    found = near_sum(
        [Mouth(response=flat, radius_m=0.05), Mouth(response=unsure, radius_m=0.02, kind="port")]
    )
    assert {verdict.code for verdict in found.verdicts} >= {"near-field-too-far", "near-phase-unsure"}
