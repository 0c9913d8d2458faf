"""Flexures the tests share, those of ``tests/references/flexures`` first, and slender bars that beam theory knows."""

import csv
import json
import math
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np

from halfroll.materials.types import Filament, Origin
from halfroll.suspension.design import FlexureDesign
from halfroll.suspension.elastic.laws import Elastic
from halfroll.suspension.elastic.solid import Solid, mesh_bar
from halfroll.suspension.flexure import study_flexure
from halfroll.suspension.flexure.arm import plastic_of
from halfroll.suspension.flexure.bend import bend_arm

FOLDER = Path(__file__).parents[2] / "references" / "flexures"
TRAVEL_M = {"S3": 3e-3, "S4": 5e-3}

STIFF = Filament(
    key="stiff", title="Stiff", density_kg_m3=1240.0, density_u_kg_m3=10.0, modulus_pa=2e9, modulus_u_pa=1e8,
    poisson=0.35, across_factor=1.0, glass_c=60.0, continuous_c=50.0, loss_factor=0.02, creep_per_decade=0.02,
    expansion_per_k=7e-5, origin=Origin(source="the stored cases", support="own"),
)  # fmt: skip
"""The plastic of the stored cases."""


def design(case="S4", **changes):
    """A stored case as a design."""
    one = FlexureDesign(
        name="spider", family="spiral-arms", inner_radius_m=14e-3, outer_radius_m=30e-3, thickness_m=0.8e-3,
        width_m=4e-3, arms=3, sweep_rad=math.pi, material=STIFF,
    )  # fmt: skip
    if case == "S3":
        one = replace(one, family="straight-legs", inner_radius_m=12e-3, thickness_m=0.6e-3, sweep_rad=0.0)
    return replace(one, **changes)


@cache
def studied(case, hub="held"):
    """The study of a stored case."""
    return study_flexure(design(case, hub=hub), TRAVEL_M[case])


@cache
def bent(case, hub="held"):
    """One arm of a stored case, bent."""
    return bend_arm(design(case, hub=hub), plastic_of(design(case))[0], TRAVEL_M[case])


def reference(case):
    """The rows of the first program, by displacement (mm)."""
    return {row["x"]: row for row in json.loads((FOLDER / f"{case}_reference.json").read_text())["rows"]}


def table(name):
    """The rows of a stored table, by displacement (mm)."""
    with (FOLDER / name).open() as lines:
        return {float(row["x"]): {k: float(v) for k, v in row.items()} for row in csv.DictReader(lines)}


def bar(length_m, width_m, thickness_m, *, material=None, elements=6, orders=(4, 2, 2), ends=True):
    """A straight bar along x from the origin, of one element across and through; `ends`: closer cuts at both ends."""
    material = material or Elastic(modulus_pa=2e9, poisson=0.35, law="st-venant", density_kg_m3=1240.0)
    cuts = np.linspace(0, 1, elements + 1)
    if ends:
        near = np.array([thickness_m, 3 * thickness_m]) / length_m
        cuts = np.unique(np.concatenate([cuts, near, 1 - near]))

    def place(s, v, t):
        return np.stack([length_m * s, width_m * v, thickness_m * t], axis=1)

    box = np.array([-0.5, 0.5])
    return Solid(mesh_bar(place, (cuts, box, box), orders), material)
