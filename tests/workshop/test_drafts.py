"""What a person typed and did not save is there again, and is no derived result."""

import shutil

import pytest

from halfroll.core.errors import InputError
from halfroll.workshop import Workshop, clear_draft, derive, load_draft, save_draft


def test_a_draft_outlives_the_program_and_the_index(workshop: Workshop) -> None:
    """Saved, found by another program, not lost with the index, gone when it is cleared."""
    values = {"distance_m": "1,0", "roles": ["microphone"], "note": "Säbelschnäbler"}
    assert load_draft(workshop, "import") is None
    save_draft(workshop, "import", values)
    derive.readings(workshop)
    shutil.rmtree(workshop.folder / ".halfroll", ignore_errors=True)
    assert load_draft(Workshop.open(workshop.folder), "import") == values
    save_draft(workshop, "import", {})
    assert load_draft(workshop, "import") == {}
    clear_draft(workshop, "import")
    clear_draft(workshop, "import")
    assert load_draft(workshop, "import") is None


def test_a_damaged_draft_is_not_thrown_away(workshop: Workshop) -> None:
    """It may hold what somebody typed; the message says where it is."""
    save_draft(workshop, "import", {"a": 1})
    path = workshop.folder / "drafts" / "import.json"
    path.write_text('{"a": ')
    with pytest.raises(InputError, match=r"import\.json: The draft is damaged"):
        load_draft(workshop, "import")
    assert path.exists()


def test_a_page_has_a_plain_name(workshop: Workshop) -> None:
    """A draft stays in its folder."""
    with pytest.raises(InputError, match="name of a draft"):
        save_draft(workshop, "../workshop", {})
