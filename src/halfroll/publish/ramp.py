"""A scale of colour for a quantity from nothing to much: even to the eye, and readable without colour.

Colours run along a line in OKLab (B. Ottosson, "A perceptual color space for image processing", 2020; also CSS Color
Module Level 4, cl. 8.5), in which equal distances look equally different. Lightness rises or falls all the way, so a grey
print keeps the order. It begins at the paper and ends where hatching in ink can still be read.
"""

from __future__ import annotations

import struct
import zlib

import numpy as np
from numpy.typing import NDArray

from halfroll.core.levels import FloatArray

_TO_LMS = np.array([
    [0.4122214708, 0.5363325363, 0.0514459929], [0.2119034982, 0.6806995451, 0.1073969566], [0.0883024619, 0.2817188376, 0.6299787005],
])  # fmt: skip
_TO_LAB = np.array([
    [0.2104542553, 0.7936177850, -0.0040720468], [1.9779984951, -2.4285922050, 0.4505937099], [0.0259040371, 0.7827717662, -0.8086757660],
])  # fmt: skip


def oklab(rgb: FloatArray) -> FloatArray:
    """OKLab coordinates (..., 3) of sRGB colours (..., 3), 0 to 1."""
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    return np.asarray(np.cbrt(linear @ _TO_LMS.T) @ _TO_LAB.T)


def srgb(lab: FloatArray) -> FloatArray:
    """SRGB colours (..., 3), 0 to 1, of OKLab coordinates (..., 3); what no screen shows is cut off."""
    linear = np.clip((lab @ np.linalg.inv(_TO_LAB).T) ** 3 @ np.linalg.inv(_TO_LMS).T, 0.0, 1.0)
    return np.asarray(np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055))


def rgb_of(colour: str) -> FloatArray:
    """``#rrggbb`` as (3,) from 0 to 1."""
    return np.array([int(colour[k : k + 2], 16) for k in (1, 3, 5)]) / 255.0


def ramp(paper: str, count: int) -> NDArray[np.uint8]:
    """`count` colours (count, 3) from the paper to a blue that is clearly darker (on light paper) or lighter than it."""
    start = oklab(rgb_of(paper))
    light = start[0] > 0.5
    end = np.array([0.58, -0.055, -0.115] if light else [0.60, -0.06, -0.10])
    steps = np.linspace(0.0, 1.0, count)[:, None]
    return np.asarray(np.round(255.0 * srgb(start + steps * (end - start))), dtype=np.uint8)


def png(index: NDArray[np.uint8], colours: NDArray[np.uint8]) -> bytes:
    """A picture of indexed colours as PNG (ISO/IEC 15948): `index` (rows, columns) into `colours` (k, 3); index 0 is see-through."""
    rows, columns = index.shape

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    lines = np.hstack([np.zeros((rows, 1), dtype=np.uint8), index]).tobytes()
    return b"".join((
        b"\x89PNG\r\n\x1a\n",
        chunk(b"IHDR", struct.pack(">IIBBBBB", columns, rows, 8, 3, 0, 0, 0)),
        chunk(b"PLTE", colours.tobytes()),
        chunk(b"tRNS", b"\x00"),
        chunk(b"IDAT", zlib.compress(lines, 9)),
        chunk(b"IEND", b""),
    ))  # fmt: skip
