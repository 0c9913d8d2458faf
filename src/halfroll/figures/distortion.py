"""Figures of distortion: mean and worst THD over a band, and the mean of each order."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from halfroll.core.levels import DB_OF_RELATIVE, FloatArray
from halfroll.figures.types import Reading
from halfroll.figures.view import Coverage, TakeView, nothing
from halfroll.measure.analysis.distortion import ADDITION_FLOOR, ADDITION_SHARE
from halfroll.measure.analysis.response import ORDERS

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
    worst = int(np.flatnonzero(coverage.mask)[np.argmax(found.thd[coverage.mask])])
    value = float(found.thd[worst])
    room = _room_share(view, coverage) * value
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
        cautions=(*coverage.cautions, *_left_out(view, coverage)),
    )


def _mean(view: TakeView, low: FloatArray, high: FloatArray, u: FloatArray, known: FloatArray) -> Reading:
    """Mean over the band; only a bound when what lies under the noise could raise it by a tenth and 0.05 points."""
    coverage = _coverage(view, known)
    if coverage.missing:
        return Reading(missing=coverage.missing)
    least, most = coverage.mean(low), coverage.mean(high)
    if most - least > max(ADDITION_SHARE * least, ADDITION_FLOOR):
        under = (
            "Harmonics lie under the noise in part of the band, so the mean is only known to be below this."
        )
        return Reading(value=PERCENT * most, bound="upper", cautions=(*coverage.cautions, under))
    band = view.response.frequency_hz[coverage.mask]
    third_octaves = max(1.0, 3.0 * float(np.log2(band[-1] / band[0])))
    noise = float(np.sqrt(coverage.mean(np.where(high > low, 0.0, u) ** 2) / third_octaves))
    room = _room_share(view, coverage) * least
    under_noise = (most - least) / float(np.sqrt(3.0))
    return Reading(
        value=PERCENT * least,
        u=PERCENT * float(np.sqrt(noise**2 + under_noise**2 + room**2)),
        u_room=PERCENT * room,
        u_fixed=PERCENT * under_noise,
        cautions=(*coverage.cautions, *_left_out(view, coverage), *view.gate_cautions(float(band[0]))),
    )


def _coverage(view: TakeView, known: FloatArray) -> Coverage:
    """The part of the distortion band that has a value throughout."""
    frequency = view.response.frequency_hz
    finite = frequency[np.isfinite(known)]
    if not len(finite):
        return nothing("No harmonic was recorded over the noise.")
    low, high = view.response.valid_hz
    valid = (max(low, float(finite[0])), min(high, float(finite[-1])))
    coverage = view.coverage(view.settings.distortion_band_hz, valid)
    if not coverage.missing and not np.isfinite(known[coverage.mask]).all():
        return nothing("In part of the band the fundamental lies under the noise.")
    return coverage


def _left_out(view: TakeView, coverage: Coverage) -> tuple[str, ...]:
    """Say which orders lie beyond the recorded range somewhere in the band."""
    rows = zip(ORDERS, view.distortion.left_out, strict=True)
    orders = [order for order, row in rows if row[coverage.mask].any()]
    if not orders:
        return ()
    return (
        f"Orders from {orders[0]} up lie beyond the recorded range in part of the band and are left out.",
    )


def _room_share(view: TakeView, coverage: Coverage) -> float:
    """Relative uncertainty that the room brings: it moves harmonic and fundamental independently."""
    return float(np.sqrt(2.0) * coverage.mean(view.response.room_u_db()) / DB_OF_RELATIVE)
