"""From ways with their elements to one circuit: every node by its full name, and what cannot work refused with names."""

from __future__ import annotations

import math
from dataclasses import dataclass

from halfroll.core.errors import InputError
from halfroll.driver.crossover.elements import GROUND, SOURCE, Crossover, Element, Way

Pair = tuple[str, str]


@dataclass(frozen=True, kw_only=True)
class Circuit:
    """Elements and ways between global nodes; `nodes` are those whose voltage is not known beforehand."""

    elements: tuple[Element, ...]
    pairs: tuple[Pair, ...]
    ways: tuple[str, ...]
    terminals: tuple[Pair, ...]
    nodes: tuple[str, ...]
    source_ohm: float


def circuit_of(crossover: Crossover) -> Circuit:
    """The circuit of a crossover.

    Raises
    ------
    InputError
        Names occur twice, ways feed each other in a circle, a way is fed by one that is not there or is not connected, or a
        part of the circuit hangs on nothing.
    """
    _check_names(crossover)
    _check_circles(crossover)
    outs: dict[str, str] = {}
    for way in crossover.ways:
        _out(crossover, way, outs)
    pairs = tuple(
        tuple(_node(crossover, way, node, outs, element.name) for node in element.between)
        for way in crossover.ways for element in way.elements
    )  # fmt: skip
    terminals = tuple(
        (outs[way.name], _node(crossover, way, way.minus, outs, way.name)) for way in crossover.ways
    )
    for element, (a, b) in zip(crossover.elements, pairs, strict=True):
        if a == b:
            raise InputError(f"{element.name} is shorted: both its ends lie on {a}", key=element.name)
    known = (GROUND,) if crossover.source_ohm > 0.0 else (GROUND, SOURCE)
    named = [node for pair in (*pairs, *terminals) for node in pair]
    found = Circuit(
        elements=crossover.elements, pairs=pairs, ways=tuple(way.name for way in crossover.ways), terminals=terminals,  # type: ignore[arg-type]
        nodes=tuple(node for node in dict.fromkeys([SOURCE, *named]) if node not in known), source_ohm=crossover.source_ohm,
    )  # fmt: skip
    _check_connected(found)
    return found


def _check_names(crossover: Crossover) -> None:
    if not crossover.ways:
        raise InputError("A crossover must have one way at least", key="ways", found="none")
    if not 0.0 <= crossover.source_ohm < math.inf:
        raise InputError(
            "The resistance of the cable must not be below zero",
            key="cable_ohm",
            found=f"{crossover.source_ohm:g}",
        )
    for what, names in (
        ("way", [way.name for way in crossover.ways]),
        ("element", [e.name for e in crossover.elements]),
    ):
        twice = sorted({name for name in names if names.count(name) > 1})
        if twice:
            raise InputError(
                f"Each {what} must have a name of its own", key=twice[0], found=f"{twice[0]} twice"
            )
    for way in crossover.ways:
        if way.name in (SOURCE, GROUND, "out"):
            raise InputError(
                "A way must not be called in, out or 0, which are nodes", key=way.name, found=way.name
            )


def _check_circles(crossover: Crossover) -> None:
    """Refuse ways that feed themselves, directly or through others."""
    names = [way.name for way in crossover.ways]
    for way in crossover.ways:
        if way.fed_by != SOURCE and way.fed_by not in names:
            raise InputError(f"The way {way.name} is fed by a way that is not there", key=f"{way.name}.fed_by", found=way.fed_by,
                             allowed=[SOURCE, *(name for name in names if name != way.name)])  # fmt: skip
        met = [way.name]
        while (above := crossover.way(met[-1]).fed_by) != SOURCE:
            if above in met:
                circle = [*met[met.index(above) :], above]
                text = "The way feeds itself" if len(circle) == 2 else "The ways feed each other in a circle"
                raise InputError(f"{text}, so nothing comes from the amplifier", key=f"{way.name}.fed_by",
                                 found=" is fed by ".join(circle), remedy='Let one of them be fed by "in"')  # fmt: skip
            met.append(above)


def _out(crossover: Crossover, way: Way, outs: dict[str, str]) -> str:
    """The full name of a way's driver node: its own when its elements lead there, else where the branch begins."""
    if way.name not in outs:
        used = {node for element in way.elements for node in element.between}
        if used and not used & {"out", f"{way.name}.out"}:
            raise InputError(f"The way {way.name} is not connected: none of its elements ends at its driver", key=way.name,
                             found=", ".join(e.name for e in way.elements), remedy='Let one element end at "out"')  # fmt: skip
        led = any(node == "in" or ("." in node and not node.startswith(f"{way.name}.")) for node in used)
        begins = SOURCE if way.fed_by == SOURCE else _out(crossover, crossover.way(way.fed_by), outs)
        outs[way.name] = f"{way.name}.out" if led else begins
    return outs[way.name]


def _node(crossover: Crossover, way: Way, node: str, outs: dict[str, str], what: str) -> str:
    """A node of a way as all ways call it."""
    names = [one.name for one in crossover.ways]
    owner, _, local = node.rpartition(".")
    if owner and owner not in names:
        raise InputError(
            f"{what} leads to a way that is not there",
            key=what,
            found=node,
            allowed=[f"{n}.{local}" for n in names],
        )
    at = crossover.way(owner) if owner else way
    if local == GROUND:
        return GROUND
    if local == "in":
        return SOURCE if at.fed_by == SOURCE else outs[at.fed_by]
    return outs[at.name] if local == "out" else f"{at.name}.{local}"


def _check_connected(circuit: Circuit) -> None:
    """Refuse nodes on which nothing but one element ends, and parts without a path to the amplifier."""
    named = [*zip([e.name for e in circuit.elements], circuit.pairs, strict=True),
             *zip([f"the way {name}" for name in circuit.ways], circuit.terminals, strict=True)]  # fmt: skip
    for what, (a, b) in named:
        if a == b:
            raise InputError(
                f"{what[0].upper()}{what[1:]} feeds itself: both its terminals lie on one node",
                key=what.split()[-1],
                found=a,
            )
    for node in circuit.nodes:
        ends = [what for what, pair in named if node in pair]
        if len(ends) < 2 and node != SOURCE:
            raise InputError(f"Only {ends[0]} ends at the node {node}, so no current flows there", key=ends[0].split()[-1],
                             found=node, remedy="Correct the name of the node, or connect something else to it")  # fmt: skip
    reached = {SOURCE}  # but not through the amplifier's other pole
    while more := {n for _, pair in named if reached & set(pair) for n in pair} - reached - {GROUND}:
        reached |= more
    for what, pair in named:
        if not reached & set(pair):
            raise InputError(f"{what[0].upper()}{what[1:]} floats: no path leads from it to the amplifier", key=what.split()[-1],
                             found=f"between {pair[0]} and {pair[1]}")  # fmt: skip
    if not any(SOURCE in pair for _, pair in named):
        raise InputError("Nothing is connected to the amplifier", key="in", found="no element or way at in")
