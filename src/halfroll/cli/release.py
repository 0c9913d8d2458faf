"""``halfroll release``: publish versions as bundles, and check and bring in what others published."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from halfroll.cli.common import (
    InOrder,
    json_option,
    open_workshop,
    print_json,
    print_rows,
    progress_bar,
    say,
    say_verdicts,
)
from halfroll.cli.release_theirs import bring_in_, check
from halfroll.core.errors import InputError

if TYPE_CHECKING:
    from halfroll.publish.parameter_rows import Rows
    from halfroll.workshop.releases import Turn


@click.group(cls=InOrder)
def release() -> None:
    """Publish versions as dated bundles, for some first and for everyone later.

    A release is a record in the folder releases; its bundle is a ZIP that is the same to the byte each time. What others
    published is checked before it is brought in.
    """


@release.command("new")
@click.argument("versions", nargs=-1, required=True, metavar="DRIVER/VERSION...")
@click.option("--name", default=None, help="Name of the release. Default: after the first version.")
@click.option("--title", default=None, help="Title. Default: driver and version.")
@click.option(
    "--date", default=None, metavar="DATE", help="Date of the release, such as 2026-07-01. Default: today."
)
@click.option("--licence", required=True, metavar="ID", help="SPDX identifier, such as CERN-OHL-S-2.0 or CC-BY-SA-4.0; LicenseRef-NAME for your own.")  # fmt: skip
@click.option("--licence-text", type=click.Path(exists=True, dir_okay=False, path_type=Path), default=None, help="File with the licence's text; it is copied beside the record.")  # fmt: skip
@click.option(
    "--author", "authors", multiple=True, help="Who made it; may be repeated. Default: the workshop."
)
@click.option("--audience", "audiences", multiple=True, metavar="NAME=DATE", help="Who may have it from when on; may be repeated. Default: everyone from its date.")  # fmt: skip
@click.option("--takes", type=click.Choice(["all", "best", "none"]), default="best", show_default=True, help="Recordings that go along: all, the best of each unit, or none.")  # fmt: skip
@click.option(
    "--leave-out",
    multiple=True,
    metavar="CONTENT",
    help="A content that is not made, such as guide; may be repeated.",
)
@click.option(
    "--notes",
    default="",
    help="Your own words for the change notes; what they claim is held against the figures.",
)
@json_option
def new(
    versions: tuple[str, ...], name: str | None, title: str | None, date: str | None, licence: str, licence_text: Path | None,
    authors: tuple[str, ...], audiences: tuple[str, ...], takes: str, leave_out: tuple[str, ...], notes: str, as_json: bool,
) -> None:  # fmt: skip
    """Make the record of a release; the rest is written into its file by hand or on its page.

    \b
    Example:
      halfroll release new avocet/v8 --licence CERN-OHL-S-2.0 --audience supporters=2026-07-01 --audience everyone=2026-09-01
    """
    from halfroll.workshop.release_record import new_values
    from halfroll.workshop.releases import checked_record, free_release_id, new_release

    workshop = open_workshop()
    ids = [workshop.existing(id_, "version") for id_ in versions]
    release_id = name or free_release_id(workshop, ids)
    record = checked_record(new_values(
        title=title or _title(workshop, ids), versions=ids, date=date or dt.date.today().isoformat(), licence=licence,
        licence_file=None if licence_text is None else licence_text.name, authors=authors or (workshop.name,),
        audiences=[_audience(text) for text in audiences], takes=takes, leave_out=leave_out, notes=notes,
    ))  # fmt: skip
    loaded = new_release(workshop, release_id, record, licence_text)
    if as_json:
        print_json({"release": loaded.id, "file": str(loaded.path)})
        return
    say(f"Made {loaded.path}")


def _title(workshop: Any, ids: list[str]) -> str:
    from halfroll.core.text import join_words

    return join_words(
        [f"{workshop.driver(id_.split('/')[0]).record.title} {id_.split('/')[1]}" for id_ in ids]
    )


def _audience(text: str) -> dict[str, str]:
    name, sign, date = text.partition("=")
    if not sign:
        raise InputError("An audience is a name and the date from which on it may have the release", key="--audience", found=text,
                         allowed="NAME=DATE, such as supporters=2026-07-01")  # fmt: skip
    return {"name": name.strip(), "date": date.strip()}


@release.command("list")
@json_option
def list_(as_json: bool) -> None:
    """List all releases with their audiences.

    \b
    Example:
      halfroll release list
    """
    from halfroll.publish.parameter_rows import Rows
    from halfroll.workshop.releases import load_release, release_ids, turns_of

    workshop, today = open_workshop(), dt.date.today()
    found, faults = [], []
    for name in release_ids(workshop):
        try:
            found.append((name, load_release(workshop, name).record))
        except InputError as wrong:
            faults.append(wrong)
    if as_json:
        print_json({
            "releases": [{"release": name, "title": record.title, "date": record.date, "versions": list(record.versions), "licence": record.licence,
                          "audiences": [turn.as_dict() for turn in turns_of(name, record, today)]} for name, record in found],
            "faults": [fault.as_dict() for fault in faults],
        })  # fmt: skip
        return
    rows = tuple(
        (name, record.title, record.date.isoformat(), record.licence,
         ", ".join(f"{turn.audience} {'since' if turn.out else 'from'} {turn.date}" for turn in turns_of(name, record, today)))
        for name, record in found
    )  # fmt: skip
    note = (
        ()
        if rows or faults
        else ("There is no release yet. Make one with: halfroll release new DRIVER/VERSION --licence ID",)
    )
    print_rows(Rows(head=("Release", "Title", "Date", "Licence", "For"), rows=rows, notes=note))
    for fault in faults:
        say(str(fault))


@release.command("show")
@click.argument("name", metavar="RELEASE")
@click.option("--audience", default=None, help="For whom. Default: the last to get it.")
@json_option
def show(name: str, audience: str | None, as_json: bool) -> None:
    """Show what a release's bundle would hold, without making it.

    \b
    Example:
      halfroll release show avocet-v8 --audience everyone
    """
    from halfroll.publish.parameter_rows import Rows
    from halfroll.publish.release import preview_release
    from halfroll.publish.release.contents import TABLE
    from halfroll.workshop.releases import load_release

    workshop = open_workshop()
    record = load_release(workshop, name).record
    with progress_bar("looking") as progress:
        found = preview_release(workshop, name, audience=audience or record.who[-1].name, progress=progress)
    if as_json:
        print_json({"release": name, "title": record.title, **found.as_dict()})
        return
    rows = [(TABLE[key].title, "goes along") for key in found.contents]
    rows += [(TABLE[key].title, why) for key, why in found.left_out.items()]
    print_rows(
        Rows(
            head=("Content", f"For {found.audience.name}, from {found.audience.date}"),
            rows=tuple(rows),
            notes=(),
        ),
        f"{record.title}, {record.date.isoformat()}, {record.licence}",
    )
    click.echo(f"{len(found.takes)} takes and {len(found.runs)} runs of {len(found.units)} units go along.")
    say_verdicts(found.verdicts)


@release.command("notes")
@click.argument("name", metavar="RELEASE")
@json_option
def notes(name: str, as_json: bool) -> None:
    """Print the change notes: what changed since the version released before, and what the figures say of it.

    Your own words in them are held against the figures; where these do not bear them, that is said and the command ends with code 2.

    \b
    Example:
      halfroll release notes avocet-v8
    """
    from halfroll.core.progress import part
    from halfroll.publish.release import change_notes, expect_own_words_borne, own_words
    from halfroll.publish.release.changes import notes_text
    from halfroll.workshop.releases import load_release

    workshop = open_workshop()
    loaded = load_release(workshop, name)
    record = loaded.record
    with progress_bar("comparing") as progress:
        found = [change_notes(workshop, name, id_, part(progress, 0.0, 0.6)) for id_ in record.versions]
        said = own_words(workshop, loaded, part(progress, 0.6, 1.0))
    if as_json:
        own = {"sentences": [one.as_dict() for one in said.sentences], "refused": bool(said.refused)}
        print_json({"release": name, "versions": [one.as_dict() for one in found], "own_words": own})
        click.get_current_context().exit(2 if said.refused else 0)
    click.echo(notes_text(found, record.title, record.date.isoformat(), record.notes))
    expect_own_words_borne(said, loaded)


@release.command("build")
@click.argument("name", metavar="RELEASE")
@click.option("--audience", default=None, help="For whom; needed where there are several.")
@click.option("--to", "target", type=click.Path(path_type=Path), default=Path(), show_default=True, help="Folder, or a file that ends with .zip.")  # fmt: skip
@click.option("--early", is_flag=True, help="Make it although its day is not reached; the manifest says so.")
@json_option
def build(name: str, audience: str | None, target: Path, early: bool, as_json: bool) -> None:
    """Make the bundle of a release for an audience.

    The same release gives the same bytes. Publish the hash that is printed: it is what tells your bundle from a forged one.

    \b
    Example:
      halfroll release build avocet-v8 --audience supporters --to bundles
    """
    from halfroll.publish.release import build_release

    workshop = open_workshop()
    with progress_bar("building the release") as progress:
        built = build_release(
            workshop,
            name,
            audience=audience,
            today=dt.date.today(),
            target=target,
            early=early,
            progress=progress,
        )
    if as_json:
        print_json(built.as_dict())
        return
    say(f"Wrote {built.path}, {built.size / 1e6:.1f} MB, {len(built.manifest.files)} files")
    for line in built.manifest.left_out:
        say(f"Not in it: {line.content}. {line.why[:1].upper()}{line.why[1:]}.")
    click.echo(f"{built.sha256}  {built.path.name}")
    say_verdicts(built.verdicts)


@release.command("due")
@click.option("--on", "day", default=None, metavar="DATE", help="The day to look at. Default: today.")
@json_option
def due(day: str | None, as_json: bool) -> None:
    """Tell which audience may have which release, and what comes next.

    \b
    Example:
      halfroll release due
    """
    from halfroll.workshop import releases

    today = dt.date.today() if day is None else _day(day)
    found = releases.due(open_workshop(), today)
    if as_json:
        print_json({"date": today, "out": [turn.as_dict() for turn in found.out], "next": [turn.as_dict() for turn in found.next],
                    "faults": [fault.as_dict() for fault in found.faults]})  # fmt: skip
        return
    print_rows(_turns(found.out, "Since", "Nothing is out yet."), f"Out on {today.isoformat()}")
    click.echo()
    print_rows(_turns(found.next, "From", "Nothing is waiting for its day."), "Next")
    for fault in found.faults:
        say(str(fault))


def _turns(turns: tuple[Turn, ...], when: str, none: str) -> Rows:
    from halfroll.publish.parameter_rows import Rows

    rows = tuple((turn.date.isoformat(), turn.audience, turn.title, turn.release_id) for turn in turns)
    return Rows(head=(when, "Audience", "Title", "Release"), rows=rows, notes=() if rows else (none,))


def _day(text: str) -> dt.date:
    try:
        return dt.date.fromisoformat(text)
    except ValueError as error:
        raise InputError(
            "A day is written as year, month, day", key="--on", found=text, allowed="such as 2026-07-01"
        ) from error


release.add_command(check)
release.add_command(bring_in_)
