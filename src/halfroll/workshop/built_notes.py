"""What was read of a unit, put into its record: what is given is changed or added, the rest stays."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from halfroll.workshop.faults import check
from halfroll.workshop.records import UnitRecord
from halfroll.workshop.toml_write import plain


def noted(
    record: UnitRecord, *, file: str, weighed: Mapping[str, float | None] | None = None, glued: Sequence[Mapping[str, Any]] = (),
    deviations: Sequence[Mapping[str, Any]] = (), **values: Any,
) -> UnitRecord:  # fmt: skip
    """A unit's record with readings put in, joints and deviations added.

    Parameters
    ----------
    weighed
        Keys of ``[weighed]``; None takes one out.
    values
        Plain keys of the record.

    Raises
    ------
    InputError
        A value that cannot be; names the key.
    """
    told: dict[str, Any] = {**plain(record), **values}
    parts = {
        key: value
        for key, value in {**told.get("weighed", {}), **(weighed or {})}.items()
        if value is not None
    }
    told["weighed"] = parts or None
    told["glued"] = [*told.get("glued", ()), *glued]
    told["deviations"] = [*told.get("deviations", ()), *deviations]
    return check(UnitRecord, {key: value for key, value in told.items() if value is not None}, file=file)
