"""What is wrong with a record file, in words: every fault at once, each with its key, line, and what is allowed."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar, get_args

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from halfroll.core.errors import InputError
from halfroll.core.verdicts import Severity, Verdict
from halfroll.workshop.fields import FORMAT, Record, Table
from halfroll.workshop.files import read_whole
from halfroll.workshop.toml_lines import KeyPath, dotted, line_of

T = TypeVar("T", bound=Table)

OWN_PREFIX = "own_"
"""A key that begins so is a person's own and never taken for a slip of the pen."""

_LIKENESS = 0.8  # of difflib: one or two letters wrong, missing or swapped in a key of usual length

_RULES = {
    "float_type": "must be a number",
    "int_type": "must be a whole number",
    "int_from_float": "must be a whole number",
    "finite_number": "must be a finite number",
    "string_type": "must be text in quotes",
    "bool_type": "must be true or false",
    "date_type": "must be a date such as 2026-03-31",
    "datetime_type": "must be a date and time such as 2026-03-31T14:05:00",
    "tuple_type": "must be a list in [ ]",
    "dict_type": "must be a table",
    "model_type": "must be a table",
    "missing": "is missing",
    "string_too_short": "must not be empty",
    "too_short": "must have one entry at least",
    "too_long": "must have fewer entries",
    "string_pattern_mismatch": "must be 64 hexadecimal digits (SHA-256)",
}
_BOUNDS = {"greater_than": ("above", "gt"), "greater_than_equal": ("at least", "ge"), "less_than": ("below", "lt"),
           "less_than_equal": ("at most", "le")}  # fmt: skip


class FaultsError(InputError):
    """Several faults in one file; `faults` holds each as an `InputError` of its own."""

    def __init__(self, faults: Iterable[InputError], file: str) -> None:
        self.faults = tuple(faults)
        super().__init__(f"{len(self.faults)} faults", file=file)

    def _text(self) -> str:
        return "\n".join(str(fault) for fault in self.faults) if self.faults else self.message

    def as_dict(self) -> dict[str, object]:
        """As for every `InputError`, with the single faults under ``faults``."""
        return {**super().as_dict(), "faults": [fault.as_dict() for fault in self.faults]}


@dataclass(frozen=True, kw_only=True)
class Unknown:
    """A key no record of this kind has: where, and the known key it is close to (None: none)."""

    path: KeyPath
    likely: str | None


@contextmanager
def asked_by(key: str | None) -> Iterator[None]:
    """Give faults of a look-up inside the block the key that asked for it; a record that is wrong itself keeps its own place."""
    try:
        yield
    except InputError as fault:
        if fault.place.file is not None:
            raise
        raise placed(fault, key=key) from fault


def fault_at(path: Path, key: KeyPath, message: str, **more: Any) -> InputError:
    """A fault of one key of a record that can be read: with the file, the key and the line it stands on, if it has one.

    `more` are `found`, `allowed` and `remedy` of the fault.
    """
    text = read_whole(path).decode("utf-8-sig", "replace") if path.exists() else ""
    return InputError(message, file=str(path), key=dotted(key), line=line_of(text, key), **more)


def placed(
    fault: InputError, *, key: str | None = None, file: str | None = None, line: int | None = None
) -> InputError:
    """The same fault at a place, where it does not name one itself."""
    at = fault.place
    return type(fault)(
        fault.message,
        file=at.file or file,
        key=key or at.key,
        line=at.line or line,
        found=fault.found,
        allowed=fault.allowed,
        remedy=fault.remedy,
    )


def check(model: type[T], data: dict[str, Any], *, file: str, text: str = "") -> T:
    """The record or table that `data` describes, or `InputError`/`FaultsError` naming everything that is wrong.

    `file` says where the data come from; `text` is the file's text, from which lines are read.
    """
    slips = [unknown for unknown in unknown_keys(model, data) if unknown.likely is not None]
    faults = [_slip(model, slip, file, text) for slip in slips]
    record = None
    try:
        record = model.model_validate(data)
    except ValidationError as error:
        explained = {dotted((*slip.path[:-1], str(slip.likely))) for slip in slips}
        found = (_fault(model, detail, file, text) for detail in _first_causes(error))
        faults += [fault for fault in found if fault.place.key not in explained]
    if len(faults) == 1:
        raise faults[0]
    if faults or record is None:
        raise FaultsError(sorted(faults, key=lambda fault: fault.place.line or 0), file)
    return record


def check_format(model: type[Record], data: dict[str, Any], *, file: str, text: str) -> None:
    """Refuse a file that does not say its format, or one of another: nothing more can be said about it."""
    found = data.get("format")
    if found == FORMAT and not isinstance(found, bool):
        return
    place: dict[str, Any] = {"file": file, "key": "format", "line": line_of(text, ("format",))}
    if found is None:
        raise InputError(f"format of the {model.kind} is missing", allowed=str(FORMAT), **place,
                         remedy=f"Add the line: format = {FORMAT}")  # fmt: skip
    if isinstance(found, int) and found > FORMAT:
        raise InputError(f"The {model.kind} was written by a newer halfroll", found=found, allowed=str(FORMAT),
                         remedy="Update halfroll", **place)  # fmt: skip
    raise InputError(f"format of the {model.kind} must be {FORMAT}", found=found, **place)


def _first_causes(error: ValidationError) -> Iterator[ErrorDetails]:
    """All findings but that a list is too short only because its entries are wrong."""
    details = error.errors()
    for detail in details:
        inner = any(
            other["loc"][: len(detail["loc"])] == detail["loc"] for other in details if other is not detail
        )
        if not (detail["type"] == "too_short" and inner):
            yield detail


def notes(model: type[Record], data: dict[str, Any], file: str) -> tuple[Verdict, ...]:
    """A note for every unknown key that is kept."""
    return tuple(
        Verdict(
            code="unknown-key",
            severity=Severity.NOTE,
            text=f"{dotted(unknown.path)} in {file} is not a key halfroll knows. It is kept and not used.",
            data={"file": file, "key": dotted(unknown.path)},
        )
        for unknown in unknown_keys(model, data)
    )


def unknown_keys(model: type[BaseModel], data: dict[str, Any], at: KeyPath = ()) -> Iterator[Unknown]:
    """Keys of `data` and the tables in it that the model does not have."""
    for key, value in data.items():
        field = model.model_fields.get(key)
        if field is None:
            close = [] if key.startswith(OWN_PREFIX) else difflib.get_close_matches(
                key.lower(), model.model_fields, n=1, cutoff=_LIKENESS)  # fmt: skip
            yield Unknown(path=(*at, key), likely=close[0] if close else None)
            continue
        inner = _table_type(field.annotation)
        if inner is not None:
            entries = enumerate(value) if isinstance(value, list) else [(None, value)]
            for index, entry in entries:
                if isinstance(entry, dict):
                    yield from unknown_keys(inner, entry, (*at, key) if index is None else (*at, key, index))


def _table_type(annotation: Any) -> type[Table] | None:
    """The table model somewhere inside a field's annotation; None when there is none."""
    if isinstance(annotation, type) and issubclass(annotation, Table):
        return annotation
    return next((found for inner in get_args(annotation) if (found := _table_type(inner))), None)


def _slip(model: type[Table], slip: Unknown, file: str, text: str) -> InputError:
    own = f"{OWN_PREFIX}{slip.path[-1]}"
    return InputError(
        f"{dotted(slip.path)} is not a key of the {model.kind}",
        file=file,
        key=dotted(slip.path),
        line=line_of(text, slip.path),
        allowed=str(slip.likely),
        remedy=f"Correct it to {slip.likely}; if the key is your own, name it {own}",
    )


def _fault(model: type[Table], detail: ErrorDetails, file: str, text: str) -> InputError:
    """One finding of pydantic in the house's words."""
    context = detail.get("ctx", {})
    path: KeyPath = tuple(detail["loc"])
    found = None if detail["type"] == "missing" else _short(repr(detail["input"]))
    if "key" in context:  # a check that covers a whole table says which key of it is meant
        steps = (int(step) if step.isdigit() else step for step in context["key"].split("."))
        path, found = (*path, *steps), _short(context["found"])
    allowed: str | list[str] | None = None
    if detail["type"] in _BOUNDS:
        word, key = _BOUNDS[detail["type"]]
        rule = f"must be {word} {context[key]:g}"
    elif detail["type"] in ("literal_error", "enum"):
        rule, allowed = "must be one of the allowed words", re.findall(r"'([^']*)'", context["expected"])
    elif detail["type"] == "halfroll":
        rule = detail["msg"]
    else:
        rule = _RULES.get(detail["type"], detail["msg"])
    if detail["type"] == "too_long":
        allowed = f"{context['max_length']} at most"
    return InputError(f"{dotted(path)} of the {model.kind} {rule}".lstrip(), file=file, key=dotted(path) or None,
                      line=line_of(text, path), found=found, allowed=allowed, remedy=_as_number(detail))  # fmt: skip


def _as_number(detail: ErrorDetails) -> str | None:
    """How text that was meant as a number is written; None where it was not."""
    said = detail["input"]
    if detail["type"] not in ("float_type", "int_type") or not isinstance(said, str):
        return None
    number = re.match(r"\s*([-+]?\d+)(?:[.,](\d+))?", said)
    if number is None:
        return None
    written = number[1] if number[2] is None else f"{number[1]}.{number[2]}"
    return f"Write it without quotes and unit, with a decimal point: {written}"


def _short(found: str) -> str:
    return found if len(found) <= 80 else f"{found[:77]}..."
