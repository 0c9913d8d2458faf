"""Refusing moving parts that cannot be, with the key of ``version.toml`` that says so."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator

from halfroll.core.errors import InputError
from halfroll.suspension.design import MovingDesign
from halfroll.workshop.motor_design import placed


def check_moving(design: MovingDesign) -> None:
    """Refuse what cannot be built or bent.

    Raises
    ------
    InputError
        Its `place.key` names the key in ``version.toml``.
    """


@contextlib.contextmanager
def under(name: str) -> Iterator[None]:
    """Give faults inside the block the table their key belongs to."""
    try:
        yield
    except InputError as fault:
        key = fault.place.key
        if fault.place.file is not None or (key is not None and key.split(".")[0] == name):
            raise
        raise placed(_without_key(fault), key=f"{name}.{key}" if key else name) from fault


def _without_key(fault: InputError) -> InputError:
    return type(fault)(
        fault.message, line=fault.place.line, found=fault.found, allowed=fault.allowed, remedy=fault.remedy
    )
