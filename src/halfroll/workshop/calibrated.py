"""From the calibrations in a filament's record to what it is like: each one worked out from its readings, and all together."""

from __future__ import annotations

import functools
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from halfroll.core.errors import InputError
from halfroll.materials.calibrate.combine import Combined, combine
from halfroll.materials.calibrate.creep import creep_slope
from halfroll.materials.calibrate.curve import CurvePair, curve_modulus
from halfroll.materials.calibrate.learnt import Learnt, learnt_modulus
from halfroll.materials.calibrate.resonance import Resonance, resonance_modulus
from halfroll.materials.calibrate.ring import Ringing, ring_modulus
from halfroll.materials.calibrate.strip import strip_modulus
from halfroll.materials.calibrate.types import Creep, Estimate, Loads, Strip
from halfroll.materials.types import Filament
from halfroll.workshop.calibration_record import (
    CalibrationTable,
    CurveTable,
    ResonanceTable,
    RingTable,
    StripTable,
    UpdateTable,
)
from halfroll.workshop.files import read_whole
from halfroll.workshop.number_table import text_of
from halfroll.workshop.toml_lines import dotted, line_of

MM, MPA, G, SHARE = 1e-3, 1e6, 1e-3, 1e-2


@dataclass(frozen=True, kw_only=True)
class Calibrated:
    """A filament's starting value, its calibrations with what each gives, and all together."""

    start: Filament
    tables: tuple[CalibrationTable, ...]
    results: tuple[Estimate | Creep, ...]
    combined: Combined

    @property
    def filament(self) -> Filament:
        """What every version that names it is given."""
        return self.combined.filament

    @property
    def weights(self) -> tuple[float | None, ...]:
        """The share of each calibration in the modulus; None of one that is not used or says nothing of it."""
        shares = iter(self.combined.weights)
        return tuple(
            next(shares) if table.used and isinstance(result, Estimate) else None
            for table, result in zip(self.tables, self.results, strict=True)
        )


def calibrated(start: Filament, tables: Sequence[CalibrationTable], path: Path | None = None) -> Calibrated:
    """Work out all calibrations of a filament.

    Raises
    ------
    InputError
        Readings of one that cannot be, with the file, key and line when `path` is the record.
    """
    results = []
    for place, table in enumerate(tables):
        with _in_record(path, place, table):
            results.append(result_of(table, start))
    used = [result for table, result in zip(tables, results, strict=True) if table.used]
    estimates = [one for one in used if isinstance(one, Estimate)]
    creeps = [one for one in used if isinstance(one, Creep)]
    return Calibrated(
        start=start, tables=tuple(tables), results=tuple(results), combined=combine(start, estimates, creeps)
    )


def result_of(table: CalibrationTable, filament: Filament) -> Estimate | Creep:
    """What one calibration gives; Poisson's ratio and density are the filament's."""
    if table.strip is not None:
        return _strip_result(*strip_of(table.strip, filament, table))
    if table.ring is not None:
        return _ring(table.ring, filament, table)
    if table.resonance is not None:
        return _resonance(table.resonance, table)
    if table.curve is not None:
        return _curve(table.curve, table)
    if table.update is not None:
        return _learnt(table.update, table)
    assert table.creep is not None
    return creep_slope(table.creep.times_s, [MM * w for w in table.creep.deflections_mm])


def strip_of(table: StripTable, filament: Filament, calibration: CalibrationTable) -> tuple[Strip, Loads]:
    """A strip and its readings in SI units."""
    strip = Strip(
        setup=table.setup, length_m=MM * table.length_mm, width_m=MM * table.width_mm, thickness_m=MM * table.thickness_mm,
        length_u_m=MM * table.length_u_mm, width_u_m=MM * table.width_u_mm, thickness_u_m=MM * table.thickness_u_mm,
        overhang_m=MM * table.overhang_mm, density_kg_m3=filament.density_kg_m3, poisson=filament.poisson, lines=calibration.lines,
    )  # fmt: skip
    loads = Loads(
        mass_kg=tuple(G * m for m in table.loads_g), deflection_m=tuple(MM * w for w in table.deflections_mm),
        deflection_u_m=MM * table.deflection_u_mm, mass_u=SHARE * table.load_u_percent,
    )  # fmt: skip
    return strip, loads


@functools.lru_cache(maxsize=256)
def _strip_result(strip: Strip, loads: Loads) -> Estimate:
    """Kept, because every look at the workshop's materials asks for it."""
    return strip_modulus(strip, loads)


def _ring(table: RingTable, filament: Filament, calibration: CalibrationTable) -> Estimate:
    strip = Strip(
        setup="fixed-free", length_m=MM * table.length_mm, width_m=MM * table.width_mm, thickness_m=MM * table.thickness_mm,
        length_u_m=MM * table.length_u_mm, thickness_u_m=MM * table.thickness_u_mm, density_kg_m3=filament.density_kg_m3,
        lines=calibration.lines,
    )  # fmt: skip
    ringing = Ringing(frequency_hz=table.frequency_hz, frequency_u=SHARE * table.frequency_u_percent,
                      density_u=SHARE * table.density_u_percent, fall=table.fall, cycles=table.cycles)  # fmt: skip
    return ring_modulus(strip, ringing)


def _resonance(table: ResonanceTable, calibration: CalibrationTable) -> Estimate:
    return resonance_modulus(Resonance(
        resonance_hz=table.resonance_hz, moving_mass_kg=G * table.moving_mass_g, predicted_n_m=1e3 * table.predicted_n_mm,
        reference_pa=MPA * table.reference_mpa, rest_n_m=1e3 * table.rest_n_mm, resonance_u=SHARE * table.resonance_u_percent,
        moving_mass_u=SHARE * table.moving_mass_u_percent, predicted_u=SHARE * table.predicted_u_percent,
        rest_u=SHARE * table.rest_u_percent, qms=table.qms, qms_u=SHARE * table.qms_u_percent, lines=calibration.lines,
    ))  # fmt: skip


def _learnt(table: UpdateTable, calibration: CalibrationTable) -> Estimate:
    return learnt_modulus(Learnt(
        assumed_pa=MPA * table.assumed_mpa, assumed_u=SHARE * table.assumed_u_percent, moved=table.moved_sd, moved_u=table.moved_u_sd,
        lines=calibration.lines,
    ))  # fmt: skip


def _curve(table: CurveTable, calibration: CalibrationTable) -> Estimate:
    scale = 1e3 if table.of == "stiffness" else 1.0
    if len(table.predicted_x_mm) != len(table.predicted):
        raise InputError("The predicted curve must have as many values as displacements", key="predicted",
                         found=f"{len(table.predicted_x_mm)} displacements, {len(table.predicted)} values")  # fmt: skip
    measured = scale * np.array(table.measured, float)
    spread = SHARE * table.measured_u_percent
    u = np.hypot(spread * measured, 0.3 * spread * np.abs(measured).max(initial=0.0)) if spread else None
    return curve_modulus(CurvePair(
        x_m=MM * np.array(table.x_mm, float), measured=measured, predicted_x_m=MM * np.array(table.predicted_x_mm, float),
        predicted=scale * np.array(table.predicted, float), reference_pa=MPA * table.reference_mpa, u=u,
        predicted_u=SHARE * table.predicted_u_percent, lines=calibration.lines,
    ))  # fmt: skip


@contextmanager
def _in_record(path: Path | None, place: int, table: CalibrationTable) -> Iterator[None]:
    """A fault in readings, with the file, key and line of the calibration it is in."""
    try:
        yield
    except InputError as fault:
        if path is None or fault.place.file is not None:
            raise
        keys = (
            "filament",
            "calibrations",
            place,
            table.method,
            *((fault.place.key,) if fault.place.key else ()),
        )
        line = line_of(text_of(read_whole(path), str(path)), keys) if path.exists() else None
        raise InputError(
            fault.message, file=str(path), key=dotted(keys), line=line,
            found=fault.found, allowed=fault.allowed, remedy=fault.remedy,
        ) from fault  # fmt: skip
