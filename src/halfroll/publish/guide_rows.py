"""Bands in rows."""

from __future__ import annotations

from collections.abc import Mapping

from halfroll.builds.guide.judge import band_words
from halfroll.builds.types import Band
from halfroll.core.text import format_value
from halfroll.publish.parameter_rows import Rows

NOTE = "Good: 95 % of good units. It holds what differs between units and what all of them share."


def band_rows(bands: Mapping[str, Band]) -> Rows:
    """One band a line: what it is, what is good, the middle, where it comes from."""
    rows = tuple(
        (one.label, band_words(one), format_value(one.value, one.u, one.unit), one.source)
        for one in bands.values()
    )
    return Rows(head=("Reading", "Good", "Middle", "From"), rows=rows, notes=(NOTE,))
