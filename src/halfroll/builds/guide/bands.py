"""What a good unit of a version reads: bands from its prediction and from the spread of its measured units."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from halfroll.builds.guide.expected import Expected, expected_of
from halfroll.builds.guide.predictive import OFF, Predictive, Prior, predictive
from halfroll.builds.guide.readings import Readings, readings_of
from halfroll.builds.types import Band
from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, part, silent
from halfroll.core.text import count, format_percent
from halfroll.core.verdicts import Severity, Verdict

if TYPE_CHECKING:
    from halfroll.driver.predicted.types import PredictedDriver
    from halfroll.workshop.store import Workshop

LEAST = 0.3
"""Share of the usual spread that units have at least, whatever the assumptions say: prints differ in more than is modelled (own choice)."""


@dataclass(frozen=True, kw_only=True)
class _Kind:
    """What there is to say of one key: `spread` the usual relative standard deviation of units where nothing else tells it (own choice,
    as `driver.predicted.entered.USUAL_U` has it), `wide` the ratio of high to low from which a band says little (own choice).
    """

    label: str
    unit: str
    spread: float
    wide: float


KINDS: dict[str, _Kind] = {
    "re_ohm": _Kind(label="DC resistance Re", unit="ohm", spread=0.01, wide=1.25),
    "fs_hz": _Kind(label="Resonance fs in free air", unit="Hz", spread=0.05, wide=1.5),
    "qms": _Kind(label="Qms", unit="", spread=0.1, wide=2.0),
    "qes": _Kind(label="Qes", unit="", spread=0.05, wide=1.7),
    "qts": _Kind(label="Qts", unit="", spread=0.05, wide=1.7),
    "impedance_peak_ohm": _Kind(label="Impedance at resonance", unit="ohm", spread=0.08, wide=2.0),
    "moving_mass_g": _Kind(label="Moving mass without air", unit="g", spread=0.03, wide=1.3),
    "bl_n_per_a": _Kind(label="Force factor Bl", unit="N/A", spread=0.03, wide=1.3),
}  # fmt: skip

REST_LABEL, LEVEL_LABEL = "Height of the coil above its drawn place", "Level at 2.83 V, 1 m, half space"
LEVEL_SPREAD_DB = 0.3
"""Usual standard deviation of the level of units of a version where no assumption tells it (own choice)."""


def bands_of(
    workshop: Workshop, version_id: str, progress: Progress = silent, *, without: str = ""
) -> Mapping[str, Band]:
    """By key what a good unit of a version reads; see `builds.guide.predictive` for the interval.

    Keys: ``re_ohm``, ``fs_hz`` (free air), ``qms``, ``qes``, ``qts``, ``impedance_peak_ohm``, ``moving_mass_g`` (as weighed, without air),
    ``bl_n_per_a``, ``sensitivity_db`` (as predicted), ``rest_height_mm`` (the coil, drawn place 0). A key of which neither a model nor a
    unit tells anything is not there. Intervals are for the true value: whoever judges adds the reading's own uncertainty.

    Parameters
    ----------
    without
        Id of a unit that is to be judged and so does not count.

    Raises
    ------
    InputError
        There is no such version, or nothing is known of it; the message says what to add.
    CancelledError
        `progress` asked to stop.
    """
    predicted, source, fault = _model(workshop, version_id, part(progress, 0.0, 0.8))
    model = None if predicted is None else predicted.model
    units = readings_of(workshop, version_id, model=model, without=without, progress=part(progress, 0.8, 1.0))
    if predicted is None and not units:
        assert fault is not None
        raise fault
    expected = {} if predicted is None else expected_of(predicted)
    found = {}
    for key in KINDS:
        band = _band(key, expected.get(key), list(units.values()), source)
        if band is not None:
            found[key] = band
    if predicted is not None:
        found["sensitivity_db"] = _level(expected["sensitivity_db"], source)
    found["rest_height_mm"] = _rest(predicted)
    return found


def said_of(bands: Mapping[str, Band]) -> tuple[Verdict, ...]:
    """What must be said of bands: too wide to tell much, or units far from the prediction."""
    return tuple(one for band in bands.values() for one in band.verdicts)


def _model(
    workshop: Workshop, version_id: str, progress: Progress
) -> tuple[PredictedDriver | None, str, InputError | None]:
    """The version's model, where it comes from, and why there is none."""
    from halfroll.workshop.prediction import driver_model, has_design

    record = workshop.version(version_id).record
    source = "predicted" if has_design(record) else "entered" if record.parameters is not None else "measured"
    try:
        return driver_model(workshop, version_id, "auto", progress), source, None
    except InputError as fault:
        return None, "measured", fault


def _band(key: str, expected: Expected | None, units: list[Readings], source: str) -> Band | None:
    """One band, on a scale of logarithms, so that it never reaches zero."""
    kind = KINDS[key]
    read = [one[key] for one in units if key in one]
    if expected is not None and not expected.value > 0.0:
        expected = None
    if expected is None and not read:
        return None
    if source == "measured" and read:  # the model is made of these very units
        expected = None
    prior = _prior(expected, kind)
    found = predictive(prior, [math.log(value) for value, _ in read], [u / value for value, u in read])
    value = math.exp(found.middle)
    return Band(
        key=key, label=kind.label, unit=kind.unit, value=value, u_unit=value * found.u_unit, u_shared=value * found.u_shared,
        low=math.exp(found.low), high=math.exp(found.high), source=_source(source if expected is not None else "", len(read)), n_units=len(read),
        verdicts=_said(key, kind, found, expected, len(read)),
    )  # fmt: skip


def _prior(expected: Expected | None, kind: _Kind) -> Prior:
    if expected is None:
        return Prior(u_unit=kind.spread)
    unit = expected.u_unit / expected.value
    return Prior(
        middle=math.log(expected.value),
        u_shared=expected.u_shared / expected.value,
        u_unit=max(unit, LEAST * kind.spread) if unit > 1e-4 else kind.spread,
    )


def _source(source: str, units: int) -> str:
    told = {
        "predicted": "prediction",
        "entered": "entered parameters",
        "measured": "measured parameters",
    }.get(source, "")
    read = count(units, "unit") if units else ""
    return " and ".join(one for one in (told, read) if one)


def _said(
    key: str, kind: _Kind, found: Predictive, expected: Expected | None, units: int
) -> tuple[Verdict, ...]:
    said = []
    if math.exp(found.high - found.low) > kind.wide:
        said.append(Verdict(
            code="band-wide", severity=Severity.NOTE,
            text=f"{kind.label}: good units lie within {format_percent(math.exp(found.low - found.middle) - 1.0, sign=True)} to "
            f"{format_percent(math.exp(found.high - found.middle) - 1.0, sign=True)} of the middle. So wide a band lets many faults pass.",
            remedy="Measure three or more good units of this version: the band then follows them.", data={"key": key, "units": units},
        ))  # fmt: skip
    if found.off is not None and abs(found.off) > OFF and expected is not None:
        said.append(Verdict(
            code="units-off-prediction", severity=Severity.CAUTION,
            text=f"{kind.label}: the measured units lie {abs(found.off):.1f} standard uncertainties {'above' if found.off > 0 else 'below'} the "
            "prediction. The band follows the units alone.",
            remedy="See what the measurement says of the assumptions, with the update of this version.",
            data={"key": key, "off_sd": found.off, "predicted": expected.value, "units": units},
        ))  # fmt: skip
    return tuple(said)


def _level(expected: Expected, source: str) -> Band:
    found = predictive(
        Prior(middle=expected.value, u_shared=expected.u_shared, u_unit=expected.u_unit or LEVEL_SPREAD_DB)
    )
    return Band(key="sensitivity_db", label=LEVEL_LABEL, unit="dB", value=found.middle, u_unit=found.u_unit, u_shared=found.u_shared, low=found.low,
                high=found.high, source=_source(source, 0))  # fmt: skip


def _rest(predicted: PredictedDriver | None) -> Band:
    """How far off its drawn place a coil is glued with a jig; nothing of it is shared."""
    from halfroll.driver.predicted.levers import OFFSET_U_M

    told = () if predicted is None else predicted.assumptions
    u = 1e3 * next((one.u for one in told if one.key == "coil.offset"), OFFSET_U_M)
    found = predictive(Prior(middle=0.0, u_shared=0.0, u_unit=u))
    return Band(key="rest_height_mm", label=REST_LABEL, unit="mm", value=0.0, u_unit=found.u_unit, u_shared=0.0, low=found.low, high=found.high,
                source="glued with a jig, own choice")  # fmt: skip
