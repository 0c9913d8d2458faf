"""What a cabinet is wished to be, and cabinets made to a volume and a tuning with a port or radiator that fits."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.acoustics.cabinet.port import FASTEST_OF_C, ONE_FLANGED, Port, length_for
from halfroll.acoustics.cabinet.types import USUAL_QL, Cabinet, Kind, Losses, Radiator
from halfroll.core.errors import InputError
from halfroll.driver.boxed import boxed_response, read_boxed
from halfroll.driver.boxed_drive import drive_boxed
from halfroll.driver.lumped import DriverModel

Goal = Literal["deepest", "flattest", "loudest"]
GOALS: tuple[Goal, ...] = ("deepest", "flattest", "loudest")

PORTS_MM = (10, 12, 15, 18, 20, 22, 25, 28, 32, 36, 40, 45, 50, 56, 63, 70, 80, 90, 100, 125, 150)
"""Diameters tried, about a preferred series."""
SEARCH_HZ = np.geomspace(12.0, 3000.0, 120)
"""Where a cabinet is looked at in a search (Hz)."""


@dataclass(frozen=True, kw_only=True)
class Wish:
    """What a cabinet is to be.

    Parameters
    ----------
    goal
        ``deepest``: lowest -3 dB; ``flattest``: least deviation from the mid-band level in the three octaves above it; ``loudest``: highest level
        from `from_hz` up before the cone meets its travel.
    most_m3
        Inside volume with everything in it.
    taken_m3
        Of that, what driver and bracing take.
    peak_db, group_delay_s
        Limits.
    volts
        Where travel and port speed are told (V r.m.s.).
    port_speed_m_s, longest_port_m, narrowest_port_m, widest_port_m
        Limits of the port; the longest is the edge of a cube with the volume unless stated.
    radiator
        A passive radiator to try, whose mass is chosen; None: none.
    """

    goal: Goal = "deepest"
    most_m3: float
    least_m3: float = 0.0
    taken_m3: float = 0.0
    kinds: tuple[Kind, ...] = ("closed", "vented")
    peak_db: float = 1.0
    group_delay_s: float = math.inf
    volts: float = 2.83
    from_hz: float = 100.0
    travel_m: float | None = None
    port_speed_m_s: float = FASTEST_OF_C * 343.0
    longest_port_m: float | None = None
    narrowest_port_m: float = 0.01
    widest_port_m: float = 0.15
    end_sum: float = ONE_FLANGED
    leak_q: float = USUAL_QL
    radiator: Radiator | None = None

    def __post_init__(self) -> None:
        if not 2e-5 <= self.most_m3 <= 10.0:
            raise InputError(
                "The most a cabinet may hold must be 0.02 l to 10 000 l",
                key="most_l",
                found=f"{1e3 * self.most_m3:g} l",
            )
        if not 0.0 <= self.taken_m3 < 0.9 * self.most_m3:
            raise InputError("Driver and bracing must leave a tenth of the cabinet", key="taken_l", found=f"{1e3 * self.taken_m3:g} l",
                             remedy="Allow a larger cabinet")  # fmt: skip
        if self.goal not in GOALS:
            raise InputError(
                "The goal must be one of the allowed words", key="goal", found=self.goal, allowed=GOALS
            )
        if not 0.0 < self.volts <= 1000.0:
            raise InputError(
                "The voltage must be above 0 V and 1000 V at most", key="volts", found=f"{self.volts:g}"
            )
        for key, what, value, unit in (
            ("group_delay_ms", "group delay allowed", 1e3 * self.group_delay_s, "ms"),
            ("port_speed_m_s", "air speed allowed in the port", self.port_speed_m_s, "m/s"),
            ("longest_port_mm", "length allowed to the port", math.inf if self.longest_port_m is None else 1e3 * self.longest_port_m, "mm"),
            ("from_hz", "frequency from which the loudest is judged", self.from_hz, "Hz"),
        ):  # fmt: skip
            if not value > 0.0:
                raise InputError(f"The {what} must be above 0 {unit}", key=key, found=f"{value:g} {unit}")
        if not 0.0 < self.narrowest_port_m <= self.widest_port_m:
            raise InputError("The narrowest port must be above 0 mm and no wider than the widest", key="narrowest_port_mm",
                             found=f"{1e3 * self.narrowest_port_m:g} mm to {1e3 * self.widest_port_m:g} mm")  # fmt: skip
        if not self.peak_db >= 0.0:
            raise InputError(
                "The peak allowed must be 0 dB or more", key="peak_db", found=f"{self.peak_db:g}"
            )


def vented_cabinet(
    driver: DriverModel, wish: Wish, net_m3: float, tuning: float, air: Air = STANDARD_AIR
) -> Cabinet | None:
    """A vented cabinet with the narrowest port that is slow enough and fits; else the one nearest to that; None when no port is short enough.

    When the port makes the whole larger than allowed, the net volume gives way.
    """
    flow = _port_flow(driver, wish, net_m3, tuning, air)
    best: tuple[float, Cabinet] | None = None
    for millimetres in PORTS_MM:
        diameter = 1e-3 * millimetres
        if not wish.narrowest_port_m <= diameter <= wish.widest_port_m:
            continue
        made = _with_port(wish, net_m3, tuning, diameter, air)
        if made is None or made.port is None:
            continue
        speed = flow / made.port.all_area_m2
        over = max(speed / wish.port_speed_m_s - 1.0, 0.0) + max(
            made.port.length_m / longest_port(wish, made) - 1.0, 0.0
        )
        if best is None or over < best[0]:
            best = (over, made)
        if over == 0.0:
            break
    return None if best is None else best[1]


def longest_port(wish: Wish, cabinet: Cabinet) -> float:
    """The longest port allowed: stated, or the edge of a cube as large as the cabinet."""
    return wish.longest_port_m or cabinet.gross_m3 ** (1.0 / 3.0)


def _with_port(wish: Wish, net_m3: float, tuning: float, diameter: float, air: Air) -> Cabinet | None:
    net, area = net_m3, math.pi * diameter**2 / 4.0
    for _ in range(4):
        try:
            length = length_for(net, tuning, area, end_sum=wish.end_sum, air=air)
            port = Port.round(diameter, length, end_sum=wish.end_sum)
        except InputError:
            return None
        over = net + wish.taken_m3 + port.volume_m3 - wish.most_m3
        if over <= 1e-9:
            break
        net -= over
        if net < 0.3 * net_m3:
            return None
    return Cabinet(kind="vented", gross_m3=net + wish.taken_m3 + port.volume_m3, taken_m3=wish.taken_m3, port=port,
                   losses=Losses(leak_q=wish.leak_q))  # fmt: skip


def _port_flow(driver: DriverModel, wish: Wish, net_m3: float, tuning: float, air: Air) -> float:
    """Peak flow (m³/s) of the port from the lower limit up, which hardly depends on its width."""
    length = 0.05
    area = length * net_m3 * (2.0 * math.pi * tuning / air.speed_of_sound) ** 2
    port = Port(
        area_m2=area,
        length_m=length,
        end_sum=0.0,
        across_m=2.0 * math.sqrt(area),
        high_m=math.sqrt(area) / 2.0,
    )
    whole = Cabinet(
        kind="vented", gross_m3=net_m3 + port.volume_m3, port=port, losses=Losses(leak_q=wish.leak_q)
    )
    found = boxed_response(driver, whole, SEARCH_HZ, air=air)
    reading = read_boxed(driver, whole, found, air)
    drive = drive_boxed(driver, whole, found, reading, wish.volts)
    return (drive.port_peak_m_s or 0.0) * area


def radiator_cabinet(wish: Wish, net_m3: float, tuning: float, air: Air = STANDARD_AIR) -> Cabinet | None:
    """A cabinet with the wish's passive radiator loaded so that it tunes to a frequency; None where it would have to be lighter than it is."""
    given = wish.radiator
    assert given is not None
    compliance = net_m3 / (air.density * air.speed_of_sound**2)
    stiff = 1.0 / given.compliance_m_n + given.count * given.area_m2**2 / compliance
    mass = stiff / (2.0 * math.pi * tuning) ** 2
    if mass < given.mass_kg:
        return None
    return Cabinet(kind="passive-radiator", gross_m3=net_m3 + wish.taken_m3, taken_m3=wish.taken_m3, radiator=replace(given, mass_kg=mass),
                   losses=Losses(leak_q=wish.leak_q))  # fmt: skip
