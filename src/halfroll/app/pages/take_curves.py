"""Curves of a take: level and distortion large, the rest folded away but printed, what lies above the harmonics, the silence."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import lru_cache
from typing import Any

from halfroll.app.chart import Chart
from halfroll.app.dom import el
from halfroll.app.view import show
from halfroll.compare.residues import ResidueReport
from halfroll.core.levels import db
from halfroll.core.text import format_value
from halfroll.core.verdicts import Severity, worst
from halfroll.measure.analysis.response import Response
from halfroll.measure.residues.hum import Hum
from halfroll.publish.theme import Theme, theme

MAIN = ("level", "thd")
"""Curves that stand open and large."""

FOLDS = (
    ("Single harmonics", ("harmonics",)),
    ("Impedance", ("impedance", "impedance_phase")),
    ("Impulse response and group delay", ("impulse", "group_delay")),
)
"""Curves that are folded away, by what stands on the fold; they are printed all the same."""

Make = Callable[[Theme, int], dict[str, Any]]
Draw = Callable[[str, int], dict[str, Any]]


def curves(response: Response, report: ResidueReport | None) -> None:
    """All curves of a take."""
    from halfroll.publish.take import take_charts

    @lru_cache(maxsize=2)
    def drawn(look: str, width_px: int) -> dict[str, Any]:
        return take_charts(response, theme=theme(look), width_px=width_px)

    there = drawn("light", 640)
    with el("section", cls="block", aria_label="Curves"):
        el("h2", "Curves")
        _figures(drawn, [key for key in MAIN if key in there])
        if report is not None:
            _above(report)
        _silence(response, drawn, "noise" in there)
        for words, keys in FOLDS:
            known = [key for key in keys if key in there]
            if known:
                with _fold(words):
                    _figures(drawn, known)


def _fold(words: str, *, unfolded: bool = False) -> Any:
    fold = el("details", cls="fold", open="" if unfolded else None)
    with fold:
        el("summary", words)
    return fold


def _figures(drawn: Draw, keys: Sequence[str]) -> None:
    def maker(key: str) -> Make:
        return lambda look, width_px: drawn(look.name, width_px)[key]

    with el("div", cls="charts"):
        for key in keys:
            with el("figure"):
                Chart(maker(key)).mark(f"chart-{key}")


def _above(report: ResidueReport) -> None:
    """What is left above the harmonics; open when there is something to say."""
    from halfroll.publish.residue import residue_charts

    residue = report.residue
    if residue is None:
        return
    others = [other for _, other in report.others]

    @lru_cache(maxsize=2)
    def drawn(look: str, width_px: int) -> dict[str, Any]:
        return residue_charts(
            residue, theme=theme(look), width_px=width_px, against=report.against, others=others,
            show_moment=bool(report.events),
        )  # fmt: skip

    alert = worst(report.verdicts) >= Severity.CAUTION and bool(report.events)
    with _fold("Above the harmonics: rub, buzz, leaks", unfolded=alert):
        show("take_residue.html", report=report)
        _figures(drawn, list(drawn("light", 640)))


def _silence(response: Response, drawn: Draw, with_chart: bool) -> None:
    """Level of the silence, its lines, and the signal over it; open when a line spoils something."""
    hum = response.hum
    spoilt = any(verdict.code == "hum-lines" for verdict in response.verdicts)
    if hum is None and not with_chart:
        return
    with _fold("Noise and hum", unfolded=spoilt):
        if hum is not None:
            show(
                "take_hum.html",
                level=_level(hum, response.calibrated),
                mains=_mains(hum),
                lines=list(_lines(hum, response.calibrated)),
            )
        if with_chart:
            _figures(drawn, ["noise"])


def _level(hum: Hum, calibrated: bool) -> str:
    if math.isnan(hum.level_a_pa):  # no silence
        return ""
    if not calibrated:
        return f"{format_value(float(db(hum.level_a_pa)), None, 'dB')} re full scale, A-weighted"
    return f"{format_value(hum.level_dba, None, 'dB')}(A) re 20 µPa"


def _mains(hum: Hum) -> str:
    return "" if hum.mains_hz is None else format_value(hum.mains_hz, None, "Hz")


def _lines(hum: Hum, calibrated: bool) -> Any:
    reference = 20e-6 if calibrated else 1.0
    for frequency, pressure, multiple, added, at in zip(
        hum.line_hz, hum.line_pa, hum.multiple, hum.added_percent, hum.added_at_hz, strict=True
    ):
        yield {
            "frequency": format_value(float(frequency), None, "Hz"),
            "level": format_value(float(db(pressure / reference)), None, "dB"),
            "what": f"{multiple} × mains" if multiple else "no multiple of the mains",
            "adds": f"{format_value(float(added), None, '%')} at {format_value(float(at), None, 'Hz')}"
            if added
            else "",
        }
