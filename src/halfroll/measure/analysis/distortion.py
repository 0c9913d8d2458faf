"""Harmonic distortion over frequency, and where the noise leaves only an upper bound.

This is the one definition of THD(f) in the house. The power of noise in a complex estimate is exponentially
distributed about its mean σ², so an order counts as resolved when its power is ten times σ²; an unresolved order gives
an upper limit only.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.measure.analysis.response import Response

ThdReference = Literal["total", "fundamental"]
BoolArray = NDArray[np.bool_]

RESOLVED_POWER = 10.0
"""Power of an estimate over the expected noise power from which it counts as resolved (10 dB)."""

ONE_SIDED_95 = 1.6449
"""Normal quantile of 95 %."""

ADDITION_SHARE = 0.10
ADDITION_FLOOR = 0.0005
"""What unresolved orders could add may be this share of the value, or 0.05 points, before it is only a bound."""


@dataclass(frozen=True, kw_only=True)
class Distortion:
    """Distortion as ratios (1 = 100 %) over the excitation frequency.

    Parameters
    ----------
    frequency_hz
        Excitation frequency, shape (n_f,).
    reference
        Over the total pressure (IEC 60268-5 cl. 24.1) or over the fundamental.
    thd
        Total harmonic distortion, shape (n_f,): a value, or where `is_bound` the 95 % upper bound; NaN where the
        fundamental is under the noise or no order was recorded.
    u
        Standard uncertainty of `thd` from noise and from what unresolved orders could add, shape (n_f,).
    lower, upper
        From the resolved orders alone; 95 % upper limit. Shape (n_f,).
    is_bound
        Mask (n_f,): unresolved orders could raise THD by more than a tenth of it and 0.05 points, or the noise is
        unknown.
    order_ratio, order_u, order_is_bound
        The same for each order 2 to 10, shape (9, n_f).
    left_out
        Mask (9, n_f): order times frequency lies beyond what was recorded.
    """

    frequency_hz: FloatArray
    reference: ThdReference
    thd: FloatArray
    u: FloatArray
    lower: FloatArray
    upper: FloatArray
    is_bound: BoolArray
    order_ratio: FloatArray
    order_u: FloatArray
    order_is_bound: BoolArray
    left_out: BoolArray


def harmonic_distortion(response: Response, reference: ThdReference = "total") -> Distortion:
    """Distortion of a response; ratios use the whole, ungated fundamental, because harmonics are not gated.

    d_t = sqrt(p₂² + p₃² + ...) / p_t with the total r.m.s. pressure p_t (IEC 60268-5 cl. 24.1), or over p₁. The
    expected noise power is taken off every resolved order.
    """
    return distortion_of(
        response.frequency_hz, response.pressure_full_pa, response.harmonics_pa, response.noise_pa, reference
    )


def distortion_of(
    frequency_hz: FloatArray,
    fundamental_pa: ComplexArray,
    harmonics_pa: ComplexArray,
    noise_pa: FloatArray,
    reference: ThdReference = "total",
) -> Distortion:
    """The same from its parts, wherever they come from: a sweep or steady tones.

    Parameters
    ----------
    frequency_hz, fundamental_pa
        Shape (n_f,).
    harmonics_pa
        Orders 2 to 10, shape (9, n_f); NaN where an order lies beyond what was recorded.
    noise_pa
        Expected r.m.s. magnitude that noise alone gives to the orders 1 to 10, shape (10, n_f); NaN where not known.
    """
    power = np.abs(harmonics_pa) ** 2
    left_out = np.isnan(power)
    power = np.where(left_out, 0.0, power)
    noise = np.broadcast_to(noise_pa[1:] ** 2, power.shape)
    silent = np.isnan(noise) & ~left_out
    noise = np.where(left_out | np.isnan(noise), 0.0, noise)
    fundamental = _fundamental_power(fundamental_pa, noise_pa[0])

    resolved = ~silent & (power >= RESOLVED_POWER * noise)
    clean = np.where(resolved, power - noise, 0.0)
    variance = np.where(resolved, noise**2 + 2.0 * clean * noise, 0.0)
    limit = np.where(resolved | left_out, 0.0, np.where(silent, power, upper_limit_power(power, noise)))

    found = clean.sum(axis=0)
    found_u = np.sqrt(variance.sum(axis=0))
    addition = _possible_addition(np.where(resolved, 0.0, power - noise), limit)
    lower = _ratio(found, fundamental, reference)
    raised = _ratio(found + addition, fundamental, reference)
    upper = _ratio(found + ONE_SIDED_95 * found_u + addition, fundamental, reference)
    is_bound = (raised - lower > np.maximum(ADDITION_SHARE * lower, ADDITION_FLOOR)) | silent.any(axis=0)
    noise_u = _ratio_u(found_u, lower, fundamental)
    nothing = left_out.all(axis=0)

    order_power = np.where(resolved, clean, limit)
    order_ratio = np.sqrt(order_power / (fundamental if reference == "fundamental" else fundamental + found))
    return Distortion(
        frequency_hz=frequency_hz,
        reference=reference,
        thd=np.where(nothing, np.nan, np.where(is_bound, upper, lower)),
        u=np.where(nothing, np.nan, np.hypot(noise_u, (raised - lower) / np.sqrt(3.0))),
        lower=np.where(nothing, np.nan, lower),
        upper=np.where(nothing, np.nan, upper),
        is_bound=np.asarray(is_bound & ~nothing),
        order_ratio=np.where(left_out, np.nan, order_ratio),
        order_u=np.where(left_out, np.nan, _ratio_u(np.sqrt(variance), order_ratio, fundamental)),
        order_is_bound=np.asarray(~resolved & ~left_out),
        left_out=left_out,
    )


def upper_limit_power(power: FloatArray, noise: FloatArray) -> FloatArray:
    """95 % upper limit of a signal's power in an estimate of power h with expected noise power σ², any shape.

    The estimate of a signal of power s is non-centrally χ² distributed with two degrees of freedom. The limit is the
    s at which P(h or less | s) is 5 % of P(h or less | noise alone), so that a lucky dip of the noise does not promise
    more than the measurement can tell (the CLs construction, A. L. Read, J. Phys. G 28, 2693, 2002). At h = 0 it is
    3.00 σ², because noise exceeds three times its mean power in e⁻³ = 5 % of cases.
    """
    heights, limits = _limit_table()
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):  # endless over noise next to none
        height = np.where(noise > 0.0, power / np.where(noise > 0.0, noise, 1.0), 0.0)
    return np.asarray(noise * np.interp(height, heights, limits), dtype=np.float64)


@cache
def _limit_table() -> tuple[FloatArray, FloatArray]:
    from scipy.special import chndtrinc

    heights = np.linspace(1e-4, np.sqrt(1.05 * RESOLVED_POWER), 160) ** 2
    limits = chndtrinc(2.0 * heights, 2.0, 0.05 * -np.expm1(-heights)) / 2.0
    return heights, np.asarray(limits, dtype=np.float64)


def _fundamental_power(fundamental_pa: ComplexArray, noise_pa: FloatArray) -> FloatArray:
    """Power (n_f,) of the fundamental without the noise's share; NaN where it is not resolved."""
    power = np.abs(fundamental_pa) ** 2
    noise = np.nan_to_num(noise_pa, nan=0.0) ** 2
    return np.where((power >= RESOLVED_POWER * noise) & (power > 0.0), power - noise, np.nan)


def _possible_addition(excess: FloatArray, limit: FloatArray) -> FloatArray:
    """What unresolved orders could add in power, shape (n_f,): their summed excess over the noise, and the distances
    from there to their limits added as independent deviations.
    """
    deviation = np.maximum(limit - np.maximum(excess, 0.0), 0.0)
    return np.asarray(np.maximum(excess.sum(axis=0), 0.0) + np.sqrt((deviation**2).sum(axis=0)))


def _ratio(harmonics: FloatArray, fundamental: FloatArray, reference: ThdReference) -> FloatArray:
    total = fundamental if reference == "fundamental" else fundamental + harmonics
    return np.sqrt(harmonics / total)


def _ratio_u(power_u: FloatArray, ratio: FloatArray, fundamental: FloatArray) -> FloatArray:
    """Uncertainty of sqrt(P/F) from that of P; at P = 0 the ratio itself is as uncertain as sqrt(u/F)."""
    relative = power_u / fundamental
    return np.asarray(relative / np.maximum(2.0 * ratio, np.sqrt(np.maximum(relative, 1e-300))))
