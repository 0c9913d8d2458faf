"""Break-up on the page of moving parts: the far field against a piston's, how the parts move in each resonance, and all of them."""

from __future__ import annotations

from functools import partial

from halfroll.app.chart import Chart
from halfroll.app.dom import el
from halfroll.app.drawing import Drawing
from halfroll.app.view import show
from halfroll.publish.diaphragm import mode_svg, response_chart, shown_modes
from halfroll.publish.suspension_rows import break_up_rows
from halfroll.publish.theme import Theme
from halfroll.suspension.results import BreakUp, ShellMode


def show_break_up(found: BreakUp) -> None:
    """Chart, pictures of the resonances that are heard, and the table of all."""
    with el("div", cls="charts halves"):
        with el("figure").mark("response"):
            Chart(partial(_response, found))
        show(
            "design_tables.html",
            tables=[("Resonances of the moving shell", break_up_rows(found))],
            faults=(),
        )
    with el("div", cls="charts quarters"):
        for mode in shown_modes(found):
            with el("figure"):
                words = f"Resonance at {mode.frequency_hz:.0f} Hz: {mode.words}"
                Drawing(partial(_mode, mode), words).mark("mode")


def _response(found: BreakUp, look: Theme, width: int) -> dict[str, object]:
    return response_chart(found, theme=look, width_px=width)


def _mode(mode: ShellMode, look: Theme, width: int) -> str:
    return mode_svg(mode, theme=look, width_px=width)
