"""Whatever halfroll may say has its place in the how-to, found by the code of the verdict."""

import ast
import re
from collections.abc import Iterator

import pytest

from tests.docs.pages import DOCS
from tests.project.tree import modules

PAGE = (DOCS / "how-to" / "read-verdicts.md").read_text(encoding="utf-8")
SECTIONS = dict(re.findall(r"^### `([^`]+)`\n\n(.+?)(?=^#|\Z)", PAGE, re.MULTILINE | re.DOTALL))
SEVERITIES = {"GOOD": "good", "NOTE": "note", "CAUTION": "caution", "BAD": "bad"}


def constants(node: ast.expr | None) -> set[str]:
    """The texts an expression may be: a constant, or either branch of a condition."""
    if isinstance(node, ast.IfExp):
        return constants(node.body) | constants(node.orelse)
    return {node.value} if isinstance(node, ast.Constant) and isinstance(node.value, str) else set()


def severities(node: ast.expr | None) -> set[str]:
    """The severities an expression names."""
    inner = ast.walk(node) if node is not None else ()
    return {n.attr for n in inner if isinstance(n, ast.Attribute) and n.attr in SEVERITIES}


def argument(call: ast.Call, name: str, place: int | None = None) -> ast.expr | None:
    """An argument of a call by its keyword or its place."""
    by_word = next((k.value for k in call.keywords if k.arg == name), None)
    by_place = call.args[place] if place is not None and place < len(call.args) else None
    return by_word if by_word is not None else by_place


def said_in(source: str) -> Iterator[tuple[str, set[str]]]:
    """Every code a module can give to a verdict, with the severities named beside it.

    A helper that passes its own parameter ``code`` on is followed to its callers.
    """
    tree = ast.parse(source)
    helpers = {}
    for function in (n for n in ast.walk(tree) if isinstance(n, ast.FunctionDef)):
        names = [a.arg for a in function.args.args]
        if "code" in names:
            helpers[function.name] = names.index("code")
    for call in (n for n in ast.walk(tree) if isinstance(n, ast.Call) and isinstance(n.func, ast.Name)):
        name = call.func.id  # type: ignore[attr-defined]
        if name == "Verdict" or name in helpers:
            for code in constants(argument(call, "code", helpers.get(name))):
                yield code, severities(argument(call, "severity"))


SAID: dict[str, set[str]] = {}
for module in modules():
    for found, named in said_in(module.read_text(encoding="utf-8")):
        SAID.setdefault(found, set()).update(named)


def test_the_collector_sees_every_way_a_code_is_written() -> None:
    """A constant, a condition, and a helper's argument are found; the check itself can fail."""
    source = (
        "def _unlike(code, text):\n    return Verdict(code=code, severity=Severity.NOTE, text=text)\n"
        "a = Verdict(code='plain', severity=Severity.BAD, text='')\n"
        "b = Verdict(code='one' if x else 'other', severity=s, text='')\n"
        "c = _unlike('passed-on', 'text')\n"
    )
    assert dict(said_in(source)) == {"plain": {"BAD"}, "one": set(), "other": set(), "passed-on": set()}
    assert {"clipped", "click", "dropout", "space-differs", "unknown-key", "outlier-take"} <= SAID.keys()


def test_every_code_is_explained() -> None:
    """No verdict without its section, and no section about a verdict that no code gives."""
    assert SECTIONS.keys() == SAID.keys()


@pytest.mark.parametrize("code", sorted(SAID))
def test_the_severity_is_the_one_given(code: str) -> None:
    """Where the source names the severity beside the code, the section names it too, and it says what to do or why."""
    words = {
        word for bold in re.findall(r"\*\*(.+?)\*\*", SECTIONS[code]) for word in re.findall(r"\w+", bold)
    }
    assert words & set(SEVERITIES.values()), "no severity in bold"
    assert {SEVERITIES[name] for name in SAID[code]} <= words
    assert len(SECTIONS[code].split("\n")) >= 3
