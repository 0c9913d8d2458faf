"""Two crossovers of the demonstration: the curlew with a dunlin above it, behind one capacitor, and with a filter before each."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from halfroll.workshop.crossovers import checked_record, new_crossover

if TYPE_CHECKING:
    from halfroll.workshop.store import Workshop

LOW, HIGH = "curlew/v2", "dunlin/v2"
APART_MM = 110.0
"""Between the middles of the two drivers on the hide's board."""


def add_crossovers(workshop: Workshop) -> None:
    """Both records, where their drivers are there."""
    if not {LOW, HIGH} <= set(workshop.version_ids()):
        return
    new_crossover(workshop, "hide-one-capacitor", checked_record(_one_capacitor()))
    new_crossover(workshop, "hide-second-order", checked_record(_second_order()))


def _one_capacitor() -> dict[str, Any]:
    capacitor = {"name": "C1", "type": "capacitor", "between": ["in", "out"], "capacitance_uf": 12.0, "series_ohm": 0.2,
                 "construction": "bipolar", "rated_v": 50.0}  # fmt: skip
    return {
        "title": "Hide loudspeaker, one capacitor", "rated_impedance_ohm": 4.0, "power_w": 4.0,
        "notes": "The cheapest way: the curlew plays everything, the dunlin helps above.",
        "ways": [
            {"name": "full", "driver": LOW},
            {"name": "small", "driver": HIGH, "y_mm": APART_MM, "elements": [capacitor]},
        ],
    }  # fmt: skip


def _second_order() -> dict[str, Any]:
    """As tuned from second-order Linkwitz-Riley at 2 kHz, flat from 200 Hz to 6 kHz, in E12."""
    low = [_coil("L1", "in", "out", 0.82), _film("C1", "out", "0", 2.7)]
    high = [
        _film("C2", "in", "pad", 12.0),
        _coil("L2", "pad", "0", 0.68),
        _resistor("R1", "pad", "out", 1.0),
        _resistor("R2", "out", "0", 27.0),
    ]
    return {
        "title": "Hide loudspeaker, second order", "rated_impedance_ohm": 4.0, "power_w": 4.0, "cable_ohm": 0.1,
        "notes": "Begun as Linkwitz-Riley at 2 kHz with a pad of 2 dB, then tuned for the drivers as measured.",
        "ways": [
            {"name": "low", "driver": LOW, "elements": low},
            {"name": "high", "driver": HIGH, "inverted": True, "y_mm": APART_MM, "elements": high},
        ],
    }  # fmt: skip


def _coil(name: str, a: str, b: str, inductance_mh: float) -> dict[str, Any]:
    return {
        "name": name,
        "type": "coil",
        "between": [a, b],
        "inductance_mh": inductance_mh,
        "series_ohm": 0.3,
        "construction": "air-core",
    }


def _film(name: str, a: str, b: str, capacitance_uf: float) -> dict[str, Any]:
    return {"name": name, "type": "capacitor", "between": [a, b], "capacitance_uf": capacitance_uf, "series_ohm": 0.1, "construction": "film",
            "rated_v": 100.0}  # fmt: skip


def _resistor(name: str, a: str, b: str, resistance_ohm: float) -> dict[str, Any]:
    return {
        "name": name,
        "type": "resistor",
        "between": [a, b],
        "resistance_ohm": resistance_ohm,
        "construction": "wire-wound",
        "rated_w": 5.0,
    }
