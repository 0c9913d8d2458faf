"""How an address asks for a fit: model of the coil, creep, and range, checked; what is wrong stands under its field."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from halfroll.app.typed import number_or_text
from halfroll.measure.lumped.parameter_types import CoilModel, FitSettings

COILS = {
    "auto": "chosen by the criterion", "ideal": "ideal inductance", "lr2": "inductance with eddy-current branch",
    "semi": "semi-inductance",
}  # fmt: skip
CREEPS = {"auto": "chosen by the criterion", "yes": "creeps", "no": "does not creep"}
KEYS = ("coil", "creep", "low", "high")

_COIL: dict[str, CoilModel | Literal["auto"]] = {
    "auto": "auto",
    "ideal": "ideal",
    "lr2": "lr2",
    "semi": "semi",
}
_CREEP: dict[str, bool | Literal["auto"]] = {"auto": "auto", "yes": True, "no": False}


@dataclass(frozen=True, kw_only=True)
class FitAsked:
    """The settings asked for, what stands in the fields, and what is wrong by field."""

    settings: FitSettings
    typed: dict[str, str]
    errors: dict[str, str] = field(default_factory=dict)

    @property
    def by_hand(self) -> bool:
        """Whether anything but the default was asked for."""
        return self.settings != FitSettings()


def read(query: Mapping[str, str]) -> FitAsked:
    """What an address asks for; a value that is wrong is left at its default and said."""
    typed: dict[str, Any] = {"coil": "auto", "creep": "auto", "low": "", "high": ""}
    typed |= {key: query[key].strip() for key in KEYS if query.get(key)}
    errors = {}
    for key, allowed in (("coil", _COIL), ("creep", _CREEP)):
        if typed[key] not in allowed:
            errors[key] = f"Must be one of {', '.join(allowed)}; found {typed[key]}."
    low, high = number_or_text(typed["low"]), number_or_text(typed["high"])
    band = None
    if low is not None or high is not None:
        if (
            isinstance(low, str)
            or isinstance(high, str)
            or low is None
            or high is None
            or not 0.0 < low < high
        ):
            errors["low"] = "The range needs two ascending frequencies above 0 Hz."
        else:
            band = (float(low), float(high))
    settings = FitSettings(
        coil=_COIL.get(typed["coil"], "auto"), creep=_CREEP.get(typed["creep"], "auto"), band_hz=band
    )
    return FitAsked(settings=settings, typed=typed, errors=errors)
