"""What is known of a version's driver without its design: entered in ``[parameters]``, or measured on its units."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from halfroll.acoustics.radiation import air_mass
from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, silent
from halfroll.driver.predicted.entered import USUAL_U, Known, Stated, StatedCurves
from halfroll.workshop.files import read_whole
from halfroll.workshop.parameters_record import ParametersTable
from halfroll.workshop.records import VersionRecord
from halfroll.workshop.suspension_measured import FREE_AIR_LOAD, mean_of, measured_of

if TYPE_CHECKING:
    from pathlib import Path

    from halfroll.workshop.store import Workshop

_KEYS: dict[str, tuple[str, str, float]] = {
    "re_ohm": ("re_ohm", "re_u_ohm", 1.0), "bl_n_per_a": ("bl_n_per_a", "bl_u_n_per_a", 1.0), "qes": ("qes", "qes_u", 1.0),
    "mms_kg": ("mms_g", "mms_u_g", 1e-3), "cms_m_per_n": ("cms_mm_per_n", "cms_u_mm_per_n", 1e-3), "vas_m3": ("vas_l", "vas_u_l", 1e-3),
    "fs_hz": ("fs_hz", "fs_u_hz", 1.0), "rms_ns_per_m": ("rms_ns_per_m", "rms_u_ns_per_m", 1.0), "qms": ("qms", "qms_u", 1.0),
    "le_h": ("le_mh", "le_u_mh", 1e-3), "l2_h": ("l2_mh", "", 1e-3), "r2_ohm": ("r2_ohm", "", 1.0), "creep": ("creep", "", 1.0),
}  # fmt: skip
"""Of each value its key in the record, that of its uncertainty, and its unit there in SI."""

_PLACES = {key: f"parameters.{name}" for key, (name, _, _) in _KEYS.items()} | {"sd_m2": "effective_area_cm2"}

_HEAD = {"x_mm": 1e-3, "bl_n_per_a": 1.0, "kms_n_per_mm": 1e3, "le_mh": 1e-3}


def entered_of(record: VersionRecord, folder: Path) -> Stated | None:
    """What ``[parameters]`` says; None without it.

    Raises
    ------
    InputError
        An uncertainty is larger than its value, or the file of curves cannot be read.
    """
    table = record.parameters
    if table is None:
        return None
    values = {}
    for key, (name, u_name, unit) in _KEYS.items():
        value = getattr(table, name)
        if value is not None and value > 0.0:
            u = getattr(table, u_name) if u_name else None
            if u is not None and u > value:
                raise InputError("A standard uncertainty must not be larger than its value", key=f"parameters.{u_name}", found=f"{u:g}",
                                 allowed=f"up to {value:g}")  # fmt: skip
            values[key] = Known(value=unit * value, u=None if u is None else unit * u)
    area = _area(record)
    if area is not None:
        values["sd_m2"] = area
    travel = None if table.travel_mm is None else 1e-3 * table.travel_mm
    return Stated(values=values, curves=_curves(table, folder), travel_m=travel, where=table.source or "entered by hand", keys=_PLACES)  # fmt: skip


def _area(record: VersionRecord) -> Known | None:
    if record.effective_area_cm2 is None:
        return None
    u = 1e-4 * record.effective_area_u_cm2 or None
    return Known(value=1e-4 * record.effective_area_cm2, u=u)


def _curves(table: ParametersTable, folder: Path) -> StatedCurves | None:
    """The file of curves beside the record."""
    if table.curves is None:
        return None
    from halfroll.workshop.number_table import read_number_table, text_of

    path = folder / table.curves
    found = read_number_table(text_of(read_whole(path), str(path)), str(path))
    head = [name.strip().lower() for name in found.head]
    unknown = [name for name in head if name not in _HEAD]
    if "x_mm" not in head or len(head) < 2 or unknown:
        raise InputError("Columns of the curves must be named with their units", file=str(path), line=found.head_line,
                         found=", ".join(found.head), allowed="x_mm and one or more of bl_n_per_a, kms_n_per_mm, le_mh")  # fmt: skip
    columns = {name: _HEAD[name] * found.values[:, n] for n, name in enumerate(head)}
    order = np.argsort(columns["x_mm"])
    told = {name: values[order] for name, values in columns.items()}
    return StatedCurves(
        x_m=told["x_mm"],
        bl=told.get("bl_n_per_a"),
        kms_n_per_m=told.get("kms_n_per_mm"),
        le_h=told.get("le_mh"),
    )


def measured_stated(
    workshop: Workshop, version_id: str, record: VersionRecord, progress: Progress = silent
) -> Stated | None:
    """What the impedances of a version's units say, as a driver in an infinite baffle; None where none was measured.

    A driver measured in free air moves half the air it moves in a baffle (H. Lamb, "Hydrodynamics"); the other half is added.
    """
    found = measured_of(workshop, version_id, progress)
    if found is None:
        return None
    values = {name: Known(value=one.value, u=one.u) for name, one in found.values.items()}
    area = _area(record)
    if area is not None:
        values["sd_m2"] = area
    if "mms_kg" in values and "cms_m_per_n" in values:
        values.pop("fs_hz", None)  # it follows
        if area is not None and not found.in_baffle:
            added = (1.0 - FREE_AIR_LOAD) * air_mass(math.sqrt(area.value / math.pi))
            mass = values["mms_kg"]
            values["mms_kg"] = Known(value=mass.value + added, u=mass.u)
    values |= _coil(workshop, version_id)
    travel = record.moving.travel_mm if record.moving is not None else None
    return Stated(values={key: one for key, one in values.items() if key in USUAL_U}, where="measured",
                  travel_m=None if travel is None else 1e-3 * travel)  # fmt: skip


def _coil(workshop: Workshop, version_id: str) -> dict[str, Known]:
    """The coil's model of the units' fits: L2 and R2, or a semi-inductance as the branches that come near it; and creep."""
    from halfroll.driver.predicted.eddy_fit import fit_rest
    from halfroll.workshop.contents import read_contents
    from halfroll.workshop.parameters import unit_parameters

    contents = read_contents(workshop.folder, workshop.index)
    ids = [unit for unit in workshop.unit_ids(version_id) if contents.runs_below(unit, "impedance")]
    units = [unit_parameters(workshop, unit, contents=contents) for unit in ids]
    values = {
        name: mean_of(units, name) for name in ("le_h", "l2_h", "r2_ohm", "semi_k", "semi_n", "creep_lambda")
    }
    found = {}
    if (k := values["semi_k"]) is not None and (n := values["semi_n"]) is not None and values["le_h"] is None:
        f = np.geomspace(200.0, 20_000.0, 12)
        le, branches, _ = fit_rest(
            f, np.asarray(k.value * (2j * np.pi * f) ** n.value, dtype=np.complex128), most=1
        )
        found["le_h"] = Known(value=le, u=0.1 * le)
        found["l2_h"], found["r2_ohm"] = (Known(value=v, u=0.1 * v) for v in branches[0])
    elif values["l2_h"] is not None and values["r2_ohm"] is not None:
        for name in ("l2_h", "r2_ohm"):
            one = values[name]
            assert one is not None
            found[name] = Known(value=one.value, u=one.u)
    creep = values["creep_lambda"]
    if creep is not None and creep.value > 0.0:
        found["creep"] = Known(value=creep.value, u=creep.u)
    return found
