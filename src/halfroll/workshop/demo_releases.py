"""Releases of the demonstration: Avocet v5 went out to everyone, v8 to supporters first and to everyone later."""

from __future__ import annotations

import datetime as dt
from typing import Any

from halfroll.workshop.releases import checked_record, new_release
from halfroll.workshop.store import Workshop

LICENCE = "CERN-OHL-S-2.0"

RELEASES: dict[str, dict[str, Any]] = {
    "avocet-v5": {
        "title": "Avocet v5", "versions": ["avocet/v5"], "date": dt.date(2026, 4, 20), "takes": "none",
        "audiences": [{"name": "supporters", "date": dt.date(2026, 4, 20)}, {"name": "everyone", "date": dt.date(2026, 6, 1)}],
    },
    "avocet-v8": {
        "title": "Avocet v8", "versions": ["avocet/v8"], "date": dt.date(2026, 7, 1), "notes": "The one for the hides. It is deeper than v1.",
        "audiences": [{"name": "supporters", "date": dt.date(2026, 7, 1)}, {"name": "everyone", "date": dt.date(2027, 1, 15)}],
    },
}  # fmt: skip


def add_releases(workshop: Workshop) -> None:
    """The records of releases whose versions are there; no bundle is built."""
    there = set(workshop.version_ids())
    for name, said in RELEASES.items():
        if there.issuperset(said["versions"]):
            new_release(
                workshop, name, checked_record({**said, "licence": LICENCE, "authors": [workshop.name]})
            )
