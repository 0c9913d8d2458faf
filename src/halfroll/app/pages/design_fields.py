"""The typed dimensions of a design: a row of fields for every part, and those of the coil."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from halfroll.app.design_draft import DesignDraft
from halfroll.app.design_tables import PROFILE, Data, in_lines
from halfroll.app.dom import el
from halfroll.app.field import Choices, Field, button
from halfroll.materials.catalogue import Catalogue
from halfroll.materials.glue import GLUES
from halfroll.materials.types import MagnetGrade

Typed = Callable[[str, str], Any]

SHAPES: Choices = (("disc", "disc"), ("ring", "ring"), ("turned", "turned"))
MAGNETISED: Choices = (("up", "up, north outwards"), ("down", "down, north inwards"), ("outwards", "away from the axis"),
                       ("inwards", "towards the axis"))  # fmt: skip
FLIPPED = {"up": "down", "down": "up", "outwards": "inwards", "inwards": "outwards"}
HOW: Choices = (("on", "on"), ("under", "under"), ("beside", "beside"))
ALIGN: Choices = (("middle", "middles level"), ("top", "tops level"), ("bottom", "bottoms level"))
PACKING: Choices = (("stacked", "turns over turns"), ("nested", "turns in the grooves"))


class DesignFields:
    """All fields of a design, by dotted key; `build` makes them anew when the stack changes."""

    def __init__(self, draft: DesignDraft, on_typed: Typed, on_stack: Callable[[], Any]) -> None:
        self.draft, self._typed, self._stack = draft, on_typed, on_stack
        self.fields: dict[str, Field] = {}
        self.places: dict[str, Field] = {}
        self.box = el("div", cls="design-fields no-print")
        self.build()

    def build(self) -> None:
        """Make the fields of the present stack."""
        self.box.clear()
        self.fields, self.places = {}, {}
        with self.box:
            self._coil()
            for index, part in enumerate(self.draft.parts):
                self._part(index, part)
            self._whole()
        self.refresh()

    def refresh(self, but: str = "") -> None:
        """Show values as they are now; the field `but` is being typed into."""
        for key, field in self.fields.items():
            if key != but:
                shown = self._shown(key)
                if field.value != shown:
                    field.set(shown)

    def say(self) -> None:
        """Show the faults as they are now."""
        for key, field in {**self.fields, **self.places}.items():
            field.error(
                next(
                    (text for at, text in self.draft.errors.items() if at == key or at.startswith(f"{key}[")),
                    "",
                )
            )

    def _shown(self, key: str) -> str:
        value = self.draft.value(key)
        if value is None:
            return self._from_stock(key)
        if key.endswith(PROFILE):
            return in_lines(value)
        return f"{value:g}" if isinstance(value, int | float) else str(value)

    def _from_stock(self, key: str) -> str:
        """A dimension or material that comes from the part in stock, or what holds when nothing is said."""
        table, _, name = key.rpartition(".")
        usual = {
            "shape": "disc",
            "align": "middle",
            "packing": "stacked",
            "offset_mm": "0",
            "temperature_c": "20",
        }.get(name, "")
        bought = self.draft.catalogue.parts.get(str(self.draft.value(f"{table}.part")))
        if bought is None:
            return usual
        length = getattr(bought, name.replace("_mm", "_m"), None)
        if name == PROFILE:
            return in_lines([[1e3 * r, 1e3 * z] for r, z in length or ()])
        if name.endswith("_mm") and isinstance(length, float) and length:
            return f"{round(1e3 * length, 4):g}"
        found = getattr(bought, name, None)
        return found if isinstance(found, str) else usual

    def _field(
        self, key: str, label: str, *, choices: Choices = (), hint: str = "", number: bool = False
    ) -> None:
        shown = self._shown(key)
        if choices and shown and shown not in [value for value, _ in choices]:
            choices = [*choices, (shown, f"{shown} (not known)")]
        self.fields[key] = Field(
            key, label, value=shown, hint=hint, tag="select" if choices else "input", choices=choices,
            inputmode="decimal" if number else None, on_change=lambda field: self._typed(field.key, field.value),
        )  # fmt: skip

    # The coil.

    def _coil(self) -> None:
        with el("fieldset", cls="part-fields"):
            el("legend", "Coil")
            if not self.draft.data.get("coil"):
                el("p", "No coil yet.", cls="quiet")
                with el("div", cls="actions"):
                    button("Wind a coil", self._wind).mark("wind-coil")
                return
            catalogue = self.draft.catalogue
            with el("div", cls="fields tight"):
                self._field("coil.turns", "Turns", number=True, hint="of all layers")
                self._field("coil.layers", "Layers", number=True)
                self._field("coil.former_inner_mm", "Former inside, ⌀ mm", number=True)
                self._field("coil.offset_mm", "Offset, mm", number=True, hint="outwards +")
                self._field("coil.wire", "Wire", choices=_wires(catalogue))
            with el("details"):
                el("summary", "Former, packing, glue")
                with el("div", cls="fields tight"):
                    self._field("coil.former_wall_mm", "Former's wall, mm", number=True)
                    self._field("coil.former_material", "Former of", choices=_formers(catalogue))
                    self._field(
                        "coil.former_height_mm",
                        "Former's length, mm",
                        number=True,
                        hint="empty: winding and 5 mm",
                    )
                    self._field("coil.insulation_mm", "Paper under the wire, mm", number=True)
                    self._field("coil.packing", "Turns lie", choices=PACKING)
                    self._field(
                        "coil.glue", "Glue", choices=(("", "none"), *((k, g.title) for k, g in GLUES.items()))
                    )
                    self._field(
                        "coil.print_tolerance_mm", "Print tolerance, ± mm", number=True, hint="empty: 0.1"
                    )
                with el("div", cls="actions"):
                    button("Leave the coil out", self._unwind, cls="plain")

    def _wind(self) -> None:
        from halfroll.app.design_start import coil_for

        built = self.draft.built
        if built is not None:
            fresh = coil_for(built.assembly.gap, self.draft.catalogue, self.draft.record.rated_impedance_ohm)
            self.draft.change(lambda data: data.update(coil=fresh))
            self._stack()

    def _unwind(self) -> None:
        self.draft.change(lambda data: data.pop("coil", None))
        self._stack()

    # The parts.

    def _part(self, index: int, part: Data) -> None:
        key = f"motor.parts[{index + 1}]"
        catalogue = self.draft.catalogue
        bought = catalogue.parts.get(str(part.get("part")))
        shape = part.get("shape") or (bought.shape if bought is not None else "disc")
        material = part.get("material") or (bought.material if bought is not None else None)
        magnet = isinstance(catalogue.materials.get(str(material)), MagnetGrade)
        with el("fieldset", cls="part-fields", data_part=str(part.get("name", ""))):
            el("legend", str(part.get("name", f"part {index + 1}")))
            with el("div", cls="fields tight"):
                if shape == "turned":
                    self.fields[f"{key}.{PROFILE}"] = Field(
                        f"{key}.{PROFILE}", "Corners of its profile, mm", tag="textarea", value=self._shown(f"{key}.{PROFILE}"),
                        hint="a line each: radius, height over its base", rows="6", spellcheck="false",
                        on_change=lambda field: self._typed(field.key, field.value),
                    )  # fmt: skip
                else:
                    self._field(f"{key}.outer_mm", "Outside, ⌀ mm", number=True)
                    if shape == "ring":
                        self._field(f"{key}.inner_mm", "Inside, ⌀ mm", number=True)
                    self._field(f"{key}.height_mm", "Height, mm", number=True)
                self._field(f"{key}.material", "Material", choices=_materials(catalogue))
                if magnet:
                    self._field(f"{key}.magnetised", "Magnetised", choices=MAGNETISED)
                if index:
                    self._placement(index, key, part)
            with el("details"):
                el("summary", "Name, stock, joint")
                with el("div", cls="fields tight"):
                    self.fields[f"{key}.name"] = Field(
                        f"{key}.name", "Name", value=str(part.get("name", "")),
                        on_change=lambda field, index=index: self._typed(f"rename {index}", field.value),  # type: ignore[misc]
                    )  # fmt: skip
                    self._field(f"{key}.part", "From stock", choices=stock_choices(catalogue))
                    self._field(f"{key}.shape", "Shape", choices=SHAPES)
                    if index:
                        self._field(f"{key}.glue_mm", "Glue in the joint, mm", number=True)
                        if "beside" in part:
                            self._field(f"{key}.align", "Level", choices=ALIGN)
                            self._field(f"{key}.offset_mm", "Farther outwards, mm", number=True)
            with el("div", cls="actions"):
                if magnet:
                    button("Turn over", lambda: self._flip(key), cls="plain").put(
                        aria_label=f"Turn {part.get('name')} over"
                    )
                button("Remove", lambda: self._remove(index), cls="plain").put(
                    aria_label=f"Remove {part.get('name')}"
                )

    def _placement(self, index: int, key: str, part: Data) -> None:
        """Which part it touches; two lists side by side that are one answer."""
        how = next((word for word, _ in HOW if word in part), "on")
        others = [str(one.get("name")) for n, one in enumerate(self.draft.parts) if n != index]
        of = str(part.get(how, others[0] if others else ""))

        def changed(_: Field) -> None:
            self.draft.place(index, chosen["how"].value, chosen["of"].value)
            self._stack()

        chosen = {
            "how": Field(f"{key}.how", "Lies", tag="select", value=how, choices=HOW, on_change=changed),
            "of": Field(
                f"{key}.of",
                "what it touches",
                tag="select",
                value=of,
                choices=[(o, o) for o in others],
                on_change=changed,
            ),
        }
        self.places[f"{key}.{how}"] = chosen["of"]

    def _flip(self, key: str) -> None:
        self._typed(f"{key}.magnetised", FLIPPED.get(str(self.draft.value(f"{key}.magnetised")), "up"))
        self.refresh()

    def _remove(self, index: int) -> None:
        self.draft.remove_part(index)
        self._stack()

    def _whole(self) -> None:
        names = [(str(part.get("name")), str(part.get("name"))) for part in self.draft.parts]
        with el("fieldset", cls="part-fields"):
            el("legend", "Gap and temperature")
            with el("div", cls="fields tight"):
                self._field("motor.gap[1]", "Gap from, inside", choices=names)
                self._field("motor.gap[2]", "to, outside", choices=names)
                self._field(
                    "motor.temperature_c",
                    "Magnets at, °C",
                    number=True,
                )
                self._field(
                    "motor.travel_mm",
                    "Travel to leave room for, mm",
                    number=True,
                    hint="each way; may be empty",
                )


def _wires(catalogue: Catalogue) -> Choices:
    return sorted(((key, wire.title) for key, wire in catalogue.wires.items()), key=lambda one: one[1])


def _formers(catalogue: Catalogue) -> Choices:
    return [(key, m.title) for kind in (catalogue.filaments, catalogue.conductors) for key, m in kind.items()]


def _materials(catalogue: Catalogue) -> Choices:
    kinds: Sequence[Any] = (catalogue.magnets, catalogue.steels, catalogue.conductors, catalogue.filaments)
    return [(key, material.title) for kind in kinds for key, material in kind.items()]


def stock_choices(catalogue: Catalogue) -> Choices:
    """Everything of known shape, own parts and the catalogue, for a list."""
    shaped = sorted(
        ((key, part.title) for key, part in catalogue.parts.items() if part.shape is not None),
        key=lambda one: one[1],
    )
    return [("", "own size"), *shaped]
