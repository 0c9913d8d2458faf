"""Photographs as bytes: which format, how large, and without what a camera adds, such as the place where it stood.

JPEG: ISO/IEC 10918-1 B.1 (markers); JFIF and Exif 2.3 (application segments). PNG: ISO/IEC 15948 5 and 11 (chunks). WebP: RFC 9649.
Nothing of the picture itself is touched; what is not needed to show it is left out.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from halfroll.core.errors import InputError

Format = Literal["jpeg", "png", "webp"]

LARGEST_BYTES = 20_000_000
LARGEST_SIDE = 12_000
"""Most pixels a side has (own choice): a camera's, and not a picture made to fill a memory."""

ENDINGS: dict[Format, str] = {"jpeg": ".jpg", "png": ".png", "webp": ".webp"}
MEDIA: dict[Format, str] = {"jpeg": "image/jpeg", "png": "image/png", "webp": "image/webp"}

_PNG_HEAD = b"\x89PNG\r\n\x1a\n"
_PNG_SHOWN = {
    b"IHDR",
    b"PLTE",
    b"IDAT",
    b"IEND",
    b"tRNS",
    b"gAMA",
    b"cHRM",
    b"sRGB",
    b"iCCP",
    b"sBIT",
    b"bKGD",
    b"pHYs",
}
_WEBP_SHOWN = {b"VP8 ", b"VP8L", b"VP8X", b"ALPH", b"ICCP", b"ANIM", b"ANMF"}
_SIZES = {
    0xC0,
    0xC1,
    0xC2,
    0xC3,
    0xC5,
    0xC6,
    0xC7,
    0xC9,
    0xCA,
    0xCB,
    0xCD,
    0xCE,
    0xCF,
}  # frame headers (start of frame)
_ORIENTATION = 0x0112


@dataclass(frozen=True, kw_only=True)
class Picture:
    """A photograph that can be shown: its bytes without what the camera added, its format, its size in pixels, and what was taken out."""

    data: bytes
    format: Format
    width: int
    height: int
    taken_out: tuple[str, ...] = ()


def picture_of(data: bytes, *, file: str = "") -> Picture:
    """A photograph from a file's bytes, whatever its name says.

    Raises
    ------
    InputError
        It is no JPEG, PNG or WebP, is cut off, or too large.
    """
    if len(data) > LARGEST_BYTES:
        raise InputError("A photograph must not be too large", file=file or None, found=f"{len(data) / 1e6:.1f} MB",
                         allowed=f"up to {LARGEST_BYTES / 1e6:.0f} MB", remedy="Save it smaller")  # fmt: skip
    readers = {"jpeg": _jpeg, "png": _png, "webp": _webp}
    format_ = format_of(data)
    if format_ is None:
        raise InputError("A photograph must be a JPEG, PNG or WebP", file=file or None, found=_what(data),
                         remedy="Save it as JPEG; what counts is what is in the file, not its name")  # fmt: skip
    try:
        found = readers[format_](data)
    except (struct.error, IndexError, ValueError) as error:
        raise InputError("The photograph is damaged or cut off", file=file or None, found=f"{format_}: {error}",
                         remedy="Copy it again from where it came") from error  # fmt: skip
    if not (0 < found.width <= LARGEST_SIDE and 0 < found.height <= LARGEST_SIDE):
        raise InputError("A photograph must have a usual size", file=file or None, found=f"{found.width} by {found.height} pixels",
                         allowed=f"1 to {LARGEST_SIDE} pixels a side", remedy="Save it smaller")  # fmt: skip
    return found


def format_of(data: bytes) -> Format | None:
    """What some bytes are by their beginning."""
    if data[:3] == b"\xff\xd8\xff":
        return "jpeg"
    if data[:8] == _PNG_HEAD:
        return "png"
    return "webp" if data[:4] == b"RIFF" and data[8:12] == b"WEBP" else None


def _what(data: bytes) -> str:
    if not data:
        return "an empty file"
    if data[4:8] == b"ftyp":
        return "a picture or film of the kind phones save (HEIC, MP4)"
    if data.lstrip()[:1] == b"<":
        return "text such as SVG or HTML"
    return "another kind of file"


def _jpeg(data: bytes) -> Picture:
    """Segments up to the first scan without application data and comments; colour profile and Adobe's colour transform stay, and so does
    which side is up.
    """
    kept, out, size, turned, at = [data[:2]], [], (0, 0), 1, 2
    while True:
        if data[at] != 0xFF:
            raise ValueError("a marker is missing")
        while data[at + 1] == 0xFF:  # fill bytes
            at += 1
        marker = data[at + 1]
        length = struct.unpack(">H", data[at + 2 : at + 4])[0]
        segment = data[at : at + 2 + length]
        if len(segment) < 2 + length or length < 2:
            raise ValueError("a segment is cut off")
        if marker == 0xDA:
            break
        if marker in _SIZES:
            height, width = struct.unpack(">HH", segment[5:9])
            size = (width, height)
        exif = marker == 0xE1 and segment[4:10] == b"Exif\0\0"
        if exif:
            turned = _orientation(segment[10:])
        if _needed(marker, segment):
            kept.append(segment)
        else:
            out.append("Exif" if exif else "comment" if marker == 0xFE else "application data")
        at += 2 + length
    end = data.rfind(b"\xff\xd9")
    if end < at:
        raise ValueError("the end is missing")
    end = _first_end(data, at)
    if end + 2 < len(data):
        out.append("data after the picture")
    if 2 <= turned <= 8:
        kept.insert(1, _only_orientation(turned))
    return Picture(
        data=b"".join([*kept, data[at : end + 2]]),
        format="jpeg",
        width=size[0],
        height=size[1],
        taken_out=tuple(dict.fromkeys(out)),
    )


def _needed(marker: int, segment: bytes) -> bool:
    if marker == 0xE0:
        return segment[4:9] == b"JFIF\0"
    if marker == 0xE2:
        return segment[4:16] == b"ICC_PROFILE\0"
    if marker == 0xEE:
        return segment[4:9] == b"Adobe"
    return not (0xE0 <= marker <= 0xEF or marker == 0xFE)


def _first_end(data: bytes, at: int) -> int:
    """Where the end marker of the picture that begins its scans at `at` stands; between scans segments are jumped over."""
    while True:
        at = data.index(b"\xff", at)
        marker = data[at + 1]
        if marker == 0xD9:
            return at
        if marker in (0x00, 0xFF) or 0xD0 <= marker <= 0xD7:  # data, fill, restart
            at += 1 if marker == 0xFF else 2
        else:
            at += 2 + struct.unpack(">H", data[at + 2 : at + 4])[0]


def _orientation(tiff: bytes) -> int:
    """Which side is up by the first directory of an Exif block; 1 where it does not say."""
    order = {b"II": "<", b"MM": ">"}.get(tiff[:2])
    if order is None or len(tiff) < 10:
        return 1
    start = struct.unpack(order + "I", tiff[4:8])[0]
    if start + 2 > len(tiff):
        return 1
    for n in range(struct.unpack(order + "H", tiff[start : start + 2])[0]):
        entry = tiff[start + 2 + 12 * n : start + 14 + 12 * n]
        if len(entry) == 12 and struct.unpack(order + "H", entry[:2])[0] == _ORIENTATION:
            return int(struct.unpack(order + "H", entry[8:10])[0])
    return 1


def _only_orientation(turned: int) -> bytes:
    """An Exif segment that says which side is up and nothing else."""
    tiff = b"MM\0*" + struct.pack(">IHHHIHHI", 8, 1, _ORIENTATION, 3, 1, turned, 0, 0)
    body = b"Exif\0\0" + tiff
    return b"\xff\xe1" + struct.pack(">H", 2 + len(body)) + body


def _png(data: bytes) -> Picture:
    kept, out, size, at, ended = [data[:8]], [], (0, 0), 8, False
    while at < len(data) and not ended:
        length, kind = struct.unpack(">I", data[at : at + 4])[0], data[at + 4 : at + 8]
        chunk = data[at : at + 12 + length]
        if len(chunk) < 12 + length:
            raise ValueError("a chunk is cut off")
        if kind == b"IHDR":
            size = struct.unpack(">II", chunk[8:16])
        if kind in _PNG_SHOWN:
            kept.append(chunk)
        else:
            out.append({b"eXIf": "Exif"}.get(kind, "text" if kind.endswith(b"Xt") else "other data"))
        ended = kind == b"IEND"
        at += 12 + length
    if not ended:
        raise ValueError("the end is missing")
    if at < len(data):
        out.append("data after the picture")
    return Picture(
        data=b"".join(kept), format="png", width=size[0], height=size[1], taken_out=tuple(dict.fromkeys(out))
    )


def _webp(data: bytes) -> Picture:
    kept, out, size = [], [], (0, 0)
    for kind, body in _riff(data):
        if kind not in _WEBP_SHOWN:
            out.append({b"EXIF": "Exif"}.get(kind, "other data"))
            continue
        if kind == b"VP8X":
            size = (1 + int.from_bytes(body[4:7], "little"), 1 + int.from_bytes(body[7:10], "little"))
            body = bytes([body[0] & ~0x0C]) + body[1:]  # neither Exif nor XMP any more
        elif kind == b"VP8 " and size == (0, 0):
            size = tuple(v & 0x3FFF for v in struct.unpack("<HH", body[6:10]))
        elif kind == b"VP8L" and size == (0, 0):
            bits = int.from_bytes(body[1:5], "little")
            size = (1 + (bits & 0x3FFF), 1 + (bits >> 14 & 0x3FFF))
        kept.append(kind + struct.pack("<I", len(body)) + body + b"\0" * (len(body) % 2))
    inside = b"WEBP" + b"".join(kept)
    return Picture(data=b"RIFF" + struct.pack("<I", len(inside)) + inside, format="webp", width=size[0], height=size[1],
                   taken_out=tuple(dict.fromkeys(out)))  # fmt: skip


def _riff(data: bytes) -> Iterator[tuple[bytes, bytes]]:
    end = 8 + struct.unpack("<I", data[4:8])[0]
    if end > len(data):
        raise ValueError("the end is missing")
    at = 12
    while at + 8 <= end:
        kind, length = data[at : at + 4], struct.unpack("<I", data[at + 4 : at + 8])[0]
        if at + 8 + length > end:
            raise ValueError("a chunk is cut off")
        yield kind, data[at + 8 : at + 8 + length]
        at += 8 + length + length % 2
