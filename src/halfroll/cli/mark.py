"""``halfroll mark``: what stands behind a printed number."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from halfroll.cli.common import in_lines, json_option, open_workshop, print_json, print_rows, progress_bar

if TYPE_CHECKING:
    from halfroll.publish.marks import MarkRecord, Now


@click.command()
@click.argument("mark", metavar="MARK")
@click.option("--then", is_flag=True, help="Only what was kept; do not read the figure anew.")
@json_option
def mark(mark: str, then: bool, as_json: bool) -> None:
    """Tell what stands behind a printed number.

    MARK is the few letters and digits beside it, in small or large letters. Prints the figure with its uncertainty, rule, settings,
    conditions, units and takes with the hashes of their recordings, the calibrations, and whether it is still the same today.

    \b
    Example:
      halfroll mark K7M2X9Q
    """
    from halfroll.publish.marks import read_mark, same_now

    workshop = open_workshop()
    record = read_mark(workshop, mark)
    now = None
    if not then:
        with progress_bar("reading it anew") as progress:
            now = same_now(workshop, record, progress)
    if as_json:
        told = {} if now is None else {"now": now.as_dict()}
        print_json({**record.as_dict(), "expanded_95": record.expanded, **told})
        return
    _print(record, now)


def _print(record: MarkRecord, now: Now | None) -> None:
    from halfroll.publish.mark_rows import mark_facts, take_rows

    for name, value in mark_facts(record):
        click.echo(in_lines(f"{name}: {value}"))
    click.echo()
    rows = take_rows(record)
    if rows.rows:
        print_rows(rows)
        click.echo()
    for caution in record.noted.get("cautions", ()):
        click.echo(in_lines(f"caution: {caution}"))
    if now is not None:
        click.echo(in_lines(f"Today: {now.standing}. {' '.join(now.sentences)}"))
