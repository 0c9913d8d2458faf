"""Addresses of pages. Ids are plain names joined by ``/``, so they stand in an address as they are."""

from __future__ import annotations

from collections.abc import Iterable
from urllib.parse import urlencode


def of_version(version_id: str) -> str:
    """The page of a version."""
    return f"/drivers/{version_id}"


def of_take(take_id: str) -> str:
    """The page of a take."""
    return f"/takes/{take_id}"


def of_comparison(version_ids: Iterable[str], **settings: str) -> str:
    """The comparison of some versions."""
    return "/compare?" + query(version_ids, **settings)


def query(version_ids: Iterable[str], **settings: str) -> str:
    """The part of a comparison's address after the question mark; empty settings are left out."""
    pairs = [("v", version_id) for version_id in version_ids]
    pairs += [(key, value) for key, value in settings.items() if value]
    return urlencode(pairs, safe="/:")
