"""Results that cost time: taken from the index, or worked out now and kept there."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from halfroll.workshop.index import Result
from halfroll.workshop.packing import pack, unpack_value

if TYPE_CHECKING:
    from halfroll.workshop.store import Workshop


def kept(workshop: Workshop, key: str, take: str, work: Callable[[], Any]) -> Any:
    """What the index holds under a key; otherwise what `work` gives, kept as the latest result of `take`.

    A result that an older halfroll packed and this one cannot read is worked out again.
    """
    packed = workshop.index.response(key)
    known = None if packed is None else unpack_value(packed)
    if known is not None:
        return known
    found = work()
    workshop.index.put_results([Result(take=take, response_key=key, response=pack(found))])
    return found
