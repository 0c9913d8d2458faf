"""The record of a new crossover: ways of the workshop with starting values for their rated impedances."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Literal

import numpy as np

from halfroll.core.errors import InputError, choose
from halfroll.core.progress import Progress, silent
from halfroll.driver.crossover.elements import Crossover, Element, Kind, Way
from halfroll.driver.crossover.starts import (
    Names,
    across_inductance,
    across_resonance,
    by_frequency,
    one_capacitor,
    with_l_pad,
)
from halfroll.workshop import paths
from halfroll.workshop.crossover_record import CrossoverRecord, WayTable
from halfroll.workshop.crossovers import table_of
from halfroll.workshop.faults import check
from halfroll.workshop.fields import FORMAT

if TYPE_CHECKING:
    from halfroll.workshop.store import Workshop

Start = Literal["one-capacitor", "filters"]
STARTS: tuple[Start, ...] = ("one-capacitor", "filters")
START_WORDS = {
    "one-capacitor": "one capacitor before the small driver",
    "filters": "a filter before each driver",
}

LEVELS = ("inductance", "resonance")

COIL_OHM = 0.3
CAPACITOR_OHM = 0.1
"""What coils and capacitors are taken to have in series until they are measured: usual sizes (common practice)."""
HEARD_HZ = (20.0, 20_000.0)
BESIDE_MM = 100.0
"""Drivers stand so far above each other until it is stated."""


def start_record(
    workshop: Workshop, ways: Sequence[tuple[str, str]], frequency_hz: Sequence[float], *, start: Start = "filters",
    alignment: str = "linkwitz-riley", order: int = 2, lower_db: float = 0.0, level: Sequence[tuple[str, str]] = (), title: str = "", progress: Progress = silent,
) -> CrossoverRecord:  # fmt: skip
    """A crossover to start from.

    Parameters
    ----------
    ways
        (name, version or unit), from the lowest to the highest.
    frequency_hz
        Where neighbours cross (Hz), one less than ways.
    start
        One capacitor before the last of two ways, or a filter before each.
    alignment, order
        Of the filters.
    lower_db
        An L-pad before the highest way lowers it by so much; 0: none.
    level
        (way, ``inductance`` or ``resonance``): what of its driver's impedance is levelled by elements across it.

    Raises
    ------
    InputError
        A driver is not there, has no rated impedance, or the filter cannot be made.
    """
    if len(ways) < 2:
        raise InputError(
            "A crossover joins two drivers at least",
            key="ways",
            found=str(len(ways)),
            remedy="Name each with --way NAME=DRIVER/VERSION",
        )
    for crossing in frequency_hz:
        if not HEARD_HZ[0] <= crossing <= HEARD_HZ[1]:
            raise InputError("Ways must cross where one hears", key="frequency_hz", found=f"{crossing:g} Hz",
                             allowed=f"{HEARD_HZ[0]:g} Hz to {1e-3 * HEARD_HZ[1]:g} kHz")  # fmt: skip
    loads = [_rated(workshop, driver) for _, driver in ways]
    bare = [Way(name=name) for name, _ in ways]
    if start == "one-capacitor":
        if len(ways) != 2 or len(frequency_hz) != 1:
            raise InputError(
                "One capacitor joins two drivers at one frequency",
                key="ways",
                found=f"{len(ways)} ways, {len(frequency_hz)} frequencies",
            )
        made = one_capacitor(bare[0], bare[1], frequency_hz[0], loads[1], series_ohm=CAPACITOR_OHM)
    else:
        made = _with_losses(by_frequency(bare, frequency_hz, loads, alignment=alignment, order=order))
    if lower_db:
        last = made.ways[-1]
        names = Names([e.name for e in made.elements])
        made = replace(made, ways=(*made.ways[:-1], with_l_pad(last, loads[-1], lower_db, names)))
    for name, what in level:
        made = _with_levelled(workshop, made, ways, frequency_hz, (name, what), progress)
    made = _rounded(made)
    tables = [
        _table(way, driver, place)
        for place, (way, (_, driver)) in enumerate(zip(made.ways, ways, strict=True))
    ]
    values = {
        "format": FORMAT,
        "title": title,
        "rated_impedance_ohm": min(loads),
        "ways": [table.model_dump(exclude_none=True) for table in tables],
    }
    return check(CrossoverRecord, values, file="")


def _with_levelled(
    workshop: Workshop,
    made: Crossover,
    ways: Sequence[tuple[str, str]],
    frequency_hz: Sequence[float],
    level: tuple[str, str],
    progress: Progress,
) -> Crossover:
    """The crossover with one way levelled, at its upper crossing (the highest way: at its lower one)."""
    name, what = level
    choose(what, LEVELS, field="What is levelled", key="level")
    choose(name, [one for one, _ in ways], field="The way that is levelled", key="level")
    place = [one for one, _ in ways].index(name)
    at_hz = frequency_hz[min(place, len(frequency_hz) - 1)]
    names = Names([e.name for e in made.elements])
    changed = _levelled(workshop, made.ways[place], ways[place][1], what, at_hz, names, progress)
    return replace(made, ways=(*made.ways[:place], changed, *made.ways[place + 1 :]))


def _levelled(
    workshop: Workshop, way: Way, driver: str, what: str, at_hz: float, names: Names, progress: Progress
) -> Way:
    """The way with a circuit across its driver that levels its inductance or its resonance, from the driver's own impedance.

    The inductance is that at twice the crossing, where the filter works.
    """
    from halfroll.measure.impedances.impedance import ImpedanceCurve
    from halfroll.measure.lumped.parameter_types import FitSettings
    from halfroll.measure.lumped.parameters import fit_impedance
    from halfroll.workshop.crossover_ways import way_data

    data = way_data(workshop, WayTable(name=way.name, driver=driver), progress)
    curve = ImpedanceCurve(frequency_hz=data.frequency_hz, impedance_ohm=data.impedance_ohm)
    found = fit_impedance(curve, FitSettings()).estimates
    values: dict[Kind, float]
    if what == "inductance":
        le_h = float(np.interp(2.0 * at_hz, data.frequency_hz, data.impedance_ohm.imag)) / (
            4.0 * math.pi * at_hz
        )
        if le_h <= 0.0:
            raise InputError(
                f"The way {way.name} shows no inductance at {2 * at_hz:.0f} Hz", key="level", found=what
            )
        r, c = across_inductance(found.value("re_ohm"), le_h)
        values = {"resistor": r, "capacitor": c}
    else:
        if "fs_hz" not in found:
            raise InputError(f"The impedance of {driver} shows no resonance", key="level", found=what)
        r, inductance, c = across_resonance(*(found.value(key) for key in ("re_ohm", "fs_hz", "qms", "qes")))
        values = {"resistor": r, "coil": inductance, "capacitor": c}
    return replace(way, elements=(*way.elements, *_chain(values, names)))


def _chain(values: Mapping[Kind, float], names: Names) -> Iterator[Element]:
    """Elements in series from the driver's terminal to the other pole."""
    prefix = "r" if "coil" in values else "z"
    nodes = ["out", *(f"{prefix}{i}" for i in range(1, len(values))), "0"]
    for place, (kind, value) in enumerate(values.items()):
        yield Element(name=names(kind), kind=kind, between=(nodes[place], nodes[place + 1]), value=value)


def _table(way: Way, driver: str, place: int) -> WayTable:
    elements = tuple(table_of(element).model_dump(exclude_none=True) for element in way.elements)
    return WayTable.model_validate(
        {
            "name": way.name,
            "driver": driver,
            "inverted": way.inverted,
            "y_mm": BESIDE_MM * place,
            "elements": elements,
        }
    )


def _with_losses(made: Crossover) -> Crossover:
    """Coils and capacitors with a usual resistance."""
    ohms = {"coil": COIL_OHM, "capacitor": CAPACITOR_OHM, "resistor": 0.0}
    ways = [
        replace(way, elements=tuple(
            replace(e, series_ohm=ohms[e.kind], construction="film" if e.kind == "capacitor" else e.construction)
            for e in way.elements)) for way in made.ways
    ]  # fmt: skip
    return replace(made, ways=tuple(ways))


def _rounded(made: Crossover) -> Crossover:
    """Values with three digits."""
    ways = [
        replace(way, elements=tuple(replace(e, value=float(f"{e.value:.3g}")) for e in way.elements))
        for way in made.ways
    ]
    return replace(made, ways=tuple(ways))


def _rated(workshop: Workshop, driver: str) -> float:
    workshop.existing(driver, "unit" if driver.count("/") == 2 else "version")
    version = workshop.version(paths.version_of(driver))
    if version.record.rated_impedance_ohm is None:
        raise InputError(f"The rated impedance of {driver} must be stated to find values for it", file=str(version.path),
                         key="rated_impedance_ohm", found="nothing")  # fmt: skip
    return version.record.rated_impedance_ohm
