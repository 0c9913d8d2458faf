"""Bands of the parts on a scale, before they are glued in."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from halfroll.builds.guide.expected import all_alike
from halfroll.builds.guide.predictive import Prior, predictive
from halfroll.builds.types import Band
from halfroll.core.text import count
from halfroll.workshop.as_built import SCALE_U_G
from halfroll.workshop.built_weights import WEIGHED_WORDS, expected_weights
from halfroll.workshop.contents import read_contents

if TYPE_CHECKING:
    from halfroll.driver.predicted.types import PredictedDriver
    from halfroll.suspension.design import MovingDesign
    from halfroll.workshop.store import Workshop

USUAL_SPREAD = 0.02
"""Usual relative standard deviation of a printed part's mass among units, where the assumptions say less (own choice)."""


def weight_bands(
    workshop: Workshop, version_id: str, before: PredictedDriver, design: MovingDesign
) -> Mapping[str, Band]:
    """By key (``cone_g``, ``coil_g`` ...) what a good part weighs, from the prediction and from what was weighed of the units."""
    contents = read_contents(workshop.folder, workshop.index)
    units = [
        contents.units[one]
        for one in workshop.unit_ids(version_id)
        if one in contents.units and not contents.units[one].faulty
    ]
    alike = np.array([all_alike(one) for one in before.assumptions])
    found = {}
    for name, (kg, slopes) in expected_weights(before, design).items():
        key = f"{name}_g"
        read = [
            (getattr(one.weighed, key), one.weighed.u_g or SCALE_U_G)
            for one in units
            if one.weighed is not None and getattr(one.weighed, key)
        ]
        shared = float(np.sqrt((slopes[alike] ** 2).sum()))
        unit = max(float(np.sqrt((slopes[~alike] ** 2).sum())), USUAL_SPREAD)
        prior = Prior(middle=math.log(1e3 * kg), u_shared=shared, u_unit=unit)
        one = predictive(prior, [math.log(value) for value, _ in read], [u / value for value, u in read])
        value = math.exp(one.middle)
        found[key] = Band(
            key=key, label=WEIGHED_WORDS[name], unit="g", value=value, u_unit=value * one.u_unit, u_shared=value * one.u_shared, low=math.exp(one.low),
            high=math.exp(one.high), source="prediction" + (f" and {count(len(read), 'unit')}" if read else ""), n_units=len(read),
        )  # fmt: skip
    return found
