"""Options that say how figures are read, shared by ``figures`` and ``compare``."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import click

if TYPE_CHECKING:
    from halfroll.figures.types import FigureSettings
    from halfroll.workshop import Workshop

F = TypeVar("F", bound=Callable[..., Any])


def figure_options(command: F) -> F:
    """``--level``, ``--rule``, ``--thd``, ``--band`` and ``--bass``; left out, the workshop's own settings count."""
    for option in (
        click.option(
            "--bass",
            nargs=2,
            type=float,
            default=None,
            metavar="LOW HIGH",
            help="Band of the distortion, Hz.",
        ),
        click.option(
            "--band",
            nargs=2,
            type=float,
            default=None,
            metavar="LOW HIGH",
            help="Band of the sensitivity, Hz.",
        ),
        click.option(
            "--thd",
            type=click.Choice(["total", "fundamental"]),
            default=None,
            help="What THD is referred to.",
        ),
        click.option(
            "--rule",
            type=click.Choice(["effective", "minus_10", "minus_6", "minus_3"]),
            default=None,
            help="Rule of the lower and upper limit.",
        ),
        click.option("--level", type=float, default=None, help="Drive at which versions are compared, W."),
    ):
        command = option(command)
    return command


def settings_of(
    workshop: Workshop,
    level: float | None,
    rule: str | None,
    thd: str | None,
    band: tuple[float, float] | None,
    bass: tuple[float, float] | None,
) -> FigureSettings:
    """The workshop's settings with what was given on the command line, checked as the workshop's file is."""
    from halfroll.workshop import WorkshopRecord
    from halfroll.workshop.faults import check

    given = {
        "level_w": level,
        "limit_rule": rule,
        "thd_reference": thd,
        "sensitivity_band_hz": band,
        "distortion_band_hz": bass,
    }
    figures = {
        **workshop.settings.as_dict(),
        **{key: value for key, value in given.items() if value is not None},
    }
    return check(
        WorkshopRecord, {"name": workshop.name, "figures": figures}, file="the options"
    ).figures.settings()
