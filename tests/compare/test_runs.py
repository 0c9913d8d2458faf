"""Runs in a comparison: like mountings together, differences in per cent, words that claim no more than they may."""

from dataclasses import replace

import pytest

from halfroll.compare.compare import compare
from halfroll.compare.runs import common_mounting, select_runs
from halfroll.compare.types import VersionInput
from halfroll.core.verdicts import Severity, Verdict
from halfroll.figures.types import TakeReadings
from tests.compare.make import make_version
from tests.figures.test_parameters import make_run


def runs_of(version: str, mms: float, mounting: str = "baffle") -> tuple[TakeReadings, ...]:
    """Three units with a run each, 1 % apart."""
    return tuple(
        make_run(
            f"u{i}",
            1,
            {"mms_g": mms * (1 + 0.01 * (i - 1)), "fs_hz": 50.0 + i},
            version=version,
            mounting=mounting,
        )
        for i in range(3)
    )


def with_runs(version: str, mms: float, mounting: str = "baffle", **more: object) -> VersionInput:
    """A version with takes and runs."""
    return replace(make_version(version, **more), runs=runs_of(version, mms, mounting))  # type: ignore[arg-type]


def test_moving_masses_differ_in_per_cent() -> None:
    """12 g against 10 g is 20 % more, outside the spread; neither is better; it is told among the findings."""
    found = compare([with_runs("dunlin/1", 10.0), with_runs("dunlin/2", 12.0)])
    difference = found.difference("mms_g", "dunlin/2")
    assert difference is not None
    assert difference.value == pytest.approx(20.0)
    assert difference.unit == "percent"
    assert difference.ratio == pytest.approx(1.2)
    assert difference.outcome == "higher"
    assert any(
        text.startswith("Moving mass Mms: 20\u202f% higher (12.00\u202fg against 10.00\u202fg)")
        for text in found.findings
    )
    same = found.difference("fs_hz", "dunlin/2")
    assert same is not None
    assert same.outcome == "not distinguishable"
    column = found.column("dunlin/2")
    assert len(column.runs_used) == 3
    assert len(column.takes_used) == 6
    assert found.as_dict()["versions"][0]["runs_used"] == [f"dunlin/1/u{i}/impedance/1" for i in range(3)]


def test_other_mountings_are_not_compared() -> None:
    """Free air against a baffle: the air that moves along differs, so nothing is claimed, and it is said why."""
    found = compare([with_runs("dunlin/1", 10.0), with_runs("dunlin/2", 12.0, "free-air")])
    difference = found.difference("mms_g", "dunlin/2")
    assert difference is not None
    assert difference.outcome == "not comparable"
    assert "in free air and in a baffle" in difference.sentence


def test_one_mounting_counts_in_a_version() -> None:
    """The mounting most versions have; other runs are left out with the reason, and so are unusable ones."""
    bad = replace(runs_of("dunlin/1", 9.0)[0], take_id="dunlin/1/u0/impedance/bad",
                  verdicts=(Verdict(code="x", severity=Severity.BAD, text="Clipped."),))  # fmt: skip
    free = replace(runs_of("dunlin/1", 9.0, "free-air")[0], take_id="dunlin/1/u0/impedance/free")
    mixed = replace(make_version("dunlin/1"), runs=(*runs_of("dunlin/1", 10.0), free, bad))
    assert common_mounting([mixed, with_runs("dunlin/2", 10.0)]) == "baffle"
    chosen = select_runs(mixed, "baffle")
    assert len(chosen.runs) == 3
    assert dict(chosen.left_out) == {
        bad.take_id: "Clipped.",
        free.take_id: "Mounted otherwise (in free air).",
    }
    assert select_runs(with_runs("dunlin/2", 10.0), "free-air").mounting == "baffle"


def test_a_version_with_runs_only() -> None:
    """Impedance alone makes a version measured: parameters have values, levels say that there is no take."""
    found = compare([replace(make_version("dunlin/1", takes=()), runs=runs_of("dunlin/1", 10.0))])
    column = found.columns[0]
    assert column.source == "measured"
    assert column.figures["mms_g"].value == pytest.approx(10.0)
    assert column.figures["sensitivity_db"].missing == "No take counts."
    assert not any(c.code == "no-takes" for c in column.cautions)


def test_printed_parameters_compare_too() -> None:
    """A sheet that states Qts and Mms takes part; where it states uncertainties, a difference may be claimed."""
    sheet = replace(
        make_version("sandpiper/1", takes=()),
        published={"mms_g": (15.0, 0.1), "qts": (0.4, None)},
        published_source="sheet",
    )
    found = compare([with_runs("dunlin/1", 10.0), sheet])
    mass, total_q = (found.difference(key, "sandpiper/1") for key in ("mms_g", "qts"))
    assert mass is not None
    assert mass.value == pytest.approx(50.0)
    assert mass.outcome == "higher"
    assert found.column("sandpiper/1").figures["qts"].value == 0.4
    assert total_q is not None
    assert total_q.value is None
