"""The form of a join: which takes, over which band, in which front. It knows the recipe it holds, or what is wrong with it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

from halfroll.acoustics.nearfield import near_field_limit_hz
from halfroll.app.dom import el
from halfroll.app.field import Field
from halfroll.app.pages.words import short
from halfroll.app.typed import without_place
from halfroll.core.conditions import Space, radius_of_area
from halfroll.core.errors import InputError
from halfroll.workshop import Workshop
from halfroll.workshop.faults import check
from halfroll.workshop.joined_record import JoinedRecord
from halfroll.workshop.takes import conditions_of

SIDES = ("width_cm", "height_cm", "x_cm", "y_cm")
_FIELD_OF = {
    "overlap_hz": "overlap",
    "area_cm2": "port_area",
    "baffle": "width_cm",
    **{side: side for side in SIDES},
}
"""The field in which a fault of a record's key is shown."""


class JoinForm:
    """Fields for one cone, one port (or several alike) and a far take; more cones are joined on the command line.

    Parameters
    ----------
    shown
        The saved recipe to start from; a guess from the unit's takes when None.
    on_change
        Told after every change.
    """

    def __init__(
        self, workshop: Workshop, unit_id: str, shown: JoinedRecord | None, on_change: Callable[[], Any]
    ) -> None:
        self.unit_id, self._kept = unit_id, shown
        version = workshop.version(unit_id.rpartition("/")[0]).record
        self.area_cm2 = version.effective_area_cm2
        self.near: list[tuple[str, str]] = []
        self.far: list[tuple[str, str]] = []
        for take_id in workshop.take_ids(unit_id):
            record = workshop.take(take_id).record
            name = take_id.rpartition("/")[2]
            holder = self.near if record.space is Space.NEAR else self.far
            holder.append((name, f"{name}: {short(conditions_of(record, version))}"))
        self._fields: dict[str, Field] = {}
        self._changed = on_change

    @property
    def possible(self) -> bool:
        """Whether the unit has a near-field and a far take at all."""
        return bool(self.near and self.far)

    def draw(self) -> None:
        """Put the fields on the page."""
        start = _of_record(self._kept) if self._kept else self._guess()
        with el("div", cls="fields"):
            self._add("far", "Far field", start, choices=self.far, hint="From a distance, gated.")
            self._add("cone", "Near field of the cone", start, choices=self.near)
            known = (
                ""
                if self.area_cm2 is None
                else f"Empty: {self.area_cm2:g} cm², as the version's record says."
            )
            self._add("cone_area", "Effective area of the cone, cm²", start, hint=known, inputmode="decimal")
            self._add("overlap", "Overlap, Hz", start, hint="Where both hold, such as 300-900.")
            self._add("port", "Near field of the port", start, choices=[("", "there is no port"), *self.near])
            self._add("port_area", "Area of one port, cm²", start, inputmode="decimal")
            self._add("port_count", "Ports alike", start, inputmode="numeric")
            self._add("match", "Level of the near field", start, choices=[
                ("yes", "brought to the far field"), ("no", "left as measured")])  # fmt: skip
        el("h3", "Front of the cabinet")
        el(
            "p",
            "Leave it empty for a driver in a large baffle: near and far field then see the same half space.",
            cls="quiet small",
        )
        with el("div", cls="fields four"):
            for side, label in zip(
                SIDES,
                ("Width, cm", "Height, cm", "Driver from left, cm", "Driver from below, cm"),
                strict=True,
            ):
                self._add(side, label, start, inputmode="decimal")
        self._reveal()

    def record(self) -> JoinedRecord | None:
        """The recipe the fields hold; None when something is wrong, which then stands beside its field."""
        for field in self._fields.values():
            field.error("")
        values = self._values()
        if values is None:
            return None
        try:
            return check(JoinedRecord, values, file="the form")
        except InputError as fault:
            key = (fault.place.key or "").split(".")[-1].split("[")[0]
            self._fields[_FIELD_OF.get(key, "cone")].error(_without_file(fault))
            return None

    def fault(self, fault: InputError) -> bool:
        """Show a fault found later beside the field it belongs to; whether there is such a field."""
        key = _FIELD_OF.get(fault.place.key or "", "")
        if key:
            self._fields[key].error(without_place(fault))
        return bool(key)

    def radius_m(self) -> float | None:
        """Effective radius of the cone (m) as typed or recorded."""
        area = self._number("cone_area") or self.area_cm2
        return radius_of_area(1e-4 * area) if area and area > 0 else None

    def _values(self) -> dict[str, Any] | None:
        overlap = self._overlap()
        count = self._number("port_count", "1")
        cone_area = self._number("cone_area")
        if overlap is None or count is None or (cone_area is None and self._text("cone_area")):
            return None
        cone = {"take": self._text("cone"), "what": "cone"} | ({"area_cm2": cone_area} if cone_area else {})
        near = [cone]
        if self._text("port"):
            area = self._number("port_area")
            if area is None:
                self._fields["port_area"].error(
                    "The area of the port is wanted, in cm²: π times the radius squared."
                )
                return None
            near.append({"take": self._text("port"), "what": "port", "area_cm2": area, "count": int(count)})
        values: dict[str, Any] = {
            "when": dt.datetime.now().astimezone().replace(microsecond=0), "far": self._text("far"), "near": near,
            "overlap_hz": overlap, "match_level": self._text("match") == "yes",
        }  # fmt: skip
        if any(self._text(side) for side in SIDES):
            sides = {side: self._number(side) for side in SIDES}
            for side, value in sides.items():
                if value is None and not self._text(side):
                    self._fields[side].error("All four are wanted, in centimetres.")
            if None in sides.values():
                return None
            values["baffle"] = sides
        return values

    def _guess(self) -> dict[str, str]:
        """A start from the takes there are: the newest far take, the first near ones, a band below the near field's limit."""
        cones = [name for name, _ in self.near if "port" not in name] or [name for name, _ in self.near]
        radius = None if self.area_cm2 is None else radius_of_area(1e-4 * self.area_cm2)
        high = 900.0 if radius is None else 0.6 * near_field_limit_hz(radius)
        return {
            "far": self.far[-1][0] if self.far else "", "cone": cones[0] if cones else "", "port": "", "port_count": "1",
            "overlap": f"{float(f'{high / 3:.2g}'):g}-{float(f'{high:.2g}'):g}", "match": "yes",
        }  # fmt: skip

    def _add(self, key: str, label: str, start: dict[str, str], *, choices: Any = (), **more: Any) -> None:
        value = start.get(key, "")
        if choices:
            offered = [choice for choice, _ in choices]
            value, more["tag"], more["choices"] = (
                value if value in offered else offered[0],
                "select",
                tuple(choices),
            )
        self._fields[key] = Field(key, label, value=value, on_change=self._told, **more)

    def _told(self, field: Field) -> None:
        self._reveal()
        self._changed()

    def _reveal(self) -> None:
        for key in ("port_area", "port_count"):
            self._fields[key].show(bool(self._text("port")))

    def _text(self, key: str) -> str:
        return self._fields[key].value

    def _number(self, key: str, empty: str = "") -> float | None:
        text = self._text(key) or empty
        if not text:
            return None
        try:
            return float(text.replace(",", "."))
        except ValueError:
            self._fields[key].error(f"A number is wanted; found {text!r}.")
            return None

    def _overlap(self) -> tuple[float, float] | None:
        text = self._text("overlap")
        try:
            low, high = (
                float(part.replace(",", "."))
                for part in text.replace("–", "-").replace(" to ", "-").split("-")
            )
        except ValueError:
            self._fields["overlap"].error(f"Two frequencies are wanted, such as 300-900; found {text!r}.")
            return None
        return low, high


def _of_record(record: JoinedRecord) -> dict[str, str]:
    """What a saved recipe puts into the fields."""
    cone = next(mouth for mouth in record.near if mouth.what == "cone")
    port = next((mouth for mouth in record.near if mouth.what == "port"), None)
    values = {
        "far": record.far, "cone": cone.take, "cone_area": "" if cone.area_cm2 is None else f"{cone.area_cm2:g}",
        "overlap": f"{record.overlap_hz[0]:g}-{record.overlap_hz[1]:g}", "match": "yes" if record.match_level else "no",
        "port": "" if port is None else port.take, "port_count": "1" if port is None else str(port.count),
        "port_area": "" if port is None else f"{port.area_cm2:g}",
    }  # fmt: skip
    if record.baffle is not None:
        values |= {side: f"{getattr(record.baffle, side):g}" for side in SIDES}
    return values


def _without_file(fault: InputError) -> str:
    """The fault in words, without the name of a file and of a key that nobody typed."""
    rule = fault.message.rpartition(f" of the {JoinedRecord.kind} ")[2]
    return " ".join(filter(None, (f"{rule[:1].upper()}{rule[1:]}.", fault.found and f"Found {fault.found}.")))
