"""The charts of a comparison: curves of all versions over each other, and a strip for every figure."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from halfroll.compare.types import Comparison
from halfroll.core.text import THIN, join_words
from halfroll.figures.rules import RULES
from halfroll.publish.charts import impedance_chart, level_chart, thd_chart
from halfroll.publish.curves import NamedCurve
from halfroll.publish.hatch import Limit, room
from halfroll.publish.scales import frequency_range
from halfroll.publish.spec import Spec
from halfroll.publish.striprows import version_labels, version_styles
from halfroll.publish.strips import strip_chart
from halfroll.publish.theme import Theme
from halfroll.workshop.paths import of_prediction

STRIP = "strip:"
"""Before a figure's key in the names of `comparison_charts`."""

ORDER_NAMES = {"h2": "2nd harmonic", "h3": "3rd harmonic", "h4": "4th harmonic", "h5": "5th harmonic"}


KINDS = ("level", "thd", *ORDER_NAMES, "impedance")
"""Names of the curves a version can have, in reading order."""


def comparison_charts(comparison: Comparison, *, theme: Theme, width_px: float) -> dict[str, Spec]:
    """Every chart the comparison can give, in reading order.

    Returns
    -------
    dict
        ``level``, ``thd``, ``h2`` to ``h5``, ``impedance`` as far as versions have the curves, then
        ``strip:<figure key>`` for every figure that at least one version has.
    """
    charts: dict[str, Spec] = {}
    for name in KINDS:
        chart = curve_chart(comparison, name, theme=theme, width_px=width_px)
        if chart is not None:
            charts[name] = chart
    for rule in RULES:
        if any(c.figures[rule.key].value is not None for c in comparison.columns if rule.key in c.figures):
            charts[STRIP + rule.key] = strip_chart(comparison, rule.key, theme=theme, width_px=width_px)
    return charts


def curve_chart(
    comparison: Comparison, name: str, *, theme: Theme, width_px: float, **more: Any
) -> Spec | None:
    """One curve of all versions that have it; None when none has.  `more` goes to the kind of chart."""
    curves = named_curves(comparison, name)
    if not curves:
        return None
    title, quantity, draw = _kind(comparison, name)
    return draw(
        curves,
        theme=theme,
        width_px=width_px,
        title=more.pop("title", title),
        quantity=quantity,
        range_hz=common_range(comparison),
        zones=room_zones(curves),
        notes=[*room_notes(curves), *band_notes(curves)],
        room_for=[c.name for kind in KINDS for c in named_curves(comparison, kind)],
        **more,
    )


def named_curves(comparison: Comparison, name: str) -> list[NamedCurve]:
    """The curves of that name with their versions' titles and styles; of one version beside its prediction, each by its source."""
    styles, labels = version_styles(comparison), version_labels(comparison)
    ids = [column.version.version_id for column in comparison.columns]
    alone = len(ids) > 1 and len({of_prediction(id_)[0] for id_ in ids}) == 1
    return [
        NamedCurve(
            label=column.source if alone else labels[column.version.version_id],
            curve=column.curves[name],
            base=not alone
            and column.version.version_id == comparison.base_id
            and comparison.base_mode != "parent",
            source="measured" if alone else column.source,
            style=styles[column.version.version_id],
        )
        for column in comparison.columns
        if name in column.curves
    ]


def common_range(comparison: Comparison) -> tuple[float, float]:
    """The range of all curves of all versions (Hz), so that charts under each other have one frequency axis."""
    ends = [c.frequency_hz[[0, -1]] for column in comparison.columns for c in column.curves.values()]
    return frequency_range(float(min(e[0] for e in ends)), float(max(e[1] for e in ends)))


def room_zones(curves: Sequence[NamedCurve]) -> list[Limit]:
    """The stretch in which every curve contains the room; empty when one does not."""
    if not all(_has_room(c) for c in curves):
        return []
    return [room(min(c.curve.valid_from_hz for c in curves))]


def room_notes(curves: Sequence[NamedCurve]) -> list[str]:
    """Which curves contain the room beyond that stretch, and up to where; they are pale there."""
    hatched = max((zone.to_x for zone in room_zones(curves)), default=0.0)
    beyond: dict[float, list[str]] = {}
    for c in curves:
        if _has_room(c) and c.curve.valid_from_hz > 1.02 * hatched:
            beyond.setdefault(float(f"{c.curve.valid_from_hz:.3g}"), []).append(c.label)
    return [f"pale: room in {join_words(names)} below {hz:g}{THIN}Hz" for hz, names in beyond.items()]


def band_notes(curves: Sequence[NamedCurve]) -> list[str]:
    """What the band of a predicted curve is."""
    predicted = any(c.source == "predicted" and c.curve.low is not None for c in curves)
    return ["of a prediction: what its assumptions leave open"] if predicted else []


def _has_room(named: NamedCurve) -> bool:
    return bool(named.curve.frequency_hz[0] < 0.999 * named.curve.valid_from_hz)


def _kind(comparison: Comparison, name: str) -> tuple[str, str, Callable[..., Spec]]:
    """Title, vertical quantity and kind of chart of a curve."""
    settings = comparison.settings
    if name == "level":
        at = f"1{THIN}W and 1{THIN}m"
        return "Level", f"Sound pressure level at {at} in dB re 20{THIN}µPa", level_chart
    if name == "impedance":
        return "Impedance", "Magnitude of impedance in Ω", impedance_chart
    over = "total pressure" if settings.thd_reference == "total" else "fundamental"
    what = "THD" if name == "thd" else ORDER_NAMES[name]
    quantity = f"{what} over {over} at {settings.level_w:g}{THIN}W in %"
    return "Distortion" if name == "thd" else ORDER_NAMES[name], quantity, thd_chart
