"""The reference is current and complete: commands, records, names in code."""

import re
from types import ModuleType

import click
import pytest

from halfroll.cli.main import halfroll
from tests.docs.pages import DOCS, generator
from tests.project.tree import modules


@pytest.fixture(scope="module")
def generate() -> ModuleType:
    """docs/generate.py as a module."""
    return generator()


@pytest.mark.parametrize("name", ["reference/commands.md", "reference/files.md"])
def test_generated_pages_are_current(generate: ModuleType, name: str) -> None:
    """What stands in the page is what the code says today."""
    assert (DOCS / name).read_text(encoding="utf-8") == generate.PAGES[name](), "Run: python docs/generate.py"


def test_every_option_of_every_command_is_there(generate: ModuleType) -> None:
    """Each command has its section, commands of commands too, and each option stands in its own command's section."""
    text = (DOCS / "reference" / "commands.md").read_text(encoding="utf-8")
    sections = dict(re.findall(r"^## (halfroll[^\n]*)\n(.+?)(?=^## |\Z)", text, re.MULTILINE | re.DOTALL))
    context = click.Context(halfroll, info_name="halfroll")
    found = {"halfroll": halfroll} | {name: command for name, command, _ in generate.walk(halfroll, context)}
    assert sections.keys() == found.keys()
    assert {"halfroll add rig", "halfroll import"} <= found.keys()
    for name, command in found.items():
        options = [p for p in command.params if isinstance(p, click.Option)]
        words = [word for option in options for word in [*option.opts, *option.secondary_opts]]
        assert [word for word in words if f"`{word}`" not in sections[name]] == [], name


def test_a_key_without_a_meaning_is_refused(generate: ModuleType) -> None:
    """The page cannot be made when a key is not explained, or when something is explained that is no key."""
    model = generate.records.UnitRecord
    with pytest.raises(ValueError, match="built_by"):
        list(generate._record(model, {"where": "", "about": ""}))
    whole = dict.fromkeys(model.model_fields, "") | {"where": "", "about": "", "coil": ""}
    del whole["format"]
    with pytest.raises(ValueError, match="coil"):
        list(generate._record(model, whole))


def test_ranges_are_those_of_the_models() -> None:
    """Units, ranges, defaults and choices come out as the models hold them (read off records.py by hand)."""
    text = (DOCS / "reference" / "files.md").read_text(encoding="utf-8")
    for row in (
        "| `rated_impedance_ohm` | Ω | number from 0.1 to 10000 | – |",
        "| `distance_m` | m | number above 0 to 100 | required |",
        "| `level_tolerance_db` | dB | number above 0 to 6 | `0.5` |",
        '| `gate_ms` | ms | `"auto"`, `"none"` or 0.1 to 10000 | `"auto"` |',
        "| `rate_hz` | Hz | whole number, 8000 to 768000 Hz | `48000` |",
        "| `space` |  | `half-space`, `free-field`, `near-field`, `in-cabinet` | required |",
    ):
        assert row in text


def test_names_in_the_nomenclature_are_in_the_code() -> None:
    """Every name in the column "in code" occurs in the source, and every row has a source."""
    source = "\n".join(path.read_text(encoding="utf-8") for path in modules())
    text = (DOCS / "reference" / "nomenclature.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| (.+?) \| (`.+?`) \| (.+?) \| (.+?) \| (.+?) \|$", text, re.MULTILINE)
    assert len(rows) > 30
    names = {name for row in rows for name in re.findall(r"`([^`]+)`", row[1])}
    missing = {name for name in names if not re.search(rf"\b{re.escape(name.rpartition('.')[2])}\b", source)}
    assert missing == set()
