"""Every command in the tutorial and the how-tos does what the page says it does."""

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.docs.conftest import begin
from tests.docs.pages import executed_pages, starts_from, steps_of
from tests.docs.runner import Reader

SLOW = {
    "tutorial/demo.md", "how-to/distortion-against-level.md", "how-to/find-buzz-and-rub.md", "tutorial/first-suspension.md",
    "tutorial/first-prediction.md", "tutorial/first-release.md",
    "how-to/describe-a-suspension.md", "how-to/predict-a-driver.md",
}  # fmt: skip
"""Pages that take longer than ten seconds."""


def parameter(name: str) -> object:
    """A page as a parameter of a test."""
    return pytest.param(name, marks=pytest.mark.slow) if name in SLOW else name


@pytest.mark.parametrize("name", [parameter(name) for name in executed_pages()])
def test_a_reader_can_follow(name: str, tmp_path: Path, after: Callable[[str], Path]) -> None:
    """Followed from its first block to its last, a page meets no other exit code and no other words than it shows."""
    if name in map(starts_from, executed_pages()):
        after(name)  # other pages go on from there, so it is followed once for all
        return
    folder = tmp_path / "reader"
    begin(name, folder, after)
    Reader(folder).follow(name)


@pytest.mark.parametrize("name", executed_pages())
def test_every_block_is_marked(name: str) -> None:
    """No block of a page that is run can be forgotten: it says what is done with it, and why not where nothing is."""
    steps = steps_of(name)
    assert [str(step) for step in steps if step.kind == "none"] == []
    assert [str(step) for step in steps if step.kind == "not run" and not step.what] == []
    assert any(step.kind == "run" for step in steps) or name == "how-to/read-verdicts.md"
