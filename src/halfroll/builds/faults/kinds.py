"""The faults that are looked for: what each does to a driver, and how large it may be before anything was read.

A fault moves the driver's physics, never a reading; what it does to the readings follows. Ranges are those from "a builder would rebuild it" to
"it hardly plays", even in the logarithm where not said (own choice; common practice of what goes wrong at the bench). `often` are relative
frequencies among faulty units (own choice).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.polynomial import polynomial

from halfroll.builds.faults.many import Units, moving_kg
from halfroll.builds.faults.types import Reference
from halfroll.core.levels import FloatArray

Apply = Callable[[Units, FloatArray, Reference], Units]


@dataclass(frozen=True, kw_only=True)
class Fault:
    """One kind of fault.

    Parameters
    ----------
    key, label
        For machines, and in words.
    often
        Relative frequency among faulty units.
    ranges
        Lower and upper bound of each parameter, (low, high); the first is the size that is told. Drawn by ratio when `by_ratio`.
    apply
        Units (n,) with the fault at parameters (n, q).
    possible
        Whether a version can have it.
    """

    key: str
    label: str
    often: float
    ranges: tuple[tuple[float, float], ...]
    apply: Apply
    by_ratio: tuple[bool, ...] = ()
    possible: Callable[[Reference], bool] = lambda _: True

    def drawn(self, share: FloatArray) -> FloatArray:
        """Parameters (n, q) at shares (n, q), 0 to 1, of their ranges."""
        columns = []
        for number, (low, high) in enumerate(self.ranges):
            ratio = self.by_ratio[number] if self.by_ratio else True
            at = share[:, number]
            columns.append(low * (high / low) ** at if ratio else low + (high - low) * at)
        return np.stack(columns, axis=1)


def _fewer_turns(units: Units, s: FloatArray, reference: Reference) -> Units:
    """A share s of the turns is not there: resistance and wire mass in proportion, inductance by the square; of the force factor a part
    only, for turns at the ends of a coil longer than the gap lie in a weak field.
    """
    left = 1.0 - s[:, 0]
    bl = 1.0 - s[:, 0] * s[:, 1]
    return units.put(
        re=units.re * left, bl=units.bl * bl[:, None], le=units.le * (left**2)[:, None], branch_l=units.branch_l * (left**2)[:, None],
        branch_r=units.branch_r * (left**2)[:, None], mms=units.mms - reference.coil.metal_kg * s[:, 0],
    )  # fmt: skip


def _shorted(units: Units, s: FloatArray, _: Reference) -> Units:
    """A share s of the turns is shorted: they are missing in the coil, and as a ring of their own brake it and shield its inductance.

    The ring's force factor is s Bl, its resistance s Re, so it adds s Bl²/Re to Rms; as the secondary of a transformer with coupling c² it
    stands as a branch L = c² Le, R = c² Re/s (1 - s)² seen from the rest of the coil.
    """
    share, coupling = s[:, 0], s[:, 1]
    left = 1.0 - share
    brake = units.bl[:, 0] ** 2 * share / units.re
    le = units.le * (left**2)[:, None]
    ring_l = coupling * le[:, 0]
    ring_r = coupling * units.re / share * left**2
    return units.put(
        re=units.re * left, bl=units.bl * left[:, None], le=le * (1.0 - coupling)[:, None], rms=units.rms + brake,
        branch_l=np.concatenate([units.branch_l * (left**2)[:, None], ring_l[:, None]], axis=1),
        branch_r=np.concatenate([units.branch_r * (left**2)[:, None], ring_r[:, None]], axis=1),
    )  # fmt: skip


def _stiffness(units: Units, s: FloatArray, _: Reference) -> Units:
    """Suspension stiffer by a factor; what its plastic loses at resonance is a share of its stiffness, so Rms goes with √K."""
    return units.put(k=units.k * s[:, :1], rms=units.rms * np.sqrt(s[:, 0]))


def _weak_magnet(units: Units, s: FloatArray, _: Reference) -> Units:
    """Flux lower by a factor; steel less saturated, so the inductance grows by up to a part of it. Pull goes with the square of the flux."""
    more = 1.0 + s[:, 1] * (1.0 - s[:, 0])
    return units.put(bl=units.bl * s[:, :1], le=units.le * more[:, None], branch_l=units.branch_l * more[:, None], pull=units.pull * s[:, 0] ** 2)  # fmt: skip


def _reversed_magnet(units: Units, s: FloatArray, reference: Reference) -> Units:
    """One of a stack upside down leaves a small part of the flux, either way round; a single one turns it whole."""
    if reference.magnets == 1:
        return units.put(polarity=-units.polarity)
    sign = np.where(s[:, 1] < 0.5, 1.0, -1.0)
    return units.put(
        bl=units.bl * s[:, :1], polarity=units.polarity * sign, pull=units.pull * np.maximum(s[:, 0], 0.2)
    )


def _reversed_leads(units: Units, _s: FloatArray, _: Reference) -> Units:
    return units.put(polarity=-units.polarity)


def _off_centre(units: Units, s: FloatArray, _: Reference) -> Units:
    """Coil glued too far out (+) or in (-) by millimetres: Bl and Le at x are what they were at x + d; beyond the travel of the model they
    stay as at its end.
    """
    shift = 1e-3 * s[:, 0] * np.where(s[:, 1] < 0.5, -1.0, 1.0)
    half = 0.9 * np.asarray(units.x_range)
    held = np.clip(shift, half[0], half[1])
    return units.put(
        bl=_shifted(units.bl, held), le=_shifted(units.le, held), rest_mm=units.rest_mm + 1e3 * shift
    )


def _shifted(curve: FloatArray, shift: FloatArray) -> FloatArray:
    """Coefficients (n, c) of curves at x + shift (n,)."""
    columns = []
    for power in range(curve.shape[1]):
        derived = polynomial.polyder(curve.T, power) if power else curve.T
        value = sum(row * shift**n for n, row in enumerate(derived))
        columns.append(value / float(np.prod(np.arange(1, power + 1))) if power else value)
    return np.stack(columns, axis=1)


def _rubbing(units: Units, s: FloatArray, _: Reference) -> Units:
    """Coil or former touches: friction brakes the cone and leaves noise."""
    rms = units.rms * s[:, 1] + 0.0
    heard = 0.9 * np.ones(len(units))
    return units.put(residue_db=s[:, 0], rms=rms, rub=heard, thd_ratio=units.thd_ratio * s[:, 2])


def _loose(units: Units, s: FloatArray, _: Reference) -> Units:
    """Something buzzes: noise without friction."""
    return units.put(residue_db=s[:, 0], rub=0.12 * np.ones(len(units)), thd_ratio=units.thd_ratio * s[:, 1])


def _leak(units: Units, s: FloatArray, _: Reference) -> Units:
    """Air passes between front and back: loss of the box, heard as far as there is a box."""
    return units.put(leak_q=s[:, 0], leak=0.85 * np.ones(len(units)))


LEAST_SHARE = 0.15
"""Glue on a part with less of the stiffness changes next to nothing that can be read, and is not looked for."""


def _glued_share(s: FloatArray, reference: Reference) -> FloatArray:
    """Share of the stiffness that the glued part has: spider or roll, evenly, where both hold."""
    if reference.spider_share is None:
        return np.asarray(0.6 + 0.4 * s)
    low, high = reference.spider_share
    parts = [(low, high), (1.0 - high, 1.0 - low)]
    parts = [one for one in parts if one[1] >= LEAST_SHARE]
    which = np.minimum((s * len(parts)).astype(int), len(parts) - 1)
    bounds = np.array(parts)[which]
    return np.asarray(bounds[:, 0] + (bounds[:, 1] - bounds[:, 0]) * (s * len(parts) - which))


def _glued_spider(units: Units, s: FloatArray, reference: Reference) -> Units:
    """Glue in spider or roll shortens what bends: its share of the stiffness times a factor, more progressive and uneven to both sides."""
    share = _glued_share(s[:, 1], reference)
    factor = 1.0 - share + share * s[:, 0]
    k = units.k * factor[:, None]
    half = 0.5 * (units.x_range[1] - units.x_range[0])
    k = np.pad(k, ((0, 0), (0, max(0, 3 - k.shape[1]))))
    k[:, 1] += k[:, 0] * s[:, 2] / half
    k[:, 2] += k[:, 0] * s[:, 3] / half**2
    return units.put(k=k, rms=units.rms * np.sqrt(factor))


def _heavy(units: Units, s: FloatArray, _: Reference) -> Units:
    """Too much glue or too thick a cone: a share more of what moves."""
    return units.put(mms=units.mms + s[:, 0] * moving_kg(units))


def _bad_joint(units: Units, s: FloatArray, _: Reference) -> Units:
    """A cold joint or a broken strand adds resistance."""
    return units.put(re=units.re + s[:, 0])


FAULTS: tuple[Fault, ...] = (
    Fault(key="fewer-turns", label="fewer turns on the coil", often=1.0, ranges=((0.07, 0.5), (0.5, 1.0)), by_ratio=(True, False),
          apply=_fewer_turns),
    Fault(key="shorted-turns", label="turns shorted in the coil", often=0.7, ranges=((0.05, 0.45), (0.6, 0.95)), by_ratio=(True, False),
          apply=_shorted),
    Fault(key="stiff-print", label="surround or spider printed too stiff", often=1.5, ranges=((1.35, 4.0),), apply=_stiffness),
    Fault(key="soft-print", label="surround or spider printed too soft", often=1.0, ranges=((0.3, 0.72),), apply=_stiffness),
    Fault(key="weak-magnet", label="weak magnet", often=1.0, ranges=((0.5, 0.9), (0.0, 0.3)), by_ratio=(True, False), apply=_weak_magnet),
    Fault(key="reversed-magnet", label="a magnet in upside down", often=0.7, ranges=((0.04, 0.45), (0.0, 1.0)), by_ratio=(True, False),
          apply=_reversed_magnet),
    Fault(key="reversed-leads", label="leads swapped", often=1.5, ranges=((0.0, 1.0),), by_ratio=(False,), apply=_reversed_leads),
    Fault(key="off-centre", label="coil glued too far out or in", often=1.2, ranges=((0.8, 3.5), (0.0, 1.0)), by_ratio=(True, False),
          apply=_off_centre),
    Fault(key="rubbing", label="coil rubs in the gap", often=1.5, ranges=((-36.0, -8.0), (1.05, 3.5), (1.0, 3.0)), by_ratio=(False, True, True),
          apply=_rubbing),
    Fault(key="leak", label="leak past cone, cap or flange", often=1.2, ranges=((0.25, 3.0),), apply=_leak),
    Fault(key="glued-spider", label="glue in the spider or the roll", often=1.0, ranges=((1.4, 16.0), (0.0, 1.0), (-0.4, 0.4), (0.0, 2.0)),
          by_ratio=(True, False, False, False), apply=_glued_spider),
    Fault(key="heavy-parts", label="moving parts too heavy", often=1.0, ranges=((0.12, 0.8),), apply=_heavy),
    Fault(key="loose-part", label="something loose that buzzes", often=0.8, ranges=((-36.0, -8.0), (1.0, 2.0)), by_ratio=(False, True),
          apply=_loose),
    Fault(key="bad-joint", label="poor joint or thin lead", often=0.8, ranges=((0.25, 5.0),), apply=_bad_joint),
)  # fmt: skip

BY_KEY = {one.key: one for one in FAULTS}


def possible(reference: Reference) -> tuple[Fault, ...]:
    """The faults a version can have."""
    return tuple(one for one in FAULTS if one.possible(reference))
