"""Written claims against figures whose differences and intervals are worked out here by hand."""

import math
from dataclasses import replace

import pytest
from scipy import stats

from halfroll.compare.claims.judge import check_claim
from halfroll.compare.claims.names import Known, NotReadError
from halfroll.compare.claims.read import claims_something, read_claim
from halfroll.compare.compare import compare
from halfroll.figures.types import Reading
from tests.compare.make import SPREAD, make_version

OLD, NEW, SOLD = "knot/v1", "knot/v2", "gull/v1"
KNOWN = Known(
    names={"v1": OLD, "v2": NEW, "knot v1": OLD, "knot v2": NEW, "version 2": NEW, "gull v1": SOLD}, earlier={NEW: [OLD], OLD: []},
    bought=[SOLD], parents={NEW: OLD}, built=[OLD, NEW, SOLD], here=NEW,
    siblings={"knot": {"v1": OLD, "v2": NEW, "version 2": NEW}, "gull": {"v1": SOLD}},
)  # fmt: skip


def said(text, ours=None, theirs=None, **more):
    """What the figures of v2 against v1 say."""
    versions = [make_version(OLD, theirs, **more), make_version(NEW, ours, parent=OLD, **more)]
    return check_claim(read_claim(text, KNOWN), compare(versions))


@pytest.mark.parametrize(
    ("text", "figure", "up", "relation", "value", "unit"),
    [
        ("v2 is more than an octave deeper than v1.", "lower_limit_hz", False, "more than", 1.0, "octaves"),
        ("v2 is five octaves deeper than v1", "lower_limit_hz", False, "stated", 5.0, "octaves"),
        ("It is at least half an octave deeper", "lower_limit_hz", False, "at least", 0.5, "octaves"),
        ("Version 2 is 3 dB more sensitive than v1", "sensitivity_db", True, "stated", 3.0, "dB"),
        ("v2 is about 2.5 dB louder at its maximum than v1", "max_level_db", True, "about", 2.5, "dB"),
        ("v2 has less than half the distortion of v1", "thd_mean_percent", False, "less than", 0.5, "ratio"),
        (
            "It has a third of the worst distortion of v1",
            "thd_worst_percent",
            False,
            "stated",
            1 / 3,
            "ratio",
        ),
        ("v2 has no more than 2 % distortion", "thd_mean_percent", False, "at most", 2.0, "percent"),
        ("v2 is 20 Hz deeper than v1", "lower_limit_hz", False, "stated", 20.0, "Hz"),
        ("Less than 2 % distortion", "thd_mean_percent", False, "less than", 2.0, "percent"),
        ("It goes down to 52 Hz", "lower_limit_hz", False, "stated", 52.0, "Hz"),
        ("up to 8.5 kHz", "upper_limit_hz", True, "stated", 8500.0, "Hz"),
        ("It has 84.5 dB sensitivity", "sensitivity_db", True, "stated", 84.5, "dB"),
        ("a sensitivity of 84.5 dB", "sensitivity_db", True, "stated", 84.5, "dB"),
    ],
)
def test_sentences_are_read(text, figure, up, relation, value, unit):
    """Figure, direction, relation and amount of sentences as people write them."""
    claim = read_claim(text, KNOWN)
    assert (claim.subject, claim.figure, claim.up, claim.relation) == (NEW, figure, up, relation)
    assert claim.amount.value == pytest.approx(value)
    assert claim.amount.unit == unit


def test_whom_it_is_held_against():
    """Named, the parent where nothing stands, every earlier one, what was bought; a level of its own."""
    assert read_claim("v2 is deeper than gull v1", KNOWN).others == (SOLD,)
    assert read_claim("It is deeper", KNOWN).others == (OLD,)
    assert read_claim("It is deeper than every earlier version", KNOWN).others == (OLD,)
    assert read_claim("It is cleaner than any bought driver", KNOWN).others == (SOLD,)
    assert read_claim("v2 is the deepest of all", KNOWN).others == (OLD, SOLD)
    assert read_claim("At 10 W it is cleaner than v1", KNOWN).level_w == 10.0


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("v2 is twice as loud as v1", "decibels"),
        ("v2 is deeper than v7", "no version"),
        ("v1 and v2 are deeper than gull v1", "Two versions"),
        ("v1 is more sensitive", "no parent"),
        ("v2 is deeper than v2", "against itself"),
        ("It has 3 dB", "could not be read"),
        ("It is not deeper than v1", "say plainly"),
        ("It isn\u2019t deeper than v1", "say plainly"),
        ("Is it deeper than v1?", "say plainly"),
        ("It would be deeper than v1", "say plainly"),
        ("It is more than nine octaves deeper than v1", "in figures"),
        ("It is 1,5 octaves deeper than v1", "in figures"),
        ("It is 2 1/2 octaves deeper than v1", "in figures"),
        ("It is twenty two octaves deeper than v1", "in figures"),
        ("It is deeper than v1 by ten octaves", "in figures"),
        ("It has five times less distortion than v1", "in figures"),
        ("It is deeper and 9 dB more sensitive than v1", "more than one thing"),
        ("It is deeper than v1, and cleaner", "more than one thing"),
        ("It goes down to 52 Hz at a sensitivity of 99 dB", "more than one thing"),
        ("It has less distortion than v1 at 50 Hz", "more than one thing"),
    ],
)  # fmt: skip
def test_what_is_not_certain_is_not_guessed(text, why):
    """The reason is said."""
    with pytest.raises(NotReadError, match=why):
        read_claim(text, KNOWN)


def test_short_names_are_those_of_the_subjects_driver():
    """Beside "knot v2" a bare v1 is knot's, wherever it is written; a name that may be two drivers' is asked for."""
    anywhere = replace(KNOWN, here=None, names={k: v for k, v in KNOWN.names.items() if k != "v1"})
    assert read_claim("knot v2 is more than an octave deeper than v1", anywhere).others == (OLD,)
    for text, why in [
        ("v1 is deeper than knot v2", "gull/v1, knot/v1; say which"),
        ("gull v2 is deeper than knot v1", "'gull v2'"),  # not knot's v2
        ("v9 is deeper than v1", "'v9'"),  # not the version the text belongs to
    ]:
        with pytest.raises(NotReadError, match=why):
            read_claim(text, anywhere)
    with pytest.raises(NotReadError, match="'v9'"):
        read_claim("v9 is deeper than v1", KNOWN)


def test_sentences_without_a_claim_are_left_alone():
    """Only what speaks of figures is held against them."""
    for text in (
        "The cone is grey and printed in one piece.",
        "Half of the frame is new.",
        "Print it twice.",
    ):
        assert not claims_something(text), text
    for text in (
        "It is deeper.",
        "It has a tenth of the distortion of v1.",
        "Half as much distortion as v1.",
        "Its distortion is halved.",
        "Its sensitivity is better than that of v1.",
    ):
        assert claims_something(text), text


def interval_octaves(ours_hz, theirs_hz, n=3):
    """The 95 % interval of log2(theirs / ours) by Student's t with unlike variances (Welch), from the spread the versions are made with."""
    u = [SPREAD["lower_limit_hz"] / math.sqrt(n) / f / math.log(2.0) for f in (ours_hz, theirs_hz)]
    dof = (u[0] ** 2 + u[1] ** 2) ** 2 / sum(x**4 / (n - 1) for x in u)
    half = stats.t.ppf(0.975, dof) * math.hypot(*u)
    return math.log2(theirs_hz / ours_hz) - half, math.log2(theirs_hz / ours_hz) + half


def test_more_than_holds_where_the_whole_interval_does():
    """Just inside and just outside the lower edge of an interval worked out by Welch's formula in SciPy."""
    low, high = interval_octaves(50.0, 104.0)
    ours, theirs = {"lower_limit_hz": 50.0}, {"lower_limit_hz": 104.0}
    assert said(f"v2 is more than {low - 0.005:.4f} octaves deeper than v1", ours, theirs).outcome == "borne"
    assert (
        said(f"v2 is more than {low + 0.005:.4f} octaves deeper than v1", ours, theirs).outcome == "not shown"
    )
    assert said("v2 is more than 1.2 octaves deeper than v1", ours, theirs).outcome == "not borne"
    assert said(f"v2 is less than {high + 0.005:.4f} octaves deeper than v1", ours, theirs).outcome == "borne"
    assert (
        said(f"v2 is less than {high - 0.005:.4f} octaves deeper than v1", ours, theirs).outcome
        == "not shown"
    )


def test_a_direction_needs_a_difference():
    """Inside the spread nothing is deeper; the other way round is said so."""
    assert said("v2 is deeper than v1", {"lower_limit_hz": 99.5}).outcome == "not shown"
    assert said("v2 is deeper than v1", {"lower_limit_hz": 80.0}).outcome == "borne"
    found = said("v2 is deeper than v1", {"lower_limit_hz": 130.0})
    assert found.outcome == "not borne"
    assert "other way round" in found.reason


def test_numbers_agree_to_the_places_they_are_given_with():
    """3 dB is what rounds to 3; 3.0 dB is stricter; about is looser."""
    ours = {"sensitivity_db": 89.3}
    assert said("v2 is 3 dB more sensitive than v1", ours).outcome == "borne"
    assert said("v2 is 3.0 dB more sensitive than v1", ours).outcome == "not borne"
    assert said("v2 is about 3.0 dB more sensitive than v1", ours).outcome == "borne"
    found = said("v2 is 6 dB more sensitive than v1", ours)
    assert found.outcome == "not borne"
    assert "3.3" in found.reason
    assert "more than" in found.instead


def test_ratios_of_distortion():
    """Half the distortion, held against the ratio and its interval."""
    assert said("v2 has less than half the distortion of v1", {"thd_mean_percent": 1.0}).outcome == "borne"
    assert (
        said("v2 has less than half the distortion of v1", {"thd_mean_percent": 1.24}).outcome == "not shown"
    )
    assert (
        said("v2 has less than half the distortion of v1", {"thd_mean_percent": 1.5}).outcome == "not borne"
    )
    assert said("v2 has half the distortion of v1", {"thd_mean_percent": 1.3}).outcome == "borne"


def test_one_take_of_one_unit_bears_nothing():
    """Without a spread no difference may be claimed, however large."""
    found = said("v2 is deeper than v1", {"lower_limit_hz": 40.0}, n_units=1, n_takes=1)
    assert found.outcome == "not shown"
    assert "spread" in found.reason


def test_statements_of_a_figure():
    """The figure itself, with its interval."""
    assert said("v2 goes down to 60 Hz", {"lower_limit_hz": 60.2}).outcome == "borne"
    assert said("v2 goes down to 50 Hz", {"lower_limit_hz": 60.2}).outcome == "not borne"
    assert said("v2 has less than 2 % distortion", {"thd_mean_percent": 1.5}).outcome == "borne"
    assert said("v2 has less than 2 % distortion", {"thd_mean_percent": 1.95}).outcome == "not shown"
    missing = Reading(missing="The take begins too high.")
    assert said("v2 goes down to 60 Hz", {"lower_limit_hz": missing}).outcome == "not shown"
