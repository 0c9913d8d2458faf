"""Models as one 3MF file: the 3MF Consortium's Core Specification, version 1.3, in an Open Packaging zip.

Equal models give equal bytes: no date is written, and the zip's own times are fixed.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Sequence
from xml.sax.saxutils import escape, quoteattr

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.publish.printing.plate import places_on_plate
from halfroll.suspension.models.model import Model

CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
_MODEL_PART = "3D/3dmodel.model"
_HEAD = '<?xml version="1.0" encoding="UTF-8"?>\n'

_TYPES = (
    _HEAD + '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>'
)
_RELATIONS = (
    _HEAD + '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    f'<Relationship Target="/{_MODEL_PART}" Id="rel0" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/>'
    "</Relationships>"
)

COLOURS = ("#56B4E9", "#E69F00", "#009E73", "#CC79A7", "#F0E442", "#0072B2", "#D55E00")
"""How filaments are told apart (Okabe and Ito, 2008); 3MF asks for a display colour."""


def write_3mf(
    models: Sequence[Model], *, title: str = "", designer: str = "", width_m: float = 0.22
) -> bytes:
    """The bytes of a 3MF file with every model as an object, side by side on one plate.

    Parameters
    ----------
    models
        In the position they are printed in.
    title, designer
        Metadata; left out when empty.
    width_m
        Width of the plate (m).

    Raises
    ------
    InputError
        There is no model.
    """
    if not models:
        raise InputError("A 3MF file must hold at least one model", remedy="Design a part first")
    text = "".join(_document(models, title, designer, width_m))
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        for name, content in (
            ("[Content_Types].xml", _TYPES),
            ("_rels/.rels", _RELATIONS),
            (_MODEL_PART, text),
        ):
            entry = zipfile.ZipInfo(name, date_time=(1980, 1, 1, 0, 0, 0))
            entry.compress_type, entry.create_system, entry.external_attr = (
                zipfile.ZIP_DEFLATED,
                3,
                0o644 << 16,
            )
            archive.writestr(entry, content.encode())
    return packed.getvalue()


def _document(models: Sequence[Model], title: str, designer: str, width_m: float) -> list[str]:
    filaments = {model.material.key: model.material.title for model in models}
    pieces = [f'{_HEAD}<model unit="millimeter" xml:lang="en-GB" xmlns="{CORE}">\n']
    for name, value in (("Title", title), ("Designer", designer), ("Application", "halfroll")):
        if value:
            pieces.append(f'<metadata name="{name}">{escape(value)}</metadata>\n')
    bases = "".join(
        f'<base name={quoteattr(words)} displaycolor="{COLOURS[n % len(COLOURS)]}"/>'
        for n, words in enumerate(filaments.values())
    )
    pieces.append(f'<resources>\n<basematerials id="1">{bases}</basematerials>\n')
    for n, model in enumerate(models):
        pieces += _object(model, n + 2, list(filaments).index(model.material.key))
    pieces.append("</resources>\n<build>\n")
    for n, place in enumerate(places_on_plate(models, width_m)):
        shift = " ".join(_number(value) for value in 1e3 * place)
        pieces.append(f'<item objectid="{n + 2}" transform="1 0 0 0 1 0 0 0 1 {shift}" partnumber={quoteattr(models[n].name)}/>\n')  # fmt: skip
    pieces.append("</build>\n</model>\n")
    return pieces


def _object(model: Model, number: int, filament: int) -> list[str]:
    corners = rounded_mm(model)
    return [
        f'<object id="{number}" type="model" name={quoteattr(model.title)} partnumber={quoteattr(model.name)} pid="1" pindex="{filament}">\n'
        "<mesh>\n<vertices>\n",
        *(f'<vertex x="{_number(x)}" y="{_number(y)}" z="{_number(z)}"/>\n' for x, y, z in corners.tolist()),
        "</vertices>\n<triangles>\n",
        *(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>\n' for a, b, c in model.mesh.triangles.tolist()),
        "</triangles>\n</mesh>\n</object>\n",
    ]


def rounded_mm(model: Model) -> FloatArray:
    """Corners (n, 3) in millimetres to a nanometre, so that what is written does not hang on the last digits of a machine."""
    rounded: FloatArray = (1e3 * model.mesh.corners_m).round(6) + 0.0
    return rounded


def _number(value: float) -> str:
    return f"{value:.6f}".rstrip("0").rstrip(".")
