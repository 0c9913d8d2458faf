"""Made-up but physically shaped data for the tests of charts and sheets: closed forms, no measurement.

Level: a second-order high-pass with resonance fs and quality Qts, a rising cone resonance and the fall above it.
Distortion: grows as displacement does, with the inverse square of frequency, onto a floor.
Impedance: a motional peak over a resistance with a lossy inductance.
"""

from __future__ import annotations

import numpy as np

from halfroll.compare.types import Change, Column, Comparison, Curve, Difference, VersionInput
from halfroll.core.conditions import Conditions, Space
from halfroll.core.frequency import log_grid
from halfroll.core.levels import P_REF_PA, FloatArray
from halfroll.core.verdicts import Severity, Verdict
from halfroll.figures.rules import RULE
from halfroll.figures.types import Figure, FigureSettings, TakeReadings
from halfroll.measure.analysis.response import Gate, ImpulseResponse, Response

GRID = log_grid(20.0, 20_000.0)

NAMES = (
    "Curlew v1", "Curlew v2", "Curlew v3", "Curlew v4", "Avocet v1", "Avocet v2", "Redshank v1", "Godwit published",
)  # fmt: skip

SUMMARIES = (
    "first print", "softer surround", "longer coil", "longer coil, thicker top plate", "small cone", "copper cap",
    "two magnets", "from a table",
)  # fmt: skip


def transfer(frequency_hz: FloatArray, fs: float, q: float, breakup_hz: float = 4500.0) -> FloatArray:
    """Complex response re its pass band: high-pass of order 2, one cone resonance, a low-pass of order 2."""
    s = 1j * frequency_hz
    high = s**2 / (s**2 + s * fs / q + fs**2)
    cone = 1.0 + 0.35 * (1j * frequency_hz / breakup_hz) / (
        1.0 + 0.25j * frequency_hz / breakup_hz + (s / breakup_hz) ** 2
    )
    fall = 1.0 / (1.0 + s / (0.6 * 11_000.0) + (s / 11_000.0) ** 2)
    return np.asarray(high * cone * fall)


def level_db(i: int, frequency_hz: FloatArray = GRID) -> FloatArray:
    """Level of the `i`-th sample version."""
    fs, q = 96.0 - 9.0 * i, 0.62 + 0.11 * (i % 4)
    ripple = 0.5 * np.sin(3.0 * np.log(frequency_hz) + i) * (frequency_hz > 800.0)
    return np.asarray(
        84.5
        + 0.7 * (i % 3)
        - 0.5 * i
        + 20 * np.log10(np.abs(transfer(frequency_hz, fs, q, 4500.0 + 500.0 * i)))
        + ripple
    )


def thd_percent(i: int, frequency_hz: FloatArray = GRID) -> FloatArray:
    """Distortion (%) of the `i`-th sample version."""
    fs = 96.0 - 9.0 * i
    motion = 1.0 / (1.0 + (frequency_hz / fs) ** 2)
    bump = 0.25 * np.exp(-((np.log(frequency_hz / (1900.0 + 200.0 * i)) / 0.12) ** 2))
    return np.asarray((9.0 - 0.9 * i) * motion + 0.18 + 0.03 * i + bump)


def level_curve(i: int, *, known: bool = True) -> Curve:
    """Level with its band, above the gate's limit."""
    value = level_db(i)
    half = 0.35 + 0.5 * (GRID / 12_000.0) + 0.4 * np.exp(-((np.log(GRID / 70.0) / 0.5) ** 2))
    return Curve(
        frequency_hz=GRID, value=value, low=value - half if known else None, high=value + half if known else None, valid_from_hz=40.0,
    )  # fmt: skip


def thd_curve(i: int) -> Curve:
    """Distortion with its band; an upper bound above 5 kHz."""
    keep = GRID <= 9000.0
    value = thd_percent(i, GRID[keep])
    return Curve(
        frequency_hz=GRID[keep], value=value, low=value * 0.88, high=value * 1.12, bound=GRID[keep] > 5000.0, valid_from_hz=25.0,
    )  # fmt: skip


def impedance_ohm(frequency_hz: FloatArray = GRID) -> FloatArray:
    """Complex impedance of a 4 ohm driver with fs 78 Hz."""
    s = 1j * frequency_hz
    peak = 21.0 * (s * 78.0 / 4.4) / (s**2 + s * 78.0 / 4.4 + 78.0**2)
    return np.asarray(3.4 + peak + 0.045 * (s**0.62))


def response(*, current: bool = True, gated: bool = True) -> Response:
    """One take: pressure at 2 V and 0.5 m, harmonics 2 to 10 falling by order, noise, a floor reflection."""
    pressure = 10 ** (level_db(1) / 20.0) * P_REF_PA * np.exp(1j * np.angle(transfer(GRID, 87.0, 0.73)))
    pressure = pressure * np.exp(-2j * np.pi * GRID * 0.5 / 343.0)
    ripple = 1.0 + 0.2 * np.exp(-2j * np.pi * GRID * 5.4e-3)
    orders = np.arange(2, 11)[:, None]
    share = (
        thd_percent(1)[None, :]
        / 100.0
        * 0.85
        * 0.45 ** (orders - 2)
        * (1.0 + 0.3 * np.sin(orders + np.log(GRID)))
    )
    harmonics = np.abs(pressure)[None, :] * share * np.exp(1j * orders)
    harmonics = np.where(orders * GRID > 20_000.0, np.nan, harmonics)
    noise = 10 ** ((26.0 - 7.0 * np.log10(GRID / 100.0)) / 20.0) * P_REF_PA
    rate = 48_000
    t = np.arange(-240, 1440) / rate
    ring = np.where(
        t >= 0,
        np.exp(-t / 4e-4) * np.cos(2 * np.pi * 3200.0 * t)
        - 0.12 * np.exp(-t / 3e-3) * np.cos(2 * np.pi * 85.0 * t),
        0.0,
    )
    echo = np.where(
        t >= 5.4e-3, 0.2 * np.exp(-(t - 5.4e-3) / 4e-4) * np.cos(2 * np.pi * 3200.0 * (t - 5.4e-3)), 0.0
    )
    return Response(
        frequency_hz=GRID,
        pressure_pa=pressure,
        pressure_full_pa=pressure * ripple,
        voltage_v=np.full(GRID.shape, 2.0),
        harmonics_pa=harmonics,
        noise_pa=np.broadcast_to(noise, (10, GRID.size)).copy(),
        impedance_ohm=impedance_ohm() if current else None,
        impulse=ImpulseResponse(values=0.02 * (ring + echo), start_s=-240 / rate, rate_hz=rate),
        gate=Gate(length_s=5.2e-3, valid_from_hz=192.0, reflection_s=5.4e-3, reflection_db=-14.0)
        if gated
        else Gate(),
        valid_hz=(25.0, 19_000.0),
        conditions=Conditions(drive_v=2.0, distance_m=0.5, space=Space.FREE, rated_impedance_ohm=4.0),
        calibrated=True,
        voltage_recorded=True,
    )


_VALUES = {
    "sensitivity_db": (lambda i: 84.6 + 0.7 * (i % 3) - 0.5 * i, lambda i: 0.19 + 0.04 * (i % 3)),
    "lower_limit_hz": (lambda i: 88.0 - 8.5 * i, lambda i: 1.3 + 0.3 * (i % 2)),
    "upper_limit_hz": (lambda i: 12_300.0 + 350.0 * i, lambda i: 210.0),
    "thd_mean_percent": (lambda i: 4.9 - 0.45 * i, lambda i: 0.21),
    "thd_worst_percent": (lambda i: 8.1 - 0.8 * i, lambda i: 0.34),
    "max_level_db": (lambda i: 98.2 + 0.7 * (i % 3) - 0.4 * i, lambda i: 0.2),
}  # fmt: skip


def figure(key: str, i: int) -> Figure:
    """One figure of the `i`-th sample version; among them one of unknown spread, one bound, one published."""
    rule = RULE[key]
    value, u = (f(i) for f in _VALUES[key])
    one_take = i == 4
    bound = "upper" if i == 5 and key == "thd_mean_percent" else None
    published = i == 7
    if published and key not in ("sensitivity_db", "lower_limit_hz"):
        return Figure(
            key=key, label=rule.label, unit=rule.unit, missing="Not in the table.", source="published"
        )
    known = not (one_take or bound or published)
    return Figure(
        key=key, label=rule.label, unit=rule.unit, value=value, u=u if known else None, dof=4.0 if known else None,
        bound=bound, n_units=1 if one_take else 3, n_takes=1 if one_take else 9, spread="one take" if one_take else "known",
        rule=rule.text(FigureSettings()), source="published" if published else "measured",
    )  # fmt: skip


def difference(key: str, i: int) -> Difference:
    """The `i`-th sample version against the first."""
    rule = RULE[key]
    ours, base = figure(key, i), figure(key, 0)
    ids = {"figure": key, "version_id": version_id(i), "base_id": version_id(0), "unit": rule.difference}
    if ours.value is None or base.value is None:
        return Difference(**ids, value=None, outcome="unknown", sentence="")
    value = (
        float(np.log2(ours.value / base.value)) if rule.difference == "octaves" else ours.value - base.value
    )
    if ours.u is None or base.u is None:
        return Difference(**ids, value=value, outcome="unknown", bound=ours.bound)
    scale = 1.0 / (base.value * np.log(2.0)) if rule.difference == "octaves" else 1.0
    u = float(np.hypot(ours.u, base.u) * scale)
    expanded = 2.31 * u
    outcome = "not distinguishable"
    if abs(value) > expanded:
        outcome = "better" if (value > 0) == (rule.better == "higher") else "worse"
    return Difference(**ids, value=value, u=u, dof=8.0, expanded=expanded, outcome=outcome)


def version_id(i: int) -> str:
    """``driver/version`` of the `i`-th sample version."""
    driver, version = NAMES[i].lower().split(" ")
    return f"{driver}/{version}"


def comparison(n: int, *, title: str | None = None) -> Comparison:
    """`n` sample versions against the first; `title` replaces the title of the second."""
    columns = []
    for i in range(n):
        conditions = Conditions(
            drive_v=2.0, distance_m=0.5 if i != 3 else 1.0, space=Space.HALF, rated_impedance_ohm=4.0
        )
        takes = tuple(
            TakeReadings(
                take_id=f"{version_id(i)}/{unit}/{k}", when="2025-05-04T10:00:00", rig="bench", conditions=conditions,
                readings={}, valid_from_hz=40.0, gate_s=5.2e-3, source="predicted" if i == 6 else "measured",
            )
            for unit in ("a", "b", "c") for k in (1, 2, 3)
        )  # fmt: skip
        published = {"sensitivity_db": (86.0, None)} if i == 7 else {}
        version = VersionInput(
            version_id=version_id(i), title=title if title is not None and i == 1 else SUMMARIES[i], driver_title=NAMES[i].split()[0],
            parent=version_id(i - 1) if i else None, date="2025-05-01", summary=SUMMARIES[i], rated_impedance_ohm=4.0,
            rated_power_w=25.0, takes=() if published else takes, published=published, published_source="data table" if published else "",
        )  # fmt: skip
        columns.append(
            Column(
                version=version, figures={key: figure(key, i) for key in _VALUES},
                curves={} if published else {"level": level_curve(i, known=i != 4), "thd": thd_curve(i)},
                takes_used=() if published else tuple(t.take_id for t in takes),
                takes_left_out=((f"{version_id(i)}/c/4", "Clipped in 12 places."),) if i == 1 else (),
                takes_refused=(f"{version_id(i)}/c/4",) if i == 1 else (),
            )
        )  # fmt: skip
    findings = (
        "Curlew v3: lower limit 0.32 ± 0.06 octaves deeper than Curlew v1, far outside the spread.",
        "Curlew v3: mean distortion 4.00 % against 4.90 %: lower, outside the spread.",
        "Curlew v2: sensitivity 84.80 dB against 84.60 dB: not distinguishable with 3 units each.",
        "Avocet v1: one take only, the spread is unknown; its differences are shown, not claimed.",
    )[: 1 if n < 2 else 4]
    cautions = (
        Verdict(
            code="distance-differs", severity=Severity.CAUTION, text="Curlew v4 was taken at 1 m, the others at 0.5 m; levels are brought to 1 m by the distance law.",
            remedy="Take it at 0.5 m.",
        ),
        Verdict(code="take-left-out", severity=Severity.NOTE, text="Curlew v2: one take of unit c is clipped and was left out."),
    )  # fmt: skip
    changes = {
        version_id(i): (
            Change(what="surround.thickness_mm", before="0.8", after="0.6", why="more travel at low level"),
            Change(what="coil.length_mm", before=f"{6 + i}.0", after=f"{7 + i}.0", why="stay in the gap at 3 mm"),
        )
        for i in range(1, n)
    }  # fmt: skip
    return Comparison(
        columns=tuple(columns), base_id=version_id(0), base_mode="chosen",
        differences=tuple(difference(key, i) for key in _VALUES for i in range(1, n)),
        findings=findings, cautions=cautions if n > 3 else cautions[1:] if n > 1 else (), settings=FigureSettings(), changes=changes,
    )  # fmt: skip
