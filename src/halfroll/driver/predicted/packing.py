"""A driver model as one row of numbers, in which small changes add up: logarithms of what is above zero, curves over their values at rest."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.driver.lumped import DriverModel

_SCALARS = ("Re", "Mms", "Rms", "Sd")


def pack(model: DriverModel) -> FloatArray:
    """Logarithms of Re, Mms, Rms, Sd, of L and R of every branch, of |Bl(0)|, K(0) and Le(0); the creep; then the shapes.

    Shapes are the coefficients of Bl, K and Le from the first power on, over the value at rest and per half the travel. What changes with
    the current (`Le_i`) scales with nothing and stays.
    """
    half = 0.5 * (model.x_range[1] - model.x_range[0])
    scalars = [np.log(getattr(model, name)) for name in _SCALARS]
    eddy = [np.log(value) for pair in _pairs(model) for value in pair]
    rest = [np.log(abs(curve[0])) for curve in (model.Bl, model.K, model.Le)]
    shapes = [
        value / curve[0] * half**power
        for curve in (model.Bl, model.K, model.Le)
        for power, value in enumerate(curve)
        if power
    ]
    return np.array([*scalars, *eddy, *rest, model.creep, *shapes])


def unpack(row: FloatArray, like: DriverModel) -> DriverModel:
    """The inverse of `pack` for a model with as many branches and coefficients as `like`; `InputError` where no driver is like that."""
    half = 0.5 * (like.x_range[1] - like.x_range[0])
    values = iter(float(value) for value in row)
    resistance, mass, loss, area = (float(np.exp(next(values))) for _ in _SCALARS)
    pairs = [(float(np.exp(next(values))), float(np.exp(next(values)))) for _ in _pairs(like)]
    rest = [float(np.exp(next(values))) * float(np.sign(curve[0])) for curve in (like.Bl, like.K, like.Le)]
    creep = next(values)
    curves = [
        (zero, *(next(values) * zero / half**power for power in range(1, len(curve))))
        for zero, curve in zip(rest, (like.Bl, like.K, like.Le), strict=True)
    ]
    first = pairs[0] if like.L2 > 0.0 else (0.0, 0.0)
    return replace(
        like, Re=resistance, Mms=mass, Rms=loss, Sd=area, L2=first[0], R2=first[1], branches=tuple(pairs[1:] if like.L2 > 0.0 else pairs),
        Bl=curves[0], K=curves[1], Le=curves[2], creep=max(creep, 0.0),
    )  # fmt: skip


def _pairs(model: DriverModel) -> list[tuple[float, float]]:
    return [*([(model.L2, model.R2)] if model.L2 > 0.0 else []), *model.branches]
