"""Who built and measured what at Saltmarsh Workshop, drawn from a seed.

Put in on purpose, so that every warning has something to show:

* one take with the input gain left too high, so that it is clipped (Avocet v4, unit 1);
* one take whose record names another rig than the one that was used, so that its level is off by 3.9 dB (Avocet v3,
  unit 2);
* one unit measured in the workshop because of rain, upright baffle, floor in the microphone (Avocet v2, unit 3);
* one unit whose coil, glued in by eye, scrapes when it comes out (Avocet v6, unit 2);
* unlike conditions: one unit measured at 0.5 m because of wind (Avocet v7, unit 3), one in its cabinet (Curlew v2,
  unit 2).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from halfroll.acoustics.radiation import air_mass
from halfroll.core.conditions import Space
from halfroll.driver.demo.avocet import AVOCET
from halfroll.driver.demo.others import CURLEW, DUNLIN
from halfroll.driver.demo.types import Driver, Rig, Scrape, Take, Unit, Version
from halfroll.driver.microphone import Floor
from halfroll.measure.sweep import Sweep

SEED = 2026
DRIVERS = (AVOCET, DUNLIN, CURLEW)
LEVELS_W = (1.0, 3.0)
TAKES_PER_LEVEL = 3

SWEEP = Sweep(duration_s=2.5, silence_before_s=0.3, silence_after_s=0.45)
"""Short, to keep the demonstration small; against 15 s the figures of these drivers move by less than 0.02 octaves,
0.05 dB and 1 % of their distortion."""

FIRST_RIG = Rig(
    name="first",
    title="Measuring microphone, two inputs",
    date="2026-01-10",
    notes="Microphone by its data sheet, not calibrated. No shunt yet.",
    microphone_pa=4.0,
    microphone_u_db=0.5,
    voltage_v=20.0,
    voltage_u_db=0.05,
)
SECOND_RIG = Rig(
    name="second",
    title="The same with shunt and calibrator",
    date="2026-03-20",
    notes="Microphone against a 94 dB calibrator. Shunt 0.1 ohm, 1 %, in the lead from the amplifier.",
    microphone_pa=4.0,
    microphone_u_db=0.2,
    voltage_v=20.0,
    voltage_u_db=0.05,
    current_a=10.0,
    current_u_db=0.09,
)
SPARE_RIG = Rig(
    name="spare-microphone",
    title="The spare microphone in the first two inputs",
    date="2024-11-02",
    notes="Less sensitive: 6.3 Pa at full scale. For loud things. Calibrated long ago.",
    microphone_pa=6.3,
    microphone_u_db=0.5,
    voltage_v=20.0,
    voltage_u_db=0.05,
)
RIGS = (FIRST_RIG, SECOND_RIG, SPARE_RIG)

QUIET_LAWN_DBA = 28.0
WORKSHOP_DBA = 34.0
WORKSHOP_FLOOR = Floor(height_m=0.7, gain=0.8)
CABINET_M3 = 12e-3

_SPREAD = {"Re": 0.010, "Bl": 0.015, "Mms": 0.012, "K": 0.025, "Rms": 0.05}
"""Standard deviation of copies of one design, relative: wire, magnets, glue, printed soft parts. Invented."""

_CREEP = 0.004
"""By how much each further take finds the suspension softer."""


@dataclass(frozen=True, kw_only=True)
class _Oddity:
    """What is unusual about the takes of one unit."""

    note: str = ""
    floor: Floor | None = None
    noise_dba: float = QUIET_LAWN_DBA
    distance_m: float = 1.0
    space: Space = Space.HALF
    box_m3: float | None = None
    scrape: Scrape | None = None


_USUAL = _Oddity()
_ODDITIES = {
    ("avocet", "v2", "03"): _Oddity(
        note="Rain: measured in the workshop, baffle upright, 0.7 m above the floor.",
        floor=WORKSHOP_FLOOR,
        noise_dba=WORKSHOP_DBA,
    ),
    ("avocet", "v6", "02"): _Oddity(scrape=Scrape(beyond_m=0.6e-3, level_db=-44.0)),
    ("avocet", "v7", "03"): _Oddity(note="Wind: microphone at half the distance.", distance_m=0.5),
    ("curlew", "v2", "02"): _Oddity(
        note="In its cabinet, 12 litres, closed.", space=Space.CABINET, box_m3=CABINET_M3
    ),
}
_GAIN_TOO_HIGH = ("avocet", "v4", "01", "3w-2")
_WRONG_RIG = ("avocet", "v3", "02", "1w-3")


def units_of(driver: Driver, version: Version, seed: int = SEED) -> tuple[Unit, ...]:
    """The built copies of a version, each with values of its own."""
    line, row = DRIVERS.index(driver), driver.versions.index(version)
    return tuple(
        _unit(driver, version, number, np.random.default_rng((seed, line, row, number)))
        for number in range(1, version.units + 1)
    )


def _unit(driver: Driver, version: Version, number: int, rng: np.random.Generator) -> Unit:
    factors = {name: 1.0 + spread * float(rng.standard_normal()) for name, spread in _SPREAD.items()}
    offset = version.coil_spread_m * float(rng.standard_normal())
    physics = version.model.with_scaled(**factors).with_coil_moved(offset)
    nozzle = float(round(225.0 + 5.0 * rng.standard_normal()))
    return Unit(
        driver=driver.name,
        version=version.name,
        name=f"{number:02d}",
        built_by="Saltmarsh Workshop" if number < 3 else "A friend of the workshop",
        built_on=version.date[:8] + f"{int(version.date[8:]) + number + 1:02d}",
        re_ohm=round(physics.Re, 2),
        moving_mass_g=round(1e3 * (physics.Mms - air_mass(physics.radius)), 2),
        print_settings={"tpu_nozzle_c": nozzle, "layer_mm": 0.2},
        model=physics,
    )


def takes_of(driver: Driver, version: Version, unit: Unit, seed: int = SEED) -> Iterator[Take]:
    """The takes of a unit in the order in which they were made."""
    line, row = DRIVERS.index(driver), driver.versions.index(version)
    place = (driver.name, version.name, unit.name)
    oddity = _ODDITIES.get(place, _USUAL)
    rig = FIRST_RIG if version.measured < SECOND_RIG.date else SECOND_RIG
    names = [(level, f"{level:g}w-{n + 1}") for level in LEVELS_W for n in range(TAKES_PER_LEVEL)]
    for count, (level, name) in enumerate(names):
        key = (seed, line, row, int(unit.name), count + 1)
        rng = np.random.default_rng(key)
        yield Take(
            unit=unit,
            name=f"{version.measured}-{name}",
            when=f"{version.measured}T{13 + int(unit.name):02d}:{5 + 6 * count:02d}:00",
            note=oddity.note,
            rig=rig,
            used=SPARE_RIG if (*place, name) == _WRONG_RIG else rig,
            drive_v=round((level * version.rated_impedance_ohm) ** 0.5, 3),
            distance_m=oddity.distance_m,
            space=oddity.space,
            temperature_c=version.temperature_c,
            box_m3=oddity.box_m3,
            floor=oddity.floor,
            gain=8.0 if (*place, name) == _GAIN_TOO_HIGH else 1.0,
            stiffness=(1.0 - _CREEP * count) * (1.0 + 0.003 * float(rng.standard_normal())),
            drive_error=1.0 + 0.004 * float(rng.standard_normal()),
            noise_dba=oddity.noise_dba,
            scrape=oddity.scrape,
            seed=(*key, 1),
        )
