"""Builds with a fault, made without the fault finder: the whole non-linear driver is played in its box, heard by a phone in a room, and analysed.

Nothing here is taken from `builds.faults`. How large a fault is, and how good units differ, is drawn evenly over ranges of their own; scraping
and buzzing are noises in time; a leak is a hole in an acoustic network; resonance and Q are read off a noisy impedance by Small's three points.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.polynomial import Polynomial

from halfroll.acoustics.air import STANDARD_AIR
from halfroll.acoustics.load import AcousticLoad
from halfroll.acoustics.radiation import air_mass
from halfroll.builds.types import Evidence
from halfroll.core.conditions import Conditions, Space
from halfroll.core.levels import FloatArray
from halfroll.driver.large_signal import Motion, TravelError, play
from halfroll.driver.linear import linear_response
from halfroll.driver.lumped import DriverModel
from halfroll.driver.microphone import Position, outlet_pressure, sound_pressure
from halfroll.driver.noise import room_noise
from halfroll.driver.predicted.packing import pack
from halfroll.driver.predicted.types import Assumption, PredictedDriver
from halfroll.driver.rub import at_level, scrape
from halfroll.measure.analysis.analyse import AnalysisSettings, analyse
from halfroll.measure.analysis.distortion import harmonic_distortion
from halfroll.measure.recording import Recording, Role
from halfroll.measure.sweep import Sweep

TURNS, LAYERS, METAL_KG = 62, 2, 1.3e-3
BOX_M3, DISTANCE_M, DRIVE_V = 6e-3, 0.5, 2.0
SWEEP = Sweep(
    start_hz=30.0,
    stop_hz=10_500.0,
    duration_s=1.5,
    rate_hz=24_000,
    silence_before_s=0.2,
    silence_after_s=0.25,
)

NOMINAL = DriverModel(
    Re=6.4, Mms=7.6e-3, Rms=0.75, Sd=56e-4, Bl=(4.5, 20.0, -6e4, 0.0, -1e9), K=(1700.0, 2e4, 5e7), Le=(3.2e-4, -0.025, 0.0, 0.0, 0.0), L2=2.2e-4, R2=3.2,
    x_range=(-5e-3, 5e-3), creep=0.06,
)  # fmt: skip
"""A 4-inch driver of a bird hide: invented."""

SPIDER_SHARE = 0.55


def _assumption(key: str, kind: str, value: float, u: float) -> Assumption:
    return Assumption(key=key, label=key.replace(".", " "), kind=kind, unit="", value=value, u=u)  # type: ignore[arg-type]


def predicted() -> PredictedDriver:
    """What its maker's program says of it: the driver above and in what units differ, as a prediction lists it."""
    base = pack(NOMINAL)
    moved = {
        "wire.section": (1.0, 0.01, NOMINAL.with_scaled(Re=1.01)),
        "coil.turns": (62.0, 0.5, with_turns(NOMINAL, 1.0 + 0.5 / 62, 1.0)),
        "coil.offset": (0.0, 0.2e-3, coil_out(NOMINAL, 0.2e-3)),
        "magnet.remanence": (1.28, 0.02, NOMINAL.with_scaled(Bl=1.015)),
        "gap.width": (2e-3, 5e-5, NOMINAL.with_scaled(Bl=1.018)),
        "filament.modulus": (44e6, 3e6, NOMINAL.with_scaled(K=1.07, Rms=1.03)),
        "surround.thickness": (0.6e-3, 2e-5, NOMINAL.with_scaled(K=1.06, Mms=1.002)),
        "cone.grams": (3e-3, 1e-4, NOMINAL.with_scaled(Mms=1.015)),
        "moving.glue": (4e-4, 1.5e-4, NOMINAL.with_scaled(Mms=1.02)),
        "filament.loss": (0.1, 0.015, NOMINAL.with_scaled(Rms=1.12)),
    }
    rows = np.array([pack(model) - base for _, _, model in moved.values()])
    return PredictedDriver(
        model=NOMINAL, assumptions=tuple(_assumption(key, "print", value, u) for key, (value, u, _) in moved.items()), slopes=rows, values=(),
    )  # fmt: skip


def with_turns(model: DriverModel, share: float, weight: float) -> DriverModel:
    """With a share of the turns; `weight` how much the lost ones counted in the field."""
    wound = model.with_scaled(
        Re=share, Bl=1.0 - weight * (1.0 - share), Mms=1.0 + METAL_KG * (share - 1.0) / model.Mms
    )
    return replace(
        wound, Le=tuple(c * share**2 for c in model.Le), L2=model.L2 * share**2, R2=model.R2 * share**2,
    )  # fmt: skip


def coil_out(model: DriverModel, out_m: float) -> DriverModel:
    """The coil farther out: Bl and Le at x are what they were at x + d; farther than ±5 mm from the gap they stay as they are there."""
    x = np.linspace(-5e-3, 5e-3, 101)
    at = np.clip(x + out_m, -5e-3, 5e-3)

    def moved(curve: tuple[float, ...]) -> tuple[float, ...]:
        values = np.polynomial.polynomial.polyval(at, curve)
        return tuple(float(c) for c in Polynomial.fit(x, values, 4).convert().coef)

    return replace(model, Bl=moved(model.Bl), Le=moved(model.Le))


@dataclass
class Build:
    """A unit as it was built."""

    model: DriverModel
    kinds: tuple[str, ...] = ()
    plus: bool = True
    leak_s: float = 0.0
    """Acoustic conductance of a hole (m³/s per Pa)."""
    scrape_db: float | None = None
    buzz_db: float | None = None
    out_mm: float = 0.0
    size: float = float("nan")
    """Of its last fault: share of turns, factor, millimetres or ohms."""


def good_unit(rng: np.random.Generator) -> Build:
    """Units differ as hands and spools do, each cause evenly within ±√3 of its standard deviation."""
    spread = {"Re": 0.011, "Mms": 0.022, "Bl": 0.024, "K": 0.09, "Rms": 0.13}
    drawn = {key: math.exp(math.sqrt(3.0) * sd * rng.uniform(-1.0, 1.0)) for key, sd in spread.items()}
    out = 0.2 * math.sqrt(3.0) * rng.uniform(-1.0, 1.0)
    return Build(model=coil_out(NOMINAL.with_scaled(**drawn), 1e-3 * out), out_mm=out)


Maker = Callable[[Build, np.random.Generator], None]


def _fewer(build: Build, rng: np.random.Generator) -> None:
    layer = rng.random() < 0.3
    gone = TURNS / LAYERS if layer else float(rng.integers(6, 21))
    build.size = gone / TURNS
    build.model = with_turns(build.model, 1.0 - gone / TURNS, rng.uniform(0.6, 1.0))


def _shorted(build: Build, rng: np.random.Generator) -> None:
    """A ring of k turns by itself: its own force factor and resistance brake, its coupling shields."""
    ring = float(rng.integers(6, 25)) / TURNS
    left, close = 1.0 - ring, rng.uniform(0.5, 0.75)
    model, build.size = build.model, ring
    brake = (ring * model.Bl[0]) ** 2 / (ring * model.Re)
    build.model = replace(
        model, Re=left * model.Re, Bl=tuple(left * c for c in model.Bl), Rms=model.Rms + brake,
        Le=tuple((1.0 - close) * left**2 * c for c in model.Le), L2=left**2 * model.L2, R2=left**2 * model.R2,
        branches=((close * left**2 * model.Le[0], close * left**2 * model.Re / ring),),
    )  # fmt: skip


def _scaled_k(low: float, high: float) -> Maker:
    def make(build: Build, rng: np.random.Generator) -> None:
        build.size = factor = rng.uniform(low, high)
        build.model = build.model.with_scaled(K=factor, Rms=factor ** rng.uniform(0.3, 0.7))

    return make


def _weak(build: Build, rng: np.random.Generator) -> None:
    build.size = rng.uniform(0.5, 0.85)
    build.model = replace(
        build.model.with_scaled(Bl=build.size), Le=tuple(c * rng.uniform(1.0, 1.1) for c in build.model.Le)
    )


def _upside_down(build: Build, rng: np.random.Generator) -> None:
    build.size = rng.uniform(0.06, 0.4)
    build.plus = bool(rng.random() < 0.5)
    build.model = build.model.with_scaled(Bl=build.size)


def _swapped(build: Build, _: np.random.Generator) -> None:
    build.plus = not build.plus


def _off(build: Build, rng: np.random.Generator) -> None:
    out = rng.uniform(1.0, 3.2) * (1.0 if rng.random() < 0.5 else -1.0)
    build.out_mm += out
    build.size = abs(out)
    build.model = coil_out(build.model, 1e-3 * out)


def _rub(build: Build, rng: np.random.Generator) -> None:
    build.scrape_db = rng.uniform(-30.0, -10.0)
    build.model = build.model.with_scaled(Rms=rng.uniform(1.1, 2.5))


def _hole(build: Build, rng: np.random.Generator) -> None:
    q = math.exp(rng.uniform(math.log(0.35), math.log(2.5)))
    compliance = BOX_M3 / (STANDARD_AIR.density * STANDARD_AIR.speed_of_sound**2)
    build.leak_s = 2.0 * math.pi * 118.0 * compliance / q


def _glued(build: Build, rng: np.random.Generator) -> None:
    model, factor = build.model, rng.uniform(2.0, 14.0)
    build.size = factor
    k0 = model.K[0] * (1.0 - SPIDER_SHARE + SPIDER_SHARE * factor)
    uneven, harder = rng.uniform(-0.3, 0.3), rng.uniform(0.2, 1.5)
    curve = (
        k0,
        model.K[1] * k0 / model.K[0] + uneven * k0 / 5e-3,
        model.K[2] * k0 / model.K[0] + harder * k0 / 25e-6,
    )
    build.model = replace(model, K=curve, Rms=model.Rms * math.sqrt(k0 / model.K[0]))


def _heavy(build: Build, rng: np.random.Generator) -> None:
    moving = build.model.Mms - air_mass(build.model.radius)
    build.size = rng.uniform(0.15, 0.6)
    build.model = build.model.with_scaled(Mms=1.0 + build.size * moving / build.model.Mms)


def _buzz(build: Build, rng: np.random.Generator) -> None:
    build.buzz_db = rng.uniform(-30.0, -10.0)


def _joint(build: Build, rng: np.random.Generator) -> None:
    build.size = rng.uniform(0.4, 4.0)
    build.model = replace(build.model, Re=build.model.Re + build.size)


KINDS: dict[str, Maker] = {
    "fewer-turns": _fewer, "shorted-turns": _shorted, "stiff-print": _scaled_k(1.5, 3.5), "soft-print": _scaled_k(0.35, 0.65), "weak-magnet": _weak,
    "reversed-magnet": _upside_down, "reversed-leads": _swapped, "off-centre": _off, "rubbing": _rub, "leak": _hole, "glued-spider": _glued,
    "heavy-parts": _heavy, "loose-part": _buzz, "bad-joint": _joint,
}  # fmt: skip


def built(kinds: tuple[str, ...], rng: np.random.Generator) -> Build:
    """A unit with these faults."""
    build = good_unit(rng)
    build.kinds = kinds
    for kind in sorted(kinds, key=list(KINDS).index):
        KINDS[kind](build, rng)
    return build


def readings(build: Build, rng: np.random.Generator) -> tuple[Evidence, ...]:
    """Everything a bench reads of a unit."""
    return (*by_meter(build, rng), *by_impedance(build, rng), *by_hand(build, rng), *by_phone(build, rng))


MINIMAL = ("re_ohm", "polarity")


def minimal(every: tuple[Evidence, ...]) -> tuple[Evidence, ...]:
    """Multimeter, phone and a cell."""
    return tuple(one for one in every if one.key in MINIMAL or one.how == "phone")


def by_meter(build: Build, rng: np.random.Generator) -> tuple[Evidence, ...]:
    """Multimeter: half a percent and a few hundredths of its leads; a cell."""
    re = build.model.Re * (1.0 + 0.005 * rng.standard_normal()) + 0.02 * rng.standard_normal()
    return (
        Evidence(key="re_ohm", value=re, u=math.hypot(0.005 * re, 0.02), how="multimeter"),
        Evidence(
            key="polarity", value=1.0 if build.plus == (rng.random() > 0.01) else -1.0, u=0.0, how="cell"
        ),
    )


def by_impedance(build: Build, rng: np.random.Generator) -> tuple[Evidence, ...]:
    """Impedance in free air with noise; Small's three points: Qms = fs √r₀/(f₂ - f₁) where |Z| = √(Re Zmax) (Small 1972)."""
    model = replace(build.model, Mms=build.model.Mms - 0.5 * air_mass(build.model.radius))
    f = np.geomspace(20.0, 500.0, 320)
    z = np.abs(linear_response(model, f).impedance_ohm)
    humps = np.flatnonzero((z[1:-1] > z[:-2]) & (z[1:-1] >= z[2:])) + 1
    if not humps.size or z[humps].max() < 1.02 * model.Re:
        return ()  # no hump that anybody would see over the coil's rise
    top = int(humps[np.argmax(z[humps])])
    level = math.sqrt(model.Re * z[top])
    left = float(np.interp(level, z[: top + 1], f[: top + 1]))
    right = float(np.interp(-level, -z[top:], f[top:])) if z[top:].min() < level else math.nan
    fs = f[top] * (1.0 + 0.008 * rng.standard_normal())
    peak = z[top] * (1.0 + 0.02 * rng.standard_normal())
    found = [
        Evidence(key="fs_hz", value=fs, u=0.008 * fs, how="impedance"),
        Evidence(key="impedance_peak_ohm", value=peak, u=0.02 * peak, how="impedance"),
    ]
    if math.isfinite(right) and left > f[0] and peak > 1.3 * model.Re:
        qms = f[top] * math.sqrt(z[top] / model.Re) / (right - left)
        qts = qms * model.Re / z[top] * (1.0 + 0.04 * rng.standard_normal())
        found.append(Evidence(key="qts", value=qts, u=0.04 * qts, how="impedance"))
    return tuple(found)


def by_hand(build: Build, rng: np.random.Generator) -> tuple[Evidence, ...]:
    """Scale, calliper, ear and fingers."""
    grams = 1e3 * (build.model.Mms - air_mass(build.model.radius)) + 0.05 * rng.standard_normal()
    rub = build.scrape_db is not None
    told = rng.random() < (0.85 if rub else 0.04)
    tight = rng.random() < (0.8 if build.leak_s > 0.0 else 0.05)
    return (
        Evidence(key="moving_mass_g", value=grams, u=0.05, how="scale"),
        Evidence(
            key="rest_height_mm", value=build.out_mm + 0.2 * rng.standard_normal(), u=0.2, how="calliper"
        ),
        Evidence(key="rub", value=float(told), u=0.0, how="ear"),
        Evidence(key="leak", value=float(tight), u=0.0, how="hand"),
    )


def _box(leak_s: float) -> AcousticLoad:
    """A closed box with a hole: p' = -(U + p g)/C; the hole's flow out is p g."""
    compliance = BOX_M3 / (STANDARD_AIR.density * STANDARD_AIR.speed_of_sound**2)
    return AcousticLoad(
        a=np.array([[-leak_s / compliance]]), b=np.array([-1.0 / compliance]), c=np.array([1.0]), outlets=("leak",), e=np.array([[leak_s]]), g=np.zeros(1),
    )  # fmt: skip


BANDS = {
    (50, 80): 4.0,
    (80, 125): 3.5,
    (125, 200): 3.0,
    (200, 315): 2.5,
    (1250, 2500): 1.5,
    (2500, 5000): 2.5,
}
"""Bands (Hz) and what a room and a phone do to them (dB, standard uncertainty)."""


def by_phone(build: Build, rng: np.random.Generator) -> tuple[Evidence, ...]:
    """A sweep in the closed box, heard by a phone half a metre away in a room."""
    recording = _recorded(build, rng)
    response = analyse(
        recording,
        SWEEP,
        Conditions(space=Space.HALF, distance_m=DISTANCE_M, drive_v=DRIVE_V, radius_m=build.model.radius),
        AnalysisSettings(gate="none"),
    )
    f, level = response.frequency_hz, 20.0 * np.log10(np.abs(response.pressure_full_pa))
    middle = level[(f >= 315.0) & (f < 1250.0)].mean()
    found = [
        Evidence(
            key=f"band_{low}_{high}_db",
            value=float(level[(f >= low) & (f < high)].mean() - middle),
            u=u,
            how="phone",
        )
        for (low, high), u in BANDS.items()
    ]
    distortion = harmonic_distortion(response)
    bass = (f >= 50.0) & (f <= 125.0)
    value = 100.0 * float(np.nanmean(distortion.thd[bass]))
    if math.isfinite(value) and not distortion.is_bound[bass].mean() > 0.5:
        found.append(Evidence(key="thd_bass_percent", value=value, u=0.3 * value, how="phone"))
    if response.residue is not None:
        inside = (response.residue.frequency_hz >= 45.0) & (response.residue.frequency_hz <= 150.0)
        worst = float(np.nanmax(response.residue.level_db[inside]))
        found.append(Evidence(key="residue_db", value=worst, u=3.0, how="phone"))
    return tuple(found)


def _recorded(build: Build, rng: np.random.Generator) -> Recording:
    load = _box(build.leak_s) if build.leak_s > 0.0 else None
    model = build.model
    if load is None:
        model = model.with_stiffness_added(
            STANDARD_AIR.density * STANDARD_AIR.speed_of_sound**2 * model.Sd**2 / BOX_M3
        )
    source = SWEEP.samples() * (math.sqrt(2.0) * DRIVE_V / SWEEP.level)
    motion = _played(model, source, load)
    position = Position(distance_m=DISTANCE_M)
    pressure = sound_pressure(motion, model.radius, position)
    if load is not None:
        assert motion.flows_m3_s is not None
        pressure = pressure + outlet_pressure(motion.flows_m3_s, SWEEP.rate_hz, position)
    playing = slice(SWEEP.start_sample, SWEEP.start_sample + round(SWEEP.duration_s * SWEEP.rate_hz))
    bass = slice(playing.start, playing.start + round(0.25 * SWEEP.duration_s * SWEEP.rate_hz))
    sounds = pressure
    if build.scrape_db is not None:
        beyond = 0.6 * float(motion.displacement_m.max())
        sounds = sounds + at_level(scrape(motion, beyond, rng), pressure, build.scrape_db, bass)
    if build.buzz_db is not None:
        sounds = sounds + at_level(_rattle(motion.acceleration_m_s2, rng), pressure, build.buzz_db, bass)
    heard = _in_room(sounds, rng) + room_noise(sounds.size, SWEEP.rate_hz, rng.uniform(24.0, 36.0), rng)
    scale = 2.0 * float(np.abs(heard).max())
    return Recording(samples=(heard / scale)[None, :], rate_hz=SWEEP.rate_hz, roles=(Role.MICROPHONE,))


def _played(model: DriverModel, source: FloatArray, load: AcousticLoad | None) -> Motion:
    """The sweep played; whoever hears the cone strike turns it down."""
    steps = 20 if model.branches else 2  # a shorted turn is quick: with fewer steps some do not converge
    for step in range(6):
        try:
            return play(model, 0.7**step * source, SWEEP.rate_hz, load=load, oversampling=steps)
        except TravelError:
            continue
    raise AssertionError("the cone strikes at any level")


def _rattle(acceleration: FloatArray, rng: np.random.Generator) -> FloatArray:
    """A loose thing strikes once a cycle where the push is strongest, and rings a few milliseconds."""
    from scipy.signal import fftconvolve

    size = np.abs(acceleration)
    near = np.convolve(size, np.ones(600) / 600, mode="same") + 1e-12
    peaks = (size[1:-1] > size[:-2]) & (size[1:-1] >= size[2:]) & (acceleration[1:-1] > 0.0)
    hits = np.zeros_like(acceleration)
    hits[1:-1][peaks] = 1.0
    hits *= rng.uniform(0.5, 1.0, len(hits)) * (near > 0.0)
    fade = np.exp(-np.arange(len(hits)) / (0.35 * len(hits)))
    t = np.arange(360) / SWEEP.rate_hz
    ring = np.exp(-t / 0.004) * np.sin(2.0 * np.pi * rng.uniform(1200.0, 3500.0) * t)
    return np.asarray(fftconvolve(hits * fade, ring)[: len(hits)])


def _in_room(pressure: FloatArray, rng: np.random.Generator) -> FloatArray:
    """Ripple of a room and a phone's response, without phase: decibels at nine places, joined in the logarithm of frequency."""
    from scipy.fft import irfft, next_fast_len, rfft

    n = next_fast_len(pressure.size, real=True)
    f = np.fft.rfftfreq(n, 1.0 / SWEEP.rate_hz)
    places = np.array([30.0, 63.0, 100.0, 160.0, 250.0, 500.0, 1000.0, 1900.0, 3500.0, 9000.0])
    width = np.array([4.0, 4.0, 3.5, 3.0, 2.5, 1.5, 1.2, 1.6, 2.5, 4.0])
    drawn = width * math.sqrt(3.0) * rng.uniform(-1.0, 1.0, len(places)) * 0.9
    drawn[:4] += rng.uniform(-2.0, 1.0)  # a phone's small microphone falls in the bass, a room lifts it
    gain = np.interp(np.log(np.maximum(f, 1.0)), np.log(places), drawn)
    return np.asarray(irfft(rfft(pressure, n) * 10.0 ** (gain / 20.0), n)[: pressure.size])
