"""What a driver model says each measured number should be: closed form for small signals, steady tones for distortion."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.acoustics.radiation import air_mass, piston_pressure
from halfroll.core.levels import P_REF_PA, ComplexArray, FloatArray
from halfroll.driver.lumped import DriverModel
from halfroll.driver.update.types import NEPER_DB, Observation
from halfroll.measure.lumped.impedance_model import CREEP_LOSS, creep_compliance

FREE_AIR_SHARE = 0.5
"""Air with both sides of a rigid disc in free air over that in an infinite baffle: 8/3 against 16/3 ρ a³ (H. Lamb, "Hydrodynamics",
6th ed. 1932, art. 102 and 108)."""

THD_ORDERS = 5


def predicted_values(
    model: DriverModel, one: Observation, air: Air = STANDARD_AIR
) -> FloatArray | ComplexArray:
    """What the model says an observation should be, in the observation's own unit, shape of its values; NaN where a tone is not steady."""
    if one.free_air:
        lighter = model.Mms - (1.0 - FREE_AIR_SHARE) * air_mass(model.radius, air)
        model = replace(model, Mms=max(lighter, 0.1 * model.Mms))
    if one.kind in ("impedance", "modulus"):
        impedance = _motion(model, one.frequency_hz)[0]
        return impedance if one.kind == "impedance" else np.abs(impedance)
    if one.kind == "level":
        acceleration = _motion(model, one.frequency_hz)[1] * one.drive_v
        pressure = np.abs(piston_pressure(acceleration, model.Sd, 1.0, air))
        return np.asarray(20.0 * np.log10(pressure / P_REF_PA))
    if one.kind == "distortion":
        return _distortion(model, one)
    return np.array([_value(model, one, air)])


def working(values: FloatArray | ComplexArray, one: Observation) -> FloatArray:
    """Natural logarithms of an observation's values; of a complex impedance the phases (rad) after them, shape (n,) or (2n,)."""
    if one.kind == "level":
        return np.asarray(np.real(values) / NEPER_DB)
    sizes = np.log(np.abs(values))
    if one.kind != "impedance":
        return np.asarray(sizes)
    return np.concatenate([sizes, np.angle(values)])


def working_u(one: Observation) -> FloatArray:
    """Standard uncertainties in the scale of `working`; those of a complex impedance are the same for modulus and phase."""
    u = np.asarray(one.u, dtype=np.float64)
    if one.kind in ("level", "distortion"):
        return np.asarray(u / NEPER_DB)
    return np.concatenate([u, u]) if one.kind == "impedance" else u


def on_scales(one: Observation, names: Sequence[str]) -> FloatArray:
    """How one standard uncertainty of each scale moves the observation in the scale of `working`, shape (rows, scales)."""
    rows = len(working_u(one))
    columns = np.zeros((rows, len(names)))
    for name, size in one.scales:
        columns[: len(one.values), names.index(name)] += size
    return columns


def _motion(model: DriverModel, frequency_hz: FloatArray) -> tuple[ComplexArray, ComplexArray]:
    """Impedance (ohm) and acceleration per volt (m/s²/V) about rest, with creep and every eddy-current branch."""
    s = np.asarray(2j * np.pi * frequency_hz, dtype=np.complex128)
    stiffness: ComplexArray | float = model.K[0]
    if model.creep > 0.0:
        resonance = math.sqrt(model.K[0] / model.Mms) / (2.0 * math.pi)
        stiffness = model.K[0] / creep_compliance(frequency_hz, resonance, model.creep)
    mechanical = model.Rms + s * model.Mms + stiffness / s
    blocked = model.Re + s * model.Le[0]
    for inductance, resistance in ((model.L2, model.R2), *model.branches):
        if resistance > 0.0:
            blocked = blocked + s * inductance * resistance / (resistance + s * inductance)
    bl = model.Bl[0]
    impedance = np.asarray(blocked + bl**2 / mechanical)
    return impedance, np.asarray(s * bl / (impedance * mechanical))


def _distortion(model: DriverModel, one: Observation) -> FloatArray:
    from halfroll.driver.steady.solve import steady_tones

    tones = steady_tones(model, one.drive_v, one.frequency_hz, orders=max(THD_ORDERS, one.order))
    if one.order == 0:
        return np.asarray(tones.thd(THD_ORDERS))
    size = np.abs(tones.pressure_pa)
    return np.asarray(size[one.order] / size[1])


def _resonance(model: DriverModel) -> dict[str, float]:
    """Resonance and Q as a fit of the impedance counts them: where the mechanical reactance is zero, with all loss, that of creep too."""
    loss = model.creep * CREEP_LOSS
    omega = math.sqrt(model.K[0] / model.Mms / (1.0 + loss**2))
    resistance = model.Rms + model.K[0] * loss / (1.0 + loss**2) / omega
    return {
        "fs_hz": omega / (2.0 * math.pi),
        "qms": omega * model.Mms / resistance,
        "qes": omega * model.Mms * model.Re / model.Bl[0] ** 2,
    }


def _value(model: DriverModel, one: Observation, air: Air) -> float:
    if one.name in ("fs_hz", "qms", "qes"):
        return _resonance(model)[one.name]
    if one.name == "moving_mass_kg":
        return max(model.Mms - air_mass(model.radius, air), 0.01 * model.Mms)
    return {
        "re_ohm": model.Re, "mms_kg": model.Mms, "bl_n_per_a": abs(model.Bl[0]), "cms_m_per_n": 1.0 / model.K[0], "rms_ns_per_m": model.Rms,
    }[one.name]  # fmt: skip
