"""Marks: a few letters and digits that stand for one number and everything behind it.

A mark is made from what decides a number: version, figure, settings, rule, value and uncertainty to the last digit, the takes with the
hashes of their recordings and records, the calibrations they used; of a prediction its design and assumptions. The same content has the
same mark on every machine; another content has another. The program's version is not in it: it is noted beside.
"""

from __future__ import annotations

import difflib
import hashlib
import json
import math
from collections.abc import Iterable, Mapping
from typing import Any

ALPHABET = "23456789acdefhjkmnpqrtvwxy"
"""Letters and digits that are not taken for another in print or handwriting: no 0 o, 1 i l, 8 b, 5 s, 2 z, 6 g, u v. A mark is read in
small and large letters alike."""

SHORTEST = 7
"""Characters of a mark: 26**7 are 8.0e9, so that of 10 000 marks two agree by chance in 6 of 1000 workshops (n**2 / 2N)."""

LONGEST = 20

_LOOKS_LIKE = str.maketrans({"b": "8", "s": "5", "z": "2", "g": "6", "u": "v"})


def canonical(content: Mapping[str, Any]) -> bytes:
    """Content as JSON in one form only: keys sorted, no spaces, numbers in the shortest digits that give them back exactly (UTF-8)."""
    plain = _plain(content)
    return json.dumps(
        plain, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False
    ).encode()


def mark_of(content: Mapping[str, Any], length: int = SHORTEST) -> str:
    """The mark of some content: SHA-256 (FIPS 180-4) of its canonical JSON, written in `ALPHABET`, the first `length` characters.

    A longer mark of the same content begins with the shorter one.
    """
    number = int.from_bytes(hashlib.sha256(canonical(content)).digest(), "big")
    letters = []
    for _ in range(length):
        number, rest = divmod(number, len(ALPHABET))
        letters.append(ALPHABET[rest])
    return "".join(letters)


def normal(text: str) -> str:
    """A mark as it is kept, from what somebody typed: small letters, no spaces or hyphens, look-alikes put right."""
    return "".join(text.split()).replace("-", "").casefold().translate(_LOOKS_LIKE)


def is_mark(text: str) -> bool:
    """Whether a text in its normal form can be a mark."""
    return SHORTEST <= len(text) <= LONGEST and all(letter in ALPHABET for letter in text)


def printed(mark: str) -> str:
    """A mark as it is printed: large letters."""
    return mark.upper()


def nearest(text: str, marks: Iterable[str], n: int = 3) -> list[str]:
    """Marks that may have been meant, the nearest first: one or two characters wrong, lacking or swapped."""
    return difflib.get_close_matches(normal(text), sorted(marks), n=n, cutoff=0.7)


def _plain(value: Any) -> Any:
    """The same in JSON's own kinds; what is not a finite number becomes text."""
    if isinstance(value, Mapping):
        return {str(key): _plain(one) for key, one in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(one) for one in value]
    if isinstance(value, (bool, int)) or value is None:
        return value
    if isinstance(value, str):
        return str(value)
    if hasattr(value, "item"):
        return _plain(value.item())
    if isinstance(value, float):
        return value if math.isfinite(value) else repr(value)
    return str(value)
