"""Figures of the lumped parameters: their rules, and how they are read from a fit and from absolute parameters.

They come from impedance runs, not from takes. A free-air run gives the parameters of its curve; the masses, stiffnesses and what
follows from them stand at one run of a unit, because they need several curves.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from halfroll.figures.rule import DifferenceUnit, FigureRule
from halfroll.figures.types import Reading
from halfroll.measure.lumped.parameter_types import Estimates, Fit, Parameters

INDUCTANCE_HZ = 1000.0

FIT_FIGURES: dict[str, tuple[str, float]] = {
    "re_ohm": ("re_ohm", 1.0), "fs_hz": ("fs_hz", 1.0), "qms": ("qms", 1.0), "qes": ("qes", 1.0), "qts": ("qts", 1.0),
}  # fmt: skip
"""Figure, the estimate it is, and its unit over the SI unit."""

ABSOLUTE_FIGURES: dict[str, tuple[str, float]] = {
    "mms_g": ("mms_kg", 1e3), "cms_mm_per_n": ("cms_m_per_n", 1e3), "rms_ns_per_m": ("rms_ns_per_m", 1.0),
    "bl_n_per_a": ("bl_n_per_a", 1.0), "vas_l": ("vas_m3", 1e3), "eta0_percent": ("eta0", 100.0),
}  # fmt: skip

KEYS = (*FIT_FIGURES, "le_1khz_mh", *ABSOLUTE_FIGURES)


def _rule(
    key: str,
    label: str,
    unit: str,
    definition: str,
    source: str,
    *,
    scale: float = 0.0,
    difference: DifferenceUnit = "percent",
) -> FigureRule:
    """A rule of a parameter: neither direction is better, and only like mountings are compared."""
    return FigureRule(
        key=key, label=label, unit=unit, definition=definition, source=source, better="neither", difference=difference,
        voltage_db=scale, current_db=-scale, space="same mounting", of="impedance", group="Impedance and parameters",
    )  # fmt: skip


_SMALL = "Small, J. Audio Eng. Soc. 20(5), 1972 (from memory)"
_FIT = "Fit of the lumped model to the impedance at small signals"
_METHODS = "from added masses, closed boxes or the weighed moving mass, those that agree together"

PARAMETER_RULES: tuple[FigureRule, ...] = (
    _rule("re_ohm", "DC resistance Re", "ohm", _FIT + "; a meter's value is taken in where one is typed", "Common practice",
          scale=1.0),
    _rule("fs_hz", "Resonance fs", "Hz", _FIT + ": where the motional impedance is real", _SMALL),
    _rule("qms", "Mechanical Q, Qms", "", _FIT + ": all mechanical loss at fs", _SMALL),
    _rule("qes", "Electrical Q, Qes", "", _FIT + ": by the DC resistance alone, no source resistance", _SMALL),
    _rule("qts", "Total Q, Qts", "", "Qms·Qes/(Qms + Qes)", _SMALL),
    _rule("le_1khz_mh", "Inductance at 1 kHz", "mH",
          _FIT + ": reactance of the blocked coil at 1 kHz over 2π·1 kHz, comparable across coil models", "Common practice",
          scale=1.0),
    _rule("mms_g", "Moving mass Mms", "g", "Moving mass with its air load, " + _METHODS, _SMALL),
    _rule("cms_mm_per_n", "Compliance Cms", "mm/N", "1/((2π·fs)²·Mms), dynamic, at fs", _SMALL),
    _rule("rms_ns_per_m", "Mechanical resistance Rms", "N·s/m", "2π·fs·Mms/Qms", _SMALL),
    _rule("bl_n_per_a", "Force factor Bl", "N/A", "√(2π·fs·Mms·Re/Qes)", _SMALL, scale=0.5),
    _rule("vas_l", "Equivalent volume Vas", "l", "ρ·c²·Sd²·Cms, with the effective area of the version", _SMALL),
    _rule("eta0_percent", "Reference efficiency η0", "%", "ρ·Bl²·Sd²/(2π·c·Re·Mms²), half space", _SMALL),
)  # fmt: skip

_SCALE = {rule.key: rule.voltage_db for rule in PARAMETER_RULES}
"""Power with which the scale of the rig's ohms enters each figure."""


def fit_readings(fit: Fit, scale_u: float = 0.0) -> dict[str, Reading]:
    """Figures of one fit; one without a resonance says so.

    `scale_u` is the relative standard uncertainty that all ohms of the rig share. The rig's calibration brings it to the figure,
    so it is taken out of what the fit says, lest it count twice.
    """
    estimates = fit.estimates
    found = {}
    for key, (name, factor) in FIT_FIGURES.items():
        if name in estimates:
            found[key] = Reading(value=factor * estimates.value(name), u=factor * estimates.u(name))
        else:
            found[key] = Reading(missing="The fitted range holds no resonance.")
    found["le_1khz_mh"] = _inductance(estimates)
    return {key: _own(key, reading, scale_u, estimates.dof) for key, reading in found.items()}


def _own(key: str, reading: Reading, scale_u: float, dof: float) -> Reading:
    """The reading without what the scale of the rig does to it, with the degrees of freedom of its fit."""
    if reading.u is None or reading.value is None:
        return reading
    u = math.sqrt(max(reading.u**2 - (_SCALE[key] * scale_u * reading.value) ** 2, 0.0))
    known = None if math.isinf(dof) else dof
    return replace(reading, u=u, u_fixed=min(reading.u_fixed, u), dof=known)


def absolute_readings(
    parameters: Parameters | None, why: str = "", scale_u: float = 0.0
) -> dict[str, Reading]:
    """Figures of the absolute parameters of a unit; None: there are none, and `why`. `scale_u` as with `fit_readings`.

    Their uncertainty counts as common to all units of a version: they are mostly measured with one balance, one box and one
    effective area, and repeats do not show that.
    """
    found = {}
    for key, (name, factor) in ABSOLUTE_FIGURES.items():
        if parameters is None:
            found[key] = Reading(missing=why or "Nothing tells the moving mass.")
        elif name not in parameters.estimates:
            found[key] = Reading(missing="The methods do not give it.")
        else:
            u = factor * parameters.estimates.u(name)
            reading = Reading(value=factor * parameters.estimates.value(name), u=u, u_fixed=u)
            found[key] = _own(key, reading, scale_u, parameters.estimates.dof)
    return found


def _inductance(estimates: Estimates) -> Reading:
    """Reactance of the blocked coil at 1 kHz over ω (mH), with the uncertainty that its elements' covariance gives."""
    names = [n for n in ("le_h", "l2_h", "r2_ohm", "semi_k", "semi_n") if n in estimates]
    if not names:
        return Reading(missing="The fit has no coil.")
    values = np.array([estimates.value(n) for n in names])
    covariance = estimates.covariance[np.ix_(*[[estimates.names.index(n) for n in names]] * 2)]
    steps = 1e-6 * np.maximum(np.abs(values), 1e-12)
    here = _at_1khz(dict(zip(names, values, strict=True)))
    slopes = np.array([
        (_at_1khz(dict(zip(names, values + step * (np.arange(len(values)) == i), strict=True))) - here) / step
        for i, step in enumerate(steps)
    ])  # fmt: skip
    u = math.sqrt(max(float(slopes @ covariance @ slopes), 0.0))
    return Reading(value=1e3 * here, u=1e3 * u, at_hz=INDUCTANCE_HZ)


def _at_1khz(values: Mapping[str, float]) -> float:
    """Im(Zcoil)/ω (H) at 1 kHz; jωLe, beside it L2 parallel R2; or K(jω)ⁿ."""
    s = 2j * math.pi * INDUCTANCE_HZ
    if "semi_k" in values:
        coil = values["semi_k"] * s ** values["semi_n"]
    else:
        coil = s * values.get("le_h", 0.0)
        if "l2_h" in values:
            coil += s * values["l2_h"] * values["r2_ohm"] / (values["r2_ohm"] + s * values["l2_h"])
    return float(coil.imag / abs(s))
