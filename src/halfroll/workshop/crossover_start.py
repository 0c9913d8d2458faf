"""The record of a new crossover: ways of the workshop with starting values for their rated impedances."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Literal

from halfroll.core.errors import InputError
from halfroll.driver.crossover.elements import Crossover, Way
from halfroll.driver.crossover.starts import Names, by_frequency, one_capacitor, with_l_pad
from halfroll.workshop import paths
from halfroll.workshop.crossover_record import CrossoverRecord, WayTable
from halfroll.workshop.crossovers import table_of
from halfroll.workshop.faults import check
from halfroll.workshop.fields import FORMAT

if TYPE_CHECKING:
    from halfroll.workshop.store import Workshop

Start = Literal["one-capacitor", "filters"]
STARTS: tuple[Start, ...] = ("one-capacitor", "filters")
START_WORDS = {"one-capacitor": "one capacitor before the small driver", "filters": "a filter before each driver"}

COIL_OHM = 0.3
CAPACITOR_OHM = 0.1
"""What coils and capacitors are taken to have in series until they are measured: usual sizes (common practice)."""
BESIDE_MM = 100.0
"""Drivers stand so far above each other until it is stated."""


def start_record(
    workshop: Workshop, ways: Sequence[tuple[str, str]], frequency_hz: Sequence[float], *, start: Start = "filters",
    alignment: str = "linkwitz-riley", order: int = 2, lower_db: float = 0.0, title: str = "",
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

    Raises
    ------
    InputError
        A driver is not there, has no rated impedance, or the filter cannot be made.
    """
    if len(ways) < 2:
        raise InputError("A crossover joins two drivers at least", key="ways", found=str(len(ways)), remedy="Name each with --way NAME=DRIVER/VERSION")
    loads = [_rated(workshop, driver) for _, driver in ways]
    bare = [Way(name=name) for name, _ in ways]
    if start == "one-capacitor":
        if len(ways) != 2 or len(frequency_hz) != 1:
            raise InputError("One capacitor joins two drivers at one frequency", key="ways", found=f"{len(ways)} ways, {len(frequency_hz)} frequencies")
        made = one_capacitor(bare[0], bare[1], frequency_hz[0], loads[1], series_ohm=CAPACITOR_OHM)
    else:
        made = _with_losses(by_frequency(bare, frequency_hz, loads, alignment=alignment, order=order))
    if lower_db:
        last = made.ways[-1]
        names = Names([e.name for e in made.elements])
        made = replace(made, ways=(*made.ways[:-1], with_l_pad(last, loads[-1], lower_db, names)))
    made = _rounded(made)
    tables = [_table(way, driver, place) for place, (way, (_, driver)) in enumerate(zip(made.ways, ways, strict=True))]
    values = {"format": FORMAT, "title": title, "rated_impedance_ohm": min(loads), "ways": [table.model_dump(exclude_none=True) for table in tables]}
    return check(CrossoverRecord, values, file="")


def _table(way: Way, driver: str, place: int) -> WayTable:
    elements = tuple(table_of(element).model_dump(exclude_none=True) for element in way.elements)
    return WayTable.model_validate({"name": way.name, "driver": driver, "inverted": way.inverted, "y_mm": BESIDE_MM * place, "elements": elements})


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
    ways = [replace(way, elements=tuple(replace(e, value=float(f"{e.value:.3g}")) for e in way.elements)) for way in made.ways]
    return replace(made, ways=tuple(ways))


def _rated(workshop: Workshop, driver: str) -> float:
    workshop.existing(driver, "unit" if driver.count("/") == 2 else "version")
    version = workshop.version(paths.version_of(driver))
    if version.record.rated_impedance_ohm is None:
        raise InputError(f"The rated impedance of {driver} must be stated to find values for it", file=str(version.path),
                         key="rated_impedance_ohm", found="nothing")  # fmt: skip
    return version.record.rated_impedance_ohm
