"""What a picture is drawn for: its ground and its size."""

from __future__ import annotations

import re
from typing import Literal

from halfroll.core.errors import InputError, choose
from halfroll.publish.theme import Theme, theme

Ground = Literal["plain", "dark", "transparent"]
Size = tuple[int, int]

GROUNDS: dict[str, str] = {"plain": "video", "dark": "video-dark", "transparent": "video-over"}
"""Theme of each ground."""

GROUND_WORDS = {
    "plain": "plain: ink on paper",
    "dark": "dark: chalk on slate",
    "transparent": "transparent: laid over film",
}

WIDE, TALL = 1920, 1080
"""The picture every screen is laid out for (px, 16 to 9); larger ones are the same drawing, larger."""

SIZES: tuple[Size, ...] = ((1920, 1080), (3840, 2160))
"""Sizes that are offered: high definition and its double (ITU-R BT.709 and BT.2020: 1920 x 1080, 3840 x 2160)."""

SAFE = 0.05
"""Share of width and height kept free at every edge: the graphics-safe area of EBU R 95 (2017) is 90 % (from memory)."""


def look_of(ground: str) -> Theme:
    """The theme of a ground.

    Raises
    ------
    InputError
        There is no such ground.
    """
    return theme(GROUNDS[choose(ground, GROUNDS, field="The ground", key="--ground")])


def size_of(text: str) -> Size:
    """A size as it is typed, ``1920x1080``.

    Raises
    ------
    InputError
        It is not one of `SIZES`.
    """
    found = re.fullmatch(r"\s*(\d{1,6})\s*[x×]\s*(\d{1,6})\s*", text)
    size = (int(found[1]), int(found[2])) if found else None
    if size not in SIZES:
        raise InputError(
            "The size of a picture must be one that films have",
            key="--size", found=text, allowed=[size_text(one) for one in SIZES],
        )  # fmt: skip
    return size


def size_text(size: Size) -> str:
    """A size as it is typed."""
    return f"{size[0]}x{size[1]}"


def check_size(size: Size) -> None:
    """Refuse what is not 16 to 9, or cannot be halved as a film's colours are.

    Raises
    ------
    InputError
        The size is none a picture can have.
    """
    wide, tall = size
    if wide * TALL != tall * WIDE or wide % 2 or tall % 2 or not 0 < wide <= 2 * SIZES[-1][0]:
        raise InputError(
            "A picture must be 16 to 9, of even width and height",
            found=size_text(size),
            allowed="such as 1920x1080",
        )
