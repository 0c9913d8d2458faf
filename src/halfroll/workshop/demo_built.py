"""What was really built of the demonstration's latest Avocet: weighed parts, glue, a deviation, a drawing in the place of a photograph, and
steps of the guide written by hand.
"""

from __future__ import annotations

import datetime as dt
import struct
import zlib
from typing import Any

import numpy as np
from numpy.typing import NDArray

from halfroll.workshop.built_notes import noted
from halfroll.workshop.files import write_whole
from halfroll.workshop.guide_record import FILE, GuideRecord
from halfroll.workshop.motors import load_motor
from halfroll.workshop.photographs import add_photograph
from halfroll.workshop.store import Workshop
from halfroll.workshop.toml_write import render

VERSION = "avocet/v8"

BUILT: dict[str, dict[str, Any]] = {
    "01": {
        "weighed": {"cone_g": 3.09, "cap_g": 0.28, "surround_g": 3.86, "spider_g": 0.85, "former_g": 0.43, "coil_g": 1.78, "glue_g": 0.45, "u_g": 0.01},
        "glued": [{"seam": "magnets and steel", "glue": "two-part epoxy"}, {"seam": "cone to former", "glue": "two-part epoxy", "mass_g": 0.21},
                  {"seam": "surround to cone", "glue": "contact cement", "mass_g": 0.17}, {"seam": "spider to former", "glue": "cyanoacrylate", "mass_g": 0.07}],
    },
    "02": {
        "weighed": {"cone_g": 3.16, "cap_g": 0.29, "surround_g": 3.92, "spider_g": 0.84, "coil_g": 1.80, "u_g": 0.01},
        "deviations": [{"what": "dust cap", "planned": "0.6 mm", "built": "0.6 mm, printed twice", "why": "the first one lifted off the bed"}],
    },
    "03": {
        "deviations": [{"what": "glue of the surround", "planned": "contact cement", "built": "flexible epoxy", "why": "there was none in the house"}],
    },
}  # fmt: skip
"""Readings and notes by unit; the third was built by a friend without a fine scale."""

GUIDE: dict[str, Any] = {
    "format": 1,
    "note": "For the bird hides: everything that can rust gets a coat of wax at the end.",
    "steps": [
        {"after": "cap", "title": "Against the weather", "text": [
            "Wax pole and top plate wherever steel shows, thin and only outside the gap.",
            "Coat both sides of the glued rim with flexible varnish. Nothing on the part that bends."],
         "tools": ["microcrystalline wax", "flexible varnish", "soft brush"], "cautions": ["The varnish burns: no flame, open window until it is dry."]},
    ],
}  # fmt: skip

PICTURE_SHOWS = "A drawing in the place of a photograph: half-section of the motor as it was stacked, steel dark, magnets paler, the winding palest."

_GREYS = {"Magnet": 150, "SoftSteel": 70, "Ring": 110}


def add_built(workshop: Workshop) -> None:
    """Write them into the records of the units, and the guide beside the version's; nothing where the demonstration has no such version."""
    if VERSION not in workshop.version_ids():
        return
    for name, values in BUILT.items():
        loaded = workshop.unit(f"{VERSION}/{name}")
        workshop.save(loaded, noted(loaded.record, file=str(loaded.path), **values))
    add_photograph(
        workshop,
        f"{VERSION}/01",
        "stack.png",
        half_section_png(workshop),
        PICTURE_SHOWS,
        dt.date(2026, 6, 15),
    )
    path = workshop.version(VERSION).path.with_name(FILE)
    write_whole(path, render(GuideRecord.model_validate(GUIDE), None, str(path)), durable=False)


def half_section_png(workshop: Workshop, pixels_per_mm: float = 8.0) -> bytes:
    """The motor's half-section as grey areas on white."""
    assembly = load_motor(workshop, VERSION).assembly
    bounds = np.array([body.bounds for body in assembly.bodies])
    reach, low, high = float(bounds[:, 1].max()), float(bounds[:, 2].min()), float(bounds[:, 3].max())
    pad = 2e-3
    r = np.arange(0.0, reach + pad, 1e-3 / pixels_per_mm)
    z = np.arange(high + pad, low - pad, -1e-3 / pixels_per_mm)
    grey = np.full((len(z), len(r)), 255, dtype=np.uint8)
    for body in assembly.bodies:
        grey[_inside(body.outline, r, z)] = _GREYS.get(type(body.matter).__name__, 190)
    winding = assembly.winding
    if winding is not None:
        corners = (
            (winding.r_inner, winding.z_low),
            (winding.r_outer, winding.z_low),
            (winding.r_outer, winding.z_high),
            (winding.r_inner, winding.z_high),
        )
        grey[_inside(corners, r, z)] = 200
    return _png(grey)


def _inside(
    outline: tuple[tuple[float, float], ...], r: NDArray[np.float64], z: NDArray[np.float64]
) -> NDArray[np.bool_]:
    """Which points of a grid (rows z, columns r) lie in a polygon, by how often a line from each crosses it."""
    found = np.zeros((len(z), len(r)), dtype=bool)
    for (r0, z0), (r1, z1) in zip(outline, (*outline[1:], outline[0]), strict=True):
        if z0 == z1:
            continue
        between = (z > min(z0, z1)) & (z <= max(z0, z1))
        crossing = r0 + (z - z0) * (r1 - r0) / (z1 - z0)
        found ^= between[:, None] & (r[None, :] < crossing[:, None])
    return found


def _png(grey: NDArray[np.uint8]) -> bytes:
    """A grey picture as PNG (ISO/IEC 15948), the same bytes each time."""
    rows = b"".join(b"\0" + row.tobytes() for row in grey)
    head = struct.pack(">IIBBBBB", grey.shape[1], grey.shape[0], 8, 0, 0, 0, 0)
    chunks = ((b"IHDR", head), (b"IDAT", zlib.compress(rows, 9)), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
        for kind, body in chunks
    )
