"""Strips the tests share: those of ``tests/references/suspension``, flat rings, and how they are bent."""

import csv
import json
from functools import cache
from pathlib import Path

import numpy as np

from halfroll.suspension.elastic.laws import Elastic
from halfroll.suspension.elastic.midline import MidLine, Profile
from halfroll.suspension.types import SuspensionPart

FOLDER = Path(__file__).parents[1] / "references" / "suspension"
CASES = ("S1", "S1nu48", "S2")


def even(thickness_m):
    """A wall of one thickness."""
    return lambda s: (np.full_like(s, thickness_m), np.zeros_like(s))


def roll(inner, outer, height, thickness):
    """Half an ellipse (m)."""
    a, middle = (outer - inner) / 2, (outer + inner) / 2

    def curve(s):
        c, n = np.cos(np.pi * s), np.sin(np.pi * s)
        return MidLine(r=middle - a * c, z=height * n, r1=a * np.pi * n, z1=height * np.pi * c,
                       r2=a * np.pi**2 * c, z2=-height * np.pi**2 * n)  # fmt: skip

    return Profile(title="roll", curve=curve, thickness=even(thickness))


def waves(inner, outer, rolls, first, last, thickness):
    """Sine rolls whose amplitude runs from `first` to `last` (m)."""
    w, width, grows = 2 * np.pi * rolls, outer - inner, last - first

    def curve(s):
        c, n = np.cos(w * s), np.sin(w * s)
        a = first + grows * s
        return MidLine(r=inner + width * s, z=a * n, r1=0 * s + width, z1=grows * n + a * w * c,
                       r2=0 * s, z2=2 * grows * w * c - a * w * w * n)  # fmt: skip

    return Profile(title="waves", curve=curve, thickness=even(thickness))


def slope(inner, outer, rise, thickness):
    """A straight middle line whose inner end lies `rise` (m) higher; flat when that is 0."""

    def curve(s):
        return MidLine(
            r=inner + (outer - inner) * s,
            z=rise * (1 - s),
            r1=0 * s + outer - inner,
            z1=0 * s - rise,
            r2=0 * s,
            z2=0 * s,
        )

    return Profile(title="straight", curve=curve, thickness=even(thickness))


def part(profile, material, **known):
    """A surround of it."""
    return SuspensionPart(name="surround", profile=profile, material=material, **known)


@cache
def reference(case):
    """A stored case as a part, with its rows (x in m, F in N, K in N/m, the rest as stored)."""
    stored = json.loads((FOLDER / f"{case}_reference.json").read_text(encoding="utf-8"))
    drawn, matter = stored["case"]["geometry"], stored["case"]["material"]
    mm = {key: 1e-3 * value for key, value in drawn.items() if not isinstance(value, str)}
    law = {"neo-hooke": "neo-hooke", "svk": "st-venant"}[matter["law"]]
    material = Elastic(modulus_pa=1e6 * matter["E_MPa"], poisson=matter["nu"], law=law)
    if drawn["kind"] == "roll":
        profile = roll(mm["r_inner"], mm["r_outer"], mm["height"], mm["thickness"])
    else:
        profile = waves(
            mm["r_inner"], mm["r_outer"], drawn["rolls"], mm["amp_inner"], mm["amp_outer"], mm["thickness"]
        )
    return part(profile, material), rows(stored["rows"])


@cache
def second(case):
    """The second program's rows of a case."""
    (path,) = FOLDER.glob(f"{case}_ngsolve_*.csv")
    with path.open(encoding="utf-8") as lines:
        return rows([{key: float(value) for key, value in row.items()} for row in csv.DictReader(lines)])


def rows(stored):
    """Columns as arrays, x in m and K in N/m."""
    table = {key: np.array([row[key] for row in stored]) for key in stored[0]}
    return {**table, "x": 1e-3 * table["x"], "K": 1e3 * table["K"]}


def bellows(radius, height, folds, depth, thickness):
    """A fold-out hose standing on its outer clamp: pushed inwards, its folds come to lie on each other."""
    w = 2 * np.pi * folds

    def curve(s):
        c, n = np.cos(w * s), np.sin(w * s)
        return MidLine(r=radius + s * 1e-3 + depth * n, z=height * (1 - s), r1=1e-3 + depth * w * c, z1=0 * s - height,
                       r2=-depth * w * w * n, z2=0 * s)  # fmt: skip

    return Profile(title="bellows", curve=curve, thickness=even(thickness))
