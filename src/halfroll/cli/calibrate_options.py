"""Options that the ways to calibrate a material share."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from halfroll.cli.common import json_option

F = TypeVar("F", bound=Callable[..., Any])


def common_options(command: F) -> F:
    """What all calibrations take: where it starts from, direction, note, and whether to save."""
    for decorate in (
        json_option,
        click.option("--dry-run", "show_only", is_flag=True, help="Show the result without saving it."),
        click.option("--note", default="", help="What should be remembered: spool, printer, who."),
        click.option(
            "--date", "day", default=None, help="When it was measured, such as 2026-03-31. Default: today."
        ),
        click.option("--title", default="", help="What a new material is called."),
        click.option(
            "--like", default=None, help="Filament of the catalogue that a new material starts from."
        ),
    ):
        command = decorate(command)
    return command


_LINES = click.Choice(["along", "across", "crossed"])

lines_option = click.option("--lines", type=_LINES, default="along", show_default=True, help="How the bend meets the printed lines.")  # fmt: skip

told_lines_option = click.option("--lines", type=_LINES, default=None, help="How the bend meets the printed lines. Default: across.")  # fmt: skip

table_option = click.option("--table", type=click.Path(dir_okay=False, path_type=Path), default=None, help="CSV file with the readings.")  # fmt: skip
