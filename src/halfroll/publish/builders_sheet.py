"""The sheet that a builder fills in: what to read with what is in the house, how, a blank for each, and what a good unit reads."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from halfroll.builds.guide.judge import band_words
from halfroll.builds.types import Band
from halfroll.core.errors import InputError
from halfroll.publish.paper import paper
from halfroll.workshop import Workshop
from halfroll.workshop.builder_readings import READINGS, ReadingKind

LEAD = "Read what you can; every line may stay empty. The first three take five minutes and tell most."
CAUTIONS = (
    "Mind your ears: near resonance and from 2 to 5 kHz a sweep is far louder than music at the same setting. Begin with the volume right down.",
    "A bare magnet pinches, and pulls steel and splinters. Keep it from pacemakers, watches and cards.",
    "Connect nothing to the mains. A 1.5 V cell is enough, for a moment: longer warms the coil.",
)
RECORDING = (
    "Get the builders' sweep from the workshop. It begins and ends with short tones; let them be in the recording.",
    "Hold the telephone 3 cm before the middle of the cone, microphone towards it, without touching. Say whether the driver lay free, in a board or in its box.",
    "Play quietly. Record as WAV without automatic gain if the recorder can; M4A, MP3 and OGG do.",
    "A good unit recorded by the same telephone in the same place makes the answer much surer.",
)
CLOSING = "Send this sheet and the recording to whoever gave you the files. A nickname is enough; nothing else about you is needed."

_FIRST = ("re_ohm", "polarity", "rub")
_BEFORE = ("moving_mass_g",)


def check_sheet_pdf(version: str, bands: Mapping[str, Band], *, date: str) -> bytes:
    """One A4 page for builders of a version, as PDF.

    Parameters
    ----------
    version
        Title of the version.
    bands
        What good units read, by key (`builds.guide.bands`); blank where one is missing.
    date
        As printed.
    """
    rest = [key for key in READINGS if key not in (*_FIRST, *_BEFORE, "qts", "magnet_pull")]
    data = {
        "lead": LEAD, "cautions": list(CAUTIONS), "recording": list(RECORDING), "closing": CLOSING,
        "parts": [
            _part("With a multimeter, a cell and three fingers", "", _FIRST, bands),
            _part("With more, if you have it", "", [*_BEFORE, *rest], bands),
        ],
    }  # fmt: skip
    return paper(
        "builders_sheet",
        data,
        title="Check sheet",
        date=date,
        subtitle=f"{version}: what to read when it does not sound right",
    )


def check_sheet(workshop: Workshop, version_id: str, date: str) -> bytes:
    """The sheet for builders of a version; bands are left blank where nothing is known of it yet."""
    from halfroll.builds.guide.bands import bands_of

    record = workshop.version(version_id).record
    try:
        bands = bands_of(workshop, version_id)
    except InputError:  # nothing is known of it: a sheet with blanks serves as well
        bands = {}
    title = f"{workshop.driver(version_id.partition('/')[0]).record.title} {version_id.partition('/')[2]}"
    return check_sheet_pdf(f"{title}, {record.title}" if record.title else title, bands, date=date)


def _part(title: str, about: str, keys: Any, bands: Mapping[str, Band]) -> dict[str, Any]:
    return {"title": title, "about": about, "rows": [_row(READINGS[key], bands.get(key)) for key in keys]}


def _row(kind: ReadingKind, band: Band | None) -> dict[str, Any]:
    good = {"polarity": "right", "rub": "none", "leak": "none"}.get(kind.key, "")
    return {
        "label": kind.label, "hint": kind.hint, "unit": "Ω" if kind.unit == "ohm" else kind.unit, "words": list(kind.words),
        "good": good or (band_words(band) if band is not None else ""),
    }  # fmt: skip
