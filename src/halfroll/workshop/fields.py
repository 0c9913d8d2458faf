"""What the values in a record file may be: types, ranges, and the base of every record."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Any, ClassVar, Literal, NoReturn, Self

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field
from pydantic_core import PydanticCustomError

from halfroll.core.conditions import Space
from halfroll.core.money import is_currency, near
from halfroll.measure.analysis.gate import LONGEST_GATE_S, SHORTEST_GATE_S
from halfroll.measure.recording import Role

LIGHTEST_G, HEAVIEST_G = 0.05, 1000.0
SMALLEST_L, LARGEST_L = 0.05, 2000.0
SMALLEST_CM2, LARGEST_CM2 = 0.1, 10_000.0
LEAST_QUANTITY, MOST_AMOUNT = 1e-6, 1e9
"""Bounds of money, pieces, metres, grams and hours, the lower one of what is divided by; what is outside is a slip, and would not stay a number."""

FORMAT: Literal[1] = 1
"""Format of the records this code writes, and the only one there has been."""


class Table(BaseModel):
    """A table of a record file: frozen, keeps unknown keys, takes nothing for what it is not."""

    kind: ClassVar[str] = "table"

    model_config = ConfigDict(extra="allow", frozen=True, strict=True, allow_inf_nan=False)

    def changed(self, **changes: Any) -> Self:
        """A copy with some keys changed, checked again."""
        return type(self).model_validate({**dict(self), **changes})


class Record(Table):
    """A whole record file."""

    format: Literal[1] = FORMAT


def _date(value: object) -> object:
    """Let a date stand in quotes too."""
    try:
        return dt.date.fromisoformat(value) if isinstance(value, str) else value
    except ValueError:
        return value


def _moment(value: object) -> object:
    """Let a date and time stand in quotes too."""
    try:
        return dt.datetime.fromisoformat(value) if isinstance(value, str) else value
    except ValueError:
        return value


def _fixed_offset(value: dt.datetime) -> dt.datetime:
    """The same moment with a plain offset in whole minutes, which is all TOML can say of a time zone."""
    offset = value.utcoffset()
    if offset is None:
        return value
    minutes = dt.timedelta(minutes=round(offset.total_seconds() / 60))
    return value.astimezone(dt.timezone(minutes))


def _file_name(value: str) -> str:
    if not value or value in (".", "..") or any(c in value for c in "/\\:\0"):
        raise PydanticCustomError("halfroll", "must be the plain name of a file in the same folder")
    return value


def _gate(value: object) -> object:
    number = (
        isinstance(value, int | float)
        and not isinstance(value, bool)
        and 1e3 * SHORTEST_GATE_S <= value <= 1e3 * LONGEST_GATE_S
    )
    if number or value in ("auto", "none"):
        return value
    raise PydanticCustomError("halfroll", 'must be "auto", "none" or a number from 0.5 to 1000 (ms)')


def _band(value: tuple[float, float]) -> tuple[float, float]:
    if not 0 < value[0] < value[1]:
        raise PydanticCustomError("halfroll", "must be two ascending frequencies above 0 Hz")
    return value


def _amount(value: float) -> float:
    if value > MOST_AMOUNT:
        raise PydanticCustomError("halfroll", "must be 1000000000 at most")
    return value


def _quantity(value: float) -> float:
    if not LEAST_QUANTITY <= value <= MOST_AMOUNT:
        raise PydanticCustomError("halfroll", "must be 0.000001 to 1000000000")
    return value


def _in_range(value: float, low: float, high: float, units: tuple[str, str, str]) -> float:
    """Return a value in its range, else say which other unit it probably was typed in, a thousand times larger or smaller."""
    if low <= value <= high:
        return value
    unit, larger, smaller = units
    other, right = (larger, 1e3 * value) if value < low else (smaller, 1e-3 * value)
    hint = f"; if {value:g} is in {other}, write {right:g}" if low <= right <= high else ""
    raise PydanticCustomError("halfroll", "{rule}", {"rule": f"must be {low:g} to {high:g} {unit}{hint}"})


def _mass(value: float) -> float:
    """Grams that can move with a cone or be stuck to it."""
    return _in_range(value, LIGHTEST_G, HEAVIEST_G, ("g", "kilograms", "milligrams"))


def _volume(value: float) -> float:
    """Litres that can be the volume of a box."""
    return _in_range(value, SMALLEST_L, LARGEST_L, ("l", "cubic metres", "millilitres"))


def _area(value: float) -> float:
    """Square centimetres that can be the effective area of a cone."""
    if SMALLEST_CM2 <= value <= LARGEST_CM2:
        return value
    in_cm2 = 1e4 * value
    hint = (
        f"; if {value:g} is in square metres, write {in_cm2:g}"
        if SMALLEST_CM2 <= in_cm2 <= LARGEST_CM2
        else ""
    )
    rule = f"must be {SMALLEST_CM2:g} to {LARGEST_CM2:g} cm²{hint}"
    raise PydanticCustomError("halfroll", "{rule}", {"rule": rule})


def _currency(value: str) -> str:
    """A currency of ISO 4217, else those that may have been meant."""
    if is_currency(value):
        return value
    meant = near(value)
    hint = f"; {meant[0]} may be meant" if meant else ""
    rule = f"must be a currency by its three capital letters (ISO 4217), such as EUR, GBP or USD{hint}"
    raise PydanticCustomError("halfroll", "{rule}", {"rule": rule})


def refuse(key: str, rule: str, found: object) -> NoReturn:
    """Refuse a record in a check of several of its keys: which key, what it must be, and what was found."""
    raise PydanticCustomError("halfroll", "{rule}", {"rule": rule, "key": key, "found": str(found)})


def check_roles(value: tuple[Role, ...]) -> tuple[Role, ...]:
    """Return the roles of a file's channels, if each but unused is given once at most."""
    used = [role for role in value if role is not Role.UNUSED]
    if not value or len(used) != len(set(used)):
        raise PydanticCustomError(
            "halfroll", "must name one role a channel, each role but unused at most once"
        )
    return value


Positive = Annotated[float, Field(gt=0)]
Text = Annotated[str, Field(min_length=1)]
Amount = Annotated[float, Field(ge=0), AfterValidator(_amount)]
Quantity = Annotated[float, Field(gt=0), AfterValidator(_quantity)]
Grams = Annotated[float, AfterValidator(_mass)]
SquareCentimetres = Annotated[float, AfterValidator(_area)]
Litres = Annotated[float, AfterValidator(_volume)]
Decibels = Annotated[float, Field(ge=0, le=20)]
Currency = Annotated[str, AfterValidator(_currency)]
Date = Annotated[dt.date, BeforeValidator(_date)]
Moment = Annotated[dt.datetime, BeforeValidator(_moment), AfterValidator(_fixed_offset)]
FileName = Annotated[str, AfterValidator(_file_name)]
Sha256 = Annotated[str, Field(pattern="^[0-9a-f]{64}$")]
Band = Annotated[tuple[float, float], Field(strict=False), AfterValidator(_band)]
AnySpace = Annotated[Space, Field(strict=False)]
AnyRole = Annotated[Role, Field(strict=False)]
GateMs = Annotated[float | Literal["auto", "none"], BeforeValidator(_gate)]
Distance = Annotated[float, Field(gt=0, le=100)]
Drive = Annotated[float, Field(gt=0, le=1000)]
