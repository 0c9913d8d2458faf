"""The half-section at a step of the guide: what was put in place before pale, what comes here in full, what comes later not yet there."""

from __future__ import annotations

import re
from html import escape, unescape

from halfroll.builds.guide.types import Guide, Step
from halfroll.core.text import join_words
from halfroll.publish.paper import Picture
from halfroll.publish.section import section_svg
from halfroll.publish.section_moving import moving_svg
from halfroll.publish.theme import Theme

PALE = 0.32
"""How strongly what was there before is drawn."""

_GROUP = re.compile(r'<g class="(?:body" data-body="([^"]*)"|moving" data-part="([^"]*)"|(coil)")[^>]*>')


def step_picture(guide: Guide, step: Step, *, theme: Theme | None, width_px: float) -> Picture | None:
    """The drawing of one step, None where it puts nothing in place that is designed; `theme` None for the colours of the page it stands in."""
    whole = _whole(guide, theme, width_px) if step.drawn else None
    if whole is None:
        return None
    before = {name for one in guide.steps[: guide.steps.index(step)] for name in one.drawn}
    svg, shown = _brought_out(whole, set(step.drawn), before)
    if not shown:
        return None
    said = f"Half-section: {join_words(sorted(shown))} put in place"
    earlier = sorted(before - set(step.drawn))
    alt = f"{said}; already there: {join_words(earlier)}." if earlier else f"{said}."
    svg = re.sub(r'aria-label="[^"]*"', f'aria-label="{escape(alt)}"', svg, count=1)
    size = re.search(r'viewBox="[-\d.]+ [-\d.]+ ([\d.]+) ([\d.]+)"', svg)
    assert size is not None
    return Picture(svg=svg, size=(float(size[1]), float(size[2])), alt=alt)


def _whole(guide: Guide, theme: Theme | None, width_px: float) -> str | None:
    if guide.assembly is not None:
        return section_svg(guide.assembly, coil=guide.coil, theme=theme, width_px=width_px, dimensions=False, mirrored=True, show=("hatching",),
                           moving=guide.moving)  # fmt: skip
    return None if guide.moving is None else moving_svg(guide.moving, theme=theme, width_px=width_px)


def _brought_out(svg: str, now: set[str], before: set[str]) -> tuple[str, set[str]]:
    """The drawing with every group full, pale or gone, and which were full."""
    found, shown, at = [], set(), 0
    for match in _GROUP.finditer(svg):
        if match.start() < at:
            continue
        end = _end(svg, match.end())
        name = unescape(match[1] or match[2] or match[3])
        group = svg[match.start() : end]
        found.append(svg[at : match.start()])
        if name in now:
            shown.add(name)
            found.append(group)
        elif name in before:
            found.append(group.replace("<g ", f'<g opacity="{PALE}" ', 1))
        at = end
    return "".join([*found, svg[at:]]), shown


def _end(svg: str, at: int) -> int:
    """Where the group that was opened before `at` ends."""
    depth = 1
    for tag in re.finditer(r"<(/?)g[ >]", svg[at:]):
        depth += -1 if tag[1] else 1
        if not depth:
            return at + tag.end()
    raise AssertionError("a group of the drawing has no end")
