"""Which takes count: usable, at the level, in the place of the others, and every other one named."""

from halfroll.compare.select import common_place, select_takes
from halfroll.core.conditions import Space
from halfroll.core.verdicts import Severity, Verdict
from halfroll.figures.types import FigureSettings
from tests.compare.make import make_version
from tests.figures.make import make_take

SETTINGS = FigureSettings()
CLIPPED = Verdict(code="clipped", severity=Severity.BAD, text="The microphone channel clipped.")


def version(*takes):
    """A version of these takes."""
    return make_version("knot/v1", takes=takes)


def take(number, **more):
    """A take of one unit."""
    return make_take("a", number, {"sensitivity_db": 86.0}, version="knot/v1", **more)


def selected(*takes, place=None):
    """Numbers of the takes that count, and the reasons of the others."""
    found = select_takes(version(*takes), SETTINGS, place)
    return (
        [t.take_id[-1] for t in found.takes],
        {k[-1]: v.replace("\u202f", " ") for k, v in found.left_out},
        found,
    )


def test_bad_and_excluded_takes_are_left_out_with_the_reason() -> None:
    """A verdict of BAD or a reason in the record."""
    used, left, _ = selected(take(1), take(2, verdicts=(CLIPPED,)), take(3, excluded="Dog barked."))
    assert used == ["1"]
    assert left == {"2": "The microphone channel clipped.", "3": "Dog barked."}


def test_level_within_the_tolerance() -> None:
    """1 W ± 0.5 dB counts, 3 W does not."""
    used, left, found = selected(take(1), take(2, drive_w=1.1), take(3, drive_w=3.0))
    assert used == ["1", "2"]
    assert left == {"3": "Taken at another level (3.00 W)."}
    assert not found.cautions


def test_nearest_level_with_a_caution() -> None:
    """Without a take at 1 W the nearest level stands in, and that is said."""
    used, _, found = selected(take(1, drive_w=2.0), take(2, drive_w=2.0), take(3, drive_w=10.0))
    assert used == ["1", "2"]
    assert found.cautions[0].code == "level-nearest"
    assert found.level_db is not None
    assert abs(found.level_db - 3.01) < 0.01


def test_unknown_level_with_a_caution() -> None:
    """Takes of unknown drive count only when there are no others."""
    used, _, found = selected(take(1, drive_w=None))
    assert used == ["1"]
    assert found.cautions[0].code == "level-unknown"
    used, left, _ = selected(take(1, drive_w=None), take(2))
    assert used == ["2"]
    assert "unknown" in left["1"]


def test_one_place_a_column() -> None:
    """A take in another place is left out; most takes decide."""
    used, left, _ = selected(
        take(1), take(2), take(3, distance_m=0.5), take(4, space=Space.NEAR, distance_m=0.003)
    )
    assert used == ["1", "2"]
    assert left == {
        "3": "Taken in another place (half-space, 0.5 m).",
        "4": "Taken in another place (near-field, 0.003 m).",
    }


def test_the_common_place_is_preferred() -> None:
    """Three of one version near, one in half space: beside a version known only in half space, that one take counts."""
    near = {"space": Space.NEAR, "distance_m": 0.003}
    one = version(*(take(i, **near) for i in range(3)), take(3))
    two = make_version("knot/v2")
    place = common_place([one, two], SETTINGS)
    assert place is not None
    assert place.space is Space.HALF
    assert [t.take_id[-1] for t in select_takes(one, SETTINGS, place).takes] == ["3"]
    assert len(select_takes(one, SETTINGS, None).takes) == 3


def test_level_goes_before_place() -> None:
    """A take at the level elsewhere is better than one in the place at another level."""
    one = version(take(1, drive_w=10.0), take(2, distance_m=0.5))
    place = common_place([one, make_version("knot/v2")], SETTINGS)
    assert [t.take_id[-1] for t in select_takes(one, SETTINGS, place).takes] == ["2"]


def test_predicted_gives_way_to_measured() -> None:
    """A prediction stands only for a version that was not measured."""
    used, left, _ = selected(take(1, source="predicted"), take(2))
    assert used == ["2"]
    assert left["1"].startswith("Predicted")
    assert selected(take(1, source="predicted"))[0] == ["1"]


def test_nothing_usable() -> None:
    """No take, no place."""
    _, left, found = selected(take(1, excluded="Wrong unit."))
    assert found.takes == ()
    assert found.place is None
    assert left == {"1": "Wrong unit."}
