"""Folders in which pages end, made once for all workers of a test run."""

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from filelock import FileLock

from tests.docs.pages import starts_from
from tests.docs.runner import Reader


@pytest.fixture(scope="session")
def after(tmp_path_factory: pytest.TempPathFactory, worker_id: str) -> Callable[[str], Path]:
    """Gives the folder a page ends with; it is made at the first call and must not be changed."""
    base = tmp_path_factory.getbasetemp()
    shared = (base if worker_id == "master" else base.parent) / "documentation"

    def folder_after(page: str) -> Path:
        folder = shared / page.replace("/", "-").removesuffix(".md")
        done = folder.with_suffix(".done")
        shared.mkdir(exist_ok=True)
        with FileLock(f"{folder}.lock"):
            if not done.exists():
                shutil.rmtree(folder, ignore_errors=True)
                begin(page, folder, folder_after)
                Reader(folder).follow(page)
                done.touch()
        return folder

    return folder_after


def begin(page: str, folder: Path, after: Callable[[str], Path]) -> None:
    """Make the folder a page begins in: empty, or a copy of where another page ends."""
    before = starts_from(page)
    if before is None:
        folder.mkdir(parents=True)
    else:
        shutil.copytree(after(before), folder)
