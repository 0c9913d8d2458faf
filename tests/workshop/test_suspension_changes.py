"""What differs between the moving parts of two versions, in words."""

from __future__ import annotations

from halfroll.suspension.design import MovingDesign
from halfroll.workshop.suspension_changes import moving_changes
from tests.suspension.designs import strip


def test_profiles_of_ones_own_are_compared_by_their_size() -> None:
    """Points are not listed; a line of the same size is still another, and a length that reads the same has not changed."""
    old = MovingDesign(surround=strip("free", points=((30, 0), (35, 4), (40, 0))))
    new = MovingDesign(surround=strip("free", points=((30, 0), (34, 4), (40, 0))))
    (found,) = moving_changes(old, new)
    assert found.before == "3 points, 10 mm wide, 4 mm high"
    assert found.after == "another, 3 points, 10 mm wide, 4 mm high"
    assert moving_changes(old, old) == ()
    typed, drawn = (MovingDesign(surround=strip(inner=inner)) for inner in (30, 30.0000162))
    assert moving_changes(typed, drawn) == ()
