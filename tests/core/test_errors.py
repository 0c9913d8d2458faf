"""Errors read as one sentence with place, value, what is allowed and what to do."""

import pickle

import pytest

from halfroll.core.errors import (
    CancelledError,
    ConflictError,
    HalfrollError,
    InputError,
    OwnFaultError,
    RefusedError,
    choose,
)


def test_full_sentence() -> None:
    """All parts in their order."""
    error = InputError(
        "Distance of a take must be above 0",
        file="take.toml",
        key="conditions.distance_m",
        line=12,
        found=-1,
        allowed="a number of metres",
        remedy="Measure it again",
    )
    assert str(error) == (
        "take.toml:12, conditions.distance_m: Distance of a take must be above 0; found -1. "
        "Allowed: a number of metres. Measure it again."
    )


def test_bare_sentence() -> None:
    """Without parts it is just the sentence, with one full stop."""
    assert str(InputError("Nothing was given.")) == "Nothing was given."


def test_for_machines() -> None:
    """Absent parts are left out."""
    assert InputError("A", found=3, key="k").as_dict() == {"message": "A", "found": "3", "key": "k"}


def test_choices() -> None:
    """A wrong word names the allowed ones."""
    assert choose("free", ["free", "half"], field="space") == "free"
    with pytest.raises(
        InputError, match=r"space must be one of the allowed words; found fre\. Allowed: free, half\."
    ):
        choose("fre", ["free", "half"], field="space")


def test_tree() -> None:
    """A refusal and a conflict are wrong input; a stop is not."""
    assert issubclass(RefusedError, InputError)
    assert issubclass(ConflictError, InputError)
    assert not issubclass(CancelledError, InputError)
    assert str(CancelledError()) == "The work was stopped. Nothing was changed."
    assert issubclass(CancelledError, HalfrollError)


def test_errors_come_whole_through_another_process():
    """A process that computes hands its errors on pickled: text and parts stay as they were."""
    for error in (
        CancelledError("The computation"),
        InputError(
            "The gap of a motor must be above zero", key="motor.gap", found="-1 mm", remedy="Turn it round"
        ),
        OwnFaultError("The field was not found."),
    ):
        back = pickle.loads(pickle.dumps(error))
        assert type(back) is type(error)
        assert str(back) == str(error)
        if isinstance(error, InputError):
            assert back.as_dict() == error.as_dict()
