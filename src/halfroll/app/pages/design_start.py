"""A version without a motor: two to begin with."""

from __future__ import annotations

from typing import Any

from markupsafe import Markup
from nicegui import ui

from halfroll.app import address
from halfroll.app.design_draft import DesignDraft
from halfroll.app.design_start import STARTS, start
from halfroll.app.dom import el, html
from halfroll.app.field import button
from halfroll.publish.section import section_svg
from halfroll.workshop.motor_design import design_of
from halfroll.workshop.motor_record import MotorTable


def choose_start(draft: DesignDraft) -> None:
    """Both motors as drawings, each with a button."""
    from halfroll.motor.placing.stack import assemble

    with el("div", cls="starts"):
        for key, (title, words, motor) in STARTS.items():
            assembly = assemble(design_of(MotorTable.model_validate(motor), None, draft.catalogue))
            with el("section", cls="block"):
                el("h2", title)
                html(
                    Markup(
                        section_svg(
                            assembly, theme=None, width_px=420, dimensions=False, mirrored=True, name=title
                        )
                    )
                )
                el("p", words, cls="prose")
                with el("div", cls="actions"):
                    button(f"Begin with the {key}", lambda key=key: _begin(draft, key), main=True).mark(
                        f"begin-{key}"
                    )


def _begin(draft: DesignDraft, key: str) -> None:
    tables: dict[str, Any] = start(key, draft.catalogue, draft.record.rated_impedance_ohm)
    draft.change(lambda data: data.update(tables))
    ui.navigate.to(address.of_design(draft.version_id))
