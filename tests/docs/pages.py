"""The documentation as tests read it: pages, their fenced blocks, and the marks in front of blocks.

A mark is an HTML comment on a line of its own, so a reader does not see it. In the tutorial and the how-tos every
fenced block has one::

    <!-- run -->                      the commands below are run and all give exit code 0
    <!-- run: exit 2 -->              the last of them gives exit code 2
    <!-- shows -->                    the lines below stand in what the last commands printed, numbers aside
    <!-- shows: numbers -->           the same, and the numbers as well
    <!-- write: path -->              the text below becomes the content of a file
    <!-- change: path -->             the lines below, "key = value", replace those of the same keys in a file
    <!-- append: path -->             the text below is put at the end of a file
    <!-- not run: reason -->          nothing is done

A mark without a block can stand anywhere::

    <!-- recorded: what -->           the reader records something here; the test makes the recordings (`recorder`)
    <!-- goes on from: page -->       at the head of a page: it begins in the folder another page ends with
"""

import importlib.util
import re
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType

DOCS = Path(__file__).resolve().parents[2] / "docs"
EXECUTED = ("tutorial", "how-to")
"""Folders whose blocks are run."""

_MARK = re.compile(
    r"<!-- (?P<kind>run|shows|write|change|append|not run|recorded|goes on from)(?:: (?P<what>.*))? -->"
)
ALONE = ("recorded", "goes on from")


@dataclass(frozen=True, kw_only=True)
class Step:
    """A mark and the block behind it: kind of mark, what it says, text of the block, and where it stands."""

    kind: str
    what: str
    text: str
    page: str
    line: int

    def __str__(self) -> str:
        return f"{self.page}:{self.line}"


def pages() -> list[Path]:
    """All pages of the documentation."""
    return sorted(DOCS.rglob("*.md"))


def executed_pages() -> list[str]:
    """Names of the pages whose blocks are run, such as ``tutorial/first-comparison.md``."""
    return [
        p.relative_to(DOCS).as_posix() for folder in EXECUTED for p in sorted((DOCS / folder).glob("*.md"))
    ]


def steps_of(page: str) -> list[Step]:
    """The steps of a page in order; a fenced block without a mark is a step of kind ``none``."""
    lines = (DOCS / page).read_text(encoding="utf-8").split("\n")
    found, at, mark = [], 0, None
    while at < len(lines):
        line = lines[at]
        match = _MARK.fullmatch(line)
        if match and match["kind"] in ALONE:
            found.append(Step(kind=match["kind"], what=match["what"], text="", page=page, line=at + 1))
        elif match:
            mark = match
        elif line.startswith("```"):
            end = lines.index("```", at + 1)
            kind, what = (mark["kind"], mark["what"] or "") if mark else ("none", "")
            text = "\n".join(lines[at + 1 : end])
            found.append(Step(kind=kind, what=what, text=text, page=page, line=at + 1))
            at, mark = end, None
        elif line.strip():
            assert mark is None, f"{page}:{at + 1}: a mark must stand right before its block"
        at += 1
    return found


def starts_from(page: str) -> str | None:
    """The page at whose end a page begins; None when it begins in an empty folder."""
    return next((step.what for step in steps_of(page) if step.kind == "goes on from"), None)


def generator() -> ModuleType:
    """docs/generate.py. It is loaded by its path, because other packages are called docs as well."""
    spec = importlib.util.spec_from_file_location("halfroll_docs_generate", DOCS / "generate.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
