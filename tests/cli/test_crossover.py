"""``halfroll crossover``: made, listed, shown, tuned; refusals in sentences."""

from __future__ import annotations

import re

import pytest

from halfroll.workshop import Workshop
from tests.app.samples import small_workshop
from tests.crossover_shop import HIGH, LOW, with_impedances
from tests.docs.pages import DOCS


@pytest.fixture(scope="module")
def shop(tmp_path_factory) -> Workshop:
    """A workshop with two drivers of known impedance, their takes analysed as they are met."""
    return with_impedances(small_workshop(tmp_path_factory.mktemp("cli-crossover") / "shop"))


@pytest.fixture
def at(shop, say):
    """Runs ``halfroll crossover`` in that workshop."""
    return lambda *words: say("--workshop", shop.folder, "crossover", *words)


def test_from_new_to_tuned(at, ask, shop, tmp_path) -> None:
    """The whole way, with a picture of each kind."""
    code, out, err = at(
        "new",
        "pair",
        "--way",
        f"low={LOW}",
        "--way",
        f"high={HIGH}",
        "--frequency",
        1500,
        "--order",
        2,
        "--lower",
        2,
    )
    assert code == 0, err
    assert "crossover show pair" in err
    code, out, _ = at("list")
    assert code == 0
    assert f"low: {LOW}, high: {HIGH}" in out
    for chart in ("circuit", "sum", "impedance"):
        code, out, err = at("show", "pair", "--chart", chart, "--svg", tmp_path / f"{chart}.svg")
        assert code == 0, err
        assert (tmp_path / f"{chart}.svg").read_text().startswith("<svg")
    assert "hands over to" in out
    assert "L1" in out
    code, out, err = at("tune", "pair", "--from", 200, "--to", 5000)
    assert code == 0
    assert "Before:" in out
    assert "Nothing was saved" in err
    before = (shop.folder / "crossovers" / "pair.toml").read_text()
    code, out, err = at("tune", "pair", "--from", 200, "--to", 5000, "--save")
    assert code == 0
    assert (shop.folder / "crossovers" / "pair.toml").read_text() != before


def told(section: str, column: int, row: str = "") -> set[str]:
    """The keys that the how-to names in a column of a section's table, of one row or of all."""
    page = (DOCS / "how-to" / "machine-interface.md").read_text(encoding="utf-8")
    lines = page.partition(f"## {section}\n")[2].partition("\n## ")[0].splitlines()
    cells = [
        line.split(" | ")[column]
        for line in lines
        if line.startswith("| `") and (not row or line.startswith(f"| `{row}`"))
    ]
    return set(re.findall(r"`(\w+)`", " ".join(cells)))


def test_for_programs(at, ask, shop) -> None:
    """One JSON object each."""
    made = ask("--workshop", shop.folder, "crossover", "new", "one", "--way", f"full={LOW}", "--way", f"small={HIGH}", "--frequency", 4000,
               "--start", "one-capacitor")  # fmt: skip
    assert made["crossover"] == "one"
    listed = ask("--workshop", shop.folder, "crossover", "list")
    assert "one" in [one["crossover"] for one in listed["crossovers"]]
    shown = ask("--workshop", shop.folder, "crossover", "show", "one", "--aside", 20)
    assert shown["horizontal_deg"] == 20
    assert shown["elements"][0]["construction"] == "bipolar"
    assert shown.keys() == told("halfroll crossover", 0)
    assert shown["elements"][0].keys() | {"resistance_ohm", "inductance_mh"} == told(
        "halfroll crossover", 1, "elements"
    )
    assert shown["ways"][0].keys() == told("halfroll crossover", 1, "ways")
    assert len(shown["curves"]["frequency_hz"]) == len(shown["curves"]["level_high_db"])
    tuned = ask(
        "--workshop", shop.folder, "crossover", "tune", "one", "--from", 300, "--to", 5000, "--row", "free"
    )
    assert tuned["saved"] is False
    assert tuned["after"]["rms_db"] <= tuned["before"]["rms_db"] + 1e-9


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("show", "nosuch"), "There is no crossover nosuch"),
        (("new", "x", "--way", "low", "--frequency", "2000"), "NAME=DRIVER/VERSION"),
        (("new", "x", "--way", f"low={LOW}", "--way", "high=owl/v1", "--frequency", "2000"), "There is no driver owl"),
        (("new", "x", "--way", f"low={LOW}", "--way", f"high={HIGH}", "--frequency", "2000", "--order", "3"), "second or fourth order"),
        (("new", "x", "--way", f"low={LOW}", "--way", f"high={HIGH}", "--frequency", "-3"), "Ways must cross where one hears; found -3 Hz. Allowed: 20 Hz to 20 kHz"),
    ],
)  # fmt: skip
def test_refusals(at, words, said) -> None:
    """Exit code 2 and a sentence; nothing is made."""
    code, _, err = at(*words)
    assert code == 2
    assert said in err
