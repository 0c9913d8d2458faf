"""What the contents of a release are made from: the workshop, the release's record, and results several of them need."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cached_property

from halfroll.compare.recipe import compare_versions
from halfroll.compare.types import Comparison
from halfroll.core.progress import Progress, silent
from halfroll.publish.release.pack import Made
from halfroll.workshop import Workshop, paths
from halfroll.workshop.loaded import Loaded
from halfroll.workshop.release_record import ReleaseRecord


class NothingError(Exception):
    """There is nothing of this content, and that is as it should be; the text is the reason."""


@dataclass(frozen=True, kw_only=True)
class Context:
    """A release being made. Nothing in it depends on the clock, the machine or the audience's name. Contents put every mark they print into
    `marks`, so that what stands behind it goes along.
    """

    workshop: Workshop
    loaded: Loaded[ReleaseRecord]
    contents: tuple[str, ...]
    progress: Progress = field(default=silent)
    marks: set[str] = field(default_factory=set)

    def reporting(self, progress: Progress) -> Context:
        """The same, reporting elsewhere; what was worked out stays."""
        other = replace(self, progress=progress)
        other.__dict__.update(
            {key: value for key, value in self.__dict__.items() if key in ("comparison", "counted")}
        )
        return other

    @property
    def record(self) -> ReleaseRecord:
        """The release's record."""
        return self.loaded.record

    @property
    def date(self) -> str:
        """The release's date as it is printed."""
        return self.record.date.isoformat()

    @cached_property
    def comparison(self) -> Comparison:
        """The released versions, with curves."""
        return compare_versions(self.workshop, self.record.versions, progress=self.progress)

    @cached_property
    def counted(self) -> Comparison:
        """The same without curves, which is enough to know which takes count."""
        if "comparison" in self.__dict__:
            return self.comparison
        return compare_versions(
            self.workshop, self.record.versions, with_curves=False, progress=self.progress
        )

    def against_parent(self, version_id: str) -> Comparison:
        """A version against its parent, with curves.

        Raises
        ------
        NothingError
            It has none in the workshop.
        """
        parent = paths.parent_id(version_id, self.workshop.version(version_id).record.parent)
        if parent is None or parent not in self.workshop.version_ids():
            raise NothingError(f"{version_id} has no parent in the workshop")
        return compare_versions(self.workshop, [parent, version_id], progress=self.progress)


def slug_of(version_id: str) -> str:
    """A version in the name of a file: ``avocet-v8``."""
    return version_id.replace("/", "-")


def for_each(context: Context, make: Callable[[Context, str], list[Made]]) -> list[Made]:
    """A content of every version that has it; `NothingError` when none has."""
    files: list[Made] = []
    reasons = []
    for version_id in context.record.versions:
        try:
            files += make(context, version_id)
        except NothingError as nothing:
            reasons.append(str(nothing))
    if not files:
        raise NothingError("; ".join(reasons))
    return files
