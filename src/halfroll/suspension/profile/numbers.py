"""Refusing dimensions that cannot be, in one wording. Keys are those of the records, lengths are shown in mm."""

from __future__ import annotations

import math

from halfroll.core.errors import InputError

LARGEST_M = 1.0
"""No dimension of a part is larger; a slip of the unit shall not ask for millions of places along a line."""


def mm(length_m: float) -> str:
    """A length (m) in millimetres with its unit."""
    return f"{1e3 * length_m:.4g} mm"


def positive(length_m: float, what: str, key: str) -> None:
    """Refuse a length that is not a finite number above zero; `what` begins the sentence."""
    if not (math.isfinite(length_m) and length_m > 0):
        raise InputError(
            f"{what} must be a positive number", key=key, found=mm(length_m), allowed="more than 0 mm"
        )
    _no_giant(length_m, what, key)


def not_negative(length_m: float, what: str, key: str) -> None:
    """Refuse a length that is no finite number from zero up."""
    if not (math.isfinite(length_m) and length_m >= 0):
        raise InputError(f"{what} must not be negative", key=key, found=mm(length_m), allowed="0 mm or more")
    _no_giant(length_m, what, key)


def finite(length_m: float, what: str, key: str) -> None:
    """Refuse what is no finite number."""
    if not math.isfinite(length_m):
        raise InputError(
            f"{what} must be a number", key=key, found=mm(length_m), allowed="a finite number of mm"
        )
    _no_giant(length_m, what, key)


def _no_giant(length_m: float, what: str, key: str) -> None:
    if abs(length_m) > LARGEST_M:
        raise InputError(f"{what} must be that of a driver", key=key, found=mm(length_m), allowed=f"at most {mm(LARGEST_M)}")  # fmt: skip


def radii(inner_m: float, outer_m: float, name: str, *, solid: bool = False) -> None:
    """Refuse edges that are no ring; `solid` allows an inner radius of 0."""
    (not_negative if solid else positive)(
        2.0 * inner_m, f"The inner diameter of the {name}", f"{name}.inner_mm"
    )
    positive(2.0 * outer_m, f"The outer diameter of the {name}", f"{name}.outer_mm")
    if inner_m >= outer_m:
        raise InputError(
            f"The inner diameter of the {name} must be smaller than its outer one", key=f"{name}.inner_mm", found=mm(2 * inner_m),
            allowed=f"less than {mm(2 * outer_m)}",
        )  # fmt: skip


def thicknesses(inner_m: float, outer_m: float | None, name: str) -> None:
    """Refuse a thickness that is not above zero, at either edge."""
    positive(inner_m, f"The thickness of the {name}", f"{name}.thickness_mm")
    if outer_m is not None:
        positive(outer_m, f"The thickness of the {name} at its outer edge", f"{name}.thickness_outer_mm")
