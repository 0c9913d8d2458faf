"""Every command explains itself, stands in the reference, and answers ``--help`` without loading heavy libraries."""

import importlib
import json
import subprocess
import sys
from collections.abc import Iterator

import click
import pytest

from tests.project.tree import ROOT

HEAVY = {"altair", "nicegui", "numba", "pydantic", "rich.table", "scipy.signal", "typst", "vl_convert"}
ASK_FOR_HELP = """
import json, sys
from halfroll.cli import main
sys.argv = ["halfroll", *json.loads(sys.argv[1])]
try:
    main()
finally:
    print(json.dumps(sorted(sys.modules)), file=sys.stderr)
"""

GROUP: click.Group = importlib.import_module("halfroll.cli.main").halfroll


def walk(command: click.Command, words: tuple[str, ...]) -> Iterator[tuple[str, click.Command]]:
    """Give every command below a command, with the words that call it."""
    yield " ".join(words), command
    if isinstance(command, click.Group):
        context = click.Context(command)
        for name in command.list_commands(context):
            found = command.get_command(context, name)
            assert found is not None
            yield from walk(found, (*words, name))


COMMANDS = dict(walk(GROUP, ("halfroll",)))


def options(name: str) -> list[click.Option]:
    """List the options of a command."""
    return [option for option in COMMANDS[name].params if isinstance(option, click.Option)]


@pytest.fixture(scope="module")
def reference() -> dict[str, str]:
    """Read the reference page of the commands, one section a command."""
    text = (ROOT / "docs" / "reference" / "commands.md").read_text(encoding="utf-8")
    return {section.partition("\n")[0].strip(): section for section in text.split("\n## ")[1:]}


@pytest.mark.parametrize("arguments", [["--help"], ["--version"], ["compare", "--help"]])
def test_commands_help_loads_nothing_heavy(arguments):
    """Help is built from the command line alone; what takes long to load waits until it is used."""
    done = subprocess.run(
        [sys.executable, "-c", ASK_FOR_HELP, json.dumps(arguments)],
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert done.returncode == 0, done.stderr
    assert "halfroll" in done.stdout
    assert HEAVY.intersection(json.loads(done.stderr.splitlines()[-1])) == set()


@pytest.mark.parametrize("name", COMMANDS)
def test_commands_have_help(name):
    """A command and each of its options say what they are for."""
    assert COMMANDS[name].help, f"{name} has no help"
    assert [option.name for option in options(name) if not option.help and not option.hidden] == []


@pytest.mark.parametrize("name", COMMANDS)
def test_commands_are_in_the_reference(name, reference):
    """The reference page has a section for every command, and in it each of its options."""
    assert name in reference, f"docs/reference/commands.md has no section {name}"
    words = [word for option in options(name) for word in [*option.opts, *option.secondary_opts]]
    assert [word for word in words if f"`{word}`" not in reference[name]] == []


def test_commands_list_the_words_of_the_work():
    """The commands that lead from a recording to a comparison are all there."""
    work = ("init", "import", "sweep", "analyse", "figures", "compare", "serve", "demo")
    assert {f"halfroll {word}" for word in work} <= COMMANDS.keys()
