"""The files of a site by name: pages, style, scripts, fonts inside the style sheet, marks as data."""

from __future__ import annotations

import base64
import json
from collections.abc import Mapping, Sequence
from functools import cache
from importlib.resources import files as resources
from typing import Any

from halfroll import __version__
from halfroll.core.progress import Progress, part, silent
from halfroll.publish import render
from halfroll.publish.marks import marks_json
from halfroll.publish.site.charts import look_rules
from halfroll.publish.site.gather import gather
from halfroll.publish.site.pages import pages
from halfroll.publish.theme import css_variables, font_directory, font_files, theme
from halfroll.workshop import Workshop
from halfroll.workshop.files import digest

MANIFEST = "site.json"
FORMAT = 1


def site_files(
    workshop: Workshop,
    *,
    versions: Sequence[str] = (),
    date: str,
    predict: bool = False,
    progress: Progress = silent,
) -> dict[str, bytes]:
    """Every file of the site by its name in the folder; the same workshop and date give the same bytes. Errors as `gather`."""
    data = gather(workshop, versions, date=date, predict=predict, progress=part(progress, 0.0, 0.6))
    found = {name: text.encode() for name, text in pages(data, part(progress, 0.6, 0.98)).items()}
    found |= {
        "style.css": style_sheet().encode(),
        "site.js": _own("site.js").encode(),
        "charts.js": render.browser_bundle().encode(),
        "marks.json": marks_json(data.records),
        "licences.txt": licences().encode(),
    }
    found[MANIFEST] = _manifest(data.name, date, found)
    progress(1.0, "made")
    return dict(sorted(found.items()))


def _manifest(name: str, date: str, found: Mapping[str, bytes]) -> bytes:
    """What marks the folder as a site of ours, and the hashes of its files."""
    told: dict[str, Any] = {"halfroll_site": FORMAT, "workshop": name, "date": date, "program": f"halfroll {__version__}",
                            "files": {file: digest(data) for file, data in sorted(found.items())}}  # fmt: skip
    return json.dumps(told, indent=1, sort_keys=True, ensure_ascii=False).encode() + b"\n"


@cache
def style_sheet() -> str:
    """Colours of both looks, the house font as data (a page opened from a folder may not fetch one), the rules."""
    light, dark, paper = (_variables(name) for name in ("light", "dark", "print"))
    return "\n".join((
        *(_face(name, weight) for name, weight in (("Light", 300), ("Regular", 400), ("Semibold", 600))),
        f":root {{ color-scheme: light dark; {light} }}",
        f"@media screen and (prefers-color-scheme: dark) {{ :root {{ {dark} }}\n{look_rules('dark')} }}",
        f"@media print {{ :root {{ color-scheme: light; {paper} }}\n{look_rules('print')} }}",
        _own("site.css"),
    ))  # fmt: skip


def _face(name: str, weight: int) -> str:
    known = {path.stem.rpartition("-")[2]: path for path in font_files().values()}
    path = known.get(name) or font_directory() / f"SourceSansPro-{name}.ttf"
    data = base64.b64encode(path.read_bytes()).decode()
    return (
        f"@font-face {{ font-family: '{theme().family}'; font-weight: {weight}; font-display: swap; "
        f"src: url('data:font/ttf;base64,{data}') format('truetype'); }}"
    )


def _variables(name: str) -> str:
    return " ".join(f"{key}: {value};" for key, value in css_variables(theme(name)).items())


@cache
def _own(name: str) -> str:
    return resources("halfroll.publish.site").joinpath(name).read_text(encoding="utf-8")


@cache
def licences() -> str:
    """Whose work comes with the pages, and under which terms."""
    font = (font_directory() / "LICENSE.txt").read_text(encoding="utf-8", errors="replace")
    return f"{_own('licences.txt')}\n\nSource Sans Pro, in style.css\n\n{font}"
