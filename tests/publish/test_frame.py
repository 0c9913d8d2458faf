"""Placing: names kept apart, text broken into lines."""

import itertools

from hypothesis import given
from hypothesis import strategies as st

from halfroll.publish.frame import fitted, spread_out, text_width, wrapped


@given(st.lists(st.floats(0, 300), max_size=12), st.floats(1, 20))
def test_names_keep_apart_and_in_order(wanted: list[float], gap: float) -> None:
    """Names never overlap, never change their order, never leave the plot."""
    places = spread_out(wanted, gap, 0.0, 300.0)
    order = sorted(range(len(wanted)), key=lambda i: wanted[i])
    laid = [places[i] for i in order]
    assert all(b - a >= gap - 1e-6 for a, b in itertools.pairwise(laid))
    assert all(-1e-6 <= p <= 300.0 + 1e-6 for p in places)


@given(st.lists(st.integers(0, 14).map(lambda k: 20.0 * k), unique=True, max_size=12))
def test_names_that_have_room_stay_where_they_belong(wanted: list[float]) -> None:
    """Nothing moves without need."""
    assert all(abs(a - b) < 1e-9 for a, b in zip(spread_out(wanted, 20.0, 0.0, 300.0), wanted, strict=True))


def test_two_names_at_one_place_part_evenly() -> None:
    """By hand: both want 100, 10 apart, so 95 and 105."""
    assert spread_out([100.0, 100.0], 10.0, 0.0, 300.0) == [95.0, 105.0]


def test_too_many_names_come_closer_rather_than_leave() -> None:
    """31 names of height 10 on a height of 150: 5 apart."""
    places = spread_out([75.0] * 31, 10.0, 0.0, 150.0)
    assert min(places) == 0.0
    assert max(places) == 150.0


@given(st.text(alphabet="abc iMW·", max_size=200), st.floats(50, 400))
def test_lines_hold_every_word_within_the_width(text: str, width: float) -> None:
    """No word is lost; a line is wider only when one word is."""
    lines = wrapped(text, width, 12.0)
    assert [w for line in lines for w in line.split() if w != "·"] == [w for w in text.split() if w != "·"]
    assert all(text_width(line, 12.0) <= width or " " not in line for line in lines)


@given(
    st.text(alphabet="abcWi ", min_size=1, max_size=80), st.sampled_from(["", " (base)"]), st.floats(80, 400)
)
def test_a_long_title_is_cut_but_never_what_is_said_behind_it(title: str, remark: str, width: float) -> None:
    """The remark stays whole, the cut shows, and the width holds."""
    name = fitted(title, remark, width, 12.0)
    assert name.endswith(remark)
    assert name == title + remark or f"…{remark}" in name
    assert text_width(name, 12.0) <= width
