"""The objects that commands print are those the how-to describes, key by key."""

import json
import re
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from halfroll.cli.main import run
from halfroll.core.errors import InputError
from halfroll.workshop.faults import FaultsError
from tests.docs.pages import DOCS

PAGE = (DOCS / "how-to" / "machine-interface.md").read_text(encoding="utf-8")
TAKE = "redshank/v2/01/2026-03-31-1405-v2-01-a"


def described(heading: str) -> set[str]:
    """The keys in the table of a section."""
    section = re.search(rf"^## {re.escape(heading)}\n(.+?)(?=^## |\Z)", PAGE, re.MULTILINE | re.DOTALL)
    assert section is not None, f"no section {heading}"
    return set(re.findall(r"^\| `(\w+)` \|", section[1], re.MULTILINE))


@pytest.fixture
def ask(
    after: Callable[[str], Path],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> Callable[..., Any]:
    """Runs a command with --json in a copy of the tutorial's workshop and gives its object."""
    shop = shutil.copytree(after("tutorial/first-comparison.md") / "saltmarsh", tmp_path / "saltmarsh")
    monkeypatch.chdir(shop)

    def command(*words: str) -> Any:
        assert run([*words, "--json"]) == 0
        return json.loads(capsys.readouterr().out)

    return command


def test_compare(ask: Callable[..., Any]) -> None:
    """A comparison, and every kind of object in it."""
    found = ask("compare", "redshank", "--level", "2")  # a level nobody has, so that there are cautions
    assert found.keys() == described("halfroll compare")
    assert found["settings"].keys() == described("settings")
    version = found["versions"][1]
    assert version.keys() == described("version")
    assert version["cautions"][0].keys() == described("verdict")
    figure = version["figures"]["sensitivity_db"]
    assert figure.keys() == described("figure")
    assert figure["conditions"].keys() == described("conditions of a figure")
    assert found["differences"][0].keys() == described("difference")
    assert found["changes"]["redshank/v2"][0].keys() == described("change")


def test_sheet_mark_and_site(ask: Callable[..., Any], tmp_path: Path) -> None:
    """A data sheet, what stands behind one of its numbers, and pages for visitors."""
    sheet = ask("sheet", "redshank/v2")
    assert sheet.keys() == described("halfroll sheet")
    figure = sheet["figures"][0]
    assert figure.keys() == described("figure") | {"mark"}
    behind = ask("mark", figure["mark"])
    assert behind.keys() == described("halfroll mark")
    assert behind["now"].keys() == described("mark today")
    site = ask("site", str(tmp_path / "pages"), "--version", "redshank/v2")
    assert site.keys() == described("halfroll site")


def test_claim(ask: Callable[..., Any]) -> None:
    """A sentence and what the figures say to it."""
    found = ask("claim", "redshank v2 is softer than v7")
    keys = described("halfroll claim")
    assert found.keys() < keys
    assert found["sentences"][0].keys() == keys - found.keys() | {"refused"}


def test_pictures(ask: Callable[..., Any], tmp_path: Path) -> None:
    """A picture; a build-up is written by the function whose keys its section adds."""
    from halfroll.publish.screens import build_up, film, layout
    from tests.publish import samples

    found = ask("picture", "redshank", "--chart", "figures", "--out", str(tmp_path / "a.svg"))
    assert found.keys() == described_pairs("halfroll picture")
    shown = layout.screen(samples.comparison(1), "strip:lower_limit_hz")
    quick = build_up.Timing(version_s=0.5, hold_s=0.0, fps=24)
    made = film.write(tmp_path / "frames", shown, quick, size=(160, 90))
    assert {"file", "ground", "summary", *made} == described_pairs("halfroll build-up")


def test_figures(ask: Callable[..., Any]) -> None:
    """Figures are the same objects without the comparison."""
    found = ask("figures", "redshank/v2")
    assert found.keys() == described("halfroll figures")
    assert found["versions"][0].keys() == described("version")


def test_analyse(ask: Callable[..., Any]) -> None:
    """A take with its conditions, gate and readings."""
    found = ask("analyse", TAKE)
    assert found.keys() == described("halfroll analyse")
    assert found["conditions"].keys() == described("conditions of a take")
    assert found["gate"].keys() == described("gate")
    assert all(reading.keys() == described("reading") for reading in found["figures"].values())


def test_residue(ask: Callable[..., Any]) -> None:
    """A take above its harmonics."""
    found = ask("residue", TAKE)
    assert found.keys() == described("halfroll residue")
    assert found["takes"][0].keys() <= described("take above its harmonics")
    assert described("take above its harmonics") - found["takes"][0].keys() <= {
        "residue",
        "against",
        "silence",
    }


def test_rig(ask: Callable[..., Any]) -> None:
    """A calibration, and a rig with what it states."""
    found = ask("rig", "microphone", "bench", "--pa", "4", "--u", "0.3", "--dry-run")
    assert found.keys() == described("halfroll rig")
    assert found["budget"][0].keys() == {"name", "u_db", "shape", "half_width_db"}
    shown = ask("rig", "show", "bench")
    assert shown.keys() == {"rig", "title", "now", "earlier"}
    assert all(state.keys() == described("state of a rig") - {"replaced", "note"} for state in shown["now"])


def test_parts_and_catalogue(ask: Callable[..., Any]) -> None:
    """A part, what some of it costs, and entries of the catalogue."""
    disc = ("disc", "--type", "magnet", "--catalogue", "nd-disc-20x5", "--price", "8", "--currency", "EUR")
    assert ask("parts", "add", *disc).keys() == {"kind", "id", "file"}
    listed = ask("parts", "list")
    assert listed.keys() == {"parts", "materials", "faults"}
    assert listed["parts"][0].keys() == described("part")
    assert ask("parts", "show", "disc").keys() == described("part") | {"file", "record"}
    assert ask("parts", "cost", "disc", "2").keys() == described("halfroll parts cost")
    magnet, steel = ask("catalogue", "n42"), ask("catalogue", "steel-1008")
    assert magnet["origin"].keys() == described("origin")
    assert magnet["curve"].keys() == described("curve of a magnet")
    assert {"kind", "key", "h_a_m", "b_t"} <= steel.keys()


def test_calibrate(ask: Callable[..., Any]) -> None:
    """A strip, creep, and what the material is with them; keys in pairs stand in one row of the page."""
    sizes = (
        "--length",
        "60",
        "--width",
        "12",
        "--thickness",
        "1.2",
        "--load",
        "2",
        "--sinks",
        "8.9",
        "--dry-run",
    )
    told = described_pairs("halfroll calibrate")
    found = ask("calibrate", "strip", "tpu-95a", *sizes)
    assert found.keys() == told
    of_result = described_pairs("result of a calibration")
    creep = ask(
        "calibrate",
        "creep",
        "tpu-95a",
        "--time",
        "1",
        "--sinks",
        "9",
        "--time",
        "9",
        "--sinks",
        "9.4",
        "--time",
        "99",
        "--sinks",
        "9.9",
    )
    assert found["result"].keys() | creep["result"].keys() == of_result
    shown = ask("calibrate", "show", "tpu-95a")
    assert shown.keys() == told - {"saved", "result", "before_mpa"} | {"versions"}
    assert shown["calibrations"][0].keys() == {
        "number",
        "date",
        "by",
        "used",
        "weight",
        "note",
        "readings",
        "result",
    }


def described_pairs(heading: str) -> set[str]:
    """The keys in the table of a section whose rows may hold several."""
    section = PAGE.partition(f"\n## {heading}\n")[2].partition("\n## ")[0]
    cells = re.findall(r"^\| (`[^|]+`) \|", section, re.MULTILINE)
    return {key for cell in cells for key in re.findall(r"`(\w+)`", cell)}


def test_what_makes_records(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    after: Callable[[str], Path],
) -> None:
    """init, add, sweep and import say what they made."""
    recording = after("tutorial/first-comparison.md") / "saltmarsh" / "recordings" / "v1-01-a.wav"
    monkeypatch.chdir(tmp_path)
    where = ["--workshop", "hide"]

    def made(*words: str) -> Any:
        assert run([*words, "--json"]) == 0
        return json.loads(capsys.readouterr().out)

    assert made("init", "hide").keys() == described("halfroll init")
    assert made("sweep", "sweep.wav").keys() == described("halfroll sweep")
    for words in (["rig", "bench"], ["driver", "knot"], ["version", "knot/v1"], ["unit", "knot/v1/01"]):
        assert made(*where, "add", *words).keys() == described("halfroll add")
    how = ["--unit", "knot/v1/01", "--rig", "bench", "--roles", "microphone,voltage", "--distance", "1"]
    found = made(*where, "import", str(recording), *how, "--space", "half-space")
    assert found.keys() == described("halfroll import")


def test_errors() -> None:
    """An error has no key that is not described, and those described are all there are."""
    place = {"file": "a", "key": "b", "line": 1, "found": 2, "allowed": "c", "remedy": "d"}
    fault = InputError("m", **place)  # type: ignore[arg-type]
    assert fault.as_dict().keys() | FaultsError([fault, fault], "a").as_dict().keys() == described("error")


def test_kits_and_stock(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A plan with its parts and price, and the standing of a part."""
    from tests.builds.kit_shop import kit_shop

    shop = str(kit_shop(tmp_path / "shop").folder)

    def asked(*words: str) -> Any:
        assert run(["--workshop", shop, *words, "--json"]) == 0
        return json.loads(capsys.readouterr().out)

    found = asked("kits", "show", "nest-pair", "10")
    assert found.keys() == described_pairs("halfroll kits show")
    assert found["parts"][0].keys() == described_pairs("part of a kit")
    assert found["price"].keys() == described_pairs("price of a kit")
    assert asked("stock", "show", "magnet").keys() == described_pairs("halfroll stock show")


def test_releases(ask: Callable[..., Any], tmp_path: Path) -> None:
    """A bundle, its check, and what is told of bringing it in."""
    from dataclasses import fields

    from halfroll.workshop.bring_in import BroughtIn

    ask(
        "release",
        "new",
        "redshank/v2",
        "--licence",
        "CC0-1.0",
        *(
            w
            for c in ("sheet", "guide", "bill", "models", "comparison", "charts")
            for w in ("--leave-out", c)
        ),
    )
    built = ask("release", "build", "redshank-v2", "--to", str(tmp_path))
    assert built.keys() == described("halfroll release build")
    report = ask("release", "check", built["file"])
    assert report.keys() == described("halfroll release check")
    assert {one.name for one in fields(BroughtIn)} == described("halfroll release bring-in")
