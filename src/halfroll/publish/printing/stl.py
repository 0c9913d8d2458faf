"""A model as a binary STL file, in millimetres (the format itself knows no unit; slicers take it for millimetres)."""

from __future__ import annotations

import struct

import numpy as np

from halfroll.publish.printing.threemf import rounded_mm
from halfroll.suspension.models.model import Model

_RECORD = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])


def write_stl(model: Model) -> bytes:
    """The bytes of a binary STL file: an 80-byte head, the number of triangles, 50 bytes for each.

    Triangles that share a corner have it in the same bits, so that a reader can join them again.
    """
    head = f"halfroll {model.name}, millimetres".encode("ascii", "replace")[:80].ljust(80)
    corners = rounded_mm(model).astype("<f4")
    records = np.zeros(len(model.mesh.triangles), dtype=_RECORD)
    records["corners"] = corners[model.mesh.triangles]
    normals = model.mesh.area_vectors_m2
    records["normal"] = normals / np.maximum(np.linalg.norm(normals, axis=1), 1e-300)[:, None]
    return b"".join((head, struct.pack("<I", len(records)), records.tobytes()))
