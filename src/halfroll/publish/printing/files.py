"""Models as named files of one kind."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from halfroll.core.errors import choose
from halfroll.publish.printing.step import write_step
from halfroll.publish.printing.stl import write_stl
from halfroll.publish.printing.threemf import write_3mf
from halfroll.suspension.models.model import Model

Kind = Literal["3mf", "stl", "step"]
KINDS: tuple[Kind, ...] = ("3mf", "stl", "step")

MEDIA = {"3mf": "model/3mf", "stl": "model/stl", "step": "model/step"}
"""Media types as registered with IANA."""


def write_model(model: Model, kind: str, *, title: str = "", designer: str = "") -> bytes:
    """One model as the bytes of a file.

    Raises
    ------
    InputError
        The kind is none, or STEP is asked for where its kernel is not built.
    """
    choose(kind, KINDS, field="The kind of file", key="kind")
    if kind == "stl":
        return write_stl(model)
    if kind == "step":
        return write_step(model)
    return write_3mf([model], title=title or model.title, designer=designer)


def version_files(
    models: Sequence[Model], name: str, *, title: str, designer: str = "", step: bool = True
) -> dict[str, bytes]:
    """All files of a version by name: everything on one plate as 3MF, each part as STL and, where wanted, as STEP."""
    files = {f"{name}.3mf": write_3mf(models, title=title, designer=designer)}
    files |= {f"{model.name}.stl": write_stl(model) for model in models}
    if step:
        files |= {f"{model.name}.step": write_step(model) for model in models}
    return files
