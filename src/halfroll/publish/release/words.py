"""README and licence of a bundle, in plain text."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence

from halfroll.core.text import join_words
from halfroll.workshop.bundle_manifest import CHECKSUMS, LICENCE, MANIFEST
from halfroll.workshop.licences import licence
from halfroll.workshop.release_record import ReleaseRecord

WIDTH = 96

TITLES: Mapping[str, str] = {
    "records": "records/: the versions as halfroll keeps them, with the parts and materials they name",
    "takes": "records/drivers/.../takes/: recordings of built units with their rigs, to work every figure out again",
    "models": "models/: what is printed, as 3MF (all on one plate), STL and STEP",
    "sheet": "papers/...-data-sheet.pdf: figures with their conditions and uncertainty, curves, drawing",
    "guide": "papers/...-guide.pdf: how it is put together, and what to measure at each step",
    "bill": "papers/...-bill.pdf and .csv: what is bought and printed",
    "comparison": "papers/...-against-parent.pdf: what became better or worse, and whether that is more than spread",
    "charts": "charts/: curves as SVG",
    "figures": "figures.json and marks.json: every figure, and what stands behind each mark printed beside a number",
    "sweep": "sweep/: what is played for a builder's check with a telephone",
    "changes": "CHANGES.md: what changed since the version released before",
    "photographs": "records/drivers/.../units/: photographs of built units",
}
"""What each content is in a bundle, one line each."""

CAUTIONS = (
    "Magnets: large ones pinch and break fingers, splinter, and pull iron from a hand's breadth away. Keep them from children and pets: two "
    "that are swallowed can kill. Keep them from pacemakers, cards and watches.",
    "Hearing: begin quietly and turn up slowly. Nobody sits before the cone while a level or a rub is tried.",
    "Fumes and glue: print, solder, glue and burn in with a window open; wear gloves and glasses with epoxy and instant glue.",
    "Hot: nozzle, plate and soldering iron burn at once; a coil under power is hot long after. PLA and PETG soften in a car in the sun.",
    "Mains: connect a driver only to a finished amplifier in its case. Work inside mains equipment is for people who are allowed to do it; "
    "follow the rules where you live.",
    "Printed parts differ from printer to printer: check each step of the guide before you glue the next part on.",
)


def readme(
    record: ReleaseRecord, contents: Sequence[str], left_out: Mapping[str, str], names: Mapping[str, str]
) -> bytes:
    """What is in the bundle, how it is used, what can hurt."""
    lines = [record.title, "=" * min(len(record.title), WIDTH), ""]
    lines += _wrapped(
        f"Released {record.date.isoformat()}"
        + (f" by {join_words(list(record.authors))}" if record.authors else "")
        + "."
    )
    lines += _wrapped(f"Under {record.licence}; read {LICENCE} before you build on it.")
    lines += ["", "Versions", "--------", *(f"  {id_}: {names[id_]}" for id_ in record.versions), ""]
    lines += [
        "What is in it",
        "-------------",
        *(line for key in contents if key in TITLES for line in _item(TITLES[key])),
    ]
    if left_out:
        lines += [
            "",
            "What is not",
            "-----------",
            *(line for key, why in left_out.items() for line in _item(f"{key}: {why}")),
        ]
    lines += [
        "",
        "Before you build",
        "----------------",
        *(line for caution in CAUTIONS for line in _item(caution)),
    ]
    lines += ["", "Is it whole?", "------------"]
    lines += _wrapped(
        f"Unpack it into an empty folder and run  sha256sum -c {CHECKSUMS}  there, or  halfroll release check FILE  on the bundle as it is. "
        f"{MANIFEST} names every file with its size and hash. Both tell damage and careless changes; against a forger only the hash of the whole "
        "bundle helps, read from its maker by another way."
    )
    if "records" in contents:
        lines += ["", "In your own workshop", "--------------------"]
        lines += _wrapped(
            "With halfroll:  halfroll release bring-in FILE  puts the versions beside yours; nothing you have is overwritten."
        )
    return ("\n".join(lines) + "\n").encode()


def licence_file(record: ReleaseRecord, text: str | None) -> bytes:
    """The licence: its identifier, title and gist, and its text where the maker put it beside the record."""
    known = licence(record.licence)
    lines = [record.title, f"SPDX-License-Identifier: {record.licence}"]
    if known is not None and known.kind != "own":
        lines.append(f"Licence: {known.title}")
    if record.authors:
        lines.append(f"Authors: {join_words(list(record.authors))}, {record.date.year}")
    lines.append("")
    if text is not None:
        lines += ["The text of the licence, as the maker of the release put it here:", "", text.strip(), ""]
        return "\n".join(lines).encode()
    if known is not None:
        lines += _wrapped(f"In short, in our words, which bind nobody: {known.summary}")
        lines.append("")
    lines += _wrapped(
        f"This is not the licence. Its text is the one the SPDX licence list gives under the identifier {record.licence}; only that counts. "
        "Cautions and figures in this release come without any warranty."
    )
    return ("\n".join(lines) + "\n").encode()


def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, break_long_words=False, break_on_hyphens=False)


def _item(text: str) -> list[str]:
    return textwrap.wrap(
        text,
        WIDTH,
        initial_indent="  - ",
        subsequent_indent="    ",
        break_long_words=False,
        break_on_hyphens=False,
    )
