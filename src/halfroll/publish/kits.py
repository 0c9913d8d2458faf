"""Papers of a batch of kits: the pick list with boxes to tick, and a sheet of labels for the bags."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from halfroll.builds.kits.types import KitPart, KitPlan
from halfroll.core.errors import InputError
from halfroll.core.text import MINUS, count
from halfroll.publish.paper import paper
from halfroll.workshop.standing import about_text, amount_text

MAGNETS = "Loose magnets: two swallowed ones are an emergency. Keep them from children; pack each bag closed, magnets apart."
PINCH = (
    "Magnets pinch and splinter: take them one at a time, keep them 0.3 m from pacemakers, cards and discs."
)
ON_A_BAG = "Magnets: not for children. If swallowed, to hospital at once. They pinch."

PAGE_MM = (210.0, 297.0)
LEAST_MM = (35.0, 18.0)
MOST_LABELS = 3000
LONGEST_TITLE, LONGEST_KIT = 90, 50
LONGEST_WORD = 14


@dataclass(frozen=True, kw_only=True)
class LabelGrid:
    """Labels on A4: columns and rows, the size of one and the gaps between them (mm); the grid stands in the middle of the sheet.

    The default is 3 by 8 labels of 70 by 37 mm.
    """

    columns: int = 3
    rows: int = 8
    width_mm: float | None = None
    height_mm: float | None = None
    gap_across_mm: float = 0.0
    gap_down_mm: float = 0.0

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height of one label: as stated, else what the sheet gives, whole millimetres."""
        wide = self.width_mm or float((PAGE_MM[0] - (self.columns - 1) * self.gap_across_mm) // self.columns)
        high = self.height_mm or float((PAGE_MM[1] - (self.rows - 1) * self.gap_down_mm) // self.rows)
        return wide, high

    def check(self) -> None:
        """Refuse a grid that does not fit on A4, or labels too small for words.

        Raises
        ------
        InputError
            With the key of the option.
        """
        for key, many, most in (("columns", self.columns, 6), ("rows", self.rows, 16)):
            if not 1 <= many <= most:
                raise InputError(f"Labels have 1 to {most} {key} on a sheet", key=key, found=str(many))
        for key, gap in (("gap_across", self.gap_across_mm), ("gap_down", self.gap_down_mm)):
            if not 0.0 <= gap <= 30.0:
                raise InputError("The gap between labels must be 0 to 30 mm", key=key, found=f"{gap:g}")
        sizes = zip(("width", "height"), self.size_mm, LEAST_MM, PAGE_MM, (self.columns, self.rows),
                    (self.gap_across_mm, self.gap_down_mm), strict=True)  # fmt: skip
        for key, size, least, page, many, gap in sizes:
            if not size >= least:
                raise InputError(f"A label must be {least:g} mm in {key} at least, or its words do not fit", key=key,
                                 found=f"{size:g} mm", remedy="Choose fewer columns or rows")  # fmt: skip
            if many * size + (many - 1) * gap > page + 1e-6:
                raise InputError(f"The labels do not fit on A4 ({page:g} mm in {key})", key=key,
                                 found=f"{many} labels of {size:g} mm with gaps of {gap:g} mm")  # fmt: skip

    def corner_mm(self, place: int) -> tuple[float, float]:
        """Left upper corner of a label on its sheet, counted from 0 along the rows."""
        row, column = divmod(place, self.columns)
        wide, high = self.size_mm
        left = (PAGE_MM[0] - self.columns * wide - (self.columns - 1) * self.gap_across_mm) / 2
        top = (PAGE_MM[1] - self.rows * high - (self.rows - 1) * self.gap_down_mm) / 2
        return left + column * (wide + self.gap_across_mm), top + row * (high + self.gap_down_mm)


def pick_list_pdf(planned: KitPlan, *, date: str) -> bytes:
    """What to take from where for a batch, by place, with boxes to tick; cautions first."""
    title = f"Pick list: {planned.record.title}"
    magnets = any(part.need.magnet for part in planned.parts)
    data = {
        "cautions": [MAGNETS, PINCH] if magnets else [],
        "places": [{"name": name, "rows": [_row(part) for part in parts]} for name, parts in _by_place(planned.parts)],
        "printed_head": "The builder prints, of each kit",
        "printed": [
            f"{line.what}, {count_words(number * line.pieces)}, {about_text(number * line.amount, 'g')}" for number, line in planned.by_builder
        ],
        "said": [f"{verdict.text} {verdict.remedy}".strip() for verdict in planned.verdicts if verdict.severity > 1],
    }  # fmt: skip
    return paper("kits_pick", data, title=title, date=date, subtitle=f"{count(planned.n, 'kit')} of {planned.kit_id}: {_drivers(planned)}",
                 foot=f"{title}, {count(planned.n, 'kit')}")  # fmt: skip


def label_sheet_pdf(planned: KitPlan, *, date: str, grid: LabelGrid | None = None, skip: int = 0) -> bytes:
    """A label for every bag of every part of a batch: part, amount, kit, date; on bags of magnets a caution.

    Parameters
    ----------
    skip
        Labels of the first sheet that are used up already.

    Raises
    ------
    InputError
        The grid does not fit on A4, or there are more than 3000 labels.
    """
    grid = grid or LabelGrid()
    grid.check()
    on_sheet = grid.columns * grid.rows
    if not 0 <= skip < on_sheet:
        raise InputError("The number of used labels must be fewer than a sheet has", key="skip", found=str(skip),
                         allowed=f"0 to {on_sheet - 1}")  # fmt: skip
    labels = [_label(planned, part, kit, date) for part in planned.parts for kit in range(1, planned.n + 1)]
    if len(labels) > MOST_LABELS:
        raise InputError(
            f"At most {MOST_LABELS} labels are set at once",
            found=f"{len(labels)}",
            remedy="Print fewer kits at a time",
        )
    sheets: list[list[dict[str, Any]]] = []
    for place, label in enumerate(labels, skip):
        sheet, at = divmod(place, on_sheet)
        while len(sheets) <= sheet:
            sheets.append([])
        x, y = grid.corner_mm(at)
        sheets[sheet].append({**label, "x_mm": x, "y_mm": y})
    wide, high = grid.size_mm
    return paper("kits_labels", {"sheets": sheets or [[]], "grid": {"width_mm": wide, "height_mm": high}},
                 title=f"Labels: {planned.record.title}", date=date)  # fmt: skip


def count_words(pieces: float) -> str:
    """``2 pieces``."""
    return amount_text(pieces, "pieces")


def _by_place(parts: Sequence[KitPart]) -> list[tuple[str, list[KitPart]]]:
    """Parts by where they lie, those without a place last."""
    found: dict[str, list[KitPart]] = {}
    for part in parts:
        found.setdefault(part.need.place or "No place stated", []).append(part)
    return list(found.items())


def _row(part: KitPart) -> dict[str, Any]:
    need = part.need
    left = (part.stock or 0.0) - part.needed
    short = part.lacking > 0.0
    return {
        "title": need.title, "id": need.part_id, "uses": ", ".join(need.uses), "bag": about_text(need.per_kit, need.unit),
        "batch": about_text(part.needed, need.unit), "stock": "not counted" if part.stock is None else amount_text(part.stock, need.unit),
        "left": f"{about_text(part.lacking, need.unit)} lacking" if short else about_text(left, need.unit).replace(MINUS + "0", "0"),
        "short": short,
    }  # fmt: skip


def _label(planned: KitPlan, part: KitPart, kit: int, date: str) -> dict[str, str]:
    need = part.need
    spare = ""
    if need.spare > 0:
        spare = (
            f", {need.spare:g} of them spare"
            if need.unit == "pieces"
            else f", {about_text(need.spare, need.unit)} of it spare"
        )
    title = planned.record.title
    return {
        "title": _breakable(_cut(need.title, LONGEST_TITLE)),
        "amount": about_text(need.per_kit, need.unit) + spare,
        "kit": f"{_breakable(_cut(title, LONGEST_KIT))}, kit {kit} of {planned.n}, {date}",
        "caution": ON_A_BAG if need.magnet else "",
    }


def _cut(text: str, longest: int) -> str:
    return text if len(text) <= longest else f"{text[: longest - 1].rstrip()}…"


def _breakable(text: str) -> str:
    """Words so long that they would run out of a label may be broken (zero-width spaces)."""
    return " ".join(
        "\u200b".join(word[at : at + LONGEST_WORD] for at in range(0, len(word), LONGEST_WORD))
        for word in text.split(" ")
    )


def _drivers(planned: KitPlan) -> str:
    return ", ".join(f"{one.count} × {one.version}" for one in planned.record.drivers)
