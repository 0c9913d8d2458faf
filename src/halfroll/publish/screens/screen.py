"""A laid-out picture: charts and lines of words with their places."""

from __future__ import annotations

from dataclasses import dataclass

from halfroll.publish.spec import Spec
from halfroll.publish.theme import Theme


@dataclass(frozen=True, kw_only=True)
class Line:
    """A line of words: its left end and baseline (px), height, colour, weight."""

    text: str
    x: float
    y: float
    size: float
    colour: str
    weight: int = 400


@dataclass(frozen=True, kw_only=True)
class Placed:
    """A chart and where its upper left corner stands (px)."""

    spec: Spec
    x: float
    y: float


@dataclass(frozen=True, kw_only=True)
class Screen:
    """A picture of 1920 by 1080 px.

    Parameters
    ----------
    ground, look
        ``plain``, ``dark`` or ``transparent``, and its theme.
    words
        Title, settings, source.
    finding
        The finding's lines; empty when nothing is told.
    charts
        One chart, or a strip for every headline figure.
    rows
        Words that belong to one version each, in the order of versions; empty where the charts name them.
    summary
        The picture in words, for people who do not see it.
    """

    ground: str
    look: Theme
    words: tuple[Line, ...]
    finding: tuple[Line, ...]
    charts: tuple[Placed, ...]
    rows: tuple[tuple[Line, ...], ...] = ()
    summary: str = ""
