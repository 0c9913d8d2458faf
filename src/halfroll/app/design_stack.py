"""Changes of a design's stack as plain values: a part made whole, taken out, renamed, placed elsewhere."""

from __future__ import annotations

from halfroll.app.design_tables import PROFILE, Built, Data, as_plain, as_turned, sizes_of
from halfroll.materials.catalogue import Catalogue
from halfroll.materials.types import MagnetGrade

REFERENCES = ("on", "under", "beside")

SIZES = ("shape", "outer_mm", "inner_mm", "height_mm", PROFILE)


def tidy(part: Data, changed: str, catalogue: Catalogue, built: Built | None) -> None:
    """Make a part whole again after its stock, shape or material was changed."""
    bought = catalogue.parts.get(str(part.get("part")))
    if changed == "part" and bought is not None:
        for word in (*SIZES, *(["material"] if bought.material else [])):
            part.pop(word, None)
    elif changed == "part" and built is not None:  # own size from here on: what it was
        for word, value in sizes_of(built, str(part.get("name"))).items():
            part.setdefault(word, value)
    material = part.get("material") or (bought.material if bought is not None else None)
    if isinstance(catalogue.materials.get(str(material)), MagnetGrade):
        part.setdefault("magnetised", "up")
    else:
        part.pop("magnetised", None)
    _shape(part, changed, bought.shape if bought is not None else None)


def _shape(part: Data, changed: str, of_stock: str | None) -> None:
    """Keep what belongs to the part's shape, with sizes to begin with where it is a new one."""
    shape = part.get("shape") or of_stock or "disc"
    if changed == "shape" and shape == "turned":
        as_turned(part)
    elif changed == "shape":
        as_plain(part)
    if shape != "ring":
        part.pop("inner_mm", None)
    elif changed == "shape" and "inner_mm" not in part and isinstance(part.get("outer_mm"), int | float):
        part["inner_mm"] = round(0.5 * part["outer_mm"], 2)


def take_out(parts: list[Data], index: int) -> None:
    """Take a part out; what was placed by it is placed by what carried it, and the first part by nothing."""
    gone = parts.pop(index)
    how = next((word for word in REFERENCES if word in gone), None)
    for part in parts:
        for word in REFERENCES:
            if part.get(word) == gone["name"]:
                part.pop(word)
                if how is not None:
                    part[how] = gone[how]
    if parts and any(word in parts[0] for word in REFERENCES):
        for word in (*REFERENCES, "glue_mm", "align", "offset_mm"):
            parts[0].pop(word, None)


def rename(motor: Data, index: int, name: str) -> None:
    """Give a part another name, everywhere it is named."""
    old = motor["parts"][index].get("name")
    motor["parts"][index]["name"] = name
    motor["gap"] = [name if one == old else one for one in motor["gap"]]
    for part in motor["parts"]:
        for word in REFERENCES:
            if part.get(word) == old:
                part[word] = name


def place(part: Data, how: str, of: str) -> None:
    """Place a part on, under or beside another."""
    for word in REFERENCES:
        part.pop(word, None)
    if how != "beside":
        part.pop("align", None)
        part.pop("offset_mm", None)
    part[how] = of
