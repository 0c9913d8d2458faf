"""A reference that meets what was measured of good units: the bands of the assembly guide hold them together with the prediction."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from halfroll.builds.faults.ensemble import MODEL_U
from halfroll.builds.faults.many import units_of
from halfroll.builds.faults.observe import KEYS, observed, readings_of, to_scale, u_in_scale
from halfroll.builds.faults.types import BAFFLE, FREE_AIR, Mounted, Reference
from halfroll.builds.types import Band
from halfroll.core.levels import FloatArray
from halfroll.driver.predicted.packing import pack, unpack

MET = ("re_ohm", "fs_hz", "impedance_peak_ohm", "qts", "moving_mass_g")
"""Bands that tell of the driver, all in free air."""

_STEP = 0.5


def met(reference: Reference, bands: Mapping[str, Band]) -> Reference:
    """The reference whose good units read as the bands say, and which is otherwise as it was.

    Where units were measured, the readings in bands get the bands' middle and spread; what else differs follows by how it goes with them (R. C.
    Jeffrey's rule for normal distributions: given the readings nothing changes, the readings' own distribution is replaced).
    """
    keys = [key for key in MET if key in bands and bands[key].n_units > 0 and bands[key].u > 0.0]
    kept = replace(reference, bands=bands)
    if not keys or not len(reference.steps):
        return kept
    at = [KEYS.index(key) for key in keys]
    middle, slopes = _first_order(reference, at)
    wanted = np.array([to_scale(key, bands[key].value) for key in keys])
    u = np.array([u_in_scale(key, bands[key].value, bands[key].u) for key in keys])
    own = np.array([MODEL_U[key] for key in keys])
    spread = slopes.T @ slopes + np.diag(own**2)
    gain = np.linalg.solve(spread, slopes.T).T
    share = u / np.sqrt(np.diag(spread))
    covariance = np.eye(len(slopes)) - gain @ (spread - spread * np.outer(share, share)) @ gain.T
    values, vectors = np.linalg.eigh(0.5 * (covariance + covariance.T))
    turn = (vectors * np.sqrt(np.maximum(values, 0.0))).T
    moved = gain @ (wanted - middle)
    model = unpack(pack(reference.model) + moved @ reference.steps, reference.model)
    return replace(
        kept, model=model, steps=turn @ reference.steps, rest_steps_mm=turn @ reference.rest_steps_mm,
        step_labels=tuple(f"what good units differ in, {number + 1}" for number in range(len(turn))), source=f"{reference.source} and measured units",
    )  # fmt: skip


def _first_order(reference: Reference, at: list[int]) -> tuple[FloatArray, FloatArray]:
    """Readings of the middle (k,), and what each step does to them (a, k)."""
    base, how = pack(reference.model), readings_of(reference, Mounted(electrical=FREE_AIR, sound=BAFFLE))
    rows = np.concatenate([base[None, :], base + _STEP * reference.steps, base - _STEP * reference.steps])
    read = observed(units_of(rows, reference.model), how)[:, at]
    half = len(reference.steps)
    slopes = (read[1 : 1 + half] - read[1 + half :]) / (2.0 * _STEP)
    assert math.isfinite(float(slopes.sum()))
    return read[0], slopes
