"""Which cause makes the distortion: every nonlinearity of a driver switched off in turn, and left alone.

A harmonic of the sound pressure is taken re the fundamental, d_n = p_n e^{-jnφ1}/|p_1|, so that a change of level or delay of the whole is no change of
distortion. What a cause makes of it is the mean of what it makes alone and of what goes when it alone is switched off,

    c = ½ [d(alone) + d(all) - d(all but it)],

for two causes their Shapley value (L. S. Shapley, "A Value for n-Person Games", 1953, from memory: the mean over all orders of switching on), for more
close to it. Its share in some orders is Σ Re(c_n d_n*)/Σ |d_n|²: a contribution that cancels others is negative, and with the rest, which no cause has
for itself (``together``), shares add up to one.

Switched off means constant: at its value for x = 0 and i = 0. The force by which a current pulls the coil to where its inductance is larger
(reluctance force, that of the eddy currents included) is kept apart from what a changing inductance does to the current.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from halfroll.acoustics.load import AcousticLoad
from halfroll.core.errors import InputError
from halfroll.core.frequency import in_band, octave_weights
from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.core.progress import Progress, part, silent
from halfroll.driver.lumped import DriverModel
from halfroll.driver.steady.curves import Acting
from halfroll.driver.steady.solve import steady_tones
from halfroll.driver.steady.types import Standing, SteadyTones

Parity = Literal["even", "odd"]

ORDERS = (2, 3, 4, 5)
ROWS: dict[Parity, tuple[int, ...]] = {"even": (0, 2), "odd": (1, 3)}
"""Rows of `ORDERS` that make the even and the odd distortion."""

TOGETHER = "together"

LEAST = 1e-4
"""Distortion below this is not parted in pictures and tables: no room and no ear tells it (own choice)."""


class Cause(NamedTuple):
    """A nonlinearity: its key, its symbol, what it is in words."""

    key: str
    symbol: str
    words: str


CAUSES = (
    Cause("bl", "Bl(x)", "force factor over displacement"),
    Cause("k", "K(x)", "stiffness over displacement"),
    Cause("le", "Le(x)", "inductance over displacement"),
    Cause("reluctance", "reluctance force", "pull of the current on the coil"),
    Cause("le_i", "Le(i)", "inductance over current"),
)


@dataclass(frozen=True, kw_only=True, eq=False)
class Causes:
    """What each cause contributes to the distortion of steady tones; NaN where a tone is not steady.

    Parameters
    ----------
    voltage_v, frequency_hz
        R.m.s. source voltage, and frequencies, shape (n,).
    causes
        Those the driver has, (c,).
    harmonics
        d_n of orders 2 to 5, all causes on, shape (4, n).
    contributions
        Of each cause, shape (c, 4, n).
    thd_without, thd_alone
        THD (orders 2 to 5 over the fundamental) with one cause switched off, and with it alone, shape (c, n).
    ways
        How many of the two ways to a contribution could be solved, shape (c, n): 2; 1 where alone or without the others the driver finds no
        steady tone within its travel; 0: the contribution is then left in ``together``.
    standing
        How each tone ended with all causes on, (n,).
    """

    voltage_v: float
    frequency_hz: FloatArray
    causes: tuple[Cause, ...]
    harmonics: ComplexArray
    contributions: ComplexArray
    thd_without: FloatArray
    thd_alone: FloatArray
    ways: NDArray[np.int64]
    standing: tuple[Standing, ...]

    @property
    def thd(self) -> FloatArray:
        """Orders 2 to 5 over the fundamental, shape (n,)."""
        return np.asarray(np.linalg.norm(self.harmonics, axis=0))

    def size(self, parity: Parity) -> FloatArray:
        """Even (2 and 4) or odd (3 and 5) distortion over the fundamental, shape (n,)."""
        return np.asarray(np.linalg.norm(self.harmonics[list(ROWS[parity])], axis=0))

    def shares(self, parity: Parity) -> FloatArray:
        """Share of each cause, and in the last row of what they make only together; rows add up to 1; shape (c + 1, n)."""
        with np.errstate(all="ignore"):
            return self._closed(self._work(parity) / self.size(parity) ** 2)

    def over_band(self, parity: Parity, band_hz: tuple[float, float]) -> FloatArray:
        """Shares of the mean square distortion over a band, every octave weighing the same, shape (c + 1,); NaN where no tone in it is steady."""
        weights = self._weights(band_hz)
        whole = np.sum(weights * np.nan_to_num(self.size(parity) ** 2))
        with np.errstate(all="ignore"):
            return self._closed(np.nansum(weights * self._work(parity), axis=1) / whole)

    def size_over_band(self, parity: Parity, band_hz: tuple[float, float]) -> float:
        """Root of the mean square of even or odd distortion over a band; NaN where no tone in it is steady."""
        weights = self._weights(band_hz)
        return (
            float(np.sqrt(np.sum(weights * np.nan_to_num(self.size(parity) ** 2))))
            if weights.any()
            else math.nan
        )

    def _weights(self, band_hz: tuple[float, float]) -> FloatArray:
        mask = in_band(self.frequency_hz, band_hz) & np.isfinite(self.thd)
        weights = np.zeros(mask.size)
        if mask.any():
            weights[mask] = octave_weights(self.frequency_hz[mask], band_hz)
        return weights

    def _work(self, parity: Parity) -> FloatArray:
        """Σ Re(c_n d_n*), shape (c, n)."""
        rows = list(ROWS[parity])
        return np.asarray(
            np.sum((np.nan_to_num(self.contributions[:, rows]) * self.harmonics[rows].conj()).real, axis=1)
        )

    @staticmethod
    def _closed(shares: FloatArray) -> FloatArray:
        return np.concatenate([shares, 1.0 - shares.sum(axis=0, keepdims=True)])


def present(driver: DriverModel) -> tuple[Cause, ...]:
    """The nonlinearities a driver has."""
    inductive = any(any(one[1:]) for one in (driver.Le, *driver.Le_i))
    there = {
        "bl": any(driver.Bl[1:]), "k": any(driver.K[1:]), "le": inductive, "reluctance": inductive,
        "le_i": any(any(one) for one in driver.Le_i),
    }  # fmt: skip
    return tuple(cause for cause in CAUSES if there[cause.key])


def switched(driver: DriverModel, on: frozenset[str]) -> tuple[DriverModel, Acting]:
    """The driver with only some causes on, and where its inductance over displacement acts."""
    powers = driver.Le_i if "le_i" in on else ()
    le, acting = driver.Le, "both"
    if not {"le", "reluctance"} & on:
        le, powers = le[:1], tuple(one[:1] for one in powers)
    elif not {"le", "reluctance"} <= on:
        acting = "voltage" if "le" in on else "force"
    bl, k = (whole if key in on else whole[:1] for key, whole in (("bl", driver.Bl), ("k", driver.K)))
    return replace(driver, Bl=bl, K=k, Le=le, Le_i=powers), acting  # type: ignore[return-value]


def distortion_causes(
    driver: DriverModel,
    volts: float,
    frequency_hz: FloatArray,
    *,
    load: AcousticLoad | None = None,
    series_ohm: float = 0.0,
    progress: Progress = silent,
) -> Causes:
    """What each nonlinearity contributes to the distortion of steady tones of a voltage (V r.m.s.), pressure on axis, cabinet and outlets included.

    Raises
    ------
    InputError
        The driver has no nonlinearity, or a tone cannot be.
    CancelledError
        Through `progress`.
    """
    causes = present(driver)
    if not causes:
        raise InputError(
            "A driver with constant Bl, K and Le makes no distortion to find causes of",
            remedy="Give it curves over displacement.",
        )
    keys = frozenset(cause.key for cause in causes)
    wanted = [keys, *(frozenset({key}) for key in sorted(keys)), *(keys - {key} for key in sorted(keys))]
    runs: dict[frozenset[str], SteadyTones] = {}
    for number, on in enumerate(dict.fromkeys(one for one in wanted if one)):
        one, acting = switched(driver, on)
        told = part(progress, number / len(wanted), (number + 1) / len(wanted))
        runs[on] = steady_tones(
            one,
            volts,
            frequency_hz,
            load=load,
            series_ohm=series_ohm,
            orders=ORDERS[-1],
            acting=acting,
            progress=told,
        )
    return _together(causes, runs, keys, float(volts))


def _together(
    causes: tuple[Cause, ...], runs: dict[frozenset[str], SteadyTones], keys: frozenset[str], volts: float
) -> Causes:
    full = runs[keys]
    whole = _relative(full)
    silence = np.where(np.isfinite(whole), 0.0, np.nan)

    def harmonics(on: frozenset[str]) -> ComplexArray:
        return _relative(runs[on]) if on else silence

    alone = np.array([harmonics(frozenset({cause.key})) for cause in causes])
    without = np.array([harmonics(keys - {cause.key}) for cause in causes])
    both = np.array([alone, whole - without])
    known = np.isfinite(both) & np.isfinite(whole)
    ways = known.sum(axis=0)
    with np.errstate(all="ignore"):
        contributions = np.where(known, both, 0.0).sum(axis=0) / ways
    return Causes(
        voltage_v=volts, frequency_hz=full.frequency_hz, causes=causes, harmonics=whole, contributions=contributions,
        thd_without=np.linalg.norm(without, axis=1), thd_alone=np.linalg.norm(alone, axis=1), ways=ways[:, 0].astype(np.int64),
        standing=full.standing,
    )  # fmt: skip


def _relative(tones: SteadyTones) -> ComplexArray:
    """Pressures of `ORDERS` over the fundamental with its phase taken out n times, shape (4, n)."""
    first = tones.pressure_pa[1]
    orders = np.array(ORDERS)[:, None]
    with np.errstate(all="ignore"):
        return np.asarray(
            tones.pressure_pa[list(ORDERS)] * np.exp(-1j * orders * np.angle(first)) / np.abs(first)
        )
