"""What commands share: finding the workshop, JSON, progress, tables, files to write."""

from __future__ import annotations

import json
import math
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, TextIO, TypeVar

import click

from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, silent
from halfroll.core.verdicts import Severity, Verdict

if TYPE_CHECKING:
    from rich.console import Console

    from halfroll.publish.parameter_rows import Rows
    from halfroll.workshop import Workshop

F = TypeVar("F", bound=Callable[..., Any])

MARKS = {Severity.GOOD: "good", Severity.NOTE: "note", Severity.CAUTION: "caution", Severity.BAD: "bad"}


class InOrder(click.Group):
    """A group whose commands are listed in the order of the work, as they stand in their file."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names in the order in which they were written."""
        return list(self.commands)


def json_option(command: F) -> F:
    """``--json``: one object on stdout, everything else on stderr."""
    return click.option(
        "--json", "as_json", is_flag=True, help="Print one JSON object for a program to read."
    )(command)


def output_options(command: F) -> F:
    """``--theme``, ``--svg``, ``--png`` and ``--pdf``: the look of a picture, and files to write it to."""
    for kind in ("pdf", "png", "svg"):
        command = click.option(
            f"--{kind}",
            type=click.Path(dir_okay=False, path_type=Path),
            default=None,
            help=f"Write the picture to this {kind.upper()} file.",
        )(command)
    return _theme_option("picture")(command)


def drawing_options(command: F) -> F:
    """``--theme`` and ``--width`` of a drawing."""
    width = click.option(
        "--width", type=click.IntRange(300, 4000), default=1000, show_default=True, help="Width of the drawing, pixels."
    )  # fmt: skip
    return _theme_option("drawing")(width(command))


def _theme_option(of: str) -> Callable[[F], F]:
    looks = click.Choice(["print", "light", "dark", "slide"])
    return click.option("--theme", type=looks, default="print", show_default=True, help=f"Look of the {of}.")


def ask_before_sound(highest_v: float, limit_v: float, limit_from: str, yes: bool) -> None:
    """Say what can be hurt and how loud it may get, and go on only when somebody agrees."""
    from halfroll.core.text import format_value
    from halfroll.workshop.live import CAUTIONS

    for caution in CAUTIONS:
        say(caution)
    highest, limit = (format_value(volts, None, "V") for volts in (highest_v, limit_v))
    say(f"Up to {highest} will be played; the limit is {limit}{limit_from and f', {limit_from}'}.")
    if yes:
        return
    if not sys.stdin.isatty():
        raise InputError(
            "Nobody can be asked whether to begin", key="--yes", remedy="Add --yes once you have read the cautions"
        )  # fmt: skip
    click.confirm("Begin?", abort=True, err=True)


def open_workshop() -> Workshop:
    """The workshop named by ``--workshop``, or the one around the current folder."""
    from halfroll.workshop import Workshop

    folder = click.get_current_context().find_root().obj
    return Workshop.find(Path.cwd()) if folder is None else Workshop.open(folder)


def print_json(value: dict[str, Any]) -> None:
    """One JSON object on stdout; not-a-number and infinity become null."""
    click.echo(json.dumps(_plain(value), ensure_ascii=False, indent=2))


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {str(k): _plain(v) for k, v in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(v) for v in value]
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if hasattr(value, "item"):
        return _plain(value.item())
    return value if isinstance(value, (str, int, bool)) or value is None else str(value)


def say(text: str) -> None:
    """A message for the person, on stderr."""
    click.echo(in_lines(text, sys.stderr), err=True)


def say_verdicts(verdicts: tuple[Verdict, ...]) -> None:
    """Verdicts in words, the gravest first."""
    for verdict in sorted(verdicts, key=lambda v: -v.severity):
        click.echo(in_lines(f"{MARKS[verdict.severity]}: {verdict.text} {verdict.remedy}".rstrip()))


def say_faults(faults: Iterable[InputError]) -> None:
    """What could not be worked out, and why."""
    for fault in faults:
        click.echo(in_lines(f"not worked out: {fault}"))


def in_lines(text: str, to: TextIO | None = None) -> str:
    """Long sentences broken between words where a terminal would break them anywhere; whole when no terminal shows them.

    `to` is where they are shown, stdout when None.
    """
    if not (to or sys.stdout).isatty():
        return text
    import shutil
    import textwrap

    width = shutil.get_terminal_size().columns
    return "\n".join(
        line if len(line) <= width
        else textwrap.fill(line, width, subsequent_indent="  ", break_on_hyphens=False, break_long_words=False)
        for line in text.split("\n")
    )  # fmt: skip


def print_rows(rows: Rows, title: str = "") -> None:
    """A table on stdout with what is said under it; nothing of an empty one but that."""
    from rich.table import Table
    from rich.text import Text

    from halfroll.cli.tables import fitted

    if rows.rows:
        shown = console()
        head, lines = fitted(rows.head, rows.rows, shown.width)
        if title:  # a table's own would be broken at the table's width
            shown.print(Text(title, style="table.title"))
        table = Table(box=None, pad_edge=False)
        for name in head:
            table.add_column(name, overflow="fold")
        for row in lines:
            table.add_row(*row)
        shown.print(table)
    for note in rows.notes:
        click.echo(in_lines(note))


def print_tables(tables: Iterable[Rows], *, empty: bool = False) -> None:
    """Tables with an empty line after each; those without rows only where `empty` ones say something too."""
    for rows in tables:
        if rows.rows or empty:
            print_rows(rows)
            click.echo()


def console() -> Console:
    """A console for tables on stdout, as wide as the terminal or 140 columns."""
    from rich.console import Console

    return Console(width=None if sys.stdout.isatty() else 140, highlight=False)


@contextmanager
def progress_bar(what: str) -> Iterator[Progress]:
    """A bar on stderr while a terminal watches; silent otherwise."""
    if not sys.stderr.isatty():
        yield silent
        return
    from rich.console import Console
    from rich.progress import BarColumn, TaskProgressColumn, TextColumn
    from rich.progress import Progress as Bar

    with Bar(
        TextColumn("{task.description}"),
        BarColumn(),
        TaskProgressColumn(),
        console=Console(stderr=True),
        transient=True,
    ) as bar:
        task = bar.add_task(what, total=1.0)

        def report(done: float, step: str) -> None:
            bar.update(task, completed=done, description=step or what)

        yield report


def check_ending(path: Path | None, ending: str, key: str) -> None:
    """Refuse a file whose name says that it is of another kind than what is written into it.

    Raises
    ------
    InputError
        `path` does not end with `ending`, such as ``.svg``.
    """
    if path is not None and path.suffix.lower() != ending:
        raise InputError(
            f"The file's name must end with {ending}",
            key=key,
            found=str(path),
            remedy=f"Name it {path.stem}{ending}",
        )


def write_file(path: Path, content: str | bytes) -> None:
    """Write a file whole or not at all, and say so."""
    data = content.encode() if isinstance(content, str) else content
    temporary = path.with_name(f".{path.name}.part")
    try:
        temporary.write_bytes(data)
        temporary.replace(path)
    except OSError as fault:
        temporary.unlink(missing_ok=True)
        raise InputError(
            f"The file cannot be written: {fault.strerror}",
            file=str(path),
            remedy="Choose another folder or file name",
        ) from fault
    say(f"Wrote {path}")
