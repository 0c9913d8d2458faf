"""Models to print as a picture one can turn: on their build plate, layers upwards, with sizes; and the files to take away."""

from __future__ import annotations

import base64
from collections.abc import Sequence
from typing import Any

import numpy as np
from nicegui import ui

from halfroll.app import address
from halfroll.app.dom import el
from halfroll.publish.printing.isometric import in_words, isometric_svg, size_words
from halfroll.publish.printing.plate import places_on_plate
from halfroll.suspension.models.checks import USUAL_BED_M, Volume
from halfroll.suspension.models.model import Model

DRAWING = "drawings.pdf"
"""The file with a dimensioned drawing of every part."""


class Preview(ui.element, component="static/preview.js"):
    """Parts on a build plate. Turned by dragging, by arrow keys, plus, minus and Home, or by buttons; printed as a still picture.

    Parameters
    ----------
    models
        Coarse ones, see `suspension_task.PICTURE_M`.
    bed_m
        Build volume of the printer (m).
    """

    def __init__(self, models: Sequence[Model], bed_m: Volume = USUAL_BED_M) -> None:
        super().__init__()
        self.models, self.bed_m = tuple(models), bed_m
        self._ready = False
        self.props["label"] = self.words
        self.on("ready", self._asked)

    @property
    def words(self) -> str:
        """What it shows and how it is turned."""
        return (
            f"{in_words(self.models)} Arrow keys turn it, plus and minus change its size, Home puts it back."
        )

    def renew(self, models: Sequence[Model], bed_m: Volume | None = None) -> None:
        """Show other models in the same view."""
        self.models, self.bed_m = tuple(models), bed_m or self.bed_m
        self.props["label"] = self.words
        self.update()
        if self._ready:
            self._asked()

    def _asked(self) -> None:
        self._ready = True
        places = places_on_plate(self.models, self.bed_m[0])
        parts = [_part(model, place) for model, place in zip(self.models, places, strict=True)]
        self.run_method(
            "show", parts, [1e3 * side for side in self.bed_m], isometric_svg(self.models, bed_m=self.bed_m)
        )

    def _displayed_contents(self, *, only_visible: bool) -> list[Any]:
        return [*super()._displayed_contents(only_visible=only_visible), self.words]


def preview(
    models: Sequence[Model], *, version_id: str | None = None, bed_m: Volume = USUAL_BED_M
) -> Preview:
    """The picture, a line that says what its colours mean, and, of a saved version, links to its files.

    Parameters
    ----------
    models
        Coarse ones, see `suspension_task.PICTURE_M`; at least one.
    version_id
        Version whose files are offered; None while it is not saved.
    """
    with el("figure", cls="print-preview"):
        picture = Preview(models, bed_m)
        el(
            "figcaption",
            "As it lies on the build plate, layers upwards. Orange faces lean out by more than 45°.",
            cls="quiet small",
        )
    if version_id is not None:
        downloads(models, version_id)
    return picture


def downloads(models: Sequence[Model], version_id: str) -> None:
    """Links to the files of a saved version: all parts as 3MF, each part as 3MF, STL and STEP."""
    with el("p", cls="downloads no-print"):
        el(
            "a",
            "All parts on one plate, 3MF",
            href=f"/models/{version_id}/all.3mf",
            cls="button",
            download="",
        )
        el("a", "Drawings with dimensions, PDF", href=f"/models/{version_id}/{DRAWING}", cls="button")
        if ui.context.client.request.url.path != address.of_models(version_id):
            el("a", "Check against my printer", href=address.of_models(version_id), cls="button")
    with el("ul", cls="downloads no-print"):
        for model in models:
            with el("li"):
                el("span", f"{model.title}: ")
                for n, kind in enumerate(("3mf", "stl", "step")):
                    if n:
                        el("span", ", ")
                    el("a", kind.upper(), href=f"/models/{version_id}/{model.name}.{kind}", download="", aria_label=f"{model.title} as {kind.upper()}")  # fmt: skip


def _part(model: Model, place: Any) -> dict[str, Any]:
    """A part for the browser: corners in 16 bits, in a unit (mm) that reaches as far as it has to, where they lie on the plate."""
    corners, triangles = 1e3 * (model.mesh.corners_m + place), model.mesh.triangles
    unit = max(float(np.abs(corners).max()) / 32767.0, 0.001)
    middle = 1e3 * (place + np.array([0.0, 0.0, 0.5 * float(model.mesh.size_m[2])]))
    return {
        "name": model.words, "size": size_words(model), "middle": [round(float(value), 2) for value in middle],
        "unit": unit, "corners": _packed(np.round(corners / unit).astype("<i2")), "triangles": _packed(triangles.astype("<u4")),
    }  # fmt: skip


def _packed(numbers: np.ndarray) -> str:
    return base64.b64encode(numbers.tobytes()).decode()
