"""Cabinets to begin with: alignments and a small search over volume and tuning, ranked by what is wished for."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.acoustics.cabinet.alignments import CLOSED_QS, closed_alignment, vented_alignment
from halfroll.acoustics.cabinet.types import Cabinet
from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, silent
from halfroll.core.text import format_plain, format_stated, format_value
from halfroll.driver.boxed import BoxedReading, BoxedResponse, boxed_response, read_boxed
from halfroll.driver.boxed_drive import BoxedDrive, drive_boxed, level_by_travel, travel_limit
from halfroll.driver.boxed_wish import SEARCH_HZ, Wish, longest_port, radiator_cabinet, vented_cabinet
from halfroll.driver.lumped import DriverModel, small_signal

_VOLUMES, _TUNINGS = 9, 16
_SAME = 0.04
_PENALTY = 100.0
_IDLE = 0.6
"""Tuned lower than this times the lower limit, port or radiator do next to nothing."""


@dataclass(frozen=True, kw_only=True)
class Suggestion:
    """A cabinet, what became of the driver in it, which limits it misses, and why it stands where it stands."""

    cabinet: Cabinet
    name: str
    reading: BoxedReading
    drive: BoxedDrive
    score: float
    misses: tuple[str, ...]
    why: str
    ripple_db: float
    loudest_db: float


@dataclass(frozen=True, kw_only=True)
class _Search:
    driver: DriverModel
    wish: Wish
    air: Air

    def judged(self, cabinet: Cabinet, name: str) -> Suggestion:
        """One cabinet, played and judged."""
        found = boxed_response(self.driver, cabinet, SEARCH_HZ, air=self.air)
        reading = read_boxed(self.driver, cabinet, found, self.air)
        drive = drive_boxed(self.driver, cabinet, found, reading, self.wish.volts, limit_m=self.wish.travel_m)
        ripple, loudest = _ripple(found, reading), _loudest(self, found)
        score = {"deepest": reading.f3_hz or math.inf, "flattest": ripple, "loudest": -loudest}[
            self.wish.goal
        ]
        return Suggestion(cabinet=cabinet, name=name, reading=reading, drive=drive, score=score, misses=_misses(self.wish, cabinet, reading, drive),
                          why=_why(self.wish, reading, ripple, loudest), ripple_db=ripple, loudest_db=loudest)  # fmt: skip


def suggest(
    driver: DriverModel, wish: Wish, *, most: int = 8, air: Air = STANDARD_AIR, progress: Progress = silent
) -> tuple[Suggestion, ...]:  # fmt: skip
    """Cabinets for a driver, the best first; those that miss a limit come last and say which.

    Raises
    ------
    InputError
        No cabinet at all can be made within the wish.
    """
    search = _Search(driver=driver, wish=wish, air=air)
    made: list[Suggestion] = []
    steps: list[Callable[[], Iterator[Suggestion]]] = []
    if "closed" in wish.kinds:
        steps.append(lambda: _closed(search))
    if "vented" in wish.kinds:
        steps += [lambda: _vented_aligned(search), lambda: _vented_found(search)]
    if "passive-radiator" in wish.kinds and wish.radiator is not None:
        steps.append(lambda: _with_radiator(search))
    for number, step in enumerate(steps):
        progress(number / len(steps), "Trying cabinets")
        made += step()
    if not made:
        raise InputError(
            "No cabinet can be made within these limits",
            found=f"{1e3 * wish.most_m3:.3g} l",
            remedy="Allow a larger cabinet or a wider port",
        )
    ranked = sorted(made, key=lambda one: (len(one.misses), one.score))
    progress(1.0, "Trying cabinets")
    return tuple(_different(ranked)[:most])


def _closed(search: _Search) -> Iterator[Suggestion]:
    """Named Qtc that fit, and the best volume of a row."""
    wish, small = search.wish, small_signal(search.driver, search.air)
    volumes: dict[str, float] = {}
    for name, qtc in CLOSED_QS.items():
        if qtc > small.Qts:
            volumes[f"{name}, Qtc {qtc:.3g}"] = closed_alignment(small.Qts, qtc).volume_ratio * small.Vas
    least, most = _net_range(wish)
    tried = [search.judged(_closed_cabinet(search, v), "best closed") for v in np.geomspace(least, most, 24)]
    yield min(tried, key=lambda one: (len(one.misses), one.score))
    yield search.judged(_closed_cabinet(search, most), "as large as allowed")
    if 0.5 * most >= least:
        yield search.judged(_closed_cabinet(search, 0.5 * most), "half as large")
    for name, volume in volumes.items():
        if least <= volume <= most:
            yield search.judged(_closed_cabinet(search, volume), name)


def _closed_cabinet(search: _Search, net_m3: float) -> Cabinet:
    taken = search.wish.taken_m3
    return Cabinet(kind="closed", gross_m3=net_m3 + taken, taken_m3=taken)


def _net_range(wish: Wish) -> tuple[float, float]:
    most = wish.most_m3 - wish.taken_m3
    return max(wish.least_m3 - wish.taken_m3, 0.08 * most, 1e-5), most


def _vented_aligned(search: _Search) -> Iterator[Suggestion]:
    small = small_signal(search.driver, search.air)
    try:
        one = vented_alignment(small.Qts, search.wish.leak_q)
    except InputError:
        return
    least, most = _net_range(search.wish)
    volume = one.volume_ratio * small.Vas
    if least <= volume <= most:
        made = vented_cabinet(search.driver, search.wish, volume, one.tuning_ratio * small.fs, search.air)
        if made is not None:
            yield search.judged(made, f"{one.shape}, QL {one.leak_q:g}")


def _vented_found(search: _Search) -> Iterator[Suggestion]:
    """The best of a grid of volumes and tunings, then nearer to it."""
    yield from _found(
        search, lambda v, t: vented_cabinet(search.driver, search.wish, v, t, search.air), "best vented"
    )


def _with_radiator(search: _Search) -> Iterator[Suggestion]:
    yield from _found(
        search, lambda v, t: radiator_cabinet(search.wish, v, t, search.air), "best with the radiator"
    )


def _found(
    search: _Search, make: Callable[[float, float], Cabinet | None], name: str
) -> Iterator[Suggestion]:
    from scipy.optimize import minimize

    least, most = _net_range(search.wish)
    fs = small_signal(search.driver, search.air).fs

    def cost(at: Sequence[float]) -> float:
        volume, tuning = math.exp(at[0]), math.exp(at[1])
        made = make(volume, tuning) if least * 0.999 <= volume <= most * 1.001 else None
        if made is None:
            return 1e6
        one = search.judged(made, name)
        scale = 1.0 if search.wish.goal == "deepest" else 10.0
        return (
            scale * one.score
            + _PENALTY * len(one.misses)
            + 50.0 * max(one.reading.peak_db - search.wish.peak_db, 0.0)
        )

    grid = [
        (math.log(v), math.log(t))
        for v in np.geomspace(least, most, _VOLUMES)
        for t in np.geomspace(0.45 * fs, 2.2 * fs, _TUNINGS)
    ]
    start = min(grid, key=cost)
    if cost(start) >= 1e6:
        return
    better = minimize(cost, start, method="Nelder-Mead", options={"maxfev": 90, "initial_simplex": [
        start, (start[0] - 0.08, start[1]), (start[0], start[1] + 0.06)]})  # fmt: skip
    at = better.x if better.fun <= cost(start) else start
    made = make(math.exp(at[0]), math.exp(at[1]))
    if made is not None:
        yield search.judged(made, name)


def _ripple(found: BoxedResponse, reading: BoxedReading) -> float:
    """Largest deviation from mid-band between 1.4 f3 and 8 f3 (dB)."""
    low = reading.f3_hz or float(SEARCH_HZ[0])
    near = (1.4 * low <= SEARCH_HZ) & (8.0 * low >= SEARCH_HZ)
    return float(np.abs(found.relative_db()[near]).max()) if near.any() else math.inf


def _loudest(search: _Search, found: BoxedResponse) -> float:
    limit = search.wish.travel_m or travel_limit(search.driver)
    up = (search.wish.from_hz <= SEARCH_HZ) & (8.0 * search.wish.from_hz >= SEARCH_HZ)
    return float(level_by_travel(found, limit)[up].min()) if up.any() else -math.inf


def _misses(wish: Wish, cabinet: Cabinet, reading: BoxedReading, drive: BoxedDrive) -> tuple[str, ...]:
    said = []
    if reading.f3_hz is None:
        said.append("no -3 dB point")
    if reading.peak_db > wish.peak_db + 0.01:
        said.append(
            f"peak {format_value(reading.peak_db, None, 'dB')}, over {format_stated(wish.peak_db, 'dB')}"
        )
    if reading.group_delay_s > wish.group_delay_s:
        said.append(
            f"group delay {format_plain(1e3 * reading.group_delay_s, 'ms', 2)}, over {format_stated(1e3 * wish.group_delay_s, 'ms')}"
        )
    if (
        reading.tuning_hz is not None
        and reading.f3_hz is not None
        and reading.tuning_hz < _IDLE * reading.f3_hz
    ):
        said.append(f"tuned to {format_value(reading.tuning_hz, None, 'Hz')} it works like a closed one")
    port = cabinet.port
    if port is not None and drive.port_peak_m_s is not None:
        if drive.port_peak_m_s > 1.01 * wish.port_speed_m_s:
            said.append(
                f"air in the port {format_plain(drive.port_peak_m_s, 'm/s', 2)}, over {format_plain(wish.port_speed_m_s, 'm/s', 2)}"
            )
        if port.length_m > 1.001 * longest_port(wish, cabinet):
            said.append(
                f"port {format_plain(1e3 * port.length_m, 'mm', 2)} long, over {format_plain(1e3 * longest_port(wish, cabinet), 'mm', 2)}"
            )
    if (
        cabinet.radiator is not None
        and drive.radiator_m is not None
        and drive.radiator_m > cabinet.radiator.travel_m
    ):
        said.append(
            f"radiator travels {format_plain(1e3 * drive.radiator_m, 'mm', 2)}, over {format_plain(1e3 * cabinet.radiator.travel_m, 'mm', 2)}"
        )
    return tuple(said)


def _why(wish: Wish, reading: BoxedReading, ripple: float, loudest: float) -> str:
    if wish.goal == "flattest":
        return f"within {format_value(ripple, None, 'dB')} of the middle from 1.4 to 8 times its lower limit"
    if wish.goal == "loudest":
        return f"{format_plain(loudest, 'dB', 2)} from {format_stated(wish.from_hz, 'Hz')} up before the cone meets its travel"
    return (
        "-3 dB not reached"
        if reading.f3_hz is None
        else f"-3 dB at {format_value(reading.f3_hz, None, 'Hz')}"
    )


def _different(ranked: Sequence[Suggestion]) -> list[Suggestion]:
    """Leave out what is nearly the same as a better one."""
    kept: list[Suggestion] = []
    for one in ranked:
        if not any(_alike(one, other) for other in kept):
            kept.append(one)
    return kept


def _alike(one: Suggestion, other: Suggestion) -> bool:
    if one.cabinet.kind != other.cabinet.kind:
        return False
    pairs = [
        (one.cabinet.net_m3, other.cabinet.net_m3),
        (one.reading.tuning_hz or 1.0, other.reading.tuning_hz or 1.0),
    ]
    return all(abs(math.log(a / b)) < _SAME for a, b in pairs)
