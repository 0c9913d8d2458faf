"""Figures of a driver that was worked out: values from a computed take, uncertainty from what was assumed.

Each assumption is moved by its standard uncertainty to either side, the response is worked out again, and half the difference of a figure
is that assumption's share of it (JCGM 100:2008, 5.1.3, with the slope taken as a difference; note 2 there). Assumptions are independent.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.acoustics.radiation import air_mass
from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.core.progress import Progress, silent
from halfroll.driver.lumped import DriverModel, small_signal
from halfroll.driver.predicted.types import Assumption, PredictedDriver
from halfroll.figures.computed import CurveSpread
from halfroll.figures.parameters import INDUCTANCE_HZ
from halfroll.figures.readings import read_take
from halfroll.figures.rules import RULE
from halfroll.figures.types import FigureSettings, Reading
from halfroll.measure.analysis.distortion import harmonic_distortion
from halfroll.measure.analysis.response import Response
from halfroll.suspension.results import BreakUp

MOUNTINGS = ("free-air", "baffle")
"""How parameters are given: the air that moves along is less without a baffle."""

NOT_COMPUTED = {"residue_db": "A computed take has neither rub nor buzz in it."}
"""Figures that a computed take cannot tell."""

CURVES_WANTED = "Bl, Kms and Le over displacement are not known; taken as constant they make no distortion."
"""What stands in place of the distortion of a driver without curves."""

BREAK_UP_KEY = "cone.break-up"
"""Stands among the assumptions for the frequencies of the cone's resonances, which the study gives with an uncertainty of their own."""

MATTERS = 0.1
"""An assumption with more than this part of a figure's uncertainty is moved to both sides."""

MOST_MOVED = 0.5
"""The break-up is moved by this share of its frequency at most."""

LEAST_SHARE = 1e-3
"""Shares smaller than this part of the whole uncertainty are dropped."""

Responds = Callable[[DriverModel], Response]
"""The response of a driver in the take's conditions, quick and smooth."""


@dataclass(frozen=True, kw_only=True, eq=False)
class PredictedFigures:
    """Readings of a computed take, by figure, and of the parameters by mounting; each with the shares of the assumptions. The spread of curves."""

    take: dict[str, Reading]
    parameters: dict[str, dict[str, Reading]]
    spread: CurveSpread


def predicted_figures(
    predicted: PredictedDriver,
    response: Response,
    responds: Responds,
    settings: FigureSettings,
    *,
    own: str = "",
    rated_power_w: float | None = None,
    air: Air = STANDARD_AIR,
    progress: Progress = silent,
) -> PredictedFigures:
    """Figures of a computed take and of a driver's parameters, with what each assumption does to them.

    Parameters
    ----------
    predicted
        The driver with its assumptions.
    response
        The computed take; values are read from it.
    responds
        Gives the response of a driver that is a little different; only differences count.
    own
        Name of what is predicted. An assumption that no other design shares, such as a print tolerance, gets it before its key, so that it does
        not cancel in a difference to another.

    Raises
    ------
    CancelledError
        Through `progress`.
    """
    looked = looked_at(
        predicted, responds, settings, own=own, rated_power_w=rated_power_w, air=air, progress=progress
    )
    return looked.figures(response, read_take(response, settings, rated_power_w))


def looked_at(
    predicted: PredictedDriver, responds: Responds, settings: FigureSettings, *, own: str = "", rated_power_w: float | None = None,
    air: Air = STANDARD_AIR, progress: Progress = silent,
) -> Looked:  # fmt: skip
    """What each assumption does to figures and curves, whatever the take they are read from; arguments as `predicted_figures`."""

    def read(found: Response) -> dict[str, Reading]:
        return read_take(found, settings, rated_power_w)

    base_response = responds(predicted.model)
    base = _Seen.of(base_response, read(base_response), predicted.model, air)
    look = _Look(predicted=predicted, responds=responds, read=read, base=base, air=air)
    moved = look.shares(progress)
    keys = [_key(assumption, own) for assumption in predicted.assumptions]
    progress(1.0, "done")
    if predicted.break_up is not None:  # the quick response keeps the cone's resonances where they are
        keys.append(f"{own} {BREAK_UP_KEY}".lstrip())
        moved.append(look.by_break_up(predicted.break_up, base_response))
    return Looked(model=predicted.model, base=base, keys=tuple(keys), moved=tuple(moved))


def parameters_of(
    model: DriverModel, mounting: str = "baffle", air: Air = STANDARD_AIR
) -> dict[str, Reading]:
    """The small-signal parameters as figures, by key; `model` holds the air load of an infinite baffle.

    In free air half of that air moves along: (8/3) ρ a³ of an unbaffled disc against (16/3) ρ a³ (Beranek, "Acoustics", from memory).
    """
    if mounting == "free-air":
        model = replace(model, Mms=model.Mms - 0.5 * air_mass(model.radius, air))
    small = small_signal(model, air)
    values = {
        "re_ohm": model.Re, "fs_hz": small.fs, "qms": small.Qms, "qes": small.Qes, "qts": small.Qts,
        "le_1khz_mh": 1e3 * inductance(model), "mms_g": 1e3 * model.Mms, "cms_mm_per_n": 1e3 * small.Cms, "rms_ns_per_m": model.rms_at_resonance,
        "bl_n_per_a": abs(model.Bl[0]), "vas_l": 1e3 * small.Vas, "eta0_percent": 100.0 * small.eta0,
    }  # fmt: skip
    at = {"le_1khz_mh": INDUCTANCE_HZ}
    return {key: Reading(value=float(value), at_hz=at.get(key)) for key, value in values.items()}


def inductance(model: DriverModel) -> float:
    """Reactance of the blocked coil at rest and 1 kHz over 2π 1 kHz (H)."""
    s = 2j * math.pi * INDUCTANCE_HZ
    pairs = [*([(model.L2, model.R2)] if model.L2 > 0.0 else []), *model.branches]
    coil = s * model.Le[0] + sum(s * le * r / (r + s * le) for le, r in pairs)
    return float(coil.imag / abs(s))


@dataclass(frozen=True, kw_only=True)
class _Seen:
    """What is looked at of one driver: readings, parameters by mounting, and curves (dB, 1, ohm)."""

    take: Mapping[str, Reading]
    parameters: Mapping[str, dict[str, Reading]]
    level_db: FloatArray
    thd: FloatArray
    modulus: FloatArray

    @staticmethod
    def of(response: Response, readings: Mapping[str, Reading], model: DriverModel, air: Air) -> _Seen:
        assert response.impedance_ohm is not None
        return _Seen(
            take=readings,
            parameters={mounting: parameters_of(model, mounting, air) for mounting in MOUNTINGS},
            level_db=20.0 * np.log10(np.maximum(response.sensitivity_pa_per_v(), 1e-30)),
            thd=harmonic_distortion(response, "total").thd,
            modulus=np.abs(response.impedance_ohm),
        )


@dataclass(frozen=True, kw_only=True)
class _Shares:
    """What one assumption does, for one standard uncertainty of it; curves may be without sign."""

    take: Mapping[str, float]
    parameters: Mapping[str, Mapping[str, float]]
    level_db: FloatArray
    thd: FloatArray
    modulus: FloatArray


@dataclass(frozen=True, kw_only=True)
class _Look:
    """Looking at a driver with one assumption moved."""

    predicted: PredictedDriver
    responds: Responds
    read: Callable[[Response], dict[str, Reading]]
    base: _Seen
    air: Air

    def shares(self, progress: Progress) -> list[_Shares]:
        """Of every assumption: to one side first; to the other, too, where it matters to some figure or the first cannot be."""
        assumptions = self.predicted.assumptions
        ups = []
        for done, assumption in enumerate(assumptions):
            progress(0.6 * done / len(assumptions), f"moving {assumption.label}")
            ups.append(self.at(assumption, 1.0))
        first = [_difference(up, self.base, 1.0) if up is not None else None for up in ups]
        total: dict[str, float] = {}
        for one in first:
            for key, share in (one.take if one is not None else {}).items():
                total[key] = math.hypot(total.get(key, 0.0), share)
        found = []
        for done, (assumption, up, one) in enumerate(zip(assumptions, ups, first, strict=True)):
            progress(0.6 + 0.4 * done / len(assumptions), f"moving {assumption.label} back")
            found.append(
                one if one is not None and not _matters(one, total) else self.to_both(assumption, up)
            )
        return found

    def to_both(self, assumption: Assumption, up: _Seen | None) -> _Shares:
        """Half the difference between up and down; to one side only where the other cannot be."""
        down = self.at(assumption, -1.0)
        if up is not None and down is not None:
            return _to_both_sides(up, down, self.base)
        return _difference(up or self.base, down or self.base, 1.0)

    def by_break_up(self, cone: BreakUp, response: Response) -> _Shares:
        """What the break-up does when all its resonances lie higher or lower together; the upper limit, which may jump from one to the next, goes
        with their frequency.
        """
        u = max(cone.usable_u_relative, cone.u_relative)
        up, down = (
            _Seen.of(there, self.read(there), self.predicted.model, self.air)
            for there in (
                _with_break_up_at(response, cone, 1.0 + sign * min(u, MOST_MOVED)) for sign in (1.0, -1.0)
            )
        )
        shares = _to_both_sides(up, down, self.base)
        limit = self.base.take["upper_limit_hz"].value or 0.0
        still = dict.fromkeys(self.base.take, 0.0)
        return replace(shares, take={**still, **shares.take, "upper_limit_hz": limit * u})

    def at(self, assumption: Assumption, by: float) -> _Seen | None:
        """What is seen with an assumption moved by so many standard uncertainties; None where no driver is like that, or it leaves its travel."""
        try:
            model = self.predicted.moved({assumption.key: by})
            response = self.responds(model)
        except InputError:
            return None
        return _Seen.of(response, self.read(response), model, self.air)


@dataclass(frozen=True, kw_only=True)
class Looked:
    """What was seen of a driver, and what each assumption, by its key, does to that."""

    model: DriverModel
    base: _Seen
    keys: tuple[str, ...]
    moved: tuple[_Shares, ...]

    def figures(self, response: Response, readings: dict[str, Reading]) -> PredictedFigures:
        """Figures of a computed take with its readings."""
        base, keys, moved = self.base, self.keys, self.moved
        return PredictedFigures(
            take=_with_shares(_told(readings, self.model), keys, [one.take for one in moved]),
            parameters={
                mounting: _with_shares(
                    base.parameters[mounting], keys, [one.parameters[mounting] for one in moved]
                )
                for mounting in MOUNTINGS
            },
            spread=_spread(response, base, moved),
        )


def _matters(one: _Shares, total: Mapping[str, float]) -> bool:
    """Whether an assumption makes up more of some figure's uncertainty than `MATTERS`."""
    return any(abs(share) > MATTERS * total[key] for key, share in one.take.items() if total[key])


def _difference(up: _Seen, down: _Seen, step: float) -> _Shares:
    def share(one: Mapping[str, Reading], other: Mapping[str, Reading]) -> dict[str, float]:
        found = {}
        for key, a in one.items():
            b = other.get(key)
            if a.value is not None and b is not None and b.value is not None:
                found[key] = (a.value - b.value) / step
        return found

    return _Shares(
        take=share(up.take, down.take),
        parameters={m: share(up.parameters[m], down.parameters[m]) for m in MOUNTINGS},
        level_db=(up.level_db - down.level_db) / step,
        thd=(up.thd - down.thd) / step,
        modulus=(up.modulus - down.modulus) / step,
    )


def _to_both_sides(up: _Seen, down: _Seen, base: _Seen) -> _Shares:
    """Half the difference of figures; of curves the r.m.s. of both changes, which does not vanish where a curve has its peak."""

    def size(name: str) -> FloatArray:
        rise, fall = (getattr(one, name) - getattr(base, name) for one in (up, down))
        return np.asarray(np.sqrt(0.5 * (rise**2 + fall**2)))

    halves = _difference(up, down, 2.0)
    return replace(halves, level_db=size("level_db"), thd=size("thd"), modulus=size("modulus"))


def _with_break_up_at(response: Response, cone: BreakUp, factor: float) -> Response:
    """A response whose cone breaks up at so many times the frequency: the far field re a rigid piston moved along the frequency."""
    places = np.log(cone.frequency_hz)

    def gain(frequency_hz: FloatArray) -> FloatArray:
        there = np.log(frequency_hz)
        change = (np.interp(x, places, cone.response_db[0]) for x in (there - math.log(factor), there))
        return np.asarray(10.0 ** ((next(change) - next(change)) / 20.0))

    orders = np.arange(2, 2 + len(response.harmonics_pa))[:, None]
    f = response.frequency_hz
    return replace(
        response, pressure_pa=response.pressure_pa * gain(f), pressure_full_pa=response.pressure_full_pa * gain(f),
        harmonics_pa=response.harmonics_pa * gain(orders * f),
    )  # fmt: skip


def _key(assumption: Assumption, own: str) -> str:
    return assumption.key if assumption.shared or not own else f"{own} {assumption.key}"


def plain_key(key: str) -> str:
    """The key of an assumption in a share, without the name of the version it belongs to alone."""
    return key.rpartition(" ")[2]


def _told(readings: dict[str, Reading], model: DriverModel) -> dict[str, Reading]:
    """The readings without what a computed take cannot tell, and without the distortion of a driver that has none for want of curves."""
    straight = not any(any(curve[1:]) for curve in (model.Bl, model.K, model.Le)) and not any(
        map(any, model.Le_i)
    )
    cannot = {
        key: CURVES_WANTED for key in readings if straight and RULE[key].group == "Distortion"
    } | NOT_COMPUTED
    return {
        key: Reading(missing=cannot[key]) if key in cannot else reading for key, reading in readings.items()
    }


def _with_shares(
    readings: Mapping[str, Reading], keys: Sequence[str], moved: Sequence[Mapping[str, float]]
) -> dict[str, Reading]:
    """Readings with the shares of all assumptions in place of noise and room, largest first; a bound has none."""
    out = {}
    for figure, reading in readings.items():
        if reading.value is None or reading.bound is not None:
            out[figure] = reading
            continue
        shares = [(key, one[figure]) for key, one in zip(keys, moved, strict=True) if figure in one]
        u = math.sqrt(sum(share**2 for _, share in shares))
        kept = sorted((s for s in shares if abs(s[1]) > LEAST_SHARE * u), key=lambda s: -abs(s[1]))
        out[figure] = replace(reading, u=u if shares else None, u_room=0.0, u_fixed=0.0, shares=tuple(kept))
    return out


def _spread(response: Response, base: _Seen, moved: Sequence[_Shares]) -> CurveSpread:
    """Root of the sum of squares of the shares; THD and impedance in proportion to the take's own."""
    assert response.impedance_ohm is not None

    def total(rows: Sequence[FloatArray]) -> FloatArray:
        return np.sqrt(np.sum(np.square(rows), axis=0)) if rows else np.zeros(len(response.frequency_hz))

    return CurveSpread(
        frequency_hz=response.frequency_hz,
        level_u_db=total([one.level_db for one in moved]),
        thd_u=total([one.thd for one in moved]),
        impedance_u_ohm=total([one.modulus for one in moved])
        * (np.abs(response.impedance_ohm) / np.maximum(base.modulus, 1e-12)),
    )
