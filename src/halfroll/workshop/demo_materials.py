"""Calibrated filaments of the demonstration: the grey TPU that most versions are printed of, and an ASA for the hides outside.

Readings are invented: strips of a chosen modulus bent by the model of a strip, with two per cent of scatter, rounded as a ruler is read.
"""

from __future__ import annotations

import datetime as dt
from typing import Any

from halfroll.workshop import paths
from halfroll.workshop.calibration_record import CalibrationTable
from halfroll.workshop.material_record import FilamentTable, MaterialRecord
from halfroll.workshop.parts import load_material, material_ids
from halfroll.workshop.store import Workshop

GREY = "tpu-grey"
ASA = "asa-hide"

GREY_SOURCE = "Strips of the grey spool bent on the bench, invented for this demonstration"


def add_calibrations(workshop: Workshop) -> None:
    """Strip readings for the grey TPU, in place of a modulus that is only stated, and a calibrated ASA."""
    if GREY in material_ids(workshop):
        loaded = load_material(workshop, GREY)
        filament = FilamentTable(like="tpu-95a", calibrations=_tables(GREY_READINGS))
        workshop.save(loaded, loaded.record.changed(source=GREY_SOURCE, filament=filament))
    record = MaterialRecord(
        title="ASA, sand, for outside", source="Strips of the sand-coloured spool, invented for this demonstration",
        notes="Bears sun and rain; prints with a smell, so Saltmarsh prints it in a vented case.",
        filament=FilamentTable(like="asa", calibrations=_tables(ASA_READINGS)),
    )  # fmt: skip
    workshop.create_record(paths.material_path(workshop.folder, ASA), ASA, record)


def _tables(readings: list[dict[str, Any]]) -> tuple[CalibrationTable, ...]:
    return tuple(CalibrationTable.model_validate(one) for one in readings)


def _strip(
    date: dt.date, lines: str, setup: str, sizes: tuple[float, float, float], loads: list[float], sinks: list[float], **more: Any
) -> dict[str, Any]:  # fmt: skip
    """A strip by length, width and thickness (mm), weights (g) and deflections (mm) taken twice."""
    length, width, thickness = sizes
    strip = {"setup": setup, "length_mm": length, "width_mm": width, "thickness_mm": thickness, "loads_g": loads + loads,
             "deflections_mm": sinks, **more}  # fmt: skip
    return {"date": date, "lines": lines, "strip": strip, "note": "Letter balance, steel ruler."}


GREY_READINGS = [
    _strip(dt.date(2026, 3, 4), "across", "fixed-free", (60.0, 12.0, 1.21), [1.0, 2.0, 3.0], [8.6, 16.3, 22.2, 8.5, 15.8, 21.4]),
    _strip(dt.date(2026, 3, 4), "along", "fixed-free", (60.0, 12.0, 1.18), [1.0, 2.0, 3.0], [8.2, 15.1, 21.1, 7.8, 15.6, 20.8]),
    {
        "date": dt.date(2026, 3, 5), "lines": "across", "note": "2 g left over night.",
        "creep": {"times_s": [10.0, 60.0, 600.0, 3600.0, 36_000.0], "deflections_mm": [16.0, 16.8, 17.9, 18.7, 19.8]},
    },
]  # fmt: skip

ASA_READINGS = [
    _strip(dt.date(2026, 4, 18), "along", "three-point", (80.0, 12.1, 2.02), [200.0, 500.0, 1000.0],
           [1.24, 3.10, 6.52, 1.24, 3.15, 6.53], deflection_u_mm=0.05),
    _strip(dt.date(2026, 4, 18), "across", "fixed-free", (80.0, 12.0, 1.62), [20.0, 50.0, 80.0], [4.6, 11.5, 17.4, 4.5, 11.4, 17.4]),
]  # fmt: skip
