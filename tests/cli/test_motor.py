"""A motor from the command line: its tables, its object key by key, a drawing, what is refused, and a design taken over."""

from __future__ import annotations

import builtins
import xml.etree.ElementTree as ET

import pytest

from halfroll.workshop.motor_design import EXAMPLE
from tests.cli.test_windings import described_all


@pytest.fixture
def designed(workshop):
    """The small workshop, whose version has the example motor."""
    record = workshop / "drivers" / "dunlin" / "v1" / "version.toml"
    record.write_text(record.read_text() + "\n" + EXAMPLE)
    return workshop


def test_the_object_is_the_one_described(designed, ask) -> None:
    """Key by key; a force factor of some newtons per ampere with its uncertainty, and B in the gap that carries it."""
    found = ask("--workshop", designed, "motor", "dunlin/v1")
    assert found.keys() == described_all("halfroll motor")
    assert found["field"].keys() == described_all("field of a motor")
    keys = set().union(*(part.keys() for part in found["parts"]))
    assert keys == described_all("part in its place") - {"turns", "current_a"}
    assert found["coil"].keys() == described_all("coil")
    assert found["heat"].keys() == described_all("heat of a coil")
    figure = found["field"]["force_factor_n_per_a"]
    assert figure["unit"] == "N/A"
    length = found["coil"]["winding_length_m"]
    assert 0 < figure["value"] < found["field"]["gap_flux_density_t"]["value"] * length
    assert figure["u"] < 0.01 * figure["value"]
    assert found["inductance"] is None
    assert found["cost"]["missing"] == ["back plate", "magnet", "top plate", "pole", "wire", "former"]


def test_the_answer_stands_first_and_is_short(designed, say) -> None:
    """A line a figure within 80 columns, then what makes careful, then how to see the tables; none of them unasked."""
    code, out, err = say("--workshop", designed, "motor", "dunlin/v1")
    assert code == 0, err
    lines = out.replace("\u202f", " ").splitlines()
    end = lines.index("")
    assert lines[1].startswith("Force factor Bl at rest")
    assert max(map(len, lines[: end - 1])) <= 80  # what stands under the table is broken by the terminal
    said = [line.split("  ")[0] for line in lines[1 : end - 1]]
    for words in ("Travel to 82 % of Bl", "Re at 20 °C, with leads", "Room inwards up to back plate", "Fullest steel", "Most symmetric offset",
                  "Margin to the knee", "Least clearance", "Power borne for ever"):  # fmt: skip
        assert words in said
    assert all(line.startswith(("bad: ", "caution: ", "note: ")) for line in lines[end + 1 :])
    assert "Rel. permeability" not in out
    assert "halfroll motor dunlin/v1 --tables" in err


def test_inductance_as_a_measured_fit_has_it(designed, ask, say) -> None:
    """With --inductance the models of a measured fit stand beside the computed values; the text shows them too."""
    found = ask("--workshop", designed, "motor", "dunlin/v1", "--inductance")["inductance"]
    rest = found["x_mm"].index(0.0)
    low, high = (found["low_level_inductance_h"][rest][k] for k in (-1, 0))
    fitted = found["fitted"]["lr2"]
    assert low < fitted["le_h"] + fitted["l2_h"] < 1.5 * high
    assert 0.0 < fitted["misfit_rel"] < 0.1
    _, out, _ = say("--workshop", designed, "motor", "dunlin/v1", "--inductance")
    assert "As a measured fit has it" in out


def test_a_drawing_of_another_kind_is_refused_before_work_begins(designed, say, tmp_path) -> None:
    """A name that says PDF is not written as SVG."""
    code, _, err = say("--workshop", designed, "motor", "dunlin/v1", "--svg", tmp_path / "motor.pdf")
    assert code == 2
    assert "--svg" in err
    assert "motor.svg" in err
    assert not list(tmp_path.glob("motor.*"))


def test_words_for_people_and_a_drawing(designed, say, tmp_path) -> None:
    """With --tables every table is there, the assumptions stand below, and the drawing is whole SVG."""
    drawing = tmp_path / "motor.svg"
    code, out, err = say("--workshop", designed, "motor", "dunlin/v1", "--tables", "--svg", drawing)
    assert code == 0, err
    for words in ("Force factor Bl at rest", "Flux that misses the gap", "peak displacement", "overhung", "back plate",
                  "Below the knee", "DC resistance", "Clearance between", "for ever", "To pay now", "note: The field is that of"):  # fmt: skip
        assert words in out.replace("\u202f", " ")
    assert "Wrote" in err
    assert ET.parse(drawing).getroot().tag.endswith("svg")


def test_options_change_the_motor_and_not_the_record(designed, ask) -> None:
    """A coil 2 mm farther out has less force at rest; warm ferrite has less, by 0.2 % per kelvin at most (its own coefficient)."""
    before = (designed / "drivers" / "dunlin" / "v1" / "version.toml").read_bytes()

    def bl(*words: str) -> float:
        return float(
            ask("--workshop", designed, "motor", "dunlin/v1", *words)["field"]["force_factor_n_per_a"][
                "value"
            ]
        )

    rest, moved, warm = bl(), bl("--coil-offset", "2"), bl("--temperature", "70")
    assert moved < 0.97 * rest
    assert 0.88 * rest < warm < 0.92 * rest
    assert (designed / "drivers" / "dunlin" / "v1" / "version.toml").read_bytes() == before


def test_what_a_design_changed_against_another(designed, say, ask) -> None:
    """A thicker plate in a version of its own: one line, with its millimetres; nothing differs from itself."""
    ask("--workshop", designed, "add", "version", "dunlin/v8", "--parent", "v1", "--with-design")
    record = designed / "drivers" / "dunlin" / "v8" / "version.toml"
    record.write_text(record.read_text().replace("height_mm = 4", "height_mm = 5", 1))
    found = ask("--workshop", designed, "motor", "dunlin/v8", "--against", "dunlin/v1")["changes"]
    assert [(one["what"], one["before"], one["after"], one["delta_mm"]) for one in found] == [
        ("top plate height", "4 mm", "5 mm", 1.0)
    ]
    code, out, _ = say("--workshop", designed, "motor", "dunlin/v1", "--against", "dunlin/v1")
    assert (code, "Nothing differs." in out) == (0, True)


def test_without_a_motor_it_is_said_what_to_write(workshop, say) -> None:
    """Exit code 2, and a whole example."""
    code, _, err = say("--workshop", workshop, "motor", "dunlin/v1")
    assert code == 2
    assert "has no motor" in err
    assert err.endswith(f"\n\n{EXAMPLE}")


def test_a_key_that_is_not_used_is_said(designed, ask) -> None:
    """A key in the wrong table does nothing; without a word somebody would believe it did."""
    record = designed / "drivers" / "dunlin" / "v1" / "version.toml"
    record.write_text(record.read_text().replace("[coil]", "[coil]\nmagnet_temperature = 60"))
    found = ask("--workshop", designed, "motor", "dunlin/v1")["verdicts"]
    assert [one["data"]["key"] for one in found if one["code"] == "unknown-key"] == [
        "coil.magnet_temperature"
    ]


def test_what_cannot_be_is_said_with_its_place(designed, say) -> None:
    """File, line and key; also for an option."""
    record = designed / "drivers" / "dunlin" / "v1" / "version.toml"
    record.write_text(record.read_text().replace("inner_mm = 22.4", "inner_mm = 19"))
    line = next(
        n for n, text in enumerate(record.read_text().split("\n"), 1) if text == 'beside = "back plate"'
    )
    code, _, err = say("--workshop", designed, "motor", "dunlin/v1")
    assert code == 2
    assert f"{record}:{line}, motor.parts[4].beside: pole and top plate must not overlap" in err
    record.write_text(record.read_text().replace("inner_mm = 19", "inner_mm = 22.4"))
    code, _, err = say("--workshop", designed, "motor", "dunlin/v1", "--temperature", "400")
    assert code == 2
    assert "magnet" in err
    code, _, err = say("--workshop", designed, "motor", "dunlin/v1", "--coil-offset", "30")
    assert (code, "coil.offset_mm" in err) == (2, True)


def test_without_the_solver_it_is_said_what_still_works(designed, say, monkeypatch) -> None:
    """As on a computer for which there is no such library."""
    real = builtins.__import__

    def missing(name, *rest, **more):
        if name.split(".")[0] in ("ngsolve", "netgen"):
            raise ImportError(f"No module named {name!r}", name=name)
        return real(name, *rest, **more)

    monkeypatch.setattr(builtins, "__import__", missing)
    code, _, err = say("--workshop", designed, "motor", "dunlin/v1")
    assert code == 2, err
    assert "NGSolve" in err
    assert "halfroll windings --no-field" in err


def test_a_new_version_takes_the_design_over(designed, say, ask) -> None:
    """Only when asked, and only from a parent that has one."""
    ask("--workshop", designed, "add", "version", "dunlin/v8", "--parent", "v1", "--with-design")
    record = designed / "drivers" / "dunlin" / "v8" / "version.toml"
    assert 'part = "ferrite-ring-60x32x10"' in record.read_text()
    code, _, err = say("--workshop", designed, "add", "version", "dunlin/v9", "--with-design")
    assert (code, "no --parent" in err) == (2, True)
    ask("--workshop", designed, "add", "version", "dunlin/v9", "--parent", "v8")
    assert "[motor]" not in (designed / "drivers" / "dunlin" / "v9" / "version.toml").read_text()
    code, _, err = say(
        "--workshop", designed, "add", "version", "dunlin/v10", "--parent", "v9", "--with-design"
    )
    assert (code, "dunlin/v9 has no motor" in err) == (2, True)
