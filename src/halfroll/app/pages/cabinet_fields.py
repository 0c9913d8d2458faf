"""The fields of a cabinet, in the order in which one thinks of it: driver, kind and size, port or radiator, walls, losses."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from halfroll.acoustics.cabinet.port import END_SUMS
from halfroll.app.cabinet_draft import SHAPES, WORDS, CabinetDraft
from halfroll.app.dom import el
from halfroll.app.field import Choices, Field
from halfroll.workshop.parts import lookups

KINDS: Choices = (
    ("closed", "closed"),
    ("vented", "vented, with a port"),
    ("passive-radiator", "with a passive radiator"),
)
Row = tuple[str, str, str]
"""Key, label, hint."""

PORT: Sequence[Row] = (
    ("port.diameter_mm", "Diameter, mm", "of a round port"), ("port.width_mm", "or width, mm", "of a slot"), ("port.height_mm", "and height, mm", ""),
    ("port.tuning_hz", "Tuning, Hz", "gives the length"), ("port.length_mm", "or length, mm", "gives the tuning"), ("port.count", "How many", "empty: 1"),
    ("port.wall_mm", "Its wall, mm", "empty: none"),
)  # fmt: skip
RADIATOR: Sequence[Row] = (
    ("radiator.mass_g", "Moving mass, g", "with its air load"), ("radiator.area_cm2", "Area, cm²", ""), ("radiator.cms_mm_per_n", "Compliance, mm/N", ""),
    ("radiator.rms_ns_per_m", "Loss Rms, N s/m", ""), ("radiator.travel_mm", "Travel, ± mm", "empty: no limit"), ("radiator.count", "How many", "empty: 1"),
)  # fmt: skip
LOSSES: Sequence[Row] = (
    ("losses.ql", "QL, leaks", "usual: 5 to 20; empty: none"), ("losses.qa", "QA, absorption", "empty: none"), ("losses.qp", "QP, port", "empty: none"),
    ("losses.at_hz", "They hold at, Hz", "empty: the tuning; closed: 100"), ("stuffing.packing_g_l", "Stuffing, g/l", "empty: none; loose wool 5 to 12"),
    ("stuffing.fibre_um", "Its fibre, ⌀ µm", "empty: 24"), ("stuffing.share", "Stuffed, 0 to 1", "empty: all of it"), ("leak.hole_mm", "A hole, ⌀ mm", "that one knows of"),
    ("leak.slit_mm", "or a slit, mm wide", ""), ("leak.slit_length_mm", "and long, mm", ""),
)  # fmt: skip
FRONT: Sequence[Row] = (
    ("front.width_mm", "Front, mm wide", "empty: inside and walls"), ("front.height_mm", "Front, mm high", "empty: the same"),
    ("front.driver_x_mm", "Driver from left, mm", "empty: middle"), ("front.driver_y_mm", "Driver from below, mm", "empty: middle"),
    ("driver_l", "Driver takes, l", "empty: by its design"), ("bracing_l", "Bracing takes, l", "empty: none"), ("used_to_hz", "Used up to, Hz", "empty: 8 times its −3 dB"),
)  # fmt: skip


class CabinetFields:
    """All fields by dotted key; `build` makes them anew when kind or shape change."""

    rebuilding = ("type", "shape")

    def __init__(
        self, draft: CabinetDraft, versions: Sequence[str], on_typed: Callable[[str, str], Any]
    ) -> None:
        self.draft, self.versions, self._typed = draft, versions, on_typed
        self.fields: dict[str, Field] = {}
        self.box = el("div", cls="design-fields no-print")
        self.build()

    def build(self) -> None:
        """Make the fields of the present kind and shape."""
        self.box.clear()
        self.fields = {}
        kind = self.draft.value("type")
        with self.box:
            self._group(
                "Driver",
                [],
                choices=[("driver", "Driver in it", [("", "none"), *((one, one) for one in self.versions)])],
            )
            self._group(
                "Cabinet",
                self._sizes(),
                choices=[("type", "Kind", KINDS), ("shape", "Its inside is", SHAPES)],
                part="walls",
            )
            if kind == "vented":
                self._group("Port", PORT, ends=True, part="port")
            if kind == "passive-radiator":
                self._group("Passive radiator", RADIATOR, part="radiator")
            self._walls()
            self._group("Losses and stuffing", LOSSES, folded=True)
            self._group("Front, and what it holds", FRONT, folded=True)
        self.say()

    def refresh(self, but: str = "") -> None:
        """Show values as they are now; the field `but` is being typed into."""
        for key, field in self.fields.items():
            if key != but and field.value != (shown := self._shown(key)):
                field.set(shown)

    def say(self) -> None:
        """Show the faults as they are now."""
        for key, field in self.fields.items():
            field.error(self.draft.errors.get(key, ""))

    def _sizes(self) -> Sequence[Row]:
        shape = self.draft.value("shape")
        if shape == "volume":
            return (("volume_l", "Volume, l", "with nothing in it"),)
        first: Sequence[Row] = (("inside.diameter_mm", "Inside ⌀, mm", ""),)
        if shape == "box":
            first = (("inside.width_mm", "Inside width, mm", ""), ("inside.height_mm", "height, mm", ""))
        return (*first, ("inside.depth_mm", "depth, mm", ""))

    def _shown(self, key: str) -> str:
        value = self.draft.value(key)
        if key == "port.end_correction_radii":
            return f"{1.462 if value is None else value:.4g}"
        return "" if value is None else f"{value:g}" if isinstance(value, int | float) else str(value)

    def _field(self, key: str, label: str, hint: str = "", choices: Choices = ()) -> None:
        shown = self._shown(key)
        if choices and shown not in [value for value, _ in choices]:
            choices = [*choices, (shown, shown or "–")]
        self.fields[key] = Field(
            key, label, value=shown, hint=hint, choices=choices, tag="select" if choices else "input",
            inputmode=None if key in WORDS else "decimal", on_change=lambda field: self._typed(field.key, field.value),
        )  # fmt: skip

    def _group(
        self, title: str, rows: Sequence[Row], *, choices: Sequence[tuple[str, str, Choices]] = (), folded: bool = False, ends: bool = False, part: str = ""
    ) -> None:  # fmt: skip
        with el("fieldset", cls="part-fields", data_part=part or None):
            el("legend", title).classes("unseen" if folded else "")
            outer = el("details") if folded else el("div")
            if folded and any(self.draft.value(key) for key, _, _ in rows if key != "losses.ql"):
                outer.put(open="open")
            with outer:
                if folded:
                    el("summary", title)
                with el("div", cls="fields tight"):
                    for key, label, options in choices:
                        self._field(key, label, choices=options)
                    for key, label, hint in rows:
                        self._field(key, label, hint)
                    if ends:
                        known = [
                            (f"{value:.4g}", f"{words}, {value:.3f} r") for words, value in END_SUMS.items()
                        ]
                        self._field("port.end_correction_radii", "Its ends", choices=known)

    def _walls(self) -> None:
        filaments = lookups(self.draft.workshop).filaments
        choices = [
            ("", "not stated"),
            *sorted(((name, one.title) for name, one in filaments.items()), key=lambda one: one[1]),
        ]
        with el("fieldset", cls="part-fields"):
            el("legend", "Walls")
            with el("div", cls="fields tight"):
                self._field("walls.thickness_mm", "Thickness, mm")
                self._field("walls.material", "Printed of", choices=choices)
                self._field("walls.stiffer", "Ribs stiffen them", "times; empty: plain walls")
