"""Crossovers to start from, by name, worked out for resistive loads: real drivers shift them, and `tuning` brings them back.

Element names are numbered through a crossover: C1, L1, R1 ...
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from halfroll.core.errors import InputError
from halfroll.driver.crossover.elements import Construction, Crossover, Element, Kind, Way
from halfroll.driver.crossover.prototypes import ladder

_MAKE: dict[Kind, Construction] = {"capacitor": "", "coil": "air-core", "resistor": "wire-wound"}


@dataclass(frozen=True, kw_only=True)
class Section:
    """A filter to make: kind (``low-pass``, ``high-pass``, ``band-pass``), its corners (Hz), and the resistance it works on (ohm)."""

    kind: str
    corner_hz: tuple[float, ...]
    load_ohm: float
    alignment: str = "butterworth"
    order: int = 2


class Names:
    """Hands out C1, C2, L1 ..., leaving out those in use."""

    def __init__(self, used: Sequence[str] = ()) -> None:
        self._used = set(used)

    def __call__(self, kind: Kind) -> str:
        """The next free name for an element of a kind."""
        letter = {"capacitor": "C", "coil": "L", "resistor": "R"}[kind]
        name = next(n for n in (f"{letter}{i}" for i in itertools.count(1)) if n not in self._used)
        self._used.add(name)
        return name


def section(one: Section, names: Names) -> tuple[Element, ...]:
    """The elements of a filter from ``in`` to ``out``.

    Raises
    ------
    InputError
        A corner or the load is not above zero, or the corners of a band-pass do not ascend.
    """
    corners = tuple(f for f in one.corner_hz if 0.0 < f < math.inf)
    wanted = 2 if one.kind == "band-pass" else 1
    if len(corners) != wanted or list(corners) != sorted(set(corners)):
        raise InputError(f"A {one.kind} must have {'two ascending frequencies' if wanted == 2 else 'one frequency'} above 0 Hz",
                         key="frequency_hz", found=", ".join(f"{f:g}" for f in one.corner_hz) or "none")  # fmt: skip
    if not 0.0 < one.load_ohm < math.inf:
        raise InputError(
            "The resistance a crossover is worked out for must be above zero",
            key="load_ohm",
            found=f"{one.load_ohm:g}",
        )
    return tuple(_ladder(one, names))


def _ladder(one: Section, names: Names) -> Iterator[Element]:
    values = ladder(one.alignment, one.order)
    joints = ["in", *(str(i) for i in range(1, (len(values) + 1) // 2)), "out"]
    here, spare = 0, (str(i) for i in itertools.count(len(joints)))
    for place, g in enumerate(values):
        if place % 2 == 0:
            yield from _arm(one, g, (joints[here], joints[here + 1]), spare, names, series=True)
            here += 1
        else:
            yield from _arm(one, g, (joints[here], "0"), spare, names, series=False)


def _arm(
    one: Section, g: float, pair: tuple[str, str], spare: Iterator[str], names: Names, *, series: bool
) -> Iterator[Element]:
    """One arm of the ladder: a coil becomes a capacitor in a high-pass and a resonant circuit in a band-pass, and the other way round."""
    load = one.load_ohm

    def made(kind: Kind, value: float, between: tuple[str, str]) -> Element:
        return Element(name=names(kind), kind=kind, between=between, value=value, construction=_MAKE[kind])

    if one.kind == "low-pass":
        w = 2.0 * math.pi * one.corner_hz[0]
        yield made("coil", g * load / w, pair) if series else made("capacitor", g / (load * w), pair)
    elif one.kind == "high-pass":
        w = 2.0 * math.pi * one.corner_hz[0]
        yield made("capacitor", 1.0 / (g * load * w), pair) if series else made("coil", load / (g * w), pair)
    else:
        low, high = (2.0 * math.pi * f for f in one.corner_hz)
        band, middle = high - low, low * high
        if series:
            joint = next(spare)
            yield made("coil", g * load / band, (pair[0], joint))
            yield made("capacitor", band / (g * load * middle), (joint, pair[1]))
        else:
            yield made("capacitor", g / (load * band), pair)
            yield made("coil", load * band / (g * middle), pair)


def sections_of(
    corner_hz: Sequence[float], loads_ohm: Sequence[float], alignment: str, order: int
) -> tuple[Section, ...]:
    """Low-pass, band-passes and high-pass for ways from the lowest to the highest, between so many less one frequencies (Hz); `InputError` where
    there are not so many.
    """
    if len(corner_hz) != len(loads_ohm) - 1 or len(loads_ohm) < 2:
        raise InputError("There must be one frequency less than ways, and two ways at least", key="frequency_hz",
                         found=f"{len(corner_hz)} for {len(loads_ohm)} ways")  # fmt: skip
    found = []
    for place, load in enumerate(loads_ohm):
        below, above = corner_hz[place - 1 : place], corner_hz[place : place + 1]
        kind = "band-pass" if below and above else "high-pass" if below else "low-pass"
        found.append(
            Section(kind=kind, corner_hz=(*below, *above), load_ohm=load, alignment=alignment, order=order)
        )
    return tuple(found)


def by_frequency(
    ways: Sequence[Way],
    corner_hz: Sequence[float],
    loads_ohm: Sequence[float],
    *,
    alignment: str = "butterworth",
    order: int = 2,
) -> Crossover:
    """A crossover with one filter a way, ways from the lowest to the highest."""
    names = Names()
    filters = sections_of(corner_hz, loads_ohm, alignment, order)
    turned = order == 2  # voltages of neighbouring ways are half a turn apart
    made = [
        replace(
            way,
            elements=section(one, names),
            inverted=way.inverted ^ (turned and place % 2 == 1),
        )
        for place, (way, one) in enumerate(zip(ways, filters, strict=True))
    ]
    return Crossover(ways=tuple(made))


def one_capacitor(
    low: Way, high: Way, corner_hz: float, load_ohm: float, *, series_ohm: float = 0.1
) -> Crossover:
    """A full-range driver and a small one behind a bipolar capacitor C = 1/(2π f R), and nothing else."""
    (first,) = section(Section(kind="high-pass", corner_hz=(corner_hz,), load_ohm=load_ohm, order=1), Names())
    capacitor = replace(first, construction="bipolar", series_ohm=series_ohm)
    return Crossover(ways=(replace(low, elements=()), replace(high, elements=(capacitor,))))


def l_pad(load_ohm: float, attenuation_db: float) -> tuple[float, float]:
    """Resistors (ohm) in series with and across a load R that lower it by so many dB while the pad still shows R.

    With k = 10^(-a/20): series R (1 - k), across R k/(1 - k) (any handbook of attenuators). `InputError` where the level is not lowered.
    """
    if not (attenuation_db > 0.0 and 0.0 < load_ohm < math.inf):
        raise InputError("An L-pad must lower the level of a load above zero", key="attenuation_db",
                         found=f"{attenuation_db:g} dB, {load_ohm:g} ohm")  # fmt: skip
    k = 10.0 ** (-attenuation_db / 20.0)
    return load_ohm * (1.0 - k), load_ohm * k / (1.0 - k)


def with_l_pad(way: Way, load_ohm: float, attenuation_db: float, names: Names) -> Way:
    """The way with an L-pad between its filter and its driver."""
    series, across = l_pad(load_ohm, attenuation_db)
    before = tuple(replace(e, between=_renamed(e.between)) for e in way.elements)
    begins = "pad" if way.elements else "in"
    pad = (
        Element(
            name=names("resistor"),
            kind="resistor",
            between=(begins, "out"),
            value=series,
            construction="wire-wound",
        ),
        Element(
            name=names("resistor"),
            kind="resistor",
            between=("out", "0"),
            value=across,
            construction="wire-wound",
        ),
    )
    return replace(way, elements=(*before, *pad))


def _renamed(between: tuple[str, str]) -> tuple[str, str]:
    a, b = ("pad" if node == "out" else node for node in between)
    return a, b


def across_inductance(re_ohm: float, le_h: float) -> tuple[float, float]:
    """R and C in series across a driver that make Re + jωLe a resistance Re: R = Re, C = Le/Re² (exact for an ideal coil)."""
    return re_ohm, le_h / re_ohm**2


def across_resonance(
    re_ohm: float, fs_hz: float, q_mechanical: float, q_electrical: float
) -> tuple[float, float, float]:
    """R, L and C in series across a driver that level its resonance peak, exactly for a driver without inductance.

    The dual of the motional impedance re Re: R = Re (1 + Qes/Qms), L = Qes Re/ωs, C = 1/(ωs Qes Re).
    """
    w = 2.0 * math.pi * fs_hz
    return (
        re_ohm * (1.0 + q_electrical / q_mechanical),
        q_electrical * re_ohm / w,
        1.0 / (w * q_electrical * re_ohm),
    )
