"""A version's bill of materials as a PDF: chart, lines, sums, and what to buy."""

from __future__ import annotations

from typing import Any

from halfroll.builds.bill.bill import Bill
from halfroll.core.text import count
from halfroll.publish.bill_charts import cost_chart, cost_rows
from halfroll.publish.bill_rows import bill_rows, shopping_rows, sum_rows, tool_rows
from halfroll.publish.paper import Picture, paper
from halfroll.publish.parameter_rows import Rows
from halfroll.publish.render import to_svg
from halfroll.publish.spec import picture_size
from halfroll.publish.theme import theme

CHART_PX = 688.0
"""182 mm."""

_NUMBERS = {"Amount", "Cost", "By supplier", "Price", "Packs", "Left over"}


def bill_pdf(bill: Bill, *, date: str) -> bytes:
    """The bill as a PDF of A4 pages; the same bill and date give the same bytes."""
    pictures = {}
    if cost_rows(bill) and bill.currency is not None:
        spec = cost_chart(bill, theme=theme("print"), width_px=CHART_PX)
        pictures["chart"] = Picture(svg=to_svg(spec), size=picture_size(spec), alt=str(spec["description"]))
    data = {
        "chart": bool(pictures), "lines": _plain(bill_rows(bill)), "sums": _plain(sum_rows(bill)), "tools": _plain(tool_rows(bill)),
        "shopping": _plain(shopping_rows(bill.shopping)), "buying": f"To buy for {count(bill.units, 'driver')}, whole packs",
        "said": [f"{one.text} {one.remedy}".strip() for one in bill.verdicts],
    }  # fmt: skip
    return paper(
        "bill",
        data,
        title=f"Bill of materials: {bill.title}",
        date=date,
        subtitle=bill.version_id,
        pictures=pictures,
    )


def _plain(rows: Rows) -> dict[str, Any]:
    head = [f"#{name}" if name in _NUMBERS else name for name in rows.head]
    return {"head": head, "rows": [list(row) for row in rows.rows], "notes": list(rows.notes)}
