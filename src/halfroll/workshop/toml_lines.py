"""On which line of a TOML text a key stands. Used only when there is a fault to report."""

from __future__ import annotations

import re

KeyPath = tuple[str | int, ...]

_HEADER = re.compile(r"\s*(\[\[|\[)\s*([^\]]+?)\s*\]\]?\s*(?:#.*)?$")
_ASSIGNMENT = re.compile(
    r"""\s*((?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*')(?:\s*\.\s*(?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*'))*)\s*="""
)
_TRIPLE = re.compile(r'"""|\'\'\'')


def line_of(text: str, path: KeyPath) -> int | None:
    """Line (from 1) of the key at `path`, else of the nearest table around it that has a line; None when none has."""
    lines = _lines(text)
    for length in range(len(path), 0, -1):
        if path[:length] in lines:
            return lines[path[:length]]
    return None


def dotted(path: KeyPath) -> str:
    """A key's path as a person writes it; entries of lists count from 1: ``audio[2].roles``."""
    text = ""
    for step in path:
        text += f"[{step + 1}]" if isinstance(step, int) else f".{step}" if text else step
    return text


def _lines(text: str) -> dict[KeyPath, int]:
    """First line of every key and table whose name starts a line."""
    found: dict[KeyPath, int] = {}
    table: KeyPath = ()
    counts: dict[KeyPath, int] = {}
    inside: str | None = None  # the quotes of a text that runs over several lines
    for number, line in enumerate(text.split("\n"), 1):
        if inside is None and (header := _HEADER.match(line)):
            table = _table(_names(header[2]), header[1] == "[[", counts)
            found.setdefault(table, number)
            if header[1] == "[[":
                found.setdefault(table[:-1], number)  # a list stands where its first table does
            continue
        if inside is None and (assignment := _ASSIGNMENT.match(line)):
            found.setdefault((*table, *_names(assignment[1])), number)
        for quotes in _TRIPLE.findall(line):
            inside = None if inside == quotes else inside or quotes
    return found


def _table(names: tuple[str, ...], is_list: bool, counts: dict[KeyPath, int]) -> KeyPath:
    """The full path of a table header: names of lists are followed by the index of their latest entry."""
    path: KeyPath = ()
    for depth, name in enumerate(names, 1):
        path = (*path, name)
        if is_list and depth == len(names):
            counts[path] = counts.get(path, -1) + 1
        if path in counts:
            path = (*path, counts[path])
    return path


def _names(dotted_name: str) -> tuple[str, ...]:
    return tuple(name.strip().strip("\"'") for name in dotted_name.split("."))
