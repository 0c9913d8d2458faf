"""Highest levels against closed forms of the literature: displacement, closed and vented box, heat, a hardening spring."""

import math

import numpy as np
import pytest

from halfroll.acoustics.air import Air
from halfroll.core.errors import CancelledError
from halfroll.driver.limits.maximum import lowest_of, maximum_level, usual_frequencies
from halfroll.driver.limits.verdicts import allowed_s
from halfroll.driver.lumped import DriverModel, small_signal
from halfroll.driver.steady.solve import steady_tones
from tests.driver.limits.bench import closed, heat, motor, network, vented, w1

AIR = Air(1.2, 343.0)
SMALL_AIR = Air(1.18, 345.0)
"""Air of Small's papers."""


@pytest.mark.parametrize(
    ("frequency", "travel_mm", "level_db"),
    [(50.0, 5.0, 92.9316), (40.0, 5.0, 89.0552), (100.0, 1.0, 90.9934)],
)
def test_displacement_limited_output(frequency: float, travel_mm: float, level_db: float) -> None:
    """Pressure ρ ω² Sd x/(2 π r) in half space (D.2), for a straight driver whose winding overhangs by the travel."""
    found = maximum_level(
        w1(), assembly=motor(6.0 + 2.0 * travel_mm, 6.0), frequency_hz=np.array([frequency]), air=AIR
    )
    curve = found.curve("travel-geometric")
    assert curve.level_db[0] == pytest.approx(level_db, abs=0.01)
    assert curve.x_high_m[0] == pytest.approx(1e-3 * travel_mm, rel=1e-3)


@pytest.mark.parametrize(
    ("q_total", "k_p", "f3_over_fc"), [(0.7071, 0.424, 1.0), (0.9, 0.765, 0.8295), (1.1, 0.848, 0.7567), (1.5, 0.701, 0.6993)]
)  # fmt: skip
def test_closed_box_power(q_total: float, k_p: float, f3_over_fc: float) -> None:
    """Small, "Closed-Box Loudspeaker Systems" (1972): the drive that the worst frequency allows makes P_A = kP f3⁴ Vd² above it."""
    fc, volume, travel = 80.0, 12e-3, 4e-3
    driver = _of_box(q_total, fc, volume)
    f = np.geomspace(fc / 60.0, 3.0 * fc, 120)
    found = maximum_level(
        driver,
        assembly=motor(14.0, 6.0),
        load=closed(volume, SMALL_AIR.density, SMALL_AIR.speed_of_sound),
        frequency_hz=f,
        air=SMALL_AIR,
        clean=None,
    )
    power = _passband_w(driver, float(np.nanmin(found.curve("travel-geometric").voltage_v)))
    assert power / ((f3_over_fc * fc) ** 4 * (driver.Sd * travel) ** 2) == pytest.approx(k_p, rel=0.01)


def test_vented_box_power_and_unloading() -> None:
    """Butterworth alignment without losses (Thiele 1971, no. 5: Qt 0.383, fb = f3 = fs, Vb 0.707 Vas): with w = f/fs the cone moves as
    |1 - w²|/√(1 + w⁸), so a band above the tuning may take (4 π³ ρ/c) fs⁴ Vd² over the square of its largest (D-20); below the tuning the
    cone is not held, and that is said.
    """
    fs, travel = 50.0, 3e-3
    rho, c = SMALL_AIR.density, SMALL_AIR.speed_of_sound
    area, mass = 100e-4, 15e-3
    stiffness = mass * (2.0 * math.pi * fs) ** 2
    volume = rho * c**2 * area**2 / stiffness / math.sqrt(2.0)  # Vb = 0.7071 Vas, Qt = 0.3827, fb = f3 = fs
    driver = _with_q(0.3827, fs, mass, area)
    f = np.unique(
        np.concatenate([np.geomspace(0.3 * fs, 0.99 * fs, 12), [fs], np.geomspace(1.01 * fs, 4.0 * fs, 60)])
    )
    found = maximum_level(
        driver,
        assembly=motor(12.0, 6.0),
        load=vented(volume, fs, rho, c),
        frequency_hz=f,
        air=SMALL_AIR,
        clean=None,
    )
    voltage = found.curve("travel-geometric").voltage_v
    power = _passband_w(driver, float(np.nanmin(voltage[f > fs])))
    w = np.linspace(1.0, 4.0, 4001)
    largest = float(np.max(np.abs(1.0 - w**2) / np.sqrt(1.0 + w**8)))
    assert power / (fs**4 * (driver.Sd * travel) ** 2) == pytest.approx(0.42420 / largest**2, rel=0.02)
    assert np.nanmin(voltage[f < 0.6 * fs]) < 0.5 * np.nanmin(voltage[f > fs])
    (said,) = [one for one in found.verdicts if one.code == "unloaded-below-tuning"]
    assert said.data["tuning_hz"] == pytest.approx(fs, rel=0.05)


def test_continuous_heat() -> None:
    """88.274 dB for 1 W of the worked driver (B.1.1), 10 lg P more, and 10 lg(R/R₂₀) less for the coil as warm as it gets (B-97)."""
    borne = heat(network())
    found = maximum_level(w1(), heat=borne, frequency_hz=np.array([1000.0]), air=AIR)
    power = 100.0 / 6.0  # 100 K over the air at 6 K/W
    warm = 10.0 * math.log10(1.0 + 0.00393 * 100.0)
    curve = found.curve("heat-continuous")
    assert curve.level_db[0] == pytest.approx(88.27435 + 10.0 * math.log10(power) - warm, abs=0.03)
    assert curve.voltage_v[0] == pytest.approx(math.sqrt(power * 6.0 * 1.393), rel=0.01)
    assert found.lowest[0].acting == ("heat-continuous",)
    assert [one.seconds for one in found.lowest] == [math.inf, 60.0, 10.0, 1.0]


@pytest.mark.parametrize(("q", "third"), [(0.05, 0.010923), (0.1, 0.019533), (0.2, 0.032603)])
def test_distortion_of_a_hardening_spring(q: float, third: float) -> None:
    """Far below resonance the cone is where K₀(1 + b x²) x meets the force: at b (F/K₀)² = q x₃/x₁ is D-11's, and the root of the cubic
    gives all orders; in pressure order n counts n². The limit at that distortion must be met by that force.
    """
    b, stiffness, bl = 1e4, 200.0, 0.5
    turn = 2.0 * np.pi * np.arange(64) / 64
    x = [min(np.roots([q, 0.0, 1.0, -math.cos(t)]), key=lambda r: abs(r.imag)).real for t in turn]  # in F/K₀
    orders = np.abs(np.fft.rfft(x))
    assert orders[3] / orders[1] == pytest.approx(third, rel=1e-4)
    thd = float(np.hypot(9.0 * orders[3], 25.0 * orders[5]) / orders[1])
    driver = w1(K=(stiffness, 0.0, b * stiffness), Bl=(bl,), Mms=1e-3, Rms=1e-3, x_range=(-15e-3, 15e-3))
    found = maximum_level(driver, frequency_hz=np.array([0.5]), distortion=thd, clean=None)
    force = bl * math.sqrt(2.0) * found.curve(f"distortion-{100 * thd:g}").voltage_v[0] / driver.Re
    assert b * (force / stiffness) ** 2 == pytest.approx(q, rel=0.005)


def test_distortion_is_what_the_tone_has(bent: DriverModel) -> None:
    """Played at the voltage that was found, a tone has the distortion that was asked for."""
    f = np.array([30.0, 60.0, 120.0])
    found = maximum_level(bent, frequency_hz=f).curve("distortion-10")
    at = np.isfinite(found.voltage_v)
    assert at.any()
    tones = steady_tones(bent, found.voltage_v[at], f[at])
    assert tones.thd(5) == pytest.approx(0.10, rel=2e-3)


def test_lowest_names_what_acts(bent: DriverModel) -> None:
    """The lowest curve lies on no other's far side, and every place of it is one limit's."""
    found = maximum_level(bent, heat=heat(network(), 60.0), assembly=motor(12.0, 6.0, room_mm=6.0))
    lowest = found.lowest[0]
    for one in found.curves:
        if one.counts and one.seconds in (None, math.inf):
            both = np.isfinite(one.level_db) & np.isfinite(lowest.level_db)
            assert np.all(lowest.level_db[both] <= one.level_db[both] + 1e-9)
    for i, key in enumerate(lowest.acting):
        assert not key or lowest.level_db[i] == found.curve(key).level_db[i]
    assert {key.partition("-")[0] for key in lowest.acting if key} >= {"heat"}
    assert np.all(
        found.lowest[-1].level_db[~np.isnan(lowest.level_db)]
        >= lowest.level_db[~np.isnan(lowest.level_db)] - 1e-9
    )


def test_what_is_unknown_is_said(bent: DriverModel) -> None:
    """Without motor and heat the limits they give are left out, in words."""
    found = maximum_level(bent, frequency_hz=np.array([50.0]))
    (said,) = [one for one in found.verdicts if one.code == "limits-left-out"]
    assert "heat" in said.text
    assert "winding over the gap" in said.text
    assert not any(one.kind == "heat" for one in found.curves)
    assert lowest_of(found.curves, 0.0, 1).acting[0]


def test_hearing() -> None:
    """NIOSH: 94 dB 1 h, 110 dB 89.3 s, 120 dB 8.86 s (H-02); a driver as loud as that says so."""
    assert allowed_s(94.0) == pytest.approx(3600.0)
    assert allowed_s(110.0) == pytest.approx(89.3, abs=0.05)
    assert allowed_s(120.0) == pytest.approx(8.86, abs=0.005)
    found = maximum_level(w1(), heat=heat(network()), frequency_hz=np.array([1000.0]))
    assert any(one.code == "level-hurts-hearing" for one in found.verdicts)


def test_stopped() -> None:
    """Asked to stop, it stops."""

    def stop(done: float, what: str) -> None:
        raise CancelledError("the limits")

    with pytest.raises(CancelledError):
        maximum_level(w1(), progress=stop)


def test_frequencies() -> None:
    """Ends are met, and nothing crowds them."""
    f = usual_frequencies(6300.0)
    assert f[0] == 20.0
    assert f[-1] == 6300.0
    assert np.all(np.diff(f) > 0.0)
    assert f.size < 45


@pytest.fixture
def bent() -> DriverModel:
    """A driver whose force factor falls and whose suspension hardens."""
    return w1(
        Bl=(6.0, -30.0, -5e4), K=(1111.0, 1e4, 4e7), Le=(0.3e-3, -1e-2), L2=0.3e-3, R2=3.0, x_range=(-8e-3, 8e-3)
    )  # fmt: skip


def _of_box(q_total: float, fc: float, volume: float) -> DriverModel:
    """A straight driver that has this resonance and Q in a closed box."""
    rho, c = SMALL_AIR.density, SMALL_AIR.speed_of_sound
    area, mass = 133e-4, 12e-3
    total = mass * (2.0 * math.pi * fc) ** 2
    box = rho * c**2 * area**2 / volume
    assert total > box
    return _with_q(q_total, fc, mass, area, stiffness=total - box)


def _with_q(
    q_total: float, resonance: float, mass: float, area: float, stiffness: float | None = None
) -> DriverModel:
    omega = 2.0 * math.pi * resonance
    loss = 1e-3
    bl = math.sqrt((omega * mass / q_total - loss) * 6.0)
    return w1(Mms=mass, Sd=area, Rms=loss, Bl=(bl,), K=(stiffness or mass * omega**2,))


def _passband_w(driver: DriverModel, voltage_v: float) -> float:
    """Acoustic power above resonance, η₀ U²/Re."""
    return small_signal(driver, SMALL_AIR).eta0 * voltage_v**2 / driver.Re
