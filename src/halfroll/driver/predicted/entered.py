"""A driver's model from parameters somebody stated or measured: the rest follows, and what contradicts itself is refused.

Any two of Mms, Cms (or Vas) and fs give the third; Bl comes by itself or from Qes, Rms by itself or from Qms (definitions: Thiele 1961,
1971; Small 1972). Curves over displacement may stand beside; without them Bl and Kms stay the same whatever the travel.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.core.text import format_plain, join_words
from halfroll.core.verdicts import Severity, Verdict
from halfroll.driver.lumped import CREEP_LOSS, DriverModel
from halfroll.driver.predicted.packing import pack
from halfroll.driver.predicted.types import Assumption, PredictedDriver
from halfroll.driver.predicted.worked import worked

AGREE = 0.05
"""Share by which values that say the same may differ: data sheets are rounded (own choice); twice their uncertainty is added."""

USUAL_U: dict[str, float] = {
    "re_ohm": 0.01, "bl_n_per_a": 0.03, "qes": 0.05, "mms_kg": 0.03, "cms_m_per_n": 0.1, "vas_m3": 0.1, "fs_hz": 0.05, "rms_ns_per_m": 0.1,
    "qms": 0.1, "le_h": 0.1, "l2_h": 0.1, "r2_ohm": 0.1, "creep": 0.3, "sd_m2": 0.03,
}  # fmt: skip
"""Relative standard uncertainties taken where none is stated (own choice: what two samples of a small driver differ by)."""

LABELS = {
    "re_ohm": "Re", "bl_n_per_a": "Bl", "qes": "Qes", "mms_kg": "Mms", "cms_m_per_n": "Cms", "vas_m3": "Vas", "fs_hz": "fs",
    "rms_ns_per_m": "Rms", "qms": "Qms", "le_h": "Le", "l2_h": "L2", "r2_ohm": "R2", "creep": "λ of the creep", "sd_m2": "Sd",
}  # fmt: skip
UNITS = {
    "re_ohm": "ohm", "bl_n_per_a": "N/A", "mms_kg": "kg", "cms_m_per_n": "m/N", "vas_m3": "m³", "fs_hz": "Hz", "rms_ns_per_m": "N s/m",
    "le_h": "H", "l2_h": "H", "r2_ohm": "ohm", "sd_m2": "m²",
}  # fmt: skip

_TOLD = {
    "mms_kg": (1e3, "g"),
    "cms_m_per_n": (1e3, "mm/N"),
    "vas_m3": (1e3, "l"),
    "fs_hz": (1.0, "Hz"),
    "qes": (1.0, ""),
    "qms": (1.0, ""),
}
"""Of what may contradict the others: what people state it in, and its size there of one in SI."""

USUAL_TRAVEL_M = 5e-3
LEAST_LE_H = 1e-6
"""Stands for no inductance."""

_DEGREE = 6
_POINTS = 5


@dataclass(frozen=True, kw_only=True)
class Known:
    """A value (SI) with its standard uncertainty, None where it is not stated."""

    value: float
    u: float | None = None


@dataclass(frozen=True, kw_only=True, eq=False)
class StatedCurves:
    """Curves over displacement: x_m (n,) rising across 0, and Bl (T m), Kms (N/m), Le (H), (n,) each where known."""

    x_m: FloatArray
    bl: FloatArray | None = None
    kms_n_per_m: FloatArray | None = None
    le_h: FloatArray | None = None


@dataclass(frozen=True, kw_only=True, eq=False)
class Stated:
    """All that is known of a driver: values by key (`LABELS`), curves, travel one way (m), where it comes from, and the air.

    `keys` says under which key of a record each value stands, or would stand, for whoever is told that it is wrong or missing.
    """

    values: Mapping[str, Known]
    curves: StatedCurves | None = None
    travel_m: float | None = None
    where: str = "entered"
    air: Air = STANDARD_AIR
    alpha_per_k: float = 0.00393
    branches: tuple[tuple[float, float], ...] = field(default=())
    keys: Mapping[str, str] = field(default_factory=dict)


def entered_driver(stated: Stated) -> PredictedDriver:
    """The driver that stated parameters describe, each with its uncertainty.

    Raises
    ------
    InputError
        A value that is needed is not there, values contradict each other, or they make no driver; `place.key` names the value.
    """
    shapes, x_range, rest = _shapes(stated)
    values = {**rest, **{key: known.value for key, known in stated.values.items()}}
    _check(values, stated)
    model = _model(values, shapes, x_range, stated)
    assumptions, slopes = [], []
    for key, known in stated.values.items():
        relative = USUAL_U[key] if known.u is None else known.u / known.value if known.value > 0.0 else 0.0
        if not relative:
            continue
        assumptions.append(Assumption(key=f"entered.{key}", label=LABELS[key], kind="entered", unit=UNITS.get(key, ""), value=known.value,
                                      u=relative * known.value, source=f"{stated.where}{', usual spread' if known.u is None else ''}"))  # fmt: skip
        low, high = (
            pack(
                _model(
                    {**values, key: values[key] * math.exp(sign * 0.5 * relative)}, shapes, x_range, stated
                )
            )
            for sign in (-1.0, 1.0)
        )
        slopes.append(high - low)
    table = np.array(slopes).reshape(len(slopes), len(pack(model)))
    where = dict.fromkeys(("fs_hz", *LABELS), stated.where)
    return PredictedDriver(
        model=model, assumptions=tuple(assumptions), slopes=table, values=worked(model, assumptions, table, where),
        rms_parts=((stated.where, model.Rms),), verdicts=_said(stated, x_range),
    )  # fmt: skip


def completed(stated: Stated) -> Stated:
    """The same with Bl, Mms, Cms and Rms that follow from the others, such as from Qes, fs and Vas, with their first-order uncertainty; as it
    is where they do not make a driver.
    """
    try:
        follows = {one.key: one for one in entered_driver(stated).values}
    except InputError:
        return stated
    more = {
        key: Known(value=follows[key].value, u=follows[key].u or None)
        for key in ("bl_n_per_a", "mms_kg", "cms_m_per_n", "rms_ns_per_m")
    }
    return replace(stated, values={**more, **stated.values})


def _model(
    values: Mapping[str, float],
    shapes: dict[str, tuple[float, ...]],
    x_range: tuple[float, float],
    stated: Stated,
) -> DriverModel:
    mass, compliance = _moving(values, stated.air)
    omega = 1.0 / math.sqrt(mass * compliance)
    resistance = values["re_ohm"]
    bl = (
        values["bl_n_per_a"]
        if "bl_n_per_a" in values
        else math.sqrt(omega * mass * resistance / values["qes"])
    )
    rms = values["rms_ns_per_m"] if "rms_ns_per_m" in values else omega * mass / values["qms"]
    branches = stated.branches
    if "l2_h" in values:
        branches = ((values["l2_h"], values["r2_ohm"]), *branches)
    first = branches[0] if branches else (0.0, 0.0)
    inductance = max(values.get("le_h", 0.0), LEAST_LE_H)
    creep = values.get("creep", 0.0)
    lost = CREEP_LOSS * creep / (compliance * omega)  # creep's own share of the loss at resonance
    return DriverModel(
        Re=resistance, Mms=mass, Rms=max(rms - lost, 0.1 * rms), Sd=values["sd_m2"], Bl=tuple(bl * c for c in shapes["bl"]),
        K=tuple(c / compliance for c in shapes["kms"]), Le=tuple(inductance * c for c in shapes["le"]), x_range=x_range, L2=first[0], R2=first[1],
        branches=branches[1:], creep=creep, alpha_per_k=stated.alpha_per_k,
    )  # fmt: skip


def _moving(values: Mapping[str, float], air: Air) -> tuple[float, float]:
    """Moving mass (kg) and compliance (m/N) from two of mass, compliance and resonance; fs goes before the compliance."""
    compliance = values.get("cms_m_per_n")
    if compliance is None and "vas_m3" in values:
        compliance = values["vas_m3"] / (air.density * air.speed_of_sound**2 * values["sd_m2"] ** 2)
    if "fs_hz" in values and "mms_kg" in values:
        return values["mms_kg"], 1.0 / (values["mms_kg"] * (2.0 * math.pi * values["fs_hz"]) ** 2)
    assert compliance is not None
    if "mms_kg" in values:
        return values["mms_kg"], compliance
    return 1.0 / (compliance * (2.0 * math.pi * values["fs_hz"]) ** 2), compliance


_NEEDED: tuple[tuple[str, tuple[tuple[str, ...], ...]], ...] = (
    ("Re", (("re_ohm",),)), ("Sd", (("sd_m2",),)),
    ("two of Mms, fs and Cms or Vas",
     (("mms_kg", "cms_m_per_n"), ("mms_kg", "vas_m3"), ("mms_kg", "fs_hz"), ("fs_hz", "cms_m_per_n"), ("fs_hz", "vas_m3"))),
    ("Bl or Qes", (("bl_n_per_a",), ("qes",))), ("Rms or Qms", (("rms_ns_per_m",), ("qms",))),
)  # fmt: skip


def _check(values: Mapping[str, float], stated: Stated) -> None:
    """Everything that is needed is there and nothing contradicts itself."""
    for lacks, ways in _NEEDED:
        if not any(all(key in values for key in way) for way in ways):
            one = any(key in values for way in ways for key in way)
            raise InputError(f"The parameters need {lacks}", key=_key(stated, ways[0][0]), found="one alone" if one else "none of them",
                             remedy="State it, or design the version so that it can be computed")  # fmt: skip
    if ("l2_h" in values) != ("r2_ohm" in values):
        raise InputError("L2 and R2 must be stated together", key=_key(stated, "l2_h"), found="one of both")
    _agree(values, stated)


def _agree(values: Mapping[str, float], stated: Stated) -> None:
    """Values that say the same twice must say it alike."""
    mass, compliance = _moving(values, stated.air)
    omega = 1.0 / math.sqrt(mass * compliance)
    stiffness = stated.air.density * stated.air.speed_of_sound**2 * values["sd_m2"] ** 2
    follows = {
        "fs_hz": omega / (2.0 * math.pi),
        "mms_kg": mass,
        "cms_m_per_n": compliance,
        "vas_m3": compliance * stiffness,
    }
    if "bl_n_per_a" in values:
        follows["qes"] = omega * mass * values["re_ohm"] / values["bl_n_per_a"] ** 2
    if "rms_ns_per_m" in values:
        follows["qms"] = omega * mass / values["rms_ns_per_m"]
    spread = sum((one.u / one.value) ** 2 for one in stated.values.values() if one.u is not None)
    for key, value in follows.items():
        if key in values and abs(math.log(values[key] / value)) > AGREE + 2.0 * math.sqrt(spread):
            times, unit = _TOLD[key]
            found, wanted = (f"{times * one:.4g} {unit}".rstrip() for one in (values[key], value))
            raise InputError(
                f"{LABELS[key]} must agree with the other parameters", key=_key(stated, key), found=found,
                allowed=f"{wanted} by the others, within {100 * AGREE:.0f} %",
                remedy="Correct the wrong one, or leave out what follows from the others",
            )  # fmt: skip


def _key(stated: Stated, key: str) -> str:
    return stated.keys.get(key, key)


def _shapes(stated: Stated) -> tuple[dict[str, tuple[float, ...]], tuple[float, float], dict[str, float]]:
    """Curves over their value at rest as polynomials, the range they hold in, and the values at rest they tell."""
    shapes: dict[str, tuple[float, ...]] = {"bl": (1.0,), "kms": (1.0,), "le": (1.0,)}
    curves = stated.curves
    travel = stated.travel_m or USUAL_TRAVEL_M
    if curves is None:
        return shapes, (-travel, travel), {}
    x = curves.x_m
    if len(x) < _POINTS or (np.diff(x) <= 0.0).any() or not x[0] < 0.0 < x[-1]:
        raise InputError("Curves must rise in x across 0", key="curves", found=f"{len(x)} rows from {1e3 * x[0]:g} to {1e3 * x[-1]:g} mm",
                         allowed=f"{_POINTS} rows at least, each x above the one before, from below 0 to above 0")  # fmt: skip
    rest = {}
    for name, key, values in (
        ("bl", "bl_n_per_a", curves.bl),
        ("kms", "cms_m_per_n", curves.kms_n_per_m),
        ("le", "le_h", curves.le_h),
    ):
        if values is not None:
            shapes[name], at_rest = _shape(x, values)
            rest[key] = 1.0 / at_rest if name == "kms" else at_rest
    given = stated.values.keys()
    if given >= {"fs_hz", "mms_kg"} or "vas_m3" in given:  # a stated value sets the size, the curve the shape
        rest.pop("cms_m_per_n", None)
    if "qes" in given:
        rest.pop("bl_n_per_a", None)
    return shapes, (float(x[0]), float(x[-1])), rest


def _shape(x_m: FloatArray, values: FloatArray) -> tuple[tuple[float, ...], float]:
    """A polynomial over its value at rest, and that value."""
    degree, scale = min(_DEGREE, len(x_m) - 2), float(np.abs(x_m).max())
    found = np.polynomial.polynomial.polyfit(x_m / scale, values, degree)
    if not found[0] > 0.0:
        raise InputError("Curves must be above 0 at rest", key="curves", found=f"{found[0]:g}")
    return tuple(float(c) / float(found[0]) / scale**n for n, c in enumerate(found)), float(found[0])


def _said(stated: Stated, x_range: tuple[float, float]) -> tuple[Verdict, ...]:
    curves = stated.curves
    told = (None, None, None) if curves is None else (curves.bl, curves.kms_n_per_m, curves.le_h)
    lacks = [word for word, values in zip(("Bl", "Kms", "Le"), told, strict=True) if values is None]
    if not lacks:
        return ()
    return (Verdict(
        code="curves-not-known", severity=Severity.CAUTION,
        text=f"{join_words(lacks)} over displacement {'is' if len(lacks) == 1 else 'are'} not known of this driver, and taken as constant up to "
        f"{format_plain(1e3 * x_range[1], 'mm', 2)}: distortion, maximum level and what a large signal does are predicted too well.",
        remedy="Design the version, or state the curves in a file.", data={"lacks": lacks},
    ),)  # fmt: skip
