"""What a passive crossover is made of: coils, capacitors, resistors, and the ways they feed.

A way is a driver with its place on the baffle. Its elements stand between nodes: ``in`` is where the way's branch begins (the
amplifier, or another way's driver), ``out`` the driver's terminal, ``0`` the amplifier's other pole, any other name a node of this way;
``other.node`` is a node of another way.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Literal

from halfroll.core.errors import InputError

Kind = Literal["resistor", "coil", "capacitor"]
Construction = Literal["", "bipolar", "film", "air-core", "iron-core", "wire-wound"]

SOURCE, GROUND = "in", "0"
"""The amplifier's two poles."""

TOLERANCE: dict[str, float] = {
    "bipolar": 0.20, "film": 0.05, "air-core": 0.05, "iron-core": 0.05, "wire-wound": 0.05,
    "capacitor": 0.05, "coil": 0.05, "resistor": 0.05,
}  # fmt: skip
"""Relative half-width of the value by construction, or by kind where none is stated: common practice of printed parts."""

UNIT: dict[str, str] = {"resistor": "ohm", "coil": "H", "capacitor": "F"}

_NODE = re.compile(r"[a-z0-9_-]+(\.[a-z0-9_-]+)?")


@dataclass(frozen=True, kw_only=True)
class Element:
    """One part of the circuit.

    Parameters
    ----------
    name
        Such as ``C1``; once in a crossover.
    kind
        Resistor, coil or capacitor.
    between
        Its two nodes.
    value
        Ohm, henry or farad, above zero.
    series_ohm
        DC resistance of a coil, equivalent series resistance of a capacitor; 0 for a resistor.
    construction
        How it is built; decides the tolerance where none is stated.
    tolerance
        Relative half-width of the value (1); None: by construction.
    rated_v, rated_w, rated_a
        Direct voltage a capacitor, power a resistor, peak current a coil with a core bears; None: not stated.
    """

    name: str
    kind: Kind
    between: tuple[str, str]
    value: float
    series_ohm: float = 0.0
    construction: Construction = ""
    tolerance: float | None = None
    rated_v: float | None = None
    rated_w: float | None = None
    rated_a: float | None = None

    def __post_init__(self) -> None:
        if not 0.0 < self.value < math.inf:
            raise InputError(f"The value of {self.name} must be above zero", key=self.name,
                             found=f"{self.value:g} {UNIT[self.kind]}")  # fmt: skip
        if not 0.0 <= self.series_ohm < math.inf:
            raise InputError(f"The series resistance of {self.name} must not be below zero", key=self.name,
                             found=f"{self.series_ohm:g} ohm")  # fmt: skip
        if self.tolerance is not None and not 0.0 <= self.tolerance < 1.0:
            raise InputError(f"The tolerance of {self.name} must lie from 0 to below 100 %", key=self.name,
                             found=f"{100 * self.tolerance:g} %")  # fmt: skip
        for node in self.between:
            if not _NODE.fullmatch(node):
                raise InputError(f"A node of {self.name} must be a plain name or way.name", key=self.name, found=repr(node),
                                 allowed="in, out, 0, or small letters and digits")  # fmt: skip
        if self.between[0] == self.between[1]:
            raise InputError(f"{self.name} must lie between two different nodes", key=self.name,
                             found=f"{self.between[0]} twice")  # fmt: skip

    @property
    def spread(self) -> float:
        """Relative half-width of its value (1)."""
        return TOLERANCE[self.construction or self.kind] if self.tolerance is None else self.tolerance


@dataclass(frozen=True, kw_only=True)
class Way:
    """A driver in the crossover.

    Parameters
    ----------
    name
        Such as ``low``; once in a crossover.
    elements
        What stands before it, in nodes of this way.
    fed_by
        ``in`` (the amplifier) or the way at whose driver its branch begins.
    minus
        The node its other terminal stands on.
    inverted
        Whether the driver is connected with plus and minus swapped.
    place_m
        Where its acoustic centre lies from the middle of the baffle: right, up, forwards (m).
    """

    name: str
    elements: tuple[Element, ...] = ()
    fed_by: str = SOURCE
    minus: str = GROUND
    inverted: bool = False
    place_m: tuple[float, float, float] = (0.0, 0.0, 0.0)


@dataclass(frozen=True, kw_only=True)
class Crossover:
    """The whole circuit; `source_ohm` is the resistance of cable and amplifier (ohm)."""

    ways: tuple[Way, ...]
    source_ohm: float = 0.0

    @property
    def elements(self) -> tuple[Element, ...]:
        """All elements, way after way."""
        return tuple(element for way in self.ways for element in way.elements)

    def way(self, name: str) -> Way:
        """The way of a name."""
        return next(way for way in self.ways if way.name == name)
