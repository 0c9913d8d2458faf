"""Fields for what a builder read: the multimeter first, the rest folded away; what is wrong stands under its field."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from halfroll.app.dom import el
from halfroll.app.field import Field
from halfroll.app.typed import without_place
from halfroll.core.errors import InputError
from halfroll.workshop.builder_readings import READINGS, ReadingKind, typed_reading
from halfroll.workshop.builder_record import BuilderRecord

FIRST = ("re_ohm", "polarity", "rub")


class ReadingFields:
    """One field a kind of reading.

    Parameters
    ----------
    typed
        What stands in them at first, by key.
    on_change
        Told after every change.
    """

    def __init__(self, typed: Mapping[str, str], on_change: Callable[[], Any]) -> None:
        self._typed, self._changed = typed, on_change
        self.fields: dict[str, Field] = {}

    def draw(self) -> None:
        """Put them on the page."""
        rest = [key for key in READINGS if key not in FIRST]
        with el("div", cls="fields"):
            for key in FIRST:
                self._add(READINGS[key])
        with el("details", cls="fold") as more:
            el("summary", "More readings, where there are any")
            with el("div", cls="fields"):
                for key in rest:
                    self._add(READINGS[key])
        if any(self._typed.get(key) for key in rest):
            more.put(open="")

    def typed(self) -> dict[str, str]:
        """What stands in the fields, empty ones left out."""
        return {key: field.value for key, field in self.fields.items() if field.value}

    def values(self) -> list[dict[str, Any]] | None:
        """Tables of the readings; None when one is wrong, which then stands under its field."""
        found, whole = [], True
        for key, text in self.typed().items():
            try:
                value, u = typed_reading(key, text)
            except InputError as fault:
                self.fields[key].error(without_place(fault))
                whole = False
                continue
            self.fields[key].error("")
            found.append(
                {"what": key, "value": value, "how": READINGS[key].usual} | ({} if u is None else {"u": u})
            )
        for field in self.fields.values():
            if not field.value:
                field.error("")
        return found if whole else None

    def _add(self, kind: ReadingKind) -> None:
        label = f"{kind.label}, {kind.unit}" if kind.unit else kind.label
        value = self._typed.get(kind.key, "")
        more: dict[str, Any] = {"inputmode": "decimal"}
        if kind.words:
            more = {"tag": "select", "choices": (("", "not tried"), *((word, word) for word in kind.words))}
        self.fields[kind.key] = Field(
            kind.key, label, value=value, hint=kind.hint, on_change=lambda _: self._changed(), **more
        )


def typed_of(record: BuilderRecord) -> dict[str, str]:
    """The readings of a record as they would be typed."""
    found = {}
    for reading in record.readings:
        word = READINGS[reading.what].told(reading.value)
        u = "" if reading.u is None else f" ± {reading.u:g}"
        found[reading.what] = word or f"{reading.value:g}{u}"
    return found
