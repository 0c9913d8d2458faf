"""Papers, charts and numbers of a release."""

from __future__ import annotations

import csv
import io
import json
import math
from typing import TYPE_CHECKING, Any

from halfroll.core.errors import RefusedError
from halfroll.core.money import rounded
from halfroll.publish.comparison import KINDS, curve_chart
from halfroll.publish.release.changes import change_notes, notes_text
from halfroll.publish.release.context import Context, NothingError, for_each, slug_of
from halfroll.publish.release.pack import Made
from halfroll.publish.render import to_svg
from halfroll.publish.sheet import sheet_pdf
from halfroll.publish.theme import theme
from halfroll.workshop.needed import file_of
from halfroll.workshop.records import SweepRecord, SweepTable

if TYPE_CHECKING:
    from halfroll.builds.bill.bill import Bill

CHART_PX = 1000
_DIGITS = 10
"""Significant digits of numbers for machines: far below any uncertainty here, and above what another order of summing changes."""


def sheet(context: Context) -> list[Made]:
    """The data sheet of every version."""
    from halfroll.publish.data_sheet import data_sheet_pdf
    from halfroll.publish.data_sheet_rows import data_sheet

    def of(context: Context, version_id: str) -> list[Made]:
        try:
            found = data_sheet(context.workshop, version_id, progress=context.progress)
        except RefusedError as empty:
            raise NothingError(empty.message) from empty
        context.marks.update(found.marks.values())
        made = data_sheet_pdf(found, context.workshop, date=context.date)
        return [_paper(version_id, "data-sheet", made, "data sheet")]

    return for_each(context, of)


def guide(context: Context) -> list[Made]:
    """The assembly guide of every version."""
    from halfroll.builds.guide.guide import guide_of
    from halfroll.publish.guide import guide_pdf

    def of(context: Context, version_id: str) -> list[Made]:
        made = guide_pdf(guide_of(context.workshop, version_id, progress=context.progress), date=context.date)
        return [_paper(version_id, "guide", made, "assembly guide with checks")]

    return for_each(context, of)


_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def comparison(context: Context) -> list[Made]:
    """The one-page comparison of every version with its parent."""

    def of(context: Context, version_id: str) -> list[Made]:
        found = context.against_parent(version_id)
        title = f"{context.workshop.driver(version_id.split('/')[0]).record.title} {version_id.split('/')[1]} against its parent"
        return [
            _paper(
                version_id,
                "against-parent",
                sheet_pdf(found, title=title, date=context.date),
                "comparison with its parent",
            )
        ]

    return for_each(context, of)


def bill(context: Context) -> list[Made]:
    """The bill of materials of every version, as a table for a spreadsheet and on paper."""
    from halfroll.builds.bill.bill import bill_of
    from halfroll.publish.bill_paper import bill_pdf

    def of(context: Context, version_id: str) -> list[Made]:
        found = bill_of(context.workshop, version_id, today=context.record.date, progress=context.progress)
        return [
            _paper(version_id, "bill", bill_pdf(found, date=context.date), "bill of materials"),
            Made(
                path=f"papers/{slug_of(version_id)}-bill.csv",
                data=_bill_csv(found),
                what="bill of materials as a table",
            ),
        ]

    return for_each(context, of)


def _bill_csv(found: Bill) -> bytes:
    """A row for each line: amounts in the unit beside them, costs of one driver in the bill's currency, low to high by supplier."""
    coin = found.currency or ""
    costs = [f"{word}_{coin.lower()}".rstrip("_") for word in ("low", "usual", "high")]
    rows = [["what", "kind", "part", "amount", "unit", "print_hours", *costs]]
    for one in (*found.lines, *found.tools):
        hours = "" if one.line.hours is None else f"{one.line.hours:.3g}"
        asked = [
            "" if cost is None else f"{rounded(cost, coin):.2f}" for cost in (one.low, one.usual, one.high)
        ]
        rows.append(
            [
                one.line.what,
                one.line.kind,
                one.line.part_id or "",
                f"{one.line.amount:.6g}",
                one.line.unit,
                hours,
                *asked,
            ]
        )
    return csv_table(rows)


def charts(context: Context) -> list[Made]:
    """Curves of the released versions, each kind one SVG."""
    look, files = theme("print"), []
    for name in KINDS:
        context.progress(KINDS.index(name) / len(KINDS), f"drawing {name}")
        spec = curve_chart(context.comparison, name, theme=look, width_px=CHART_PX)
        if spec is not None:
            files.append(Made(path=f"charts/{name}.svg", data=to_svg(spec).encode(), what=f"chart: {name}"))
    if not files:
        raise NothingError("no version has a curve")
    return files


def figures(context: Context) -> list[Made]:
    """Every figure with its mark."""
    from halfroll.publish.marks import marks_of, printed

    found = context.comparison
    if not any(figure.value is not None for column in found.columns for figure in column.figures.values()):
        raise NothingError("no version has a figure yet")
    marks = marks_of(context.workshop, found)
    raw = found.as_dict()
    for version in raw["versions"]:
        for key, figure in version["figures"].items():
            figure["mark"] = printed(marks[version["id"], key]) if (version["id"], key) in marks else None
    context.marks.update(marks.values())
    said = {"settings": raw["settings"], "versions": raw["versions"]}
    return [
        Made(
            path="figures.json",
            data=as_json(said),
            what="every figure, with uncertainty, conditions and mark",
        )
    ]


def behind_marks(context: Context) -> list[Made]:
    """What stands behind every mark that was printed in the bundle; made last."""
    from halfroll.publish.marks import marks_json, read_mark

    if not context.marks:
        return []
    behind = [read_mark(context.workshop, mark) for mark in sorted(context.marks)]
    return [Made(path="marks.json", data=marks_json(behind), what="what stands behind each mark")]


def sweep(context: Context) -> list[Made]:
    """What is played for a builder's check, and its parameters."""
    from halfroll.measure.phone.signal import PHONE_SWEEP, phone_samples
    from halfroll.workshop.audio import encode_audio

    signal = encode_audio(phone_samples(PHONE_SWEEP), PHONE_SWEEP.rate_hz, ".wav", "PCM_16")
    record = SweepRecord(**dict(SweepTable.of(PHONE_SWEEP)))
    return [
        Made(path="sweep/sweep.wav", data=signal, what="the signal of a builder's check: begin quietly"),
        Made(path="sweep/sweep.toml", data=file_of(record), what="its parameters"),
    ]


def changes(context: Context) -> list[Made]:
    """Change notes of all released versions."""
    notes = [
        change_notes(context.workshop, context.loaded.id, id_, context.progress)
        for id_ in context.record.versions
    ]
    context.marks.update(mark for one in notes for mark in one.marks)
    text = notes_text(notes, context.record.title, context.date, context.record.notes)
    return [
        Made(path="CHANGES.md", data=text.encode(), what="what changed since the version released before")
    ]


def as_json(raw: Any) -> bytes:
    """JSON with sorted keys and numbers short of a machine's last digits; what is not finite is null."""
    return json.dumps(_rounded(raw), sort_keys=True, indent=1, ensure_ascii=False).encode() + b"\n"


def _rounded(value: Any) -> Any:
    if isinstance(value, dict):
        return {str(key): _rounded(entry) for key, entry in value.items()}
    if isinstance(value, list | tuple):
        return [_rounded(entry) for entry in value]
    if hasattr(value, "item"):
        value = value.item()
    if isinstance(value, float):
        return float(f"{value:.{_DIGITS}g}") if math.isfinite(value) else None
    return value if isinstance(value, str | int | bool) or value is None else str(value)


def csv_table(rows: list[list[str]]) -> bytes:
    """Rows of cells as CSV for a spreadsheet, which must take no name for a formula."""
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows([_words(cell) for cell in row] for row in rows)
    return text.getvalue().encode()


def _words(cell: str) -> str:
    """A cell that a spreadsheet takes for text: one that begins like a formula, as a name from a stranger's bundle may, gets an apostrophe."""
    return f"'{cell}" if cell[:1] in _FORMULA else cell


def _paper(version_id: str, name: str, data: bytes, what: str) -> Made:
    return Made(path=f"papers/{slug_of(version_id)}-{name}.pdf", data=data, what=f"{what} of {version_id}")
