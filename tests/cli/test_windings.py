"""Windings from the command line."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from halfroll.cli.windings import layer_numbers
from halfroll.core.errors import InputError
from halfroll.workshop.motor_design import EXAMPLE
from tests.docs.test_machine_interface import PAGE


@pytest.fixture
def motor(workshop, say, ask):
    """Runs ``halfroll windings dunlin/v1`` in the small workshop, whose version has a motor, without its field."""
    record = workshop / "drivers" / "dunlin" / "v1" / "version.toml"
    record.write_text(record.read_text() + "\n" + EXAMPLE)

    def command(*words, json=False):
        run = ask if json else say
        return run("--workshop", workshop, "windings", "dunlin/v1", "--no-field", *words)

    return command


def test_the_object_is_the_one_described(motor) -> None:
    """Key by key, down to coil and clearance; the rated impedance is the version's 4 ohm."""
    found = motor("--most", "2", json=True)
    assert found.keys() == described_all("halfroll windings")
    assert (found["asked_ohm"], found["asked"]) == (4.0, "rated")
    winding = found["windings"][0]
    assert winding.keys() == described_all("winding")
    assert winding["coil"].keys() == described_all("coil")
    assert winding["clearance"].keys() == described_all("clearance")
    assert 3.2 <= winding["coil"]["resistance_20c_ohm"]["value"] <= 3.8
    assert {"impedance-meant", "field-not-solved"} <= {v["code"] for v in found["verdicts"]}


def described_all(heading: str) -> set[str]:
    """The keys in the table of a section, several to a row."""
    section = re.search(rf"^## {re.escape(heading)}\n(.+?)(?=^## |\Z)", PAGE, re.MULTILINE | re.DOTALL)
    assert section is not None
    rows = re.findall(r"^\| ((?:`\w+`(?:, )?)+) \|", section[1], re.MULTILINE)
    return {key for row in rows for key in re.findall(r"`(\w+)`", row)}


def test_words_for_people(motor) -> None:
    """The table, a reason for every row, and what was left out."""
    code, out, _ = motor("--impedance", "4", "--most", "3", "--even")
    assert code == 0
    text = out.replace("\u202f", " ")
    for words in ("1. Highest (Bl)²/R", "3. ", "Ranked by (Bl)²/R", "Left out: ", "note: Asked for: 4 ohm"):
        assert words in text


@pytest.mark.parametrize(
    ("words", "key"),
    [
        (["--impedance", "0"], "impedance"),
        (["--impedance", "4", "--resistance", "3"], "--impedance"),
        (["--resistance", "3", "--tolerance", "90"], "tolerance"),
        (["--layers", "0-3"], "--layers"),
        (["--layers", "two"], "--layers"),
        (["--layers", "1", "--even"], "layers"),
        (["--wire", "string"], "wire"),
        (["--clearance", "-1"], "--clearance"),
        (["--lowest", "9", "--highest", "3"], "--lowest"),
    ],
)
def test_refusals(motor, words, key) -> None:
    """Exit code 2, and the option that is wrong."""
    code, _, err = motor(*words)
    assert code == 2
    assert err.startswith(f"{key}: ")


def test_without_a_motor_or_a_coil(workshop, say) -> None:
    """What is missing is said with the file, and how to write it."""
    code, _, err = say("--workshop", workshop, "windings", "dunlin/v2")
    assert code == 2
    assert "has no motor" in err
    record = Path(workshop) / "drivers" / "dunlin" / "v2" / "version.toml"
    record.write_text(record.read_text() + "\n" + EXAMPLE.partition("[coil]")[0])
    code, _, err = say("--workshop", workshop, "windings", "dunlin/v2", "--no-field")
    assert code == 2
    assert "must have a coil" in err


def test_a_coil_that_does_not_fit_can_be_replaced(workshop, ask) -> None:
    """The design's own winding is too thick for its gap; others are found all the same."""
    record = workshop / "drivers" / "dunlin" / "v1" / "version.toml"
    record.write_text(record.read_text() + "\n" + EXAMPLE.replace("layers = 2", "layers = 8"))
    found = ask("--workshop", workshop, "windings", "dunlin/v1", "--no-field", "--impedance", "4")
    assert found["windings"]


def test_layers_in_words() -> None:
    """Single numbers, ranges, and both."""
    assert layer_numbers("2,4") == [2, 4]
    assert layer_numbers("1-3, 6") == [1, 2, 3, 6]
    for wrong in ("", "-", "4-", "1-99999999", "13", "3-1"):
        with pytest.raises(InputError):
            layer_numbers(wrong)
