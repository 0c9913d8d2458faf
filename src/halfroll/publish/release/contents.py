"""The contents a bundle can have, in one table: add a line, and it is made, listed, chosen and left out like the others."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from halfroll.publish.release import own_records, papers, printed_models
from halfroll.publish.release.context import Context
from halfroll.publish.release.pack import Made

Maker = Callable[[Context], list[Made]]


@dataclass(frozen=True, kw_only=True)
class Content:
    """A content: its word in records, what it is called, how it is made, and its share of the work (1 is a sheet)."""

    key: str
    title: str
    make: Maker
    weight: float = 1.0


_TABLE = (
    Content(
        key="records", title="records of versions, parts and materials", make=own_records.records, weight=0.3
    ),
    Content(key="takes", title="recordings and runs", make=own_records.takes, weight=0.5),
    Content(key="models", title="models to print, with drawings", make=printed_models.models, weight=8.0),
    Content(key="sheet", title="data sheet", make=papers.sheet, weight=3.0),
    Content(key="guide", title="assembly guide", make=papers.guide, weight=2.0),
    Content(key="bill", title="bill of materials", make=papers.bill, weight=2.0),
    Content(key="comparison", title="comparison with the parent", make=papers.comparison, weight=2.0),
    Content(key="charts", title="charts", make=papers.charts),
    Content(key="figures", title="figures and their marks", make=papers.figures, weight=0.5),
    Content(key="sweep", title="sweep of the builder's check", make=papers.sweep, weight=0.3),
    Content(key="changes", title="change notes", make=papers.changes),
    Content(key="photographs", title="photographs of units", make=own_records.photographs, weight=0.1),
)

TABLE: Mapping[str, Content] = MappingProxyType({content.key: content for content in _TABLE})
"""Contents by their word, in the order in which they are made."""
