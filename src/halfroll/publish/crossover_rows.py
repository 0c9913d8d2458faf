"""A crossover in words and for machines: tables of elements and drivers, standing, JSON."""

from __future__ import annotations

from typing import Any

from halfroll.core.text import THIN, format_value
from halfroll.driver.crossover.elements import Element
from halfroll.driver.crossover.results import DRIVE_V, Result
from halfroll.driver.crossover.stress import Stress
from halfroll.driver.crossover.tuning import Flatness, Tuned
from halfroll.publish.crossover_circuit import value_words
from halfroll.publish.parameter_rows import Rows


def standing(result: Result) -> str:
    """Where the ways cross, and the least impedance, in a sentence or two."""
    crossings = [f"{a} hands over to {b} at {format_value(f, None, 'Hz')}" for a, b, f in result.crossings_hz]
    first = f"{', '.join(crossings)}. " if crossings else ""
    least = f"Least impedance {format_value(result.minimum_ohm, None, 'ohm')} at {format_value(result.minimum_hz, None, 'Hz')}."
    return (first[:1].upper() + first[1:]) + least


def element_rows(result: Result) -> Rows:
    """Every element: value, tolerance, resistance, and what it bears at the worst sine."""
    stresses = {one.name: one for one in result.stresses}
    rows = []
    for way in result.crossover.ways:
        for e in way.elements:
            rows.append(
                (
                    way.name,
                    e.name,
                    value_words(e),
                    f"±{100 * e.spread:.3g}{THIN}%",
                    _ohms(e),
                    *_bears(e, stresses[e.name]),
                )
            )
    head = ("Way", "Element", "Value", "Tolerance", "Resistance", "Bears at the worst sine", "Rated")
    note = f"Sines at {result.asked.drive_v:.3g}{THIN}V r.m.s. of the amplifier, each at the frequency that is worst."
    return Rows(head=head, rows=tuple(rows), notes=(note,) if rows else ("No elements.",))


def way_rows(result: Result) -> Rows:
    """Every driver: where it comes from, polarity, power and place."""
    powers = {one.name: one for one in result.way_stresses}
    rows = []
    for way in result.crossover.ways:
        data, power = result.data[way.name], powers[way.name]
        place = ", ".join(f"{1e3 * c:.0f}" for c in way.place_m)
        phase = {"computed": "computed", "measured": "measured", "minimum": "minimum phase"}[data.phase]
        rows.append((
            way.name, data.source, phase, "inverted" if way.inverted else "normal", f"{place}{THIN}mm", f"{1e6 * result.arrival_s[way.name]:.0f}{THIN}µs",
            f"{format_value(power.power_w, None, 'W')} at {format_value(power.at_w_hz, None, 'Hz')}",
        ))  # fmt: skip
    return Rows(
        head=("Way", "Driver", "Phase", "Polarity", "Right, up, forwards", "Later by", "Most power"),
        rows=tuple(rows),
    )


def tuned_rows(tuned: Tuned) -> Rows:
    """What tuning moved, and what it brought."""
    after = {e.name: e for e in tuned.after.elements}
    before = {e.name: e for e in tuned.before.elements}
    rows = tuple((name, value_words(before[name]), value_words(after[name])) for name, *_ in tuned.moved)
    notes = (f"Before: {flat_words(tuned.flat_before)}", f"After: {flat_words(tuned.flat_after)}")
    return Rows(head=("Element", "Before", "After"), rows=rows, notes=notes)


def flat_words(flat: Flatness) -> str:
    """How even the sum is, in a line."""
    return (f"{flat.rms_db:.2f}{THIN}dB r.m.s., {flat.worst_db:.2f}{THIN}dB at most from the mean; least impedance "
            f"{format_value(flat.minimum_ohm, None, 'ohm')}.")  # fmt: skip


def crossover_json(name: str, result: Result, *, curves: bool = True) -> dict[str, Any]:
    """Everything for a program; keys carry units."""
    found: dict[str, Any] = {
        "crossover": name, "rated_ohm": result.asked.rated_ohm, "drive_v": result.asked.drive_v,
        "distance_m": result.asked.listener.distance_m, "horizontal_deg": result.asked.listener.horizontal_deg,
        "vertical_deg": result.asked.listener.vertical_deg, "minimum_ohm": result.minimum_ohm, "minimum_hz": result.minimum_hz,
        "valid_from_hz": result.valid_hz[0], "valid_to_hz": result.valid_hz[1], "tolerance_method": result.asked.method,
        "crossings": [{"from": a, "to": b, "at_hz": f} for a, b, f in result.crossings_hz],
        "ways": [_way_json(result, way.name) for way in result.crossover.ways],
        "elements": [_element_json(way.name, e, next(s for s in result.stresses if s.name == e.name))
                     for way in result.crossover.ways for e in way.elements],
        "verdicts": [verdict.as_dict() for verdict in result.verdicts],
    }  # fmt: skip
    if curves:
        found["curves"] = _curves_json(result)
    return found


def tuned_json(tuned: Tuned) -> dict[str, Any]:
    """What tuning did."""
    return {"before": _flat_json(tuned.flat_before), "after": _flat_json(tuned.flat_after),
            "moved": [{"element": name, "before_si": before, "after_si": after} for name, before, after in tuned.moved]}  # fmt: skip


def _flat_json(flat: Flatness) -> dict[str, Any]:
    return {"rms_db": flat.rms_db, "worst_db": flat.worst_db, "minimum_ohm": flat.minimum_ohm}


def _curves_json(result: Result) -> dict[str, Any]:
    low, high = result.band_db
    parts = {name: result.level_db(p).tolist() for name, p in result.parts.items()}
    return {
        "frequency_hz": result.frequency_hz.tolist(), "drive_v": DRIVE_V, "level_db": result.level_db(result.total).tolist(),
        "level_low_db": low.tolist(), "level_high_db": high.tolist(), "way_level_db": parts,
        "impedance_real_ohm": result.input_ohm.real.tolist(), "impedance_imaginary_ohm": result.input_ohm.imag.tolist(),
        "directivity_index_db": result.directivity_db.tolist(),
        "off_axis": [{"horizontal_deg": h, "vertical_deg": v, "level_db": result.level_db(p).tolist()} for (h, v), p in result.off_axis.items()],
    }  # fmt: skip


def _way_json(result: Result, name: str) -> dict[str, Any]:
    way, data = result.crossover.way(name), result.data[name]
    power = next(one for one in result.way_stresses if one.name == name)
    return {
        "name": name, "source": data.source, "phase": data.phase, "inverted": way.inverted, "fed_by": way.fed_by,
        "x_mm": 1e3 * way.place_m[0], "y_mm": 1e3 * way.place_m[1], "z_mm": 1e3 * way.place_m[2], "later_us": 1e6 * result.arrival_s[name],
        "valid_from_hz": data.valid_hz[0], "valid_to_hz": data.valid_hz[1], "most_power_w": power.power_w, "most_power_at_hz": power.at_w_hz,
        "most_voltage_v": power.volts, "most_voltage_at_hz": power.at_v_hz,
    }  # fmt: skip


def _element_json(way: str, e: Element, stress: Stress) -> dict[str, Any]:
    key, factor = {
        "resistor": ("resistance_ohm", 1.0),
        "coil": ("inductance_mh", 1e3),
        "capacitor": ("capacitance_uf", 1e6),
    }[e.kind]
    return {
        "way": way, "name": e.name, "type": e.kind, "between": list(e.between), key: factor * e.value, "series_ohm": e.series_ohm,
        "tolerance_percent": 100.0 * e.spread, "construction": e.construction or None, "peak_v": stress.peak_v, "peak_v_at_hz": stress.at_v_hz,
        "peak_a": stress.peak_a, "peak_a_at_hz": stress.at_a_hz, "power_w": stress.power_w, "power_at_hz": stress.at_w_hz,
        "rated_v": e.rated_v, "rated_w": e.rated_w, "rated_a": e.rated_a,
    }  # fmt: skip


def _ohms(e: Element) -> str:
    return f"{e.series_ohm:.3g}{THIN}Ω" if e.series_ohm else "–"


def _bears(e: Element, stress: Stress) -> tuple[str, str]:
    if e.kind == "capacitor":
        rated = "" if e.rated_v is None else f"{e.rated_v:g}{THIN}V"
        return f"{stress.peak_v:.3g}{THIN}V peak at {format_value(stress.at_v_hz, None, 'Hz')}", rated
    if e.kind == "resistor":
        rated = "" if e.rated_w is None else f"{e.rated_w:g}{THIN}W"
        return (
            f"{format_value(stress.power_w, None, 'W')} at {format_value(stress.at_w_hz, None, 'Hz')}",
            rated,
        )
    rated = "" if e.rated_a is None else f"{e.rated_a:g}{THIN}A"
    return f"{stress.peak_a:.3g}{THIN}A peak at {format_value(stress.at_a_hz, None, 'Hz')}", rated
