"""Many units at once obey the equations of one: small signals by the driver's room and by textbooks, distortion by SciPy's solver of equations of motion."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from halfroll.acoustics.air import STANDARD_AIR
from halfroll.acoustics.load import AcousticLoad, vented_load
from halfroll.acoustics.radiation import air_mass
from halfroll.builds.faults import kinds
from halfroll.builds.faults.many import Units, compliance_of, electrical, units_of
from halfroll.builds.faults.observe import KEYS, Readings, from_scale, observed, sound_db
from halfroll.builds.faults.reference import box
from halfroll.builds.faults.types import BAFFLE, FREE_AIR, Coil, Mounted, Reference
from halfroll.core.levels import P_REF_PA, FloatArray
from halfroll.driver.linear import linear_response
from halfroll.driver.lumped import DriverModel, small_signal
from halfroll.driver.predicted.packing import pack
from tests.builds.faulty import NOMINAL, predicted


def units(*models: DriverModel) -> Units:
    """Units of these models."""
    return units_of(np.array([pack(model) for model in models]), models[0])


def read(some: Units, how: Readings, key: str) -> FloatArray:
    """One column, as it is read."""
    column = observed(some, how)[:, KEYS.index(key)]
    return np.array([from_scale(key, float(value)) for value in column])


PLAIN = Readings(mounted=Mounted(electrical=FREE_AIR, sound=BAFFLE))
MODELS = (NOMINAL, NOMINAL.with_scaled(Re=1.3, Mms=1.4, K=0.5, Bl=0.7, Rms=2.0))


def test_a_unit_comes_back_from_its_row() -> None:
    """Unpacking many rows gives the numbers of each model."""
    found = units(*MODELS)
    for number, model in enumerate(MODELS):
        assert found.re[number] == pytest.approx(model.Re)
        assert found.bl[number] == pytest.approx(model.Bl)
        assert found.k[number] == pytest.approx(model.K)
        assert found.le[number] == pytest.approx(model.Le, abs=1e-15)
        assert found.branch_l[number] == pytest.approx([model.L2])
        assert found.branch_r[number] == pytest.approx([model.R2])


def test_small_signal_values_are_those_of_thiele_and_small() -> None:
    """Resonance 1/(2π√(MC)), 1/Qts = 1/Qms + 1/Qes (Thiele 1961, Small 1972), worked out here; half the baffle's air in free air (Lamb)."""
    plain = replace(NOMINAL, creep=0.0)
    mass = plain.Mms - 0.5 * (16.0 / 3.0) * STANDARD_AIR.density * math.sqrt(plain.Sd / math.pi) ** 3
    fs = math.sqrt(plain.K[0] / mass) / (2.0 * math.pi)
    qms, qes = 2.0 * math.pi * fs * mass / plain.Rms, 2.0 * math.pi * fs * mass * plain.Re / plain.Bl[0] ** 2
    assert read(units(plain), PLAIN, "fs_hz")[0] == pytest.approx(fs, rel=1e-9)
    assert read(units(plain), PLAIN, "qts")[0] == pytest.approx(qms * qes / (qms + qes), rel=1e-9)
    weighed = 1e3 * (plain.Mms - air_mass(plain.radius))
    assert read(units(plain), PLAIN, "moving_mass_g")[0] == pytest.approx(weighed, rel=1e-9)
    baffled = Readings(mounted=Mounted(electrical=BAFFLE, sound=BAFFLE))
    for model, qts in zip(MODELS, read(units(*MODELS), baffled, "qts"), strict=True):
        assert qts == pytest.approx(small_signal(model).Qts, rel=1e-6)


def test_the_peak_is_that_of_the_impedance() -> None:
    """Highest magnitude against the driver's own closed form on a fine grid."""
    baffled = Readings(mounted=Mounted(electrical=BAFFLE, sound=BAFFLE))
    for model, peak in zip(MODELS, read(units(*MODELS), baffled, "impedance_peak_ohm"), strict=True):
        z = np.abs(linear_response(model, np.geomspace(20.0, 400.0, 4000)).impedance_ohm)
        assert peak == pytest.approx(z.max(), rel=0.004)


@pytest.mark.parametrize(
    ("volume", "tuning", "q"),
    [
        (None, None, math.inf),
        (6e-3, None, math.inf),
        (6e-3, None, 0.8),
        (8e-3, 60.0, math.inf),
        (8e-3, 60.0, 3.0),
    ],
)
def test_sound_is_that_of_the_driver_before_its_box(
    volume: float | None, tuning: float | None, q: float
) -> None:
    """Level over frequency against the driver's room with the box as a network of its own: closed, leaking, vented."""
    f = np.geomspace(30.0, 8000.0, 60)
    load, mounting, leak_hz = None, BAFFLE, 100.0
    if volume is not None:
        mounting = box(volume, tuning)
        leak_hz = tuning or 90.0
        compliance = compliance_of(mounting)
        if tuning is None:
            leak = 2.0 * math.pi * leak_hz * compliance / q
            load = AcousticLoad(a=np.array([[-leak / compliance]]), b=np.array([-1.0 / compliance]), c=np.array([1.0]), outlets=("leak",),
                                e=np.array([[leak]]), g=np.zeros(1))  # fmt: skip
        else:
            load = vented_load(volume, tuning, q)
    how = Readings(mounted=Mounted(sound=mounting), box_hz=leak_hz)
    some = units(*MODELS)
    level = sound_db(some.put(leak_q=np.full(2, q)), f, how)
    for number, model in enumerate(MODELS):
        pressure = linear_response(model, f, load=load).pressure_pa_per_v
        assert level[number] == pytest.approx(
            20.0 * np.log10(np.abs(pressure) * math.sqrt(8.0) / P_REF_PA), abs=0.01
        )


def test_close_to_the_cone_a_leak_is_not_heard() -> None:
    """Close before the cone of a leaking box: the sound is that of the cone's own motion, ρ Sd ω² x/(2π r), by the driver's room."""
    f, volume, q, leak_hz = np.geomspace(30.0, 3000.0, 40), 6e-3, 0.8, 90.0
    mounting = box(volume)
    compliance = compliance_of(mounting)
    leak = 2.0 * math.pi * leak_hz * compliance / q
    load = AcousticLoad(a=np.array([[-leak / compliance]]), b=np.array([-1.0 / compliance]), c=np.array([1.0]), outlets=("leak",),
                        e=np.array([[leak]]), g=np.zeros(1))  # fmt: skip
    some = units(NOMINAL).put(leak_q=np.full(1, q))
    level = sound_db(some, f, Readings(mounted=Mounted(sound=mounting, near=True), box_hz=leak_hz))[0]
    moved = np.abs(linear_response(NOMINAL, f, load=load).displacement_m_per_v) * math.sqrt(8.0)
    pressure = STANDARD_AIR.density * NOMINAL.Sd * (2.0 * math.pi * f) ** 2 * moved / (2.0 * math.pi)
    assert level == pytest.approx(20.0 * np.log10(pressure / P_REF_PA), abs=0.01)
    far = sound_db(some, f, Readings(mounted=Mounted(sound=mounting), box_hz=leak_hz))[0]
    assert far[0] < level[0] - 3.0


@pytest.mark.parametrize("hz", [64.0, 100.0])
def test_distortion_is_that_of_the_equations_of_motion(hz: float) -> None:
    """One tone by `scipy.integrate.solve_ivp` to its steady state: harmonics of the acceleration within 12 % of the perturbation's."""
    from scipy.integrate import solve_ivp

    from halfroll.builds.faults.observe import _thd_at

    model = replace(NOMINAL, creep=0.0, L2=0.0, R2=0.0)
    peak = math.sqrt(2.0) * 2.0

    def motion(t: float, state: FloatArray) -> list[float]:
        x, v, i = state
        bl, k, le = (float(np.polynomial.polynomial.polyval(x, c)) for c in (model.Bl, model.K, model.Le))
        slope = float(np.polynomial.polynomial.polyval(x, np.polynomial.polynomial.polyder(model.Le)))
        u = peak * math.sin(2.0 * math.pi * hz * t)
        return [
            v,
            (bl * i - k * x - model.Rms * v + 0.5 * slope * i**2) / model.Mms,
            (u - model.Re * i - bl * v - slope * v * i) / le,
        ]

    cycles = 24
    t = np.linspace(cycles - 1, cycles, 257)[:-1] / hz
    found = solve_ivp(
        motion, (0.0, cycles / hz), [0.0, 0.0, 0.0], method="LSODA", t_eval=t, rtol=1e-8, atol=1e-11
    )
    acceleration = np.array([motion(at, state)[1] for at, state in zip(t, found.y.T, strict=True)])
    size = np.abs(np.fft.rfft(acceleration))
    wanted = math.sqrt(float(np.sum(size[2:6] ** 2))) / size[1]
    assert 0.004 < wanted < 0.2
    assert _thd_at(units(model), hz, Mounted(sound=BAFFLE), 2.0, 100.0)[0] == pytest.approx(wanted, rel=0.12)


def test_a_shorted_turn_is_a_second_winding() -> None:
    """Impedance of the blocked coil against two coupled coils by their mutual inductance (any textbook on circuits), and its brake."""
    model = replace(NOMINAL, L2=0.0, R2=0.0, creep=0.0)
    share, coupling = 0.2, 0.8
    some = kinds.BY_KEY["shorted-turns"].apply(units(model), np.array([[share, coupling]]), reference())
    s = 2j * np.pi * np.array([[200.0, 2000.0, 9000.0]])
    turns = 62.0
    of_one = model.Le[0] / turns**2  # inductance goes with the square of the turns
    own, ring = (1.0 - share) * turns, share * turns
    l1, l2 = of_one * own**2, of_one * ring**2
    mutual = math.sqrt(coupling * l1 * l2)  # k² is the share of the flux that both have
    r1, r2 = model.Re * (1.0 - share), model.Re * share
    wanted = r1 + s * l1 - (s * mutual) ** 2 / (r2 + s * l2)
    assert electrical(some, s) == pytest.approx(wanted, rel=1e-3)
    assert some.rms[0] - model.Rms == pytest.approx((share * model.Bl[0]) ** 2 / r2)


def reference(magnets: int = 2) -> Reference:
    """Of the tests' driver."""
    from halfroll.builds.faults.reference import reference_from

    return reference_from(
        predicted(),
        "avocet/v9",
        source="the design",
        designed=True,
        coil=Coil(turns=62, layers=2, metal_kg=1.3e-3),
        magnets=magnets,
    )


def test_a_coil_glued_off_is_the_curve_moved() -> None:
    """Bl and Le after the fault at x are those before at x + d, up to the polynomial's degree."""
    some = kinds.BY_KEY["off-centre"].apply(units(NOMINAL), np.array([[1.5, 0.9]]), reference())
    x = np.linspace(-3e-3, 3e-3, 13)
    for name, curve in (("Bl", some.bl[0]), ("Le", some.le[0])):
        wanted = np.polynomial.polynomial.polyval(x + 1.5e-3, getattr(NOMINAL, name))
        assert np.polynomial.polynomial.polyval(x, curve) == pytest.approx(wanted, rel=1e-9)
    assert some.rest_mm[0] == pytest.approx(1.5)


@pytest.mark.parametrize(
    ("fault", "key", "way"),
    [
        ("fewer-turns", "re_ohm", -1), ("fewer-turns", "moving_mass_g", -1), ("shorted-turns", "impedance_peak_ohm", -1), ("stiff-print", "fs_hz", 1),
        ("soft-print", "stiffness_n_per_mm", -1), ("weak-magnet", "qts", 1), ("weak-magnet", "band_50_80_db", 1), ("reversed-magnet", "level_db", -1),
        ("off-centre", "thd_bass_percent", 1), ("rubbing", "residue_db", 1), ("leak", "band_50_80_db", -1), ("glued-spider", "fs_hz", 1),
        ("heavy-parts", "fs_hz", -1), ("bad-joint", "re_ohm", 1),
    ],
)  # fmt: skip
def test_each_fault_moves_what_it_must(fault: str, key: str, way: int) -> None:
    """Which way a reading goes (common practice of the bench)."""
    kind = kinds.BY_KEY[fault]
    some = kind.apply(
        units(*[NOMINAL] * 9),
        kind.drawn(np.tile(np.linspace(0.1, 0.9, 9)[:, None], (1, len(kind.ranges)))),
        reference(),
    )
    how = Readings(mounted=Mounted(electrical=FREE_AIR, sound=box(6e-3)), box_hz=118.0)
    moved = observed(some, how)[:, KEYS.index(key)] - observed(units(NOMINAL), how)[0, KEYS.index(key)]
    assert (way * moved > 0.0).all()
