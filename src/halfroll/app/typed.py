"""What a person typed, checked: names, numbers and records, each fault noted under its field."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping, Sequence
from typing import Any

from halfroll.core.errors import InputError
from halfroll.workshop.faults import FaultsError, check
from halfroll.workshop.fields import FORMAT, Record
from halfroll.workshop.paths import check_name, slug

Typed = dict[str, str]
"""What stands in the fields of a form, by key."""

Errors = dict[str, str]
"""What is wrong, by the key of the field it stands under."""


def new_name(text: str, what: str, key: str, taken: Sequence[str], errors: Errors) -> str:
    """A plain name made of what was typed; what is wrong with it is noted."""
    name = slug(text)
    if not name:
        errors[key] = f"The new {what} needs a name."
        return ""
    if name in taken:
        errors[key] = f"There is a {what} {name} already. Choose it above, or name the new one otherwise."
        return name
    try:
        return check_name(name, what)
    except InputError as error:
        errors[key] = without_place(error)
        return name


def record_of(
    model: type[Record], values: Mapping[str, Any], prefix: str, errors: Errors, *,
    fields: Mapping[str, str] | None = None,
) -> Any:  # fmt: skip
    """The record of some values, or None with each fault noted under its field.

    A fault in a key belongs to the field `prefix` + key, or to the field `fields` names for that.
    """
    try:
        return check(model, {"format": FORMAT, **values}, file="")
    except FaultsError as error:
        faults: tuple[InputError, ...] = error.faults
    except InputError as error:
        faults = (error,)
    for fault in faults:
        key = f"{prefix}{fault.place.key}"
        errors.setdefault((fields or {}).get(key, key), said_at_field(fault))
    return None


def tried(save: Callable[[], object], fields: Collection[str], errors: Errors) -> bool:
    """Save what was typed. A refusal of a key that has a field is noted under it; any other, such as a conflict, is raised."""
    try:
        save()
    except InputError as fault:
        if fault.place.key is None or fault.place.key not in fields:
            raise
        errors[fault.place.key] = without_place(fault)
        return False
    return True


def numbers(typed: Typed, prefix: str, keys: Sequence[str]) -> dict[str, Any]:
    """The numbers of some fields, by key; empty fields are left out."""
    values = {key: number_or_text(typed.get(f"{prefix}{key}", "")) for key in keys}
    return {key: value for key, value in values.items() if value is not None}


def number_or_text(text: str, *, whole: bool = False) -> float | int | str | None:
    """A number as a person types it, with point or comma; None for nothing; what is no number stays text."""
    text = text.strip()
    if not text:
        return None
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        return text
    return int(value) if whole and value.is_integer() else value


def without_place(error: InputError) -> str:
    """An error without its file and key: it stands where it belongs."""
    text = f"{error.message}; found {error.found}." if error.found else f"{error.message}."
    text += f" Allowed: {error.allowed.rstrip('.')}." if error.allowed else ""
    return text + (f" {error.remedy.rstrip('.')}." if error.remedy else "")


def said_at_field(fault: InputError) -> str:
    """A fault without the name of the key, which is the field it stands under."""
    rule = re.sub(r"^\S+ of the [a-z]+ ", "", fault.message)
    if rule == "is missing":
        return "This is needed."
    text = rule[0].upper() + rule[1:] + (f"; found {fault.found}." if fault.found else ".")
    return text + (f" Allowed: {fault.allowed}." if fault.allowed else "")
