"""The part of ``halfroll predict --what-next``: what a step of every dimension does to every figure."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from halfroll.cli.common import in_lines, print_rows
from halfroll.core.progress import Progress
from halfroll.publish.what_if import effect_rows, effects_dict

if TYPE_CHECKING:
    from halfroll.study.surrogate import Surrogate
    from halfroll.workshop import Workshop

WORST = "thd_worst_percent"


def find_next(workshop: Workshop, version_id: str, progress: Progress) -> Surrogate:
    """What every dimension of a version does, solved or from the index."""
    from halfroll.study.sensitivity import what_next

    return what_next(workshop, version_id, progress)


def print_next(found: Surrogate) -> None:
    """The effects for a reader: sentences, what would help the worst distortion, the table."""
    from halfroll.study.sentences import effects, sentences, told, what_helps

    click.echo("")
    click.echo("What a step does, the largest first:")
    for sentence in sentences(found.solved):
        click.echo(in_lines(f"  {sentence}"))
    helps = what_helps(found.solved, WORST)
    if helps:
        click.echo("What would lower the worst distortion most:")
        for sentence in helps:
            click.echo(in_lines(f"  {sentence}"))
    print_rows(effect_rows(found.solved), "Change per step")
    for sentence in told(effects(found.solved)):
        click.echo(in_lines(f"note: {sentence}"))
    for one, fault in zip(found.solved.dimensions, found.solved.faults, strict=True):
        if (
            fault and one.low <= one.value - one.step and one.value + one.step <= one.high
        ):  # the end of a range says itself
            click.echo(in_lines(f"not solved, {one.label}, one step: {fault}."))


def next_json(found: Surrogate) -> dict[str, Any]:
    """The effects for a program."""
    return effects_dict(found.solved)
