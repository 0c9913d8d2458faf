"""A release as a bundle: which contents there are, how each is made, and how they are packed to the same bytes every time.

::

    built = build_release(workshop, "avocet-v8", audience="supporters", today=date.today(), target=folder)
    built.path, built.sha256, built.manifest.files

What is in a bundle is read and checked by `halfroll.workshop.bundle`, and brought in by `halfroll.workshop.bring_in`.
"""

from halfroll.publish.release.build import Built, build_release, expect_own_words_borne, own_words
from halfroll.publish.release.changes import change_notes
from halfroll.publish.release.preview import Preview, preview_release

__all__ = [
    "Built",
    "Preview",
    "build_release",
    "change_notes",
    "expect_own_words_borne",
    "own_words",
    "preview_release",
]
