"""The part of ``halfroll predict --causes``: which cause makes the distortion."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from halfroll.cli.common import in_lines, print_rows, say_verdicts
from halfroll.core.progress import Progress

if TYPE_CHECKING:
    from halfroll.acoustics.load import AcousticLoad
    from halfroll.driver.predicted.types import PredictedDriver
    from halfroll.workshop import Workshop
    from halfroll.workshop.causes import VersionCauses


def find_causes(
    workshop: Workshop, version_id: str, predicted: PredictedDriver, load: AcousticLoad | None, progress: Progress, *,
    level_w: float | None = None,
) -> VersionCauses:  # fmt: skip
    """Which cause makes the distortion of a version's driver."""
    from halfroll.workshop.causes import version_causes

    return version_causes(workshop, version_id, predicted, progress, load=load, level_w=level_w)


def print_causes(found: VersionCauses) -> None:
    """The causes for a reader."""
    from halfroll.publish.causes_words import cause_rows, cause_sentences

    click.echo("")
    for sentence in cause_sentences(found):
        click.echo(in_lines(sentence))
    print_rows(cause_rows(found), "Causes of distortion")
    say_verdicts(found.verdicts)


def causes_json(found: VersionCauses) -> dict[str, Any]:
    """The causes for a program."""
    from halfroll.publish.causes_words import causes_dict

    return causes_dict(found)


def causes_picture(found: VersionCauses, theme: str, width_px: int) -> str:
    """The picture of the causes as SVG: even above odd orders."""
    from halfroll.publish.causes import causes_svg
    from halfroll.publish.theme import theme as look

    return causes_svg(found.causes, theme=look(theme), width_px=float(width_px))
