"""What follows from a model: the trade's small-signal parameters and a few more, each with its uncertainty and what makes it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.polynomial import polynomial

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.core.levels import FloatArray
from halfroll.driver.lumped import DriverModel, small_signal
from halfroll.driver.predicted.from_design import coil_impedance
from halfroll.driver.predicted.packing import pack, unpack
from halfroll.driver.predicted.types import Assumption, Worked

LE_HZ = 1000.0
STEP = 0.25
"""Share of a standard uncertainty by which shares are found."""


@dataclass(frozen=True, kw_only=True)
class Symbol:
    """A value that follows: symbol and unit."""

    symbol: str
    unit: str


SYMBOLS: dict[str, Symbol] = {
    key: Symbol(symbol=symbol, unit=unit)
    for key, symbol, unit in (
        ("fs_hz", "fs", "Hz"), ("re_ohm", "Re", "ohm"), ("bl_n_per_a", "Bl", "N/A"), ("le_h", "Le", "H"), ("le_1khz_h", "L at 1 kHz", "H"),
        ("mms_kg", "Mms", "kg"), ("cms_m_per_n", "Cms", "m/N"), ("kms_n_per_m", "Kms", "N/m"), ("rms_ns_per_m", "Rms", "N s/m"),
        ("sd_m2", "Sd", "m²"), ("qms", "Qms", ""), ("qes", "Qes", ""), ("qts", "Qts", ""), ("vas_m3", "Vas", "m³"), ("eta0", "η0", ""),
        ("level_1w_db", "L(1 W)", "dB"), ("level_2v83_db", "L(2.83 V)", "dB"), ("creep", "λ", ""),
        ("bl_asymmetry", "asymmetry of Bl", ""), ("kms_asymmetry", "asymmetry of Kms", ""),
    )
}  # fmt: skip


def values_of(model: DriverModel, air: Air = STANDARD_AIR) -> dict[str, float]:
    """The values of `SYMBOLS` of a model.

    Le is that above all eddy currents, L at 1 kHz the series inductance there. Rms and Qms hold all mechanical loss at resonance, creep's
    share among it, as an impedance tells them. Asymmetry is (value at +X less value at -X) over their sum, X the travel both ways.
    """
    small = small_signal(model, air)
    reach = min(-model.x_range[0], model.x_range[1])
    return {
        "fs_hz": small.fs, "re_ohm": model.Re, "bl_n_per_a": abs(model.Bl[0]), "le_h": model.Le[0],
        "le_1khz_h": float(coil_impedance(model, np.array([LE_HZ]))[0]), "mms_kg": model.Mms, "cms_m_per_n": small.Cms, "kms_n_per_m": model.K[0],
        "rms_ns_per_m": model.rms_at_resonance, "sd_m2": model.Sd, "qms": small.Qms, "qes": small.Qes, "qts": small.Qts, "vas_m3": small.Vas,
        "eta0": small.eta0, "level_1w_db": small.level_1w_db, "level_2v83_db": small.level_2v83_db, "creep": model.creep,
        "bl_asymmetry": _asymmetry(model.Bl, reach), "kms_asymmetry": _asymmetry(model.K, reach),
    }  # fmt: skip


def _asymmetry(curve: Sequence[float], reach: float) -> float:
    low, high = polynomial.polyval(np.array([-reach, reach]), curve)
    return float((high - low) / (high + low))


def shares_of(
    model: DriverModel, assumptions: Sequence[Assumption], slopes: FloatArray
) -> dict[str, dict[str, float]]:
    """For each value its change by one standard uncertainty of each assumption, to first order."""
    rest = pack(model)
    found: dict[str, dict[str, float]] = {key: {} for key in SYMBOLS}
    for one, slope in zip(assumptions, slopes, strict=True):
        low, high = (values_of(unpack(rest + sign * STEP * slope, model)) for sign in (-1.0, 1.0))
        for key in SYMBOLS:
            found[key][one.key] = (high[key] - low[key]) / (2.0 * STEP)
    return found


def worked(
    model: DriverModel, assumptions: Sequence[Assumption], slopes: FloatArray, where: Mapping[str, str]
) -> tuple[Worked, ...]:
    """All values with first-order uncertainty; `where` says where a value comes from."""
    values = values_of(model)
    shares = shares_of(model, assumptions, slopes)
    found = []
    for key, symbol in SYMBOLS.items():
        own = sorted(shares[key].items(), key=lambda pair: -abs(pair[1]))
        u = math.sqrt(sum(share**2 for _, share in own))
        told = tuple((name, share) for name, share in own if abs(share) > 1e-9 * max(abs(values[key]), 1e-12))
        found.append(
            Worked(
                key=key,
                symbol=symbol.symbol,
                unit=symbol.unit,
                value=values[key],
                u=u,
                shares=told,
                where=where.get(key, ""),
            )
        )
    return tuple(found)
