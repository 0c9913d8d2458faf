"""The versions a sentence names."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

_SHORT = r"v\d+|version \d+"


@dataclass(frozen=True, kw_only=True)
class Known:
    """What a sentence may speak of.

    Parameters
    ----------
    names
        Version ids by every name they go by, small letters; a name that would mean two versions is left out.
    earlier
        For each version those its line had before it.
    bought
        Versions known from print.
    built
        Versions that were measured, or are known from print: what "all" speaks of.
    parents
        Parent of each version that has one.
    here
        The version the text belongs to; None: each sentence must name its own.
    siblings
        Version ids of each driver by their short names, ``v1`` and ``version 1``, by every name the driver goes by.
    """

    names: Mapping[str, str]
    earlier: Mapping[str, Sequence[str]]
    bought: Sequence[str]
    parents: Mapping[str, str]
    built: Sequence[str] = ()
    here: str | None = None
    siblings: Mapping[str, Mapping[str, str]] = field(default_factory=dict)


class NotReadError(ValueError):
    """The sentence claims something, but what is not certain; the text says why."""


def versions_named(text: str, known: Known, subject: str = "") -> list[str]:
    """Versions named in a text, longest names first so that v8 in "dunlin v8" is not also avocet's.

    A bare ``v1`` beside a subject is a version of the subject's driver, where that has one.
    """
    _expect_known(text.lower(), known)
    found, rest = _names_in(text, known, subject)
    stray = re.search(rf"(?<![\w/])(?:{_SHORT})(?![\w/])", rest)
    if stray is not None:
        several = sorted({own[stray[0]] for own in known.siblings.values() if stray[0] in own})
        raise NotReadError(
            f"{stray[0]} may be {', '.join(several)}; say which" if several else nobody(stray[0])
        )
    return list(dict.fromkeys(id_ for _, id_ in sorted(found)))


def _names_in(text: str, known: Known, subject: str) -> tuple[list[tuple[int, str]], str]:
    """Names with where they stand, and the text with blanks in their places."""
    names = {**known.names, **known.siblings.get(subject.partition("/")[0], {})}
    found: list[tuple[int, str]] = []
    rest = text.lower()
    for name in sorted(names, key=len, reverse=True):
        for hit in re.finditer(rf"(?<![\w/]){re.escape(name)}(?![\w/])", rest):
            found.append((hit.start(), names[name]))
        rest = re.sub(rf"(?<![\w/]){re.escape(name)}(?![\w/])", lambda hit: " " * len(hit[0]), rest)
    return found, rest


def without_names(text: str, known: Known, subject: str = "") -> str:
    """The text in small letters with blanks in the places of names."""
    return _names_in(text, known, subject)[1]


def _expect_known(text: str, known: Known) -> None:
    """``dunlin v7`` is not taken for another driver's v7 where dunlin has none."""
    for driver, own in known.siblings.items():
        for hit in re.finditer(rf"(?<![\w/]){re.escape(driver)}[ /](?P<name>{_SHORT})(?![\w/])", text):
            if hit["name"] not in own:
                raise NotReadError(nobody(hit[0]))


def nobody(name: str) -> str:
    """What is said of a name that no version has."""
    return f"There is no version that is called {name!r}"
