"""Mean curves of a version with the 95 % band of the mean, from the responses of its units."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from halfroll.compare.types import Curve
from halfroll.core.errors import RefusedError
from halfroll.core.frequency import in_band, log_grid
from halfroll.core.levels import FloatArray
from halfroll.core.uncertainty import coverage_factor
from halfroll.figures.computed import ComputedTake
from halfroll.figures.types import ThdReference
from halfroll.measure.analysis.distortion import BoolArray, Distortion, harmonic_distortion
from halfroll.measure.analysis.normalise import at_reference, voltage_for
from halfroll.measure.analysis.response import ORDERS, Response
from halfroll.measure.impedances.impedance import ImpedanceCurve

CURVE_ORDERS = (2, 3, 4, 5)
PERCENT = 100.0


def curves(
    responses_by_unit: Mapping[str, Sequence[Response]], thd_reference: ThdReference = "total"
) -> dict[str, Curve]:
    """Mean curves of one version.

    Parameters
    ----------
    responses_by_unit
        Responses of the takes that count, by unit; all on the house grid.

    Returns
    -------
    dict
        ``level`` (dB re 20 µPa at 1 W and 1 m), ``thd`` and ``h2`` to ``h5`` (%), ``impedance`` (ohm), as far as they
        can be had. Each is the mean of the units' means over the range all takes share. The band comes from the
        scatter of the units and leaves out the rig's calibration, which moves whole curves; there is none with
        one unit.
    """
    units = [list(r) for r in responses_by_unit.values() if r]
    if not units:
        return {}
    found = {"level": _level(units), "impedance": _impedance(units), **_distortion(units, thd_reference)}
    return {name: curve for name, curve in found.items() if curve is not None}


def predicted_curves(computed: ComputedTake, thd_reference: ThdReference = "total") -> dict[str, Curve]:
    """The curves of a computed take, with the 95 % band its assumptions leave; as `curves`."""
    found = curves({"predicted": [computed.response]}, thd_reference)
    spread = computed.spread
    if spread is None:
        return found
    sizes = {"level": spread.level_u_db, "thd": PERCENT * spread.thd_u, "impedance": spread.impedance_u_ohm}
    out = dict(found)
    for name, u in sizes.items():
        if name in found:
            curve = found[name]
            at = np.interp(np.log(curve.frequency_hz), np.log(spread.frequency_hz), u)
            half = coverage_factor(math.inf) * at
            least = -np.inf if name == "level" else 0.0
            out[name] = replace(curve, low=np.maximum(curve.value - half, least), high=curve.value + half)
    return out


def impedance_of_runs(units: Sequence[ImpedanceCurve]) -> Curve | None:
    """Modulus of the impedance (ohm) from one measured curve a unit, for a version whose takes hold no current.

    On the house grid over the range all curves share, interpolated in lg f and lg ohm; None when they share none.
    """
    if not units:
        return None
    low = max(float(curve.frequency_hz[0]) for curve in units)
    high = min(float(curve.frequency_hz[-1]) for curve in units)
    if not low < high:
        return None
    grid = log_grid(low, high)
    each = [np.interp(np.log(grid), np.log(c.frequency_hz), np.log(c.modulus_ohm)) for c in units]
    means = np.exp(np.array(each))
    value, half = means.mean(axis=0), _half_width(means)
    return Curve(
        frequency_hz=grid,
        value=value,
        low=None if half is None else value - half,
        high=None if half is None else value + half,
        valid_from_hz=low,
        valid_to_hz=high,
    )


def _level(units: Sequence[Sequence[Response]]) -> Curve | None:
    """Level at 1 W and 1 m; None when a take is not calibrated, has no rated impedance or cannot be converted."""
    every = [r for unit in units for r in unit]
    try:
        at_one_watt = {id(r): at_reference(r, drive_v=_one_watt_v(r)) for r in every}
    except RefusedError:
        return None
    valid = [n.valid_hz for n in at_one_watt.values()]
    return _mean_curve(
        units,
        lambda r: at_one_watt[id(r)].level_db,
        valid_hz=(max(v[0] for v in valid), min(v[1] for v in valid)),
        room_hz=max(r.gate.valid_from_hz for r in every),
    )


def _one_watt_v(response: Response) -> float:
    rated = response.conditions.rated_impedance_ohm
    if rated is None or not response.calibrated:
        raise RefusedError("A level at 1 W needs a calibrated microphone and the rated impedance")
    return voltage_for(1.0, rated)


def _impedance(units: Sequence[Sequence[Response]]) -> Curve | None:
    kept = [[r for r in unit if r.impedance_ohm is not None] for unit in units]
    kept = [unit for unit in kept if unit]
    if not kept:
        return None
    return _mean_curve(kept, _modulus, valid_hz=_shared(kept))


def _modulus(response: Response) -> FloatArray:
    assert response.impedance_ohm is not None
    return np.asarray(np.abs(response.impedance_ohm), dtype=np.float64)


def _distortion(units: Sequence[Sequence[Response]], reference: ThdReference) -> dict[str, Curve | None]:
    found = {id(r): harmonic_distortion(r, reference) for unit in units for r in unit}
    valid = _shared(units)

    def curve(
        value: Callable[[Distortion], FloatArray], bound: Callable[[Distortion], BoolArray]
    ) -> Curve | None:
        return _mean_curve(
            units,
            lambda r: PERCENT * value(found[id(r)]),
            valid_hz=valid,
            bound=lambda r: bound(found[id(r)]),
        )

    def order(row: int) -> Curve | None:
        return curve(lambda d: d.order_ratio[row], lambda d: d.order_is_bound[row])

    return {
        "thd": curve(lambda d: d.thd, lambda d: d.is_bound),
        **{f"h{n}": order(ORDERS.index(n)) for n in CURVE_ORDERS},
    }


def _shared(units: Sequence[Sequence[Response]]) -> tuple[float, float]:
    valid = [r.valid_hz for unit in units for r in unit]
    return max(v[0] for v in valid), min(v[1] for v in valid)


def _mean_curve(
    units: Sequence[Sequence[Response]],
    of: Callable[[Response], FloatArray],
    *,
    valid_hz: tuple[float, float],
    room_hz: float = 0.0,
    bound: Callable[[Response], BoolArray] | None = None,
) -> Curve | None:
    """Mean over units of the mean over takes on the grid points all takes share; None when they share none.

    Where a take gives only a bound the mean is one, and there is no band.
    """
    grid = _shared_grid([r for unit in units for r in unit], valid_hz)
    if not len(grid):
        return None
    means = np.array([np.mean([_on(grid, r, of(r)) for r in unit], axis=0) for unit in units])
    known = np.isfinite(means).all(axis=0)
    if not known.any():
        return None
    grid, means = grid[known], means[:, known]
    value = means.mean(axis=0)
    bounded = None
    if bound is not None:
        bounded = np.any(
            [_on(grid, r, bound(r).astype(np.float64)) > 0.5 for unit in units for r in unit], axis=0
        )
    half = _half_width(means)
    if half is not None and bounded is not None:
        half = np.where(bounded, np.nan, half)
    return Curve(
        frequency_hz=grid,
        value=value,
        low=None if half is None else value - half,
        high=None if half is None else value + half,
        bound=bounded if bounded is not None and bounded.any() else None,
        valid_from_hz=max(room_hz, float(grid[0])),
        valid_to_hz=float(grid[-1]),
    )


def _half_width(unit_means: FloatArray) -> FloatArray | None:
    """Half-width (n_f,) of the 95 % interval of the mean of unit means (n_unit, n_f); None with one unit."""
    n = len(unit_means)
    if n < 2:
        return None
    return np.asarray(
        coverage_factor(n - 1) * unit_means.std(axis=0, ddof=1) / math.sqrt(n), dtype=np.float64
    )


def _shared_grid(responses: Sequence[Response], valid_hz: tuple[float, float]) -> FloatArray:
    low = max(float(r.frequency_hz[0]) for r in responses)
    high = min(float(r.frequency_hz[-1]) for r in responses)
    frequency = responses[0].frequency_hz
    span = (max(low, valid_hz[0]), min(high, valid_hz[1]))
    return np.asarray(frequency[in_band(frequency, span)])


def _on(grid: FloatArray, response: Response, values: FloatArray) -> FloatArray:
    """Values of a response at the points of a grid that is part of its own."""
    start = int(np.argmin(np.abs(np.log(response.frequency_hz / grid[0]))))
    index = start + np.round(48.0 * np.log2(grid / grid[0])).astype(int)
    return np.asarray(values[index])
