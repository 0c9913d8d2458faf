"""Where the elements of a crossover stand in its diagram: each way a row, series elements along it, shunt arms down to the common line."""

from __future__ import annotations

from dataclasses import dataclass

from halfroll.driver.crossover.circuit import Circuit, Pair, circuit_of
from halfroll.driver.crossover.elements import GROUND, SOURCE, Crossover, Element, Way


@dataclass(frozen=True, kw_only=True)
class Series:
    """Elements side by side between two nodes of a row, in one slot; none for a plain wire. `to` is the node at their right."""

    elements: tuple[Element, ...]
    to: str


@dataclass(frozen=True, kw_only=True)
class Arm:
    """Elements one below the other from the row to the common line, in one slot."""

    elements: tuple[Element, ...]


Slot = Series | Arm


@dataclass(frozen=True, kw_only=True)
class Row:
    """A way: its slots from left to right, and the node it begins at: ``in`` or one of another way."""

    way: Way
    slots: tuple[Slot, ...]
    begins: str
    hangs_on: str
    """What its driver's other terminal stands on: ``0``, or a node's full name."""

    @property
    def depth(self) -> int:
        """Elements of the longest arm."""
        return max((len(slot.elements) for slot in self.slots if isinstance(slot, Arm)), default=0)

    @property
    def height(self) -> int:
        """Most elements side by side in a slot of the row."""
        return max((len(slot.elements) for slot in self.slots if isinstance(slot, Series)), default=1)


@dataclass(frozen=True, kw_only=True)
class Layout:
    """All rows, and the elements the diagram has no place for."""

    rows: tuple[Row, ...]
    left_out: tuple[Element, ...]


def layout(crossover: Crossover) -> Layout:
    """The rows of a crossover that `circuit_of` accepts."""
    circuit = circuit_of(crossover)
    placed: set[str] = set()
    rows = [_row(crossover, circuit, way, placed) for way in crossover.ways]
    left = tuple(e for e in crossover.elements if e.name not in placed)
    return Layout(rows=tuple(rows), left_out=left)


def _row(crossover: Crossover, circuit: Circuit, way: Way, placed: set[str]) -> Row:
    own = [(e, pair) for e, pair in zip(circuit.elements, circuit.pairs, strict=True) if e in way.elements]
    out, minus = circuit.terminals[circuit.ways.index(way.name)]
    begin = SOURCE if way.fed_by == SOURCE else circuit.terminals[circuit.ways.index(way.fed_by)][0]
    start = _start(begin, out, own)
    slots: list[Slot] = []
    line = _path(start, out, own)
    for place, node in enumerate(line):
        slots += _arms(node, line, own, placed)
        if place + 1 < len(line):
            across = {node, line[place + 1]}
            together = tuple(e for e, pair in own if set(pair) == across)
            placed.update(e.name for e in together)
            slots.append(Series(elements=together, to=line[place + 1]))
    return Row(way=way, slots=tuple(slots), begins=start, hangs_on=minus)


def _start(begin: str, out: str, own: list[tuple[Element, Pair]]) -> str:
    """Where the row begins: the way's feed, or another way's node it is taken from."""
    nodes = {node for _, pair in own for node in pair}
    if begin in nodes or not own or begin == out:
        return begin
    here = out.partition(".")[0]
    return next((n for n in sorted(nodes) if n not in (GROUND, out) and n.partition(".")[0] != here), begin)


def _path(start: str, out: str, own: list[tuple[Element, Pair]]) -> list[str]:
    """Nodes from start to out through series elements, the shortest way; only the ends where there is none."""
    before: dict[str, str] = {start: ""}
    queue = [start]
    while queue:
        node = queue.pop(0)
        for _, (a, b) in own:
            for here, there in ((a, b), (b, a)):
                if here == node and there not in before and there != GROUND:
                    before[there] = node
                    queue.append(there)
    if out not in before:
        return [start, out] if start != out else [start]
    line = [out]
    while before[line[-1]]:
        line.append(before[line[-1]])
    return line[::-1]


def _arms(node: str, line: list[str], own: list[tuple[Element, Pair]], placed: set[str]) -> list[Arm]:
    """Chains of elements from a node of the row down to the common line."""
    found = []
    for element, pair in own:
        if element.name in placed or node not in pair:
            continue
        chain, at = [element], pair[1] if pair[0] == node else pair[0]
        while at != GROUND and at not in line:
            onward = [(e, p) for e, p in own if at in p and e not in chain and e.name not in placed]
            if len(onward) != 1:
                break
            chain.append(onward[0][0])
            at = onward[0][1][1] if onward[0][1][0] == at else onward[0][1][0]
        if at == GROUND:
            placed.update(e.name for e in chain)
            found.append(Arm(elements=tuple(chain)))
    return found
