"""Prediction and measurement as one least-squares problem: data, their uncertainties, and how assumptions move what is expected."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.driver.lumped import DriverModel
from halfroll.driver.predicted.packing import pack, unpack
from halfroll.driver.predicted.types import PredictedDriver
from halfroll.driver.update.forward import on_scales, predicted_values, working, working_u
from halfroll.driver.update.types import Observation

STEP = 1e-4
"""Change of a packed number (a ratio) for finite differences; curvature then moves a slope by less than 0.1 %."""

SECOND_ORDER = 0.01
"""Most that is allowed for what first order misses of a packed number (own choice): more would explain what assumptions should."""

FAR_OFF = 1e3
"""Misfit given to a model that cannot be: no step ends there."""


class Problem:
    """Observations of a driver against what its prediction says.

    A prediction moves with its assumptions to first order only. What that misses is about half the sum of the squared slopes where
    several things add up, for moves of one standard uncertainty each, and taken as 1 % at most: every packed number gets that much freedom of its own, or data far sharper than the prediction
    would be taken at their word about combinations the slopes do not hold to.

    Rows of observations that do not count, and of tones that are not steady as predicted, are left out of `data`.

    Parameters
    ----------
    predicted, observations
        What meets.
    coil_u
        Relative standard uncertainty (1) of each inductance and eddy-current resistance of the coil beside that of the assumptions.

    Raises
    ------
    InputError
        Nothing is left to count, or a value is not finite or its uncertainty not above zero.
    """

    def __init__(
        self,
        predicted: PredictedDriver,
        observations: Sequence[Observation],
        air: Air = STANDARD_AIR,
        coil_u: float = 0.0,
    ) -> None:
        self.predicted, self.observations, self.air = predicted, tuple(observations), air
        for one in self.observations:
            _check(one)
        self.scale_names = tuple(dict.fromkeys(name for one in self.observations for name, _ in one.scales))
        self._packed = pack(predicted.model)
        known = np.asarray(predicted.slopes, dtype=np.float64)
        known = known.reshape(len(predicted.assumptions), len(self._packed))
        self.slopes: FloatArray = np.concatenate([known, _freedom(known, predicted.model, coil_u)])
        self._moving = np.flatnonzero(np.any(self.slopes != 0.0, axis=0))
        self.widened: dict[str, float] = {}
        self._of_tones: FloatArray | None = None
        self._tones: NDArray[np.bool_] = self._stack(
            np.full(len(working_u(one)), one.kind == "distortion") for one in self.observations
        ).astype(bool)
        self.all_data: FloatArray = self._stack(working(one.values, one) for one in self.observations)
        self.all_u: FloatArray = self._stack(working_u(one) for one in self.observations)
        self._phases = self._stack(
            np.arange(len(working_u(one))) >= len(one.values) for one in self.observations
        ).astype(bool)
        counted = self._stack(np.full(len(working_u(one)), one.counted) for one in self.observations).astype(
            bool
        )
        self.all_scales = np.concatenate(
            [on_scales(one, self.scale_names) for one in self.observations]
            or [np.zeros((0, len(self.scale_names)))]
        )
        self.all_expected = self._expected(predicted.model)
        self.steady = np.isfinite(self.all_expected)
        self.rows = counted & self.steady
        if not self.rows.any():
            raise InputError("An update must have something measured that the model can say", found="nothing")

    @staticmethod
    def _stack(parts: Iterable[Any]) -> Any:
        found = [np.asarray(one) for one in parts]
        return np.concatenate(found) if found else np.zeros(0)

    @property
    def count(self) -> int:
        """Number of assumptions a."""
        return len(self.predicted.assumptions)

    @property
    def size(self) -> int:
        """Number of unknowns of the model s: the assumptions, then what first order misses of each packed number that moves."""
        return len(self.slopes)

    @property
    def data(self) -> FloatArray:
        """Counted measured rows (m,)."""
        return np.asarray(self.all_data[self.rows])

    @property
    def u(self) -> FloatArray:
        """Their standard uncertainties (m,)."""
        return np.asarray(self.all_u[self.rows])

    @property
    def scales(self) -> FloatArray:
        """How scales move them, shape (m, k)."""
        return np.asarray(self.all_scales[self.rows])

    def widen(self, z: FloatArray, n: FloatArray) -> None:
        """Multiply the uncertainties of every observation whose residual at z and n is larger than they are by how much it is.

        R. T. Birge, Phys. Rev. 40, 207, 1932: what model and data miss of each other is then part of the uncertainty.
        """
        left = (self.everything(z) + self.all_scales @ n - self.all_data) / self.all_u
        at = 0
        for one in self.observations:
            rows = np.zeros(len(self.rows), dtype=bool)
            rows[at : at + len(working_u(one))] = True
            at += len(working_u(one))
            rows &= self.rows
            factor = float(np.sqrt(np.mean(left[rows] ** 2))) if rows.any() else 0.0
            if factor > 1.0:
                self.all_u[rows] *= factor
                self.widened[one.label] = factor

    def model(self, z: FloatArray) -> DriverModel:
        """The driver with its assumptions at z (s,)."""
        return unpack(self._packed + z @ self.slopes, self.predicted.model)

    def everything(self, z: FloatArray) -> FloatArray:
        """What all rows should be, counted or not, (n_rows,); NaN where a tone is not steady."""
        return self._expected(self.model(z))

    def expected(self, z: FloatArray) -> FloatArray:
        """What the counted rows should be (m,); a tone that is no longer steady keeps what the prediction said."""
        found = self.everything(z)
        found = np.where(np.isfinite(found), found, self.all_expected)
        return np.asarray(found[self.rows])

    def jacobian(self, z: FloatArray, *, fresh: bool = False) -> FloatArray:
        """Change of all rows per standard uncertainty of each unknown at z, shape (all rows, s), by finite differences.

        The model depends on the assumptions through its packed numbers, linearly; those are fewer than the assumptions can be. Slopes of
        distortion change little and cost much: they are kept from the last time they were wanted `fresh`.
        """
        packed = self._packed + z @ self.slopes
        tones = fresh or self._of_tones is None
        here = self._expected(unpack(packed, self.predicted.model), tones=tones)
        slopes = np.zeros((len(here), len(self._packed)))
        for at in self._moving:
            step = np.zeros(len(packed))
            step[at] = STEP
            moved = self._expected(unpack(packed + step, self.predicted.model), tones=tones)
            slopes[:, at] = (moved - here) / STEP
        slopes = np.where(np.isfinite(slopes), slopes, 0.0)
        if tones or self._of_tones is None:
            self._of_tones = slopes[self._tones]
        slopes[self._tones] = self._of_tones
        return np.asarray(slopes @ self.slopes.T)

    def _expected(self, model: DriverModel, *, tones: bool = True) -> FloatArray:
        """All rows; those of distortion NaN without `tones`."""
        found: FloatArray = self._stack(
            working(predicted_values(model, one, self.air), one)
            if tones or one.kind != "distortion"
            else np.full(len(one.values), np.nan)
            for one in self.observations
        )
        turns = np.round((found - self.all_data) / (2.0 * np.pi))
        return np.where(self._phases & np.isfinite(turns), found - 2.0 * np.pi * turns, found)


def _freedom(slopes: FloatArray, model: DriverModel, coil_u: float) -> FloatArray:
    """A row for each packed number that is free beside the assumptions: by what first order misses, or as an inductance; (rows, p)."""
    size = np.minimum(0.5 * np.sum(slopes**2, axis=0), SECOND_ORDER)
    branches = len(model.branches) + (model.L2 > 0.0)
    inductive = [*range(4, 4 + 2 * branches), 4 + 2 * branches + 2]  # as `pack` lays them out
    size[inductive] = np.maximum(size[inductive], coil_u)
    free = np.flatnonzero(size > 0.0)
    rows = np.zeros((len(free), slopes.shape[1]))
    rows[np.arange(len(free)), free] = size[free]
    return rows


def _check(one: Observation) -> None:
    shape = np.shape(one.values)
    if (
        len(shape) != 1
        or np.shape(one.u) != shape
        or (one.kind != "value" and np.shape(one.frequency_hz) != shape)
    ):
        raise InputError(f"{one.label} must have one value, uncertainty and frequency for each point", found=f"{shape} and {np.shape(one.u)}")  # fmt: skip
    if not np.all(np.isfinite(one.values)) or (one.kind != "level" and not np.all(np.abs(one.values) > 0.0)):
        raise InputError(f"{one.label} must have finite values above zero", found=str(one.values))
    if not np.all(one.u > 0.0) or not np.all(np.isfinite(one.u)):
        raise InputError(f"{one.label} must have an uncertainty above zero at each point", found=str(one.u))
