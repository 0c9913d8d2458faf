"""The fields of a crossover: values of its elements, polarity and place of its ways, listener, what it is judged by."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from halfroll.app.dom import el
from halfroll.app.field import Field
from halfroll.app.typed import number_or_text, said_at_field
from halfroll.core.errors import InputError
from halfroll.workshop.crossover_record import VALUE_KEY, CrossoverRecord, ElementTable, WayTable
from halfroll.workshop.crossovers import checked, checked_record
from halfroll.workshop.faults import FaultsError

UNITS = {"resistor": "Ω", "coil": "mH", "capacitor": "µF"}
RATED = {
    "resistor": ("rated_w", "Rated, W"),
    "coil": ("rated_a", "Core bears, A"),
    "capacitor": ("rated_v", "Rated, V"),
}
KINDS = {"resistor": "resistor", "coil": "coil", "capacitor": "capacitor"}
SERIES = {"coil": "DC resistance, Ω", "capacitor": "Series resistance, Ω"}
CONSTRUCTIONS = {
    "capacitor": [
        ("", "not stated: ±5 %"),
        ("bipolar", "bipolar electrolytic: ±20 %"),
        ("film", "film: ±5 %"),
    ],
    "coil": [("", "not stated"), ("air-core", "air core"), ("iron-core", "iron core")],
    "resistor": [("", "not stated"), ("wire-wound", "wire-wound")],
}
SOURCES = (
    ("auto", "its take, else its design"),
    ("measured", "its take"),
    ("predicted", "its design"),
    ("entered", "entered parameters"),
)
PLACES = (("x_mm", "Right, mm"), ("y_mm", "Up, mm"), ("z_mm", "Forwards, mm"))
WHOLE = (
    ("rated_impedance_ohm", "Rated impedance, Ω", ""), ("power_w", "Judged at, W", "into the rated impedance; empty: 2.83 V"),
    ("cable_ohm", "Cable, Ω", ""), ("distance_m", "Listener at, m", "from the middle of the baffle"),
)  # fmt: skip
ANGLES = (
    ("horizontal_deg", "Listener aside, °", "looked at only, not saved"),
    ("vertical_deg", "Listener up, °", ""),
)


class CrossoverFields:
    """Knows the record the fields describe, or says at the fields why there is none.

    Parameters
    ----------
    record
        Where it starts.
    on_change
        Told after every change.
    cabinets
        Ids of the cabinets that may stand behind a predicted driver.
    """

    def __init__(
        self, record: CrossoverRecord, on_change: Callable[[], Any], cabinets: Sequence[str] = ()
    ) -> None:
        self._start, self._changed, self._cabinets = record, on_change, cabinets
        self._fields: dict[str, Field] = {}

    def draw(self) -> None:
        """Put them on the page: each way with its elements, then the whole."""
        for i, way in enumerate(self._start.ways):
            self._way(i, way)
        with el("fieldset", cls="block"):
            el("legend", "The whole")
            with el("div", cls="fields"):
                for key, label, hint in WHOLE:
                    self._add(key, label, _text(getattr(self._start, key)), hint=hint, inputmode="decimal")
                self._add("tolerance", "Band of tolerances", self._start.tolerance, tag="select", choices=[
                    ("monte-carlo", "95 % of draws"), ("worst-case", "worst case")])  # fmt: skip
                for key, label, hint in ANGLES:
                    self._add(key, label, "0", hint=hint, inputmode="decimal")
        self._fault = el("p", cls="error alert", aria_live="polite").mark("crossover-fault")

    def angles(self) -> tuple[float, float]:
        """Listener to the right and upwards (degrees); 0 where no number stands."""
        found = []
        for key, *_ in ANGLES:
            value = number_or_text(self._fields[key].value)
            good = isinstance(value, float) and -90 <= value <= 90
            self._fields[key].error("" if good or value is None else "This must be a number from -90 to 90.")
            found.append(float(value) if isinstance(value, float) and good else 0.0)
        return found[0], found[1]

    def record(self) -> CrossoverRecord | None:
        """The record; None when something is wrong, which is then said."""
        for field in self._fields.values():
            field.error("")
        self._fault.text = ""
        try:
            found = checked_record(self._values())
            checked(found)
        except FaultsError as faults:
            for fault in faults.faults:
                self.say(fault)
        except InputError as fault:
            self.say(fault)
        else:
            return found
        return None

    def say(self, fault: InputError) -> None:
        """Say a fault at its field, or under all."""
        field = self._fields.get(_field_of(fault.place.key or ""))
        if field is None:
            self._fault.text = str(fault)
        else:
            field.error(said_at_field(fault))

    def fill(self, record: CrossoverRecord) -> None:
        """Put the values and polarities of another record of the same elements into the fields."""
        for i, way in enumerate(record.ways):
            self._fields[f"{i}.inverted"].set("yes" if way.inverted else "")
            for j, element in enumerate(way.elements):
                self._fields[f"{i}.{j}.value"].set(_text(getattr(element, VALUE_KEY[element.type])))
                if element.type in SERIES:
                    self._fields[f"{i}.{j}.series_ohm"].set(_text(element.series_ohm))

    def _way(self, i: int, way: WayTable) -> None:
        with el("fieldset", cls="block"):
            el("legend", f"Way {way.name}: {way.driver}")
            with el("div", cls="fields"):
                self._add(
                    f"{i}.inverted",
                    "Polarity",
                    "yes" if way.inverted else "",
                    tag="select",
                    choices=[("", "normal"), ("yes", "inverted")],
                )
                self._add(f"{i}.source", "Taken from", way.source, tag="select", choices=SOURCES)
                if self._cabinets or way.cabinet:
                    self._cabinet(i, way)
            with el("div", cls="fields"):
                for key, label in PLACES:
                    self._add(f"{i}.{key}", label, _text(getattr(way, key)), inputmode="decimal")
            for j, element in enumerate(way.elements):
                self._element(i, j, element)

    def _cabinet(self, i: int, way: WayTable) -> None:
        there = [
            *self._cabinets,
            *([way.cabinet] if way.cabinet and way.cabinet not in self._cabinets else []),
        ]
        choices = [("", "none: a large baffle"), *((one, one) for one in there)]
        hint = "behind a predicted driver"
        self._add(f"{i}.cabinet", "Cabinet", way.cabinet or "", tag="select", choices=choices, hint=hint)

    def _element(self, i: int, j: int, element: ElementTable) -> None:
        with el("fieldset", cls="block", data_part=element.name):
            el(
                "legend",
                f"{element.name}, {KINDS[element.type]} from {element.between[0]} to {element.between[1]}",
            )
            with el("div", cls="fields four"):
                at = f"{i}.{j}"
                self._add(
                    f"{at}.value",
                    f"Value, {UNITS[element.type]}",
                    _text(getattr(element, VALUE_KEY[element.type])),
                    inputmode="decimal",
                )
                if element.type in SERIES:
                    self._add(
                        f"{at}.series_ohm",
                        SERIES[element.type],
                        _text(element.series_ohm),
                        inputmode="decimal",
                    )
                key, label = RATED[element.type]
                self._add(f"{at}.{key}", label, _text(getattr(element, key)), inputmode="decimal")
                self._add(
                    f"{at}.construction",
                    "Built as",
                    element.construction or "",
                    tag="select",
                    choices=CONSTRUCTIONS[element.type],
                )

    def _add(self, key: str, label: str, value: str, **more: Any) -> None:
        self._fields[key] = Field(key, label, value=value, on_change=lambda _: self._changed(), **more)

    def _values(self) -> dict[str, Any]:
        """What stands in the fields, over what the record says besides."""
        values = self._start.model_dump(exclude_none=True, exclude={"ways", "format"})
        for key, *_ in WHOLE:
            _put(values, key, self._fields[key].value)
        values["tolerance"] = self._fields["tolerance"].value
        values["ways"] = [self._way_values(i, way) for i, way in enumerate(self._start.ways)]
        return values

    def _way_values(self, i: int, way: WayTable) -> dict[str, Any]:
        values = way.model_dump(exclude_none=True, exclude={"elements"})
        values["inverted"] = self._fields[f"{i}.inverted"].value == "yes"
        values["source"] = self._fields[f"{i}.source"].value
        if f"{i}.cabinet" in self._fields:
            values.pop("cabinet", None)
            chosen = self._fields[f"{i}.cabinet"].value
            values |= {"cabinet": chosen} if chosen else {}
        for key, _ in PLACES:
            _put(values, key, self._fields[f"{i}.{key}"].value or "0")
        values["elements"] = [self._element_values(i, j, element) for j, element in enumerate(way.elements)]
        return values

    def _element_values(self, i: int, j: int, element: ElementTable) -> dict[str, Any]:
        values = element.model_dump(exclude_none=True)
        _put(values, VALUE_KEY[element.type], self._fields[f"{i}.{j}.value"].value)
        for key in ("series_ohm", RATED[element.type][0]):
            if f"{i}.{j}.{key}" in self._fields:
                _put(values, key, self._fields[f"{i}.{j}.{key}"].value)
        values.pop("construction", None)
        built = self._fields[f"{i}.{j}.construction"].value
        return values | ({"construction": built} if built else {})


def _put(values: dict[str, Any], key: str, typed: str) -> None:
    value = number_or_text(typed)
    if value is None:
        values.pop(key, None)
    else:
        values[key] = value


def _field_of(key: str) -> str:
    """The field of a record's key: ``ways[1].elements[2].capacitance_uf`` stands in ``0.1.value``."""
    import re

    found = re.fullmatch(r"ways\[(\d+)\](?:\.elements\[(\d+)\])?\.(\w+)", key)
    if found is None:
        return key
    way, element, last = found.groups()
    if element is None:
        return f"{int(way) - 1}.{last}"
    name = "value" if last in VALUE_KEY.values() else last
    return f"{int(way) - 1}.{int(element) - 1}.{name}"


def _text(value: float | None) -> str:
    return "" if value is None else f"{value:.6g}"
