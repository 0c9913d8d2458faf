"""Every command explains itself, stands in the reference, and answers ``--help`` without loading heavy libraries."""

import importlib
import json
import subprocess
import sys

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
CONTEXT = click.Context(GROUP, info_name="halfroll")
NAMES = GROUP.list_commands(CONTEXT)


def command(name: str) -> click.Command:
    """Load a command by its name."""
    found = GROUP.get_command(CONTEXT, name)
    assert found is not None
    return found


def options(name: str) -> list[click.Option]:
    """List the options of a command."""
    return [option for option in command(name).params if isinstance(option, click.Option)]


@pytest.fixture(scope="module")
def reference() -> str:
    """Read the reference page of the commands."""
    return (ROOT / "docs" / "reference" / "commands.md").read_text(encoding="utf-8")


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


@pytest.mark.parametrize("name", NAMES)
def test_commands_have_help(name):
    """A command and each of its options say what they are for."""
    assert command(name).help, f"halfroll {name} has no help"
    assert [option.name for option in options(name) if not option.help and not option.hidden] == []


@pytest.mark.parametrize("name", NAMES)
def test_commands_are_in_the_reference(name, reference):
    """The reference page has every command, and beside it each of its options."""
    start = reference.find(f"halfroll {name}")
    assert start >= 0, f"docs/reference/commands.md does not mention halfroll {name}"
    words = [word for option in options(name) for word in [*option.opts, *option.secondary_opts]]
    assert [word for word in words if word.startswith("--") and word not in reference] == []


def test_commands_list_the_words_of_the_work():
    """The commands that lead from a recording to a comparison are all there."""
    assert {"init", "import", "sweep", "analyse", "figures", "compare", "serve", "demo"} <= set(NAMES)
