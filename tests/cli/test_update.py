"""``halfroll update``: sentences and tables, JSON with units in its keys, accepting and undoing, refusals."""

from __future__ import annotations

import shutil

import pytest

from halfroll.workshop import Workshop
from tests.workshop.taught import VERSION, taught_once

pytestmark = pytest.mark.slow


@pytest.fixture
def workshop(shared, tmp_path):
    """A workshop whose version was built otherwise than assumed: a copy of one's own."""
    shutil.copytree(taught_once(shared)[0], tmp_path / "shop")
    return Workshop.open(tmp_path / "shop")


def test_update_tells_accepts_and_undoes(workshop, say, ask, tmp_path):
    """The answer, its pictures, JSON whose shares add up, and a loss saved and put back."""
    at = ("--workshop", str(workshop.folder), "update", VERSION)
    code, shown, _ = say(*at, "--tables", "--svg", tmp_path / "moved.svg")
    assert code == 0
    for words in ("standard deviations", "takes part", "less predicted", "left"):
        assert words in shown
    assert (tmp_path / "moved-causes.svg").exists()
    found = ask(*at)
    loss = next(key for key in found["acceptable"] if key.endswith(".loss"))
    one = next(a for a in found["assumptions"] if a["key"] == loss)
    assert one["moved"]
    assert one["moved_sd"] == pytest.approx(1.8, abs=2.6 * one["moved_u_sd"])
    shares = found["residuals"][0]
    total = [sum(v[0] for v in shares["shares_db"].values()) + shares["left_db"][0]]
    assert total == pytest.approx([shares["difference_db"][0]])
    saved = ask(*at, "--accept", loss)["accepted"][0]
    assert saved["key"] == loss
    undone = ask(*at, "--undo", saved["material"])
    assert undone["key"] == "loss_factor"


def test_update_refuses_what_cannot_be(workshop, say):
    """A key that did not move, a version that is not there, a material nothing was learnt of."""
    at = ("--workshop", str(workshop.folder), "update")
    code, _, told = say(*at, VERSION, "--accept", "gap.width")
    assert code == 2
    assert "gap.width" in told
    assert say(*at, "knot/v9")[0] == 2
    assert say(*at, VERSION, "--undo", "tpu-95a")[0] == 2
