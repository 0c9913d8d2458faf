"""What a comparison's address asks for: versions, base, level, bands, rule; read, checked and written back."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, get_args

from halfroll.app import address
from halfroll.core.errors import InputError, choose
from halfroll.core.text import format_band, format_stated
from halfroll.figures.rules import LIMIT_TEXT
from halfroll.figures.types import FigureSettings, LimitRule, Spread, ThdReference

BASES = {"parent": "each against its parent", "first": "the first in line", "best": "the best"}
RULES = {
    "effective": "effective range",
    "minus_10": "10 dB below the mean",
    "minus_6": "6 dB below the mean",
    "minus_3": "3 dB below the mean",
}
REFERENCES = {"total": "total pressure", "fundamental": "fundamental"}
SPREADS = {"own": "each version's own", "pooled": "one for all, pooled"}


@dataclass(frozen=True, kw_only=True)
class Asked:
    """A comparison as it stands in an address.

    Parameters
    ----------
    versions
        Version ids in the order of the address.
    base
        ``parent``, ``first``, ``best`` or a version's id.
    settings, spread
        How figures are read and combined.
    typed
        The values of the form's fields as they were typed, by key.
    errors
        What is wrong with a field, by key.
    """

    versions: tuple[str, ...]
    base: str
    settings: FigureSettings
    spread: Spread
    typed: dict[str, str]
    errors: dict[str, str]

    def query(self) -> str:
        """The same comparison as the part of an address after the question mark, every setting said."""
        return address.query(self.versions, base=self.base, spread=self.spread, **written(self.settings))


def written(settings: FigureSettings) -> dict[str, str]:
    """Settings as they are typed into the form."""
    return {
        "level": f"{settings.level_w:g}",
        "bass": _range(settings.distortion_band_hz),
        "band": _range(settings.sensitivity_band_hz),
        "rule": settings.limit_rule,
        "thd": settings.thd_reference,
    }


def read(parameters: Sequence[tuple[str, str]], usual: FigureSettings) -> Asked:
    """What an address asks for; what it leaves out is as `usual`. What is wrong is noted, not raised."""
    given = {key: value.strip() for key, value in parameters}
    versions = tuple(dict.fromkeys(value for key, value in parameters if key == "v"))
    typed = {
        **written(usual),
        "base": "parent",
        "spread": "own",
        **{k: v for k, v in given.items() if v and k != "v"},
    }
    settings, errors = usual, {}
    for key, parse in _PARSERS.items():
        try:
            settings = replace(settings, **parse(typed[key]))
        except InputError as error:
            errors[key] = f"{error.message}; found {error.found}."
    spread: Spread = "pooled" if typed["spread"] == "pooled" else "own"
    base = typed["base"]
    if base not in BASES and base not in versions:
        errors["base"] = f"The base must be one of the versions compared; found {base}."
    return Asked(versions=versions, base=base, settings=settings, spread=spread, typed=typed, errors=errors)


def in_words(settings: FigureSettings) -> str:
    """Settings on one line."""
    limit = LIMIT_TEXT[settings.limit_rule].format(sensitivity_band=format_band(settings.sensitivity_band_hz))
    return (
        f"{format_stated(settings.level_w, 'W')} into the rated impedance, distortion over "
        f"{format_band(settings.distortion_band_hz)}, limits {limit}"
    )


def _range(band_hz: tuple[float, float]) -> str:
    return f"{band_hz[0]:g}-{band_hz[1]:g}"


def _level(text: str) -> Mapping[str, Any]:
    level = _number(text)
    if level is None or not 0 < level <= 10_000:
        raise InputError("The level must be a power above 0 W, at most 10000 W", found=repr(text))
    return {"level_w": level}


def _band(field: str, name: str) -> Any:
    def parse(text: str) -> Mapping[str, Any]:
        ends = [_number(part) for part in text.replace("–", "-").replace(" to ", "-").split("-")]
        if len(ends) != 2 or ends[0] is None or ends[1] is None or not 0 < ends[0] < ends[1] <= 100_000:
            raise InputError(
                f"The {name} must be two ascending frequencies, such as 40-150", found=repr(text)
            )
        return {field: (ends[0], ends[1])}

    return parse


def _word(field: str, name: str, words: Any) -> Any:
    return lambda text: {field: choose(text, get_args(words), field=name)}


def _number(text: str) -> float | None:
    try:
        value = float(text.strip().replace(",", "."))
    except ValueError:
        return None
    return value if math.isfinite(value) else None


_PARSERS = {
    "level": _level,
    "bass": _band("distortion_band_hz", "distortion band"),
    "band": _band("sensitivity_band_hz", "sensitivity band"),
    "rule": _word("limit_rule", "The rule of the limits", LimitRule),
    "thd": _word("thd_reference", "The reference of THD", ThdReference),
}
