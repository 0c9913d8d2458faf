"""``halfroll claim``: may this be written of a version?"""

from __future__ import annotations

from pathlib import Path

import click

from halfroll.cli.common import in_lines, json_option, open_workshop, print_json, progress_bar
from halfroll.cli.options import figure_options, settings_of

WORDS = {"borne": "borne out", "not borne": "not borne out", "not shown": "not shown", "not read": "not read"}
REFUSED = 2
"""Exit code where a sentence is refused, as for any input that is wrong."""


@click.command()
@click.argument("words", nargs=-1, metavar="[WORDS]...")
@click.option(
    "--of", "version", metavar="DRIVER/VERSION", help="The version a sentence speaks of that names none."
)
@click.option(
    "--file", "path", type=click.Path(exists=True, dir_okay=False, path_type=Path), help="Check this text."
)
@figure_options
@json_option
def claim(
    words: tuple[str, ...], version: str | None, path: Path | None, level: float | None, rule: str | None, thd: str | None,
    band: tuple[float, float] | None, bass: tuple[float, float] | None, as_json: bool,
) -> None:  # fmt: skip
    """Hold a written claim against the figures.

    A sentence stands when the whole 95 % interval lies where it says and its numbers agree. A text with a sentence that does not stand is
    refused: the command ends with code 2.

    \b
    Examples:
      halfroll claim "avocet v8 is more than an octave deeper than v1"
      halfroll claim --of avocet/v8 "It has less than half the distortion of v1."
      halfroll claim --of avocet/v8 --file notes.md --json
    """
    from halfroll.compare.claims.recipe import check_claims, expect_borne
    from halfroll.core.errors import InputError
    from halfroll.workshop.files import read_whole

    if bool(words) == bool(path):
        raise InputError(
            "Say the sentence, or name a file with --file",
            remedy='Such as: halfroll claim "v8 is deeper than v1"',
        )
    text = " ".join(words) if path is None else _text(read_whole(path), path)
    workshop = open_workshop()
    settings = settings_of(workshop, level, rule, thd, band, bass)
    with progress_bar("comparing") as progress:
        found = check_claims(workshop, text, version_id=version, settings=settings, progress=progress)
    if as_json:
        print_json({"sentences": [one.as_dict() for one in found.sentences], "refused": bool(found.refused)})
        click.get_current_context().exit(REFUSED if found.refused else 0)
    if not found.sentences:
        click.echo("No sentence claims anything of the figures.")
    for one in found.sentences:
        click.echo(in_lines(f"{WORDS[one.outcome]}: {one.text}"))
        click.echo(in_lines(f"  {one.reason}"))
        if one.instead:
            click.echo(in_lines(f"  May be written: {one.instead}"))
    expect_borne(found, file=None if path is None else str(path))


def _text(data: bytes, path: Path) -> str:
    from halfroll.core.errors import InputError

    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as fault:
        raise InputError("The file must be plain text in UTF-8", file=str(path), found=str(fault)) from None
