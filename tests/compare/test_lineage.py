"""What changed between versions along their parents."""

from halfroll.compare.lineage import ancestors, changes_between
from halfroll.compare.types import Change
from tests.compare.make import make_version


def change(what: str, before: str, after: str, why: str = "") -> Change:
    """One change."""
    return Change(what=what, before=before, after=after, why=why)


LINE = [
    make_version("knot/v1"),
    make_version("knot/v2", parent="knot/v1", changes=(change("surround", "0.4 mm", "0.6 mm", "tore"),)),
    make_version(
        "knot/v3",
        parent="knot/v2",
        changes=(change("surround", "0.6 mm", "0.5 mm", "too stiff"), change("magnet", "N35", "N42")),
    ),
    make_version("knot/v2b", parent="knot/v1", changes=(change("cone", "PLA", "PETG"),)),
    make_version("dunlin/v1"),
]
RECORDS = {v.version_id: v for v in LINE}


def test_line_of_parents() -> None:
    """From itself upwards."""
    assert ancestors("knot/v3", RECORDS) == ("knot/v3", "knot/v2", "knot/v1")


def test_along_the_line() -> None:
    """Two steps are told as one, with both reasons."""
    assert changes_between("knot/v1", "knot/v3", RECORDS) == (
        change("surround", "0.4 mm", "0.5 mm", "tore; too stiff"),
        change("magnet", "N35", "N42"),
    )


def test_backwards() -> None:
    """Against a descendant every change is undone."""
    (found,) = changes_between("knot/v2", "knot/v1", RECORDS)
    assert found == change("surround", "0.6 mm", "0.4 mm", "undone: tore")


def test_over_a_common_ancestor() -> None:
    """Between branches: back to where they part, then forward."""
    assert changes_between("knot/v2", "knot/v2b", RECORDS) == (
        change("surround", "0.6 mm", "0.4 mm", "undone: tore"),
        change("cone", "PLA", "PETG"),
    )


def test_there_and_back_is_nothing() -> None:
    """What was changed and changed back drops out."""
    back = make_version("knot/v4", parent="knot/v2", changes=(change("surround", "0.6 mm", "0.4 mm"),))
    assert changes_between("knot/v1", "knot/v4", {**RECORDS, "knot/v4": back}) == ()


def test_unrelated() -> None:
    """Another driver has no line to follow, and that is what is told."""
    (found,) = changes_between("knot/v1", "dunlin/v1", RECORDS)
    assert (found.what, found.before, found.after) == ("design", "Knot v1", "Dunlin v1")


def test_a_loop_in_the_records_ends() -> None:
    """A version that is its own grandparent by mistake does not hang."""
    loop = {v.version_id: v for v in (make_version("a/x", parent="a/y"), make_version("a/y", parent="a/x"))}
    assert ancestors("a/x", loop) == ("a/x", "a/y")
