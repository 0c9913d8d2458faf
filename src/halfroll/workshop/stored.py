"""Readings as JSON for the index, short and quick to read: two thousand of them open a workshop."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Collection
from typing import Any, TypedDict, cast

from pydantic_core import from_json

from halfroll.core.conditions import Conditions, Space
from halfroll.core.verdicts import Verdict
from halfroll.figures.types import Reading, TakeReadings


class Identity(TypedDict):
    """Fields of the readings that come straight from the take's record."""

    take_id: str
    when: str
    rig: str
    excluded: str


_DEFAULTS = {f.name: f.default for f in dataclasses.fields(Reading)}


def readings_to_json(readings: TakeReadings) -> str:
    """All of a take's readings as JSON text."""
    values: dict[str, Any] = {f.name: getattr(readings, f.name) for f in dataclasses.fields(readings)}
    values["conditions"] = dict(vars(readings.conditions))
    values["readings"] = {key: _short(reading) for key, reading in readings.readings.items()}
    values["verdicts"] = [verdict.as_dict() for verdict in readings.verdicts]
    return json.dumps(values, default=float)  # numbers of NumPy become plain ones


def readings_from_json(
    text: str, identity: Identity, figures: Collection[str] | None = None
) -> TakeReadings | None:
    """The readings in JSON text; None when it is of another make.

    `identity` is what the take's record says by now; `figures` are the keys that are wanted, all when left out.
    """
    try:
        values = from_json(text)  # twice as fast as json.loads
        raw = values["conditions"]
        values["conditions"] = Conditions(**{**raw, "space": Space(raw["space"])})
        values["readings"] = {
            key: _full(reading)
            for key, reading in values["readings"].items()
            if figures is None or key in figures
        }
        values["verdicts"] = tuple(Verdict.from_dict(verdict) for verdict in values["verdicts"])
        plain: dict[str, Any] = {
            key: tuple(value) if isinstance(value, list) else value for key, value in values.items()
        }
        return TakeReadings(**{**plain, **cast(dict[str, Any], identity)})
    except (ValueError, KeyError, TypeError):
        return None


def _short(reading: Reading) -> dict[str, Any]:
    """What differs from an empty reading."""
    return {key: value for key, value in vars(reading).items() if value != _DEFAULTS[key]}


def _full(raw: dict[str, Any]) -> Reading:
    if "cautions" in raw:
        raw["cautions"] = tuple(raw["cautions"])
    if "shares" in raw:
        raw["shares"] = tuple((key, share) for key, share in raw["shares"])
    return Reading(**raw)
