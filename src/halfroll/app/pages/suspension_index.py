"""``/suspension``: whose suspension? Which versions have moving parts, and the way to the first."""

from __future__ import annotations

from markupsafe import Markup

from halfroll.app import address, frame
from halfroll.app.suspension_tables import PARTS
from halfroll.app.view import show
from halfroll.publish.version_drawing import motor_drawings
from halfroll.workshop import VersionRecord, Workshop, overview
from halfroll.workshop.suspension_design import FLEXURES

FAMILY_WORDS = {"m-roll": "M roll"}


def index_page(workshop: Workshop) -> None:
    """The page of all suspensions."""
    frame.title("Suspensions")
    seen = overview(workshop)
    records = {version.version_id: version.record for driver in seen.drivers for version in driver.versions}
    drawings = motor_drawings(workshop, records)
    lines = [
        (driver, [(version.version_id.rpartition("/")[2], version.record.title, address.of_suspension(version.version_id),
                   Markup(drawings.get(version.version_id, "")), parts_words(version.record))
                  for version in driver.versions])
        for driver in seen.drivers
    ]  # fmt: skip
    show("suspension_index.html", lines=lines, faults=seen.faults.values())


def parts_words(record: VersionRecord) -> str:
    """The moving parts of a version in a few words; empty when there is none."""
    said = []
    for part in PARTS:
        table = getattr(record, part)
        if table is not None:
            kind = str(
                getattr(table, "family", "") or (getattr(table, "shape", "") if part == "cone" else "")
            )
            words = FAMILY_WORDS.get(kind, kind.replace("-", " "))
            said.append(f"{part} of {words}" if kind in FLEXURES else f"{words} {part}".strip())
    text = ", ".join(said)
    return text[:1].upper() + text[1:]
