"""A cabinet in words: its figures, the table of suggestions, the list of cabinets, and the same for a machine."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

from halfroll.acoustics.cabinet.types import Box, Cabinet
from halfroll.core.text import THIN, format_value, format_with_u
from halfroll.driver.boxed_suggest import Suggestion
from halfroll.publish.motor_figures import COVERAGE, Figure
from halfroll.publish.parameter_rows import Rows
from halfroll.workshop.cabinet_report import CabinetReport
from halfroll.workshop.cabinets import LoadedCabinet

KIND_WORDS = {"closed": "closed", "vented": "vented", "passive-radiator": "passive radiator"}


def cabinet_figures(report: CabinetReport) -> tuple[Figure, ...]:
    """The figures that are asked first; without a driver those of the cabinet alone."""
    return tuple(_figures(report))


def _figures(report: CabinetReport) -> Iterator[Figure]:
    cabinet, reading, drive = report.cabinet, report.reading, report.drive
    yield _figure("net_l", "Net volume", 1e3 * cabinet.net_m3, "l")
    tuning = cabinet.tuning_hz()
    if tuning is not None:
        yield _figure("tuning_hz", "Tuning", tuning, "Hz")
    if reading is None or drive is None:
        return
    u = report.figures_u or {}
    if reading.fc_hz is not None and reading.qtc is not None:
        yield _figure("fc_hz", "Resonance fc", reading.fc_hz, "Hz", u.get("fc_hz", 0.0))
        yield _figure("qtc", "Qtc", reading.qtc, "", u.get("qtc", 0.0))
    for key, name, value in (("f3_hz", "−3 dB", reading.f3_hz), ("f10_hz", "−10 dB", reading.f10_hz)):
        if value is not None:
            yield _figure(key, name, value, "Hz", u.get(key, 0.0))
    yield _figure("peak_db", "Peak over the middle", reading.peak_db, "dB", u.get("peak_db", 0.0))
    yield _figure(
        "delay_ms",
        f"Group delay, at {reading.delay_hz:.0f}{THIN}Hz",
        1e3 * reading.group_delay_s,
        "ms",
        1e3 * u.get("group_delay_s", 0.0),
    )
    yield _figure(
        "travel_mm",
        f"Travel at {drive.volts:.3g}{THIN}V from {drive.from_hz:.0f}{THIN}Hz up, of {1e3 * drive.limit_m:.2g}{THIN}mm",
        1e3 * drive.travel_m,
        "mm",
    )
    yield _figure("volts_by_travel", "Voltage by travel", drive.volts_by_travel, "V")
    if drive.port_peak_m_s is not None:
        yield _figure(
            "port_m_s", f"Air in the port at {drive.volts:.3g}{THIN}V, peak", drive.port_peak_m_s, "m/s"
        )
    if drive.radiator_m is not None:
        yield _figure(
            "radiator_mm", f"Radiator's travel at {drive.volts:.3g}{THIN}V", 1e3 * drive.radiator_m, "mm"
        )


def _figure(key: str, name: str, value: float, unit: str, u: float = 0.0) -> Figure:
    shown = format_with_u(value, COVERAGE * u, unit) if u > 0.0 else format_value(value, None, unit)
    number, _, behind = shown.partition(f"{THIN}±{THIN}") if u > 0.0 else shown.rpartition(THIN)[::1]
    if u > 0.0:
        behind = f"±{THIN}{behind}"
    elif not unit:
        number, behind = shown, ""
    return Figure(key=key, name=name, number=number, behind=behind, value=value, u=u, unit=unit)


def figure_rows(report: CabinetReport) -> Rows:
    """The figures as a table."""
    rows = tuple((one.name, f"{one.number}{THIN}{one.behind}".strip(THIN)) for one in cabinet_figures(report))
    return Rows(head=("figure", "value"), rows=rows)


def port_words(cabinet: Cabinet) -> str:
    """Port or passive radiator in a few words; empty for a closed cabinet."""
    port = cabinet.port
    if port is not None:
        many = "" if port.count == 1 else f"{port.count} of "
        across = (
            f"⌀{THIN}{1e3 * port.across_m:.3g}"
            if port.is_round
            else f"{1e3 * port.across_m:.3g} x {1e3 * port.high_m:.3g}"
        )
        return f"{many}{across}{THIN}mm, {1e3 * port.length_m:.0f}{THIN}mm long"
    if cabinet.radiator is not None:
        many = "" if cabinet.radiator.count == 1 else f"{cabinet.radiator.count} of "
        return f"{many}{1e4 * cabinet.radiator.area_m2:.3g}{THIN}cm², {1e3 * cabinet.radiator.mass_kg:.3g}{THIN}g"
    return ""


def cabinet_list_rows(known: Sequence[LoadedCabinet]) -> Rows:
    """Cabinets, a row each."""
    rows = []
    for one in known:
        tuning = one.cabinet.tuning_hz()
        rows.append((
            one.loaded.id, KIND_WORDS[one.cabinet.kind], f"{1e3 * one.cabinet.net_m3:.3g}{THIN}l",
            "–" if tuning is None else f"{tuning:.3g}{THIN}Hz", port_words(one.cabinet) or "–", one.loaded.record.driver or "–", one.loaded.record.title,
        ))  # fmt: skip
    return Rows(
        head=("cabinet", "kind", "net", "tuned", "port or radiator", "driver", "title"), rows=tuple(rows)
    )


def suggestion_rows(found: Sequence[Suggestion]) -> Rows:
    """Suggestions, the best first."""
    rows = []
    for number, one in enumerate(found, start=1):
        reading, drive = one.reading, one.drive
        rows.append((
            f"{number}. {KIND_WORDS[one.cabinet.kind]}, {one.name}", f"{1e3 * one.cabinet.gross_m3:.3g}{THIN}l",
            "–" if reading.tuning_hz is None else f"{reading.tuning_hz:.0f}{THIN}Hz", port_words(one.cabinet) or "–",
            "–" if reading.f3_hz is None else f"{reading.f3_hz:.0f}{THIN}Hz", f"{reading.peak_db:.1f}{THIN}dB",
            f"{1e3 * reading.group_delay_s:.1f}{THIN}ms", f"{1e3 * drive.travel_m:.2g}{THIN}mm",
            "–" if drive.port_peak_m_s is None else f"{drive.port_peak_m_s:.0f}{THIN}m/s", "; ".join(one.misses) or one.why,
        ))  # fmt: skip
    head = (
        "cabinet",
        "inside",
        "tuned",
        "port or radiator",
        "−3 dB",
        "peak",
        "delay",
        "travel",
        "air",
        "why, or what it misses",
    )
    return Rows(head=head, rows=tuple(rows))


def suggestion_dict(one: Suggestion) -> dict[str, Any]:
    """One suggestion for a machine."""
    reading, drive = one.reading, one.drive
    return {
        "name": one.name, **cabinet_dict(one.cabinet), "f3_hz": reading.f3_hz, "f6_hz": reading.f6_hz, "f10_hz": reading.f10_hz,
        "peak_db": reading.peak_db, "group_delay_ms": 1e3 * reading.group_delay_s, "qtc": reading.qtc, "ripple_db": one.ripple_db,
        "loudest_db": one.loudest_db, "volts": drive.volts, "travel_mm": 1e3 * drive.travel_m, "port_peak_m_s": drive.port_peak_m_s,
        "misses": list(one.misses), "why": one.why,
    }  # fmt: skip


def cabinet_dict(cabinet: Cabinet) -> dict[str, Any]:
    """A cabinet for a machine; keys carry units, null is none."""
    port, radiator, walls = cabinet.port, cabinet.radiator, cabinet.wall_reading()
    return {
        "type": cabinet.kind, "gross_l": 1e3 * cabinet.gross_m3, "net_l": 1e3 * cabinet.net_m3, "taken_l": 1e3 * cabinet.taken_m3,
        "tuning_hz": cabinet.tuning_hz(), "inside_mm": _inside(cabinet),
        "port": None if port is None else {
            "count": port.count, "across_mm": 1e3 * port.across_m, "high_mm": 1e3 * port.high_m, "length_mm": 1e3 * port.length_m,
            "effective_length_mm": 1e3 * port.effective_length_m, "area_cm2": 1e4 * port.all_area_m2, "pipe_resonance_hz": port.pipe_resonance_hz(),
        },
        "radiator": None if radiator is None else {
            "count": radiator.count, "mass_g": 1e3 * radiator.mass_kg, "area_cm2": 1e4 * radiator.area_m2, "resonance_hz": radiator.resonance_hz,
        },
        "walls": None if walls is None else {
            "lowest_hz": walls.lowest_hz, "highest_hz": walls.highest_hz, "compliance_least_percent": 100 * walls.least_share,
            "compliance_most_percent": 100 * walls.most_share,
        },
    }  # fmt: skip


def _inside(cabinet: Cabinet) -> list[float] | None:
    inside = cabinet.inside
    if inside is None:
        return None
    sizes = (
        (inside.width_m, inside.height_m, inside.depth_m)
        if isinstance(inside, Box)
        else (inside.diameter_m, inside.depth_m)
    )
    return [1e3 * size for size in sizes]


def report_dict(report: CabinetReport, *, curves: bool = False) -> dict[str, Any]:
    """A driver in a cabinet for a machine; with `curves` also those, keys with units."""
    found, reading, drive = report.found, report.reading, report.drive
    answer: dict[str, Any] = {"cabinet": cabinet_dict(report.cabinet), "driver": report.driver_id or None}
    if found is not None and reading is not None and drive is not None:
        u = report.figures_u or {}
        answer["figures"] = {
            key: {"value": value, "u": u.get(key), "unit": unit}
            for key, value, unit in (
                ("f3_hz", reading.f3_hz, "Hz"), ("f6_hz", reading.f6_hz, "Hz"), ("f10_hz", reading.f10_hz, "Hz"), ("peak_db", reading.peak_db, "dB"),
                ("group_delay_s", reading.group_delay_s, "s"), ("fc_hz", reading.fc_hz, "Hz"), ("qtc", reading.qtc, ""),
            )
        }  # fmt: skip
        answer["drive"] = {
            "volts": drive.volts, "travel_mm": 1e3 * drive.travel_m, "travel_limit_mm": 1e3 * drive.limit_m, "travel_hz": drive.travel_hz,
            "travel_below_range_mm": 1e3 * drive.below_m, "volts_by_travel": drive.volts_by_travel, "level_db": drive.level_db,
            "port_peak_m_s": drive.port_peak_m_s, "port_rms_m_s": drive.port_rms_m_s, "reynolds": drive.reynolds,
            "radiator_travel_mm": None if drive.radiator_m is None else 1e3 * drive.radiator_m,
        }  # fmt: skip
        if curves:
            answer["curves"] = {
                "frequency_hz": found.frequency_hz.tolist(), "level_db": found.level_db(drive.volts).tolist(),
                "level_with_edges_db": None if found.baffle is None else found.level_db(drive.volts, with_baffle=True).tolist(),
                "group_delay_ms": (1e3 * found.group_delay_s).tolist(), "impedance_ohm": abs(found.impedance_ohm).tolist(),
                "travel_mm": (1e3 * math.sqrt(2.0) * drive.volts * abs(found.displacement_m_per_v)).tolist(),
                "port_peak_m_s": None if found.port_m_s_per_v is None else (math.sqrt(2.0) * drive.volts * found.port_m_s_per_v).tolist(),
            }  # fmt: skip
    answer["verdicts"] = [one.as_dict() for one in report.verdicts]
    return answer
