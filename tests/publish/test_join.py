"""The charts of a joined response, and how it was made in words."""

import numpy as np
import pytest

from halfroll.acoustics.baffle import Baffle
from halfroll.core.conditions import Space
from halfroll.measure.joining.join import join
from halfroll.measure.joining.join_types import Joined, JoinSettings
from halfroll.measure.joining.near_far import Mouth
from halfroll.publish.join import join_charts, recipe_words
from halfroll.publish.render import to_svg
from halfroll.publish.spec import chart_summary
from halfroll.publish.theme import theme
from tests.figures.make import GRID, make_response
from tests.publish import svg
from tests.publish.language import assert_valid


def joined(*, port: bool = True, baffle: Baffle | None = None) -> Joined:
    """Flat near fields of a cone and a port joined with a flat far field that comes 3 ms later."""
    near = make_response(118.0, distance_m=0.005, space=Space.NEAR)
    far = make_response(90.0, space=Space.HALF if baffle is None else Space.FREE)
    late = np.exp(-2j * np.pi * GRID * 3e-3)
    far = type(far)(
        **{
            **vars(far),
            "pressure_pa": far.pressure_pa * late,
            "pressure_full_pa": far.pressure_full_pa * late,
        }
    )
    mouths = [Mouth(response=near, radius_m=0.05, name="cone")]
    mouths += [Mouth(response=near, radius_m=0.01, kind="port", name="port")] if port else []
    return join(mouths, far, JoinSettings(overlap_hz=(300.0, 900.0), baffle=baffle))


@pytest.mark.parametrize("look", ["light", "dark", "print"])
def test_charts_are_valid_and_say_what_they_show(look: str) -> None:
    """By the schema of the language; halves, join and band in one, the overlap marked, the front in another."""
    front = Baffle(width_m=0.24, height_m=0.36, x_m=0.12, y_m=0.22)
    charts = join_charts(joined(baffle=front), theme=theme(look), width_px=860.0)
    assert list(charts) == ["join", "mismatch", "baffle"]
    for spec in charts.values():
        assert_valid(spec)
        assert len(chart_summary(spec)) > 40
    words = svg.words(to_svg(charts["join"]))
    for word in ("near field", "far field", "joined", "cone", "port", "overlap"):
        assert word in words


def test_a_lone_cone_in_half_space_has_no_shares_and_no_front() -> None:
    """Nothing is drawn that is not there."""
    charts = join_charts(joined(port=False), theme=theme("light"), width_px=390.0)
    assert list(charts) == ["join", "mismatch"]
    assert "cone" not in svg.words(to_svg(charts["join"]))


def test_recipe_in_words() -> None:
    """What was added, moved, delayed and left is said with its numbers."""
    found = joined()
    said = " ".join(recipe_words(found))
    assert "the cone and the port was carried to 1\u202fm" in said
    assert "weighed by radius" in said
    assert f"{found.report.mean_db:.1f}".lstrip("-") in said
    assert "+0.0\u202fdB an octave" in said
    assert (
        "set 0.16\u202fms later" in said
    )  # 3 ms less the way from the near microphone, 2.83 ms (cone), 2.89 ms (port)
    alone = " ".join(
        recipe_words(joined(port=False, baffle=Baffle(width_m=0.24, height_m=0.36, x_m=0.12, y_m=0.22)))
    )
    assert "24 by 36\u202fcm" in alone
    assert "weighed" not in alone
