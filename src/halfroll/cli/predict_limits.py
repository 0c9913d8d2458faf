"""The part of ``halfroll predict --limits``: how loud, what limits it, what warmth takes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from halfroll.cli.common import in_lines, print_rows, say_verdicts
from halfroll.core.progress import Progress
from halfroll.publish.limits_words import (
    compression_dict,
    compression_rows,
    limit_rows,
    limit_sentences,
    limits_dict,
)

if TYPE_CHECKING:
    from halfroll.acoustics.load import AcousticLoad
    from halfroll.driver.predicted.types import PredictedDriver
    from halfroll.workshop import Workshop
    from halfroll.workshop.limits import DriverLimits


def find_limits(
    workshop: Workshop,
    version_id: str,
    predicted: PredictedDriver,
    load: AcousticLoad | None,
    progress: Progress,
) -> DriverLimits:
    """What limits a version's driver."""
    from halfroll.workshop.limits import driver_limits

    return driver_limits(workshop, version_id, predicted, progress, load=load)


def print_limits(found: DriverLimits) -> None:
    """The limits for a reader."""
    click.echo("")
    for sentence in limit_sentences(found.maximum):
        click.echo(in_lines(sentence))
    print_rows(limit_rows(found.maximum), "Highest level")
    if found.compression is not None:
        print_rows(compression_rows(found.compression), "Power compression, pink noise at a constant voltage")
    say_verdicts(found.maximum.verdicts)


def limits_json(found: DriverLimits) -> dict[str, Any]:
    """The limits for a program."""
    return {
        "limits": limits_dict(found.maximum),
        "power_compression": None if found.compression is None else compression_dict(found.compression),
    }
