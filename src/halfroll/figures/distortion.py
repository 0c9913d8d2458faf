"""Figures of distortion: mean and worst THD over a band, and the mean of each order."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.figures.types import Reading
from halfroll.figures.view import DB_OF_RELATIVE, Coverage, TakeView
from halfroll.measure.distortion import ADDITION_FLOOR, ADDITION_SHARE
from halfroll.measure.response import ORDERS

PERCENT = 100.0


def read_thd_mean(view: TakeView) -> Reading:
    """Mean of THD(f) over the distortion band, every octave weighing the same (%)."""
    found = view.distortion
    return _mean(view, found.lower, np.where(found.is_bound, found.upper, found.lower), found.u, found.thd)


def read_order(order: int) -> Callable[[TakeView], Reading]:
    """The reader of the mean n-th harmonic distortion over the distortion band (%)."""
    row = ORDERS.index(order)

    def read(view: TakeView) -> Reading:
        found = view.distortion
        bound = found.order_is_bound[row]
        ratio = found.order_ratio[row]
        return _mean(view, np.where(bound, 0.0, ratio), ratio, found.order_u[row], ratio)

    return read


def read_thd_worst(view: TakeView) -> Reading:
    """Highest THD(f) in the distortion band (%) and its frequency."""
    found = view.distortion
    coverage = _coverage(view, found.thd)
    if coverage.missing:
        return Reading(missing=coverage.missing)
    thd = np.where(coverage.mask, found.thd, -np.inf)
    worst = int(np.argmax(thd))
    value = float(thd[worst])
    room = _room_share(view, coverage.mask) * value
    at_hz = float(found.frequency_hz[worst])
    if found.is_bound[worst]:
        under = f"At {at_hz:.0f} Hz harmonics lie under the noise, so the worst value is only known to be below this."
        return Reading(
            value=PERCENT * value, bound="upper", at_hz=at_hz, cautions=(*coverage.cautions, under)
        )
    return Reading(
        value=PERCENT * value,
        u=PERCENT * float(np.hypot(found.u[worst], room)),
        u_room=PERCENT * room,
        at_hz=at_hz,
        cautions=(*coverage.cautions, *_left_out(view, coverage.mask)),
    )


def _mean(view: TakeView, low: FloatArray, high: FloatArray, u: FloatArray, known: FloatArray) -> Reading:
    """Mean over the band; only a bound when what lies under the noise could raise it by a tenth and 0.05 points."""
    coverage = _coverage(view, known)
    if coverage.missing:
        return Reading(missing=coverage.missing)
    mask = coverage.mask
    least, most = float(np.mean(low[mask])), float(np.mean(high[mask]))
    if most - least > max(ADDITION_SHARE * least, ADDITION_FLOOR):
        under = (
            "Harmonics lie under the noise in part of the band, so the mean is only known to be below this."
        )
        return Reading(value=PERCENT * most, bound="upper", cautions=(*coverage.cautions, under))
    noise = float(np.sqrt(np.mean(np.where(high > low, 0.0, u)[mask] ** 2) / _third_octaves(view, mask)))
    room = _room_share(view, mask) * least
    under_noise = (most - least) / float(np.sqrt(3.0))
    return Reading(
        value=PERCENT * least,
        u=PERCENT * float(np.sqrt(noise**2 + under_noise**2 + room**2)),
        u_room=PERCENT * room,
        u_fixed=PERCENT * under_noise,
        cautions=(
            *coverage.cautions,
            *_left_out(view, mask),
            *view.gate_cautions(float(_band(view, mask)[0])),
        ),
    )


def _coverage(view: TakeView, known: FloatArray) -> Coverage:
    """The points of the distortion band that have a value."""
    frequency = view.response.frequency_hz
    finite = frequency[np.isfinite(known)]
    if not len(finite):
        return Coverage(
            mask=np.zeros(len(frequency), dtype=bool), missing="No harmonic was recorded over the noise."
        )
    low, high = view.response.valid_hz
    valid = (max(low, float(finite[0])), min(high, float(finite[-1])))
    coverage = view.coverage(view.settings.distortion_band_hz, valid)
    return Coverage(
        mask=np.asarray(coverage.mask & np.isfinite(known)),
        missing=coverage.missing,
        cautions=coverage.cautions,
    )


def _left_out(view: TakeView, mask: np.ndarray) -> tuple[str, ...]:
    """Say which orders lie beyond the recorded range somewhere in the band."""
    orders = [order for order, row in zip(ORDERS, view.distortion.left_out, strict=True) if row[mask].any()]
    if not orders:
        return ()
    return (
        f"Orders from {orders[0]} up lie beyond the recorded range in part of the band and are left out.",
    )


def _room_share(view: TakeView, mask: np.ndarray) -> float:
    """Relative uncertainty that the room brings: it moves harmonic and fundamental independently."""
    return float(np.sqrt(2.0) * np.mean(view.response.room_u_db()[mask]) / DB_OF_RELATIVE)


def _band(view: TakeView, mask: np.ndarray) -> FloatArray:
    return np.asarray(view.response.frequency_hz[mask])


def _third_octaves(view: TakeView, mask: np.ndarray) -> float:
    band = _band(view, mask)
    return max(1.0, 3.0 * float(np.log2(band[-1] / band[0])))
