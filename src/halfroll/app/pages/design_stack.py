"""Adding a part to the stack: from stock, or of one's own size."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from halfroll.app.design_draft import DesignDraft
from halfroll.app.design_tables import Data
from halfroll.app.dom import el
from halfroll.app.field import Field, button
from halfroll.app.pages.design_fields import HOW, stock_choices
from halfroll.materials.types import StockPart

GRADES = {"nd": "n42", "ferrite": "y30"}
"""A usual grade of a magnet whose record does not say one, by how its key begins."""


class AddPart:
    """The form that adds a part."""

    def __init__(self, draft: DesignDraft, on_added: Callable[[], Any]) -> None:
        self.draft, self._added = draft, on_added
        with el("fieldset", cls="part-fields") as self.box:
            self._fill()

    def _fill(self) -> None:
        names = [str(part.get("name")) for part in self.draft.parts]
        el("legend", "Add a part")
        with el("div", cls="fields tight"):
            self.what = Field("add-part", "Part", tag="select", choices=stock_choices(self.draft.catalogue))
            self.name = Field("add-name", "Name", hint="empty: what it is")
            self.how = Field("add-how", "It lies", tag="select", choices=HOW, value="on")
            self.of = Field(
                "add-of",
                "what it touches",
                tag="select",
                choices=[(n, n) for n in names],
                value=names[-1] if names else "",
            )
        with el("div", cls="actions"):
            button("Add", self._add).mark("add-part-button")

    def _add(self) -> None:
        part = self.draft.catalogue.parts.get(self.what.value)
        made: Data = {"name": self.name.value or _usual_name(part), self.how.value or "on": self.of.value}
        if part is None:
            made |= {"shape": "disc", "outer_mm": 20.0, "height_mm": 4.0, "material": "steel-1008"}
        else:
            made["part"] = part.key
            if part.kind == "magnet" or part.material in self.draft.catalogue.magnets:
                made["magnetised"] = "up"
                if part.material is None:
                    made["material"] = next(
                        (g for start, g in GRADES.items() if part.key.startswith(start)), "n42"
                    )
            elif part.material is None:
                made["material"] = "steel-1008"
        self.draft.add_part(made)
        self.box.clear()
        with self.box:
            self._fill()
        self._added()


def _usual_name(part: StockPart | None) -> str:
    return "plate" if part is None else part.kind
