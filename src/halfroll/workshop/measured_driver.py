"""What was measured of a version, as observations to hold against its prediction: impedance, level, distortion, and what was weighed.

The units of a version are taken together: the mean over them, with the scatter among them as uncertainty beside each unit's own.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from halfroll.core.conditions import Space
from halfroll.core.errors import InputError
from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.core.progress import Progress, part, silent
from halfroll.driver.update.types import NEPER_DB, Observation, ValueName
from halfroll.workshop.contents import Contents, read_contents
from halfroll.workshop.fitted import UnitParameters
from halfroll.workshop.levels import SWEEPS, unit_levels
from halfroll.workshop.parameters import WEIGHED_U, unit_parameters

if TYPE_CHECKING:
    from halfroll.measure.stepped.level_series import LevelSeries
    from halfroll.workshop.store import Workshop

IMPEDANCE_U = 0.012
"""Relative standard uncertainty with which a lumped model meets a real curve at one point (own choice): what the mounting, the room and
the first flexing of the surround do to it."""

COIL_U = 0.3
"""Relative standard uncertainty of the coil's inductance and eddy currents beside that of the assumptions (own choice): the steel's
permeability at small signals is no datum of the trade. So the rise above resonance tells little, and pulls at nothing else."""

IMPEDANCE_TO_HZ = 2000.0
A_OCTAVE = 8
"""Points an octave of an impedance curve; nearer ones share their misfit and say nothing new (own choice)."""

LEVEL_U_DB = 0.4
"""Standard uncertainty of a level at one frequency beside its noise: baffle, room, ripple of the surround (own choice)."""

PISTON_KA = 0.7
"""Levels are used up to this k a: the axis is 0.0 dB from a piston's far field there, a real cone still moves as one."""

THD_U_DB = 2.0
"""Standard uncertainty of a predicted distortion beside that of the assumptions (own choice): hysteresis, creep and warm-up are not in it."""

RE_U = 0.005
"""Relative standard uncertainty of a resistance noted without one (two-wire meter, common practice)."""

THIRD_OCTAVES = np.array([
    40.0, 50.0, 63.0, 80.0, 100.0, 125.0, 160.0, 200.0, 250.0, 315.0, 400.0, 500.0, 630.0, 800.0, 1000.0, 1250.0, 1600.0, 2000.0,
])  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class MeasuredDriver:
    """Observations of a version; `units` they came from; `missing` what was not measured, and why something was left out."""

    version_id: str
    observations: tuple[Observation, ...]
    units: tuple[str, ...]
    missing: tuple[str, ...] = ()


def measured_driver(
    workshop: Workshop,
    version_id: str,
    *,
    radius_m: float,
    resonance_hz: float,
    highest_hz: float = math.inf,
    unit: str | None = None,
    progress: Progress = silent,
) -> MeasuredDriver:
    """Everything measured of a version that its prediction says something about.

    Parameters
    ----------
    radius_m, resonance_hz, highest_hz
        Of the predicted driver, for the range in which its level is a piston's: from twice the resonance to `PISTON_KA`, and not
        beyond `highest_hz`, where the cone breaks up.
    unit
        Name of one unit; None: all of them together.

    Raises
    ------
    InputError
        There is no such version or unit, or nothing of the kind was measured; says what to measure.
    """
    workshop.existing(version_id, "version")
    if unit is not None:
        workshop.existing(f"{version_id}/{unit}", "unit")
    contents = read_contents(workshop.folder, workshop.index)
    ids = [one for one in workshop.unit_ids(version_id) if unit is None or one == f"{version_id}/{unit}"]
    fitted, levels = [], []
    for number, id_ in enumerate(ids):
        told = part(progress, number / len(ids), (number + 1) / len(ids))
        fitted.append(unit_parameters(workshop, id_, contents=contents, progress=part(told, 0.0, 0.3)))
        levels.append(_series(workshop, id_, part(told, 0.3, 1.0)))
    top = min(PISTON_KA * 343.0 / (2.0 * np.pi * radius_m), 0.8 * highest_hz)
    band = workshop.settings.distortion_band_hz
    found, missing = _impedance(fitted)
    for more, why in (
        _weighed(contents, ids),
        _by_mass(fitted),
        _levels(levels, 2.0 * resonance_hz, top, workshop.settings.level_w),
        _distortion(levels, band, workshop.settings.level_w),
    ):
        found += more
        missing += why
    if not any(one.counted for one in found):
        raise InputError(
            f"Nothing was measured of {version_id} that its prediction can be held against", found=" ".join(missing),
            remedy="Record a take in a baffle, or import an impedance curve",
        )  # fmt: skip
    return MeasuredDriver(
        version_id=version_id, observations=tuple(found), units=tuple(ids), missing=tuple(missing)
    )


def _impedance(fitted: Sequence[UnitParameters]) -> tuple[list[Observation], list[str]]:
    """The curves of the driver alone, and the resonance and Q fitted to them, which are only shown."""
    runs = [one.free for one in fitted if one.free is not None and one.free.curve is not None]
    if not runs:
        return [], ["No impedance of the driver alone was measured."]
    curves = [run.curve for run in runs if run.curve is not None]
    low = max(10.0, *(float(one.frequency_hz[0]) for one in curves))
    high = min(IMPEDANCE_TO_HZ, *(float(one.frequency_hz[-1]) for one in curves))
    grid = np.geomspace(low, high, max(3, round(A_OCTAVE * math.log2(high / low)) + 1))
    logs = np.array([_log_at(grid, one.frequency_hz, one.impedance_ohm) for one in curves])
    known = all(one.phase_known for one in curves)
    spread = _scatter(logs if known else logs.real)
    mean = np.exp(logs.mean(axis=0))
    free_air = any(run.record.mounting != "baffle" for run in runs)
    found = [Observation(
        kind="impedance" if known else "modulus", label="Impedance", values=mean if known else np.abs(mean), u=np.hypot(IMPEDANCE_U, spread),
        frequency_hz=grid, scales=(("current scale", max(run.scale_u for run in runs)),), free_air=free_air,
        source=f"{len(runs)} impedance run{'s' if len(runs) > 1 else ''}",
    )]  # fmt: skip
    for name, label in (("fs_hz", "Resonance fs"), ("qms", "Qms"), ("qes", "Qes")):
        fits = [run.fit.estimates for run in runs if run.fit is not None and name in run.fit.estimates]
        if fits:
            values = np.array([one.value(name) for one in fits])
            u = float(np.mean([one.u(name) for one in fits]) / values.mean())
            found.append(_single(name, label, values, max(u, 0.002), free_air=free_air, counted=False))  # type: ignore[arg-type]
    return found, []


def _log_at(grid: FloatArray, frequency_hz: FloatArray, impedance: ComplexArray) -> ComplexArray:
    """Complex logarithm of an impedance at other frequencies, the points between them averaged."""
    at, phase = np.log(frequency_hz), np.unwrap(np.angle(impedance))
    edges = np.sqrt(grid[1:] * grid[:-1])
    group = np.searchsorted(edges, frequency_hz)
    inside = (frequency_hz >= grid[0]) & (frequency_hz <= grid[-1])
    found = np.interp(np.log(grid), at, np.log(np.abs(impedance))) + 1j * np.interp(np.log(grid), at, phase)
    for number in range(len(grid)):
        here = inside & (group == number)
        if np.count_nonzero(here) > 3:  # a straight line through the points around it, read in the middle
            x = at[here] - np.log(grid[number])
            order = 2 if np.count_nonzero(here) > 5 else 1
            found[number] = np.polyfit(x, np.log(np.abs(impedance[here])), order)[-1] + 1j * np.polyfit(x, phase[here], order)[-1]  # fmt: skip
    return np.asarray(found)


def _scatter(values: ComplexArray | FloatArray) -> FloatArray:
    """Standard uncertainty of the mean over units (n,): their scatter, of two units and fewer not less than over neighbours."""
    if len(values) < 2:
        return np.zeros(values.shape[1])
    around = np.abs(values - values.mean(axis=0)) ** 2
    variance = around.sum(axis=0) / (len(values) - 1) / (2.0 if np.iscomplexobj(values) else 1.0)
    smooth = np.convolve(np.pad(variance, 2, mode="edge"), np.full(5, 0.2), mode="valid")
    return np.asarray(np.sqrt(np.maximum(variance, smooth) / len(values)))


def _single(
    name: ValueName, label: str, values: FloatArray, u: float, *, free_air: bool = False, counted: bool = True, source: str = ""
) -> Observation:  # fmt: skip
    """One value from as many units as there are."""
    scatter = float(values.std(ddof=1) / math.sqrt(len(values)) / values.mean()) if len(values) > 1 else 0.0
    return Observation(
        kind="value", name=name, label=label, values=np.array([values.mean()]), u=np.array([math.hypot(u, scatter)]),
        free_air=free_air, counted=counted, source=source or f"{len(values)} unit{'s' if len(values) > 1 else ''}",
    )  # fmt: skip


def _weighed(contents: Contents, ids: Sequence[str]) -> tuple[list[Observation], list[str]]:
    """What the units' records say of resistance and moving mass."""
    units = [contents.units[id_] for id_ in ids if id_ in contents.units]
    found, missing = [], []
    noted = [(one.re_ohm, one.re_u_ohm or RE_U * one.re_ohm) for one in units if one.re_ohm is not None]
    if noted:
        found.append(_of_notes("re_ohm", "DC resistance by a meter", noted))
    weighed = [
        (1e-3 * one.moving_mass_g, 1e-3 * (one.moving_mass_u_g or WEIGHED_U * one.moving_mass_g))
        for one in units
        if one.moving_mass_g is not None
    ]
    if weighed:
        found.append(_of_notes("moving_mass_kg", "Weighed moving mass", weighed))
    else:
        missing.append("The moving parts were not weighed.")
    return found, missing


def _of_notes(name: ValueName, label: str, noted: Sequence[tuple[float, float]]) -> Observation:
    values = np.array([value for value, _ in noted])
    return _single(name, label, values, max(u / value for value, u in noted))


def _by_mass(fitted: Sequence[UnitParameters]) -> tuple[list[Observation], list[str]]:
    """The moving mass by added mass or known volume; that by weighing is there already."""
    found = []
    for one in fitted:
        if one.parameters is None or one.free is None:
            continue
        methods = [m for m in one.parameters.methods if m.method != "weighed mass"]
        found += [
            (m.estimates.value("mms_kg"), m.estimates.u("mms_kg"), one.free.record.mounting != "baffle")
            for m in methods[:1]
        ]
    if not found:
        return [], []
    values = np.array([value for value, _, _ in found])
    u = max(u / value for value, u, _ in found)
    return [
        _single(
            "mms_kg",
            "Moving mass Mms by added mass or box",
            values,
            u,
            free_air=any(loose for _, _, loose in found),
        )
    ], []


def _series(workshop: Workshop, unit_id: str, progress: Progress) -> LevelSeries | None:
    """A unit's takes in a large baffle, as level and distortion over frequency; None where there are none."""
    contents = read_contents(workshop.folder, workshop.index)
    if not any(
        contents.takes[id_].space == Space.HALF for id_ in workshop.take_ids(unit_id) if id_ in contents.takes
    ):
        return None
    found = unit_levels(workshop, unit_id, progress=progress).series.get(SWEEPS)
    return found if found is not None and found.conditions.space == Space.HALF else None


def _levels(
    series: Sequence[LevelSeries | None], low_hz: float, high_hz: float, level_w: float
) -> tuple[list[Observation], list[str]]:
    picked = [(one, _nearest(one, level_w)) for one in series if one is not None]
    if not picked:
        return [], ["No take in a large baffle tells level or distortion."]
    at = THIRD_OCTAVES[(low_hz <= THIRD_OCTAVES) & (high_hz >= THIRD_OCTAVES)]
    volts = [float(one.level_v[row]) for one, row in picked]
    drive = math.exp(np.mean(np.log(volts)))
    rows = np.array([
        _interpolated(at, one.frequency_hz, one.spl_db[row]) + 20.0 * math.log10(drive / v)
        for (one, row), v in zip(picked, volts, strict=True)
    ])  # fmt: skip
    good = np.isfinite(rows).all(axis=0) if at.size else np.zeros(0, dtype=bool)
    if not good.any():
        return [], ["No calibrated level lies in the range where the driver is a piston."]
    at, rows = at[good], rows[:, good]
    first = picked[0][0]
    return [Observation(
        kind="level", label="Level at 1 m", values=rows.mean(axis=0), u=np.hypot(LEVEL_U_DB, _scatter(rows)), frequency_hz=at, drive_v=drive,
        scales=(("microphone scale", max(first.microphone_u_db, 1e-3) / NEPER_DB), ("voltage scale", max(first.voltage_u_db, 1e-3) / NEPER_DB)),
        source=f"takes of {len(picked)} unit{'s' if len(picked) > 1 else ''}",
    )], []  # fmt: skip


def _distortion(
    series: Sequence[LevelSeries | None], band_hz: tuple[float, float], level_w: float
) -> tuple[list[Observation], list[str]]:
    picked = [(one, _nearest(one, level_w)) for one in series if one is not None]
    at = THIRD_OCTAVES[(band_hz[0] <= THIRD_OCTAVES) & (band_hz[1] >= THIRD_OCTAVES)][::2]
    if not picked or not at.size:
        return [], []
    ratios = np.array([
        _interpolated(at, one.frequency_hz, np.where(one.is_bound[row], np.nan, np.log(one.thd[row]))) for one, row in picked
    ])  # fmt: skip
    good = np.isfinite(ratios).all(axis=0)
    if not good.any():
        return [], ["Distortion in the bass is hidden by noise."]
    drive = math.exp(np.mean([np.log(float(one.level_v[row])) for one, row in picked]))
    ratios = ratios[:, good]
    return [Observation(
        kind="distortion", label="THD", values=np.exp(ratios.mean(axis=0)), u=np.hypot(THD_U_DB, NEPER_DB * _scatter(ratios)),
        frequency_hz=at[good], drive_v=drive, source=f"takes of {len(picked)} unit{'s' if len(picked) > 1 else ''}",
    )], []  # fmt: skip


def _nearest(one: LevelSeries, level_w: float) -> int:
    """The row whose drive is nearest to the level of the figures."""
    rated = one.conditions.rated_impedance_ohm or 8.0
    return int(np.argmin(np.abs(np.log(one.level_v / math.sqrt(level_w * rated)))))


def _interpolated(at: FloatArray, frequency_hz: FloatArray, values: FloatArray) -> FloatArray:
    """Values over the logarithm of frequency, the mean over a third of an octave; NaN where nothing was measured."""
    found = np.full(len(at), np.nan)
    for number, hz in enumerate(at):
        here = (frequency_hz > hz / 2 ** (1 / 6)) & (frequency_hz < hz * 2 ** (1 / 6)) & np.isfinite(values)
        if here.any():
            found[number] = values[here].mean()
    return found
