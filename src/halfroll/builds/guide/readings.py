"""What was read of the units of a version, in the keys of the bands, as if each hung in free air."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING

from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, part, silent
from halfroll.workshop.contents import Contents, read_contents
from halfroll.workshop.measured_driver import RE_U
from halfroll.workshop.parameters import WEIGHED_U, unit_parameters

if TYPE_CHECKING:
    from halfroll.driver.lumped import DriverModel
    from halfroll.workshop.fitted import UnitParameters
    from halfroll.workshop.records import UnitRecord
    from halfroll.workshop.store import Workshop

Readings = Mapping[str, tuple[float, float]]
"""Value and standard uncertainty by the key of a band."""

FIT_U = {
    "fs_hz": 0.002,
    "qms": 0.02,
    "qes": 0.02,
    "qts": 0.02,
    "impedance_peak_ohm": 0.02,
    "re_ohm": RE_U,
    "bl_n_per_a": 0.005,
}
"""Least relative standard uncertainty of a value from one impedance curve: temperature, warm-up and mounting are in no fit (own choice)."""


def readings_of(
    workshop: Workshop,
    version_id: str,
    *,
    model: DriverModel | None = None,
    without: str = "",
    progress: Progress = silent,
) -> dict[str, Readings]:
    """By unit id what was read of it; a unit with no reading, one known as faulty and the one `without` are left out.

    Parameters
    ----------
    model
        The version's driver, whose air load and mass turn what was read in a baffle into free air; None: taken as it is.
    without
        Id of a unit that does not count, such as the one that is judged.

    Raises
    ------
    InputError
        There is no such version.
    """
    workshop.existing(version_id, "version")
    contents = read_contents(workshop.folder, workshop.index)
    ids = [
        one
        for one in workshop.unit_ids(version_id)
        if one != without and one in contents.units and not contents.units[one].faulty
    ]
    found = {}
    for number, unit_id in enumerate(ids):
        told = part(progress, number / len(ids), (number + 1) / len(ids))
        mine = unit_readings(workshop, unit_id, contents, model, told)
        if mine:
            found[unit_id] = mine
    return found


def unit_readings(
    workshop: Workshop,
    unit_id: str,
    contents: Contents,
    model: DriverModel | None = None,
    progress: Progress = silent,
) -> Readings:
    """What was read of one unit: by meter and scale as its record says, the rest from its impedance curve."""
    return {**fit_readings(workshop, unit_id, contents, model, progress), **noted(contents.units[unit_id])}


def fit_readings(
    workshop: Workshop,
    unit_id: str,
    contents: Contents,
    model: DriverModel | None = None,
    progress: Progress = silent,
) -> Readings:
    """What a unit's impedance curve of the driver alone tells; nothing where there is none."""
    if not contents.runs_below(unit_id, "impedance"):
        return {}
    try:
        return _of_fit(unit_parameters(workshop, unit_id, contents=contents, progress=progress), model)
    except InputError:  # its own page says what is wrong
        return {}


def noted(record: UnitRecord) -> Readings:
    """Resistance and moving mass as noted in a unit's record."""
    found = {}
    if record.re_ohm is not None:
        found["re_ohm"] = (record.re_ohm, record.re_u_ohm or RE_U * record.re_ohm)
    if record.moving_mass_g is not None:
        found["moving_mass_g"] = (
            record.moving_mass_g,
            record.moving_mass_u_g or WEIGHED_U * record.moving_mass_g,
        )
    return found


def _of_fit(fitted: UnitParameters, model: DriverModel | None) -> Readings:
    """Values of the run of the driver alone, and Bl and the mass where an added mass or a box tells them."""
    run = fitted.free
    if run is None or run.fit is None:
        return {}
    estimates = run.fit.estimates
    heavier = 1.0 if model is None or run.record.mounting != "baffle" else _baffle_over_free(model)
    times = {
        "fs_hz": math.sqrt(heavier),
        "qms": 1.0 / math.sqrt(heavier),
        "qes": 1.0 / math.sqrt(heavier),
        "qts": 1.0 / math.sqrt(heavier),
    }
    found = {
        name: (times.get(name, 1.0) * estimates.value(name), times.get(name, 1.0) * estimates.u(name))
        for name in ("re_ohm", "fs_hz", "qms", "qes", "qts")
        if name in estimates
    }
    if {"re_ohm", "qms", "qes"} <= found.keys():
        ratio = found["qms"][0] / found["qes"][0]
        u = math.hypot(*(found[name][1] / found[name][0] for name in ("qms", "qes"))) * ratio / (1.0 + ratio)
        found["impedance_peak_ohm"] = (
            found["re_ohm"][0] * (1.0 + ratio),
            found["re_ohm"][0] * (1.0 + ratio) * u,
        )
    parameters = fitted.parameters
    if parameters is not None and "bl_n_per_a" in parameters.estimates:
        found["bl_n_per_a"] = (parameters.estimates.value("bl_n_per_a"), parameters.estimates.u("bl_n_per_a"))
    return {name: (value, max(u, FIT_U[name] * value)) for name, (value, u) in found.items()}


def _baffle_over_free(model: DriverModel) -> float:
    """Moving mass in a baffle over that in free air."""
    from halfroll.builds.guide.expected import free_air

    return model.Mms / free_air(model).Mms
