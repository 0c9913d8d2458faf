"""The reference is current and complete: commands, pages, records, names in code."""

import ast
import re
from types import ModuleType

import click
import pytest

from halfroll.cli.main import halfroll
from halfroll.core.errors import InputError
from halfroll.materials.catalogue import catalogue
from halfroll.materials.glue import GLUES
from halfroll.motor.coil.design import CoilDesign
from halfroll.motor.placing.design_checks import LARGEST_M, SMALLEST_M
from tests.docs.pages import DOCS, generator
from tests.project.tree import PACKAGE, modules


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
        '| `gate_ms` | ms | `"auto"`, `"none"` or 0.5 to 1000 | `"auto"` |',
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


def addresses() -> set[str]:
    """Every address a page of the app is registered at, kinds of names left out."""
    found = set()
    for path in (PACKAGE / "app" / "pages").glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if (
                isinstance(node, ast.Call)
                and ast.unparse(node.func) in ("frame.page", "app.get")
                and node.args
            ):
                place = node.args[0]
                assert isinstance(place, ast.Constant), f"{path}: an address that is no plain text"
                found.add(re.sub(r"\{take_id:path\}", "{take}", str(place.value)))
    return found


def test_every_page_and_what_its_address_takes_is_there() -> None:
    """Each address of the app stands in the page, none that is not, and so do all words of a comparison's address."""
    from halfroll.app import address, asked
    from halfroll.figures.types import FigureSettings

    text = (DOCS / "reference" / "pages.md").read_text(encoding="utf-8")
    written = set(re.findall(r"^\| `(/[^`]*)` \|", text, re.MULTILINE))
    assert {"/", "/compare"} <= written
    assert written == addresses()
    query = asked.read([("v", "avocet/v1"), ("base", "first")], FigureSettings()).query()
    words = {pair.partition("=")[0] for pair in query.split("&")}
    assert words == set(re.findall(r"^\| `(\w+)` \|", text, re.MULTILINE))
    assert address.of_version("avocet/v7") == "/drivers/avocet/v7"


def test_ranges_of_a_design_are_those_that_are_refused() -> None:
    """`[coil]` and the sizes of a part: the page's ends are taken, a hair beyond is refused with these ends; every glue is named."""
    text = (DOCS / "reference" / "files.md").read_text(encoding="utf-8")
    coil = text.partition("### version: [coil]")[2].partition("\n##")[0]
    stated = re.findall(r"^\| `(\w+)_mm` .*from (-?[\d.]+) to (\d+(?:\.\d+)?)", coil, re.MULTILINE)
    assert len(stated) == 6
    shipped = catalogue()
    usual = {"wire": shipped.wire("cu-0.200-g1"), "layers": 2, "turns": 80, "former_inner_m": 0.02, "former_wall_m": 1e-4,
             "former": shipped.material("petg")}  # fmt: skip
    for key, low, high in stated:
        for end, beyond in ((low, -1.0), (high, 1.0)):
            CoilDesign(**{**usual, f"{key}_m": 1e-3 * float(end)})
            with pytest.raises(InputError) as caught:
                CoilDesign(**{**usual, f"{key}_m": 1e-3 * (float(end) + beyond * 1e-6)})
            assert (caught.value.place.key, caught.value.allowed) == (f"coil.{key}_mm", f"{low} to {high} mm")
    assert all(f"`{glue}`" in coil for glue in GLUES)
    parts = text.partition("### version: [[motor.parts]]")[2].partition("\n### ")[0]
    sizes = re.findall(
        r"^\| `(?:outer|inner|height)_mm` .*from ([\d.]+) to (\d+(?:\.\d+)?)", parts, re.MULTILINE
    )
    assert sizes == [(f"{1e3 * SMALLEST_M:g}", f"{1e3 * LARGEST_M:g}")] * 3
