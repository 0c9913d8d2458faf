"""Comparisons as a whole: bases, columns, changes, and the form for machines."""

import json
import time

import numpy as np
import pytest

from halfroll.compare.compare import compare
from halfroll.compare.types import Change, Curve
from halfroll.core.errors import InputError
from halfroll.figures.rules import RULE, RULES
from halfroll.figures.types import FigureSettings
from tests.compare.make import make_takes, make_version

CHANGE = Change(what="surround", before="0.4 mm", after="0.6 mm", why="too soft")
V1 = make_version("knot/v1", {"lower_limit_hz": 106.0})
V2 = make_version("knot/v2", {"lower_limit_hz": 80.0}, parent="knot/v1", changes=(CHANGE,))
V3 = make_version(
    "knot/v3",
    {"lower_limit_hz": 61.0},
    parent="knot/v2",
    changes=(Change(what="surround", before="0.6 mm", after="0.5 mm"),),
)


def test_first_is_the_base() -> None:
    """Every other version against the first, in every figure."""
    found = compare([V1, V2, V3])
    assert (found.base_id, found.base_mode) == ("knot/v1", "first")
    assert len(found.differences) == 2 * len(RULES)
    assert {d.base_id for d in found.differences} == {"knot/v1"}


def test_chosen_base() -> None:
    """A version by its id; turning round changes the sign."""
    one, two = compare([V1, V2], base="knot/v2"), compare([V1, V2], base="knot/v1")
    assert one.base_mode == "chosen"
    a, b = one.difference("lower_limit_hz", "knot/v1"), two.difference("lower_limit_hz", "knot/v2")
    assert a is not None
    assert b is not None
    assert a.value == pytest.approx(-b.value)
    assert (a.outcome, b.outcome) == ("worse", "better")
    assert b.value == pytest.approx(np.log2(80 / 106))


def test_each_against_its_parent() -> None:
    """Every difference names its own base; the first version has none."""
    found = compare([V1, V2, V3], base="parent")
    assert found.base_mode == "parent"
    pairs = {(d.version_id, d.base_id) for d in found.differences}
    assert pairs == {("knot/v2", "knot/v1"), ("knot/v3", "knot/v2")}


def test_nearest_ancestor_stands_in_for_a_parent_not_compared() -> None:
    """With V2 known only by its record, V3 is compared with V1, and the changes of both steps are told as one."""
    found = compare([V1, V3], base="parent", others=[V2])
    assert {(d.version_id, d.base_id) for d in found.differences} == {("knot/v3", "knot/v1")}
    assert found.changes["knot/v3"] == (
        Change(what="surround", before="0.4 mm", after="0.5 mm", why="too soft"),
    )


def test_best_is_the_base() -> None:
    """The version with the lowest mean rank over the headline figures."""
    found = compare([V1, V2, V3], base="best")
    assert (found.base_id, found.base_mode) == ("knot/v3", "best")


@pytest.mark.parametrize(
    ("inputs", "base", "message"),
    [
        ([], "first", "at least one version"),
        ([V1, V1], "first", "may stand in a comparison once; found knot/v1"),
        (
            [V1],
            "knot/v9",
            r"must be one of its versions; found knot/v9\. Allowed: knot/v1, parent, best, first",
        ),
    ],
)
def test_wrong_requests(inputs, base: str, message: str) -> None:
    """Said in a sentence."""
    with pytest.raises(InputError, match=message):
        compare(inputs, base=base)


def test_one_version_alone() -> None:
    """Figures without differences."""
    found = compare([V1])
    assert found.differences == ()
    assert found.columns[0].figures["lower_limit_hz"].value == pytest.approx(106.0)


def test_version_without_takes() -> None:
    """Stands in the comparison with reasons instead of values."""
    empty = make_version("knot/v4", takes=())
    found = compare([V1, empty])
    assert found.column("knot/v4").figures["sensitivity_db"].missing == "No take counts."
    with pytest.raises(KeyError):
        found.column("knot/v9")


def test_curves_are_asked_for_the_takes_that_count() -> None:
    """Excluded takes are in no curve."""
    asked = {}

    def curves_of(version_id: str, takes: tuple[str, ...]) -> dict[str, Curve]:
        asked[version_id] = takes
        return {"level": Curve(frequency_hz=np.ones(1), value=np.ones(1))}

    loud = make_takes("knot/v2", {"sensitivity_db": 80.0}, drive_w=5.0)
    found = compare([make_version("knot/v2", takes=(*V2.takes, *loud))], curves_of=curves_of)
    assert asked == {"knot/v2": tuple(t.take_id for t in V2.takes)}
    assert list(found.columns[0].curves) == ["level"]


def test_spread_of_another_version_is_not_borrowed_unasked() -> None:
    """``own`` is the default: one unit stays unknown."""
    single = make_version("knot/v5", n_units=1)
    found = compare([V1, single]).difference("lower_limit_hz", "knot/v5")
    assert found is not None
    assert found.outcome == "unknown"
    pooled = compare([V1, single], spread="pooled").difference("lower_limit_hz", "knot/v5")
    assert pooled is not None
    assert pooled.outcome in ("better", "worse", "not distinguishable")


def test_for_machines() -> None:
    """One JSON object without infinities, with the settings it was made with."""
    raw = compare([V1, V2], FigureSettings(level_w=1.0), base="parent").as_dict()
    text = json.dumps(raw, allow_nan=False)
    back = json.loads(text)
    assert back["versions"][0]["figures"]["lower_limit_hz"]["unit"] == "Hz"
    assert back["versions"][0]["source"] == "measured"
    assert back["settings"]["limit_rule"] == "effective"
    assert back["changes"]["knot/v2"] == [
        {"what": "surround", "before": "0.4 mm", "after": "0.6 mm", "why": "too soft"}
    ]
    assert {d["figure"] for d in back["differences"]} == set(RULE)


def test_two_thousand_takes_are_quick() -> None:
    """A comparison of 20 versions of 25 units of 4 takes (the overview waits for it)."""
    values = dict.fromkeys(RULE, 50.0)
    versions = [make_version(f"knot/v{i}", values, n_units=25, n_takes=4) for i in range(20)]
    start = time.process_time()
    compare(versions)
    assert time.process_time() - start < 2.0
