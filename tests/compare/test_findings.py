"""Findings in words: what is claimed, what is not, and with how many digits."""

import dataclasses

import pytest

from halfroll.compare.compare import compare
from halfroll.compare.types import Comparison, VersionInput
from halfroll.figures.types import Reading
from tests.compare.make import make_version


def sentence(version: VersionInput, base: VersionInput, key: str, **more) -> str:
    """The finding for one figure, with ordinary spaces."""
    found = compare([base, version], **more).difference(key, version.version_id)
    assert found is not None
    return found.sentence.replace("\u202f", " ")


def findings(comparison: Comparison) -> list[str]:
    """All findings with ordinary spaces."""
    return [f.replace("\u202f", " ") for f in comparison.findings]


def one(values=None, name="knot/v1", **more) -> VersionInput:
    """A version."""
    return make_version(name, values, **more)


def test_far_outside_the_spread() -> None:
    """61 Hz ± 1 against 106 Hz ± 1 with three units."""
    found = sentence(
        one({"lower_limit_hz": 61.0}, "knot/v2"), one({"lower_limit_hz": 106.0}), "lower_limit_hz"
    )
    assert found == "Lower limit: 0.80 octaves deeper (61.0 Hz against 106.0 Hz), far outside the spread."


def test_digits_follow_the_uncertainty() -> None:
    """With units 5 Hz apart the sentence has fewer digits, and the claim is weaker."""
    wide = {"spread": {"lower_limit_hz": 5.0}}
    found = sentence(
        one({"lower_limit_hz": 61.0}, "knot/v2", **wide),
        one({"lower_limit_hz": 106.0}, **wide),
        "lower_limit_hz",
    )
    assert found == "Lower limit: 0.80 octaves deeper (61 Hz against 106 Hz), far outside the spread."
    found = sentence(
        one({"lower_limit_hz": 88.0}, "knot/v2", **wide),
        one({"lower_limit_hz": 106.0}, **wide),
        "lower_limit_hz",
    )
    assert found == "Lower limit: 0.27 octaves deeper (88 Hz against 106 Hz), outside the spread."


def test_not_distinguishable() -> None:
    """2.4 % against 2.6 % with units 0.3 % apart."""
    wide = {"spread": {"thd_mean_percent": 0.3}}
    version, base = one({"thd_mean_percent": 2.4}, "knot/v2", **wide), one({"thd_mean_percent": 2.6}, **wide)
    found = sentence(version, base, "thd_mean_percent")
    assert found == "Mean distortion: 2.4 % against 2.6 %: not distinguishable with 3 units each."
    found = sentence(one({"thd_mean_percent": 2.4}, "knot/v2", n_units=2, **wide), base, "thd_mean_percent")
    assert found.endswith("not distinguishable with 2 and 3 units.")


def test_distortion_in_points() -> None:
    """2.6 % less 1.2 % is 1.4 points, the unit in which it is tested and stands in the table."""
    found = sentence(
        one({"thd_mean_percent": 1.2}, "knot/v2"), one({"thd_mean_percent": 2.6}), "thd_mean_percent"
    )
    assert found == ("Mean distortion: 1.40 points lower (1.20 % against 2.60 %), far outside the spread.")


def test_levels() -> None:
    """Sensitivity in decibels, worse said as lower."""
    comparison = compare([one(), one({"sensitivity_db": 83.9}, "knot/v2")])
    found = comparison.difference("sensitivity_db", "knot/v2")
    assert found is not None
    assert found.sentence.replace("\u202f", " ").startswith(
        "Sensitivity: 2.1 dB lower (83.9 dB against 86.0 dB)"
    )
    assert found.outcome == "worse"
    assert found.ratio == pytest.approx(10**-0.21)


@pytest.mark.parametrize(
    ("ours", "theirs", "told"),
    [
        ((1, 1), (1, 1), "spread unknown: one take each."),
        ((1, 2), (1, 3), "spread unknown: one unit each."),
        ((1, 1), (3, 2), "spread unknown: one take of v2."),
        ((3, 2), (1, 2), "spread unknown: one unit of v1."),
        ((1, 1), (1, 2), "spread unknown: one take of v2, one unit of v1."),
    ],
)
def test_unknown_spread(ours: tuple[int, int], theirs: tuple[int, int], told: str) -> None:
    """A difference is named, nothing is claimed, and who lacks what is said."""
    version = one({"lower_limit_hz": 61.0}, "knot/v2", n_units=ours[0], n_takes=ours[1])
    base = one({"lower_limit_hz": 106.0}, n_units=theirs[0], n_takes=theirs[1])
    found = compare([base, version]).difference("lower_limit_hz", "knot/v2")
    assert found is not None
    assert found.outcome == "unknown"
    assert found.sentence.endswith(told)


def test_pooled_spread_lets_a_single_take_speak() -> None:
    """With the spread of the other versions one take can be compared, and that is said."""
    version, base = (
        one({"lower_limit_hz": 61.0}, "knot/v2", n_units=1, n_takes=1),
        one({"lower_limit_hz": 106.0}),
    )
    assert "far outside the spread" in sentence(version, base, "lower_limit_hz", spread="pooled")
    same = one({"lower_limit_hz": 106.5}, "knot/v2", n_units=1, n_takes=1)
    assert sentence(same, base, "lower_limit_hz", spread="pooled").endswith(
        "not distinguishable with 1 and 3 units, spread pooled over all versions."
    )


def test_bounds() -> None:
    """A bound far below is lower; a bound near it, or from a single take, tells nothing."""
    low = {"thd_mean_percent": Reading(value=0.4, bound="upper")}
    found = sentence(one(low, "knot/v2"), one({"thd_mean_percent": 2.6}), "thd_mean_percent")
    assert found == "Mean distortion: lower (at most 0.40 % against 2.60 %), outside the spread."
    single = sentence(
        one(low, "knot/v2", n_units=1, n_takes=1), one({"thd_mean_percent": 2.6}), "thd_mean_percent"
    )
    assert single.endswith("only a bound is known, so no difference can be told.")


def test_missing_says_who_and_why() -> None:
    """No value, no difference."""
    none = one({"sensitivity_db": Reading(missing="The microphone is not calibrated.")}, "knot/v2")
    assert (
        sentence(none, one(), "sensitivity_db")
        == "Sensitivity: no value for v2: The microphone is not calibrated."
    )


def test_unlike_levels_are_not_compared_in_distortion() -> None:
    """2 W against 1 W: sensitivity yes, distortion no."""
    loud = one({"sensitivity_db": 83.0}, "knot/v2", drive_w=2.0)
    assert "far outside" in sentence(loud, one(), "sensitivity_db")
    assert sentence(loud, one(), "thd_mean_percent") == (
        "Mean distortion: not comparable. Distortion was taken at unlike drive levels."
    )


def test_one_reason_is_told_once() -> None:
    """Half space against free field: four figures, one sentence with the baffle."""
    found = findings(compare([one(), one(name="knot/v2", space="free-field")]))
    assert found == [
        "Sensitivity, lower limit, mean distortion and maximum level: not comparable. Free-field and half-space takes "
        "cannot be compared: between half space and free field lies the baffle, whose step of up to 6 dB depends on "
        "its size."
    ]


def test_maximum_level_is_not_told_twice() -> None:
    """With the same rated power it repeats the sensitivity; with another it is told."""
    base = one()
    same = one({"sensitivity_db": 88.0, "max_level_db": 95.0}, "knot/v2")
    assert not any("Maximum" in f for f in findings(compare([base, same])))
    more = one({"sensitivity_db": 88.0, "max_level_db": 98.0}, "knot/v2")
    assert any(f.startswith("Maximum level: 5.0 dB higher") for f in findings(compare([base, more])))


def test_order_of_importance() -> None:
    """What differs most comes first, then what does not differ, then what is unknown."""
    version = one(
        {"lower_limit_hz": 50.0, "sensitivity_db": 87.0, "max_level_db": Reading(missing="No power.")},
        "knot/v2",
    )
    found = findings(compare([one(), version]))
    assert [f.partition(":")[0] for f in found] == [
        "Lower limit",
        "Sensitivity",
        "Mean distortion",
        "Maximum level",
    ]


def test_best_of_three() -> None:
    """Who leads, and whether the lead is more than spread."""
    versions = [
        one({"lower_limit_hz": f, "sensitivity_db": s}, f"knot/v{i}")
        for i, (f, s) in enumerate([(106.0, 86.0), (61.0, 84.0), (75.0, 86.08)])
    ]
    found = findings(compare(versions))
    assert "Best lower limit: v1 (61.0 Hz), before v2 (75.0 Hz), far outside the spread." in found
    assert "Best sensitivity: v2 (86.1 dB) or v0 (86.0 dB); the two are not distinguishable." in found
    assert all(f.startswith(("v1 against v0, ", "v2 against v0, ", "Best ")) for f in found)


def test_published_stands_as_published() -> None:
    """With its own uncertainty it can be compared, without one nothing is claimed."""
    table = {"sensitivity_db": (85.0, None), "lower_limit_hz": (140.0, 5.0)}
    printed = dataclasses.replace(
        one(name="knot/printed"), takes=(), published=table, published_source="table 2 of a paper"
    )
    assert "published value without uncertainty" in sentence(printed, one(), "sensitivity_db")
    assert "far outside the spread" in sentence(printed, one(), "lower_limit_hz")
    assert "Not in the published table" in sentence(printed, one(), "thd_mean_percent")
    (column,) = (c for c in compare([one(), printed]).columns if c.source == "published")
    assert column.cautions[0].code == "published-only"
    assert column.figures["lower_limit_hz"].source == "published"


def test_drivers_are_named_when_there_are_several() -> None:
    """Titles alone would be the same."""
    versions = [one(name="knot/v1"), one(name="dunlin/v1"), one({"lower_limit_hz": 60.0}, "dunlin/v2")]
    assert findings(compare(versions))[0].startswith("Dunlin v2 against Knot v1, lower limit: ")
