"""The typed dimensions of moving parts: fields for every part, in what it is printed, and how."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from halfroll.app import address
from halfroll.app.design_tables import in_lines
from halfroll.app.dom import Plain, el
from halfroll.app.field import Choices, Field, button
from halfroll.app.suspension_draft import SuspensionDraft
from halfroll.app.suspension_start import first_part
from halfroll.app.suspension_tables import FAMILY_KEYS, PARTS, POINTS, SHAPE_KEYS
from halfroll.app.suspension_words import part_notes

Typed = Callable[[str, str], Any]

FAMILIES: Choices = (
    ("half-roll", "half roll"), ("elliptic-roll", "elliptic roll"), ("m-roll", "M roll"), ("double-roll", "double roll"), ("flat", "flat"),
    ("corrugated", "corrugated"), ("straight-legs", "straight legs"), ("spiral-arms", "spiral arms"), ("free", "free, by points"),
)  # fmt: skip
SHAPES: Choices = (
    ("straight", "straight"),
    ("flared", "flared"),
    ("dome", "dome"),
    ("free", "free, by points"),
)
DIRECTIONS: Choices = (("up", "up, outwards"), ("down", "down, inwards"))
HUBS: Choices = (("held", "held: does not turn"), ("free", "free to turn"))
RASTERS: Choices = (
    ("around", "around"),
    ("radial", "outwards from the axis"),
    ("crossed", "in layers that cross"),
)
SNAPS: Choices = (("none", "as typed"), ("lines", "to whole line widths"), ("layers", "to whole layers"))

LABELS: dict[str, tuple[str, str, Choices]] = {
    "family": ("Family", "", FAMILIES),
    "shape": ("Shape", "", SHAPES),
    "inner_mm": ("Inside, ⌀ mm", "", ()),
    "outer_mm": ("Outside, ⌀ mm", "", ()),
    "thickness_mm": ("Thickness, mm", "", ()),
    "thickness_outer_mm": ("Thickness outside, mm", "empty: the same", ()),
    "direction": ("Bulges", "", DIRECTIONS),
    "height_mm": ("Height, mm", "", ()),
    "rolls": ("Rolls", "full waves", ()),
    "amplitude_mm": ("Amplitude, mm", "", ()),
    "amplitude_outer_mm": ("Amplitude outside, mm", "empty: the same", ()),
    "arms": ("Arms", "", ()),
    "width_mm": ("Width of an arm, mm", "", ()),
    "sweep_deg": ("Sweep, °", "from hub to rim", ()),
    "hub": ("Hub", "", HUBS),
    "depth_mm": ("Depth, mm", "", ()),
    "flare_mm": ("Flare, mm", "sagitta of its arc", ()),
    POINTS: ("Middle line, mm", "a line each: radius, height; from inside", ()),
    "points": ("or a file", ".csv, .svg, .dxf beside the record", ()),
    "lip_inner_mm": ("Lip inside, mm", "for the glue", ()),
    "lip_outer_mm": ("Lip outside, mm", "for the glue", ()),
    "at_mm": ("Height over the gap, mm", "empty: where it fits", ()),
    "print.line_width_mm": ("Line width, mm", "empty: 0.42", ()),
    "print.layer_mm": ("Layer, mm", "empty: 0.2", ()),
    "print.infill": ("Filled, 0 to 1", "empty: solid", ()),
    "print.raster": ("Lines run", "", RASTERS),
    "print.snap": ("Thickness rounded", "", SNAPS),
    "print.slicer_g": ("Slicer says, g", "", ()),
    "print.weighed_g": ("Weighed, g", "", ()),
}
"""Label, hint and choices of each key."""

USUAL = {
    "shape": "straight",
    "direction": "up",
    "hub": "held",
    "print.raster": "around",
    "print.snap": "none",
}
"""What holds where a record says nothing."""

_PRINT = tuple(key for key in LABELS if key.startswith("print."))
_WORDY = ("family", "shape", "direction", "hub", "points", "print.raster", "print.snap", POINTS)


class SuspensionFields:
    """All fields by dotted key; `build` makes them anew when a family changes or a part comes or goes."""

    def __init__(self, draft: SuspensionDraft, on_typed: Typed, on_parts: Callable[[], Any]) -> None:
        self.draft, self._typed, self._parts = draft, on_typed, on_parts
        self.fields: dict[str, Field] = {}
        self.notes: dict[str, Plain] = {}
        self.box = el("div", cls="design-fields no-print")
        self.build()

    def build(self) -> None:
        """Make the fields of the present parts."""
        self.box.clear()
        self.fields, self.notes = {}, {}
        with self.box:
            for part in PARTS:
                self._part(part)
            self._whole()
        self.refresh()

    def refresh(self, but: str = "") -> None:
        """Show values as they are now; the field `but` is being typed into."""
        for key, field in self.fields.items():
            if key != but and field.value != (shown := self._shown(key)):
                field.set(shown)
        for part, note in self.notes.items():
            note.text = part_notes(part, self.draft)

    def say(self) -> None:
        """Show the faults as they are now."""
        for key, field in self.fields.items():
            field.error(next((text for at, text in self.draft.errors.items()
                              if at == key or at.startswith(f"{key}[")), ""))  # fmt: skip

    def _shown(self, key: str) -> str:
        value = self.draft.value(key)
        if value is None:
            return USUAL.get(key.partition(".")[2], "")
        if key.endswith(POINTS):
            return in_lines(value)
        return f"{value:g}" if isinstance(value, int | float) else str(value)

    def _field(self, part: str, last: str) -> None:
        key = f"{part}.{last}"
        label, hint, choices = LABELS[last]
        shown = self._shown(key)
        if choices and shown and shown not in [value for value, _ in choices]:
            choices = [*choices, (shown, f"{shown} (not known)")]
        more: dict[str, Any] = {"rows": "6", "spellcheck": "false"} if last == POINTS else {}
        self.fields[key] = Field(
            key, label, value=shown, hint=hint, choices=choices,
            tag="textarea" if last == POINTS else "select" if choices else "input",
            inputmode=None if last in _WORDY else "decimal", on_change=lambda field: self._typed(field.key, field.value), **more,
        )  # fmt: skip

    def _part(self, part: str) -> None:
        table = self.draft.data.get(part)
        with el("fieldset", cls="part-fields", data_part=part):
            el("legend", part.capitalize())
            if not table:
                el("p", f"No {part} yet.", cls="quiet")
                with el("div", cls="actions"):
                    button(f"Add a {part}", lambda: self._add(part)).mark(f"add-{part}")
                return
            with el("div", cls="fields tight"):
                for last in _first(part, table):
                    self._field(part, last)
                self._material(part)
            self.notes[part] = el("p", cls="quiet small").mark(f"{part}-notes")
            with el("details"):
                el("summary", "Place and print" if part in ("cone", "cap") else "Lips, place and print")
                with el("div", cls="fields tight"):
                    for last in [*_place(part), *_PRINT]:
                        self._field(part, last)
            with el("div", cls="actions"):
                button("Leave it out", lambda: self._leave_out(part), cls="plain").put(
                    aria_label=f"Leave the {part} out"
                )

    def _material(self, part: str) -> None:
        key = f"{part}.material"
        shown = self._shown(key)
        choices = [(name, one.title) for name, one in self.draft.catalogue.filaments.items()]
        if shown and shown not in [value for value, _ in choices]:
            choices.append((shown, f"{shown} (not known)"))
        self.fields[key] = Field(key, "Material", tag="select", value=shown, choices=sorted(choices, key=lambda one: one[1]),
                                 on_change=lambda field: self._typed(field.key, field.value))  # fmt: skip

    def _whole(self) -> None:
        with el("fieldset", cls="part-fields"):
            el("legend", "Travel and the rest that moves")
            with el("div", cls="fields tight"):
                for last, label, hint in (
                    ("travel_mm", "Travel each way, mm", "bent so far; empty: 5"),
                    ("glue_g", "Glue, g", ""),
                    ("leads_g", "Leads that move, g", ""),
                    ("temperature_c", "Warm, °C", "empty: 20"),
                ):
                    self.fields[f"moving.{last}"] = Field(
                        f"moving.{last}", label, value=self._shown(f"moving.{last}"), hint=hint, inputmode="decimal",
                        on_change=lambda field: self._typed(field.key, field.value))  # fmt: skip
            with el("p", cls="quiet small"):
                el("span", "Former and winding come from the coil: ")
                el("a", "design of the motor", href=address.of_design(self.draft.version_id))

    def _add(self, part: str) -> None:
        self.draft.add(part, first_part(part, self.draft.data, self.draft.record))
        self._parts()

    def _leave_out(self, part: str) -> None:
        self.draft.leave_out(part)
        self._parts()


def at_its_field(key: str, text: str) -> str:
    """A fault with the field it stands at before it, unless it names its part itself."""
    part, _, last = key.partition(".")
    label = LABELS.get(last.partition("[")[0])
    return (
        text
        if label is None or part in text
        else f"{part.capitalize()}, {label[0].partition(',')[0].lower()}: {text}"
    )


def _first(part: str, table: dict[str, Any]) -> tuple[str, ...]:
    """The keys of a part that are always in sight."""
    if part == "cap":
        return ("outer_mm", "height_mm", "thickness_mm")
    if part == "cone":
        shape = str(table.get("shape", "straight"))
        inner = () if shape == "dome" else ("inner_mm",)
        return (
            "shape",
            *inner,
            "outer_mm",
            "depth_mm",
            "thickness_mm",
            "thickness_outer_mm",
            *SHAPE_KEYS.get(shape, ()),
        )
    return ("family", "inner_mm", "outer_mm", "thickness_mm", *FAMILY_KEYS.get(str(table.get("family")), ()))


def _place(part: str) -> tuple[str, ...]:
    if part == "cap":
        return ()
    return ("at_mm",) if part == "cone" else ("lip_inner_mm", "lip_outer_mm", "at_mm")
