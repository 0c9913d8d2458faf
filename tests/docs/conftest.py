"""Folders in which pages end, made once for all workers of a test run."""

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.docs.pages import starts_from
from tests.docs.runner import Reader
from tests.once import made_once


@pytest.fixture(scope="session")
def after(shared: Path) -> Callable[[str], Path]:
    """Gives the folder a page ends with; it is made at the first call and must not be changed."""

    def folder_after(page: str) -> Path:
        def make(folder: Path) -> None:
            begin(page, folder, folder_after)
            Reader(folder).follow(page)

        return made_once(shared, page.replace("/", "-").removesuffix(".md"), make)

    return folder_after


def begin(page: str, folder: Path, after: Callable[[str], Path]) -> None:
    """Make the folder a page begins in: empty, or a copy of where another page ends."""
    before = starts_from(page)
    if before is None:
        folder.mkdir(parents=True, exist_ok=True)
    else:
        shutil.copytree(after(before), folder, dirs_exist_ok=True)
