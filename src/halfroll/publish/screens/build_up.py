"""The build-up of a picture: axes, then version after version from left to right, then the bands, then the finding.

Each step is a still of the whole picture, with what came so far; between two stills one is uncovered over the other from
left to right, or fades into it.  So the last frame is the picture itself, and only a few stills are typeset.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

from halfroll.core.errors import InputError
from halfroll.publish.curves import Row
from halfroll.publish.screens.screen import Screen
from halfroll.publish.spec import Spec

Manner = Literal["uncover", "fade"]

RATES = (24, 25, 30, 50, 60)
"""Frames a second that films have (ITU-R BT.709 and BT.2020 name them all)."""

LONGEST_S = 120.0
"""A build-up is no longer than this (s); a longer one is a slip of the keyboard."""

QUICKEST_S = 0.5
"""The shortest change (s): with it no part of the picture can change more than twice a second, so nothing flashes
(WCAG 2.2, success criterion 2.3.1: not more than three flashes in any one second)."""

_BY_VERSION = ("curves", "markers", "down_ticks", "names", "points", "intervals", "ends", "bounds")
"""Data whose rows name their version by s."""


@dataclass(frozen=True, kw_only=True)
class Timing:
    """How long each step takes.

    Parameters
    ----------
    version_s
        From one version to the next.
    start_s, band_s, finding_s, hold_s
        Axes alone; bands fading in; finding fading in; the whole picture at the end.
    fps
        Frames a second, one of `RATES`.
    reduced
        Versions fade in instead of being drawn, for viewers whom motion disturbs (WCAG 2.2, 2.3.3).

    Raises
    ------
    InputError
        A time or a rate that no film has.
    """

    version_s: float = 1.5
    start_s: float = 1.0
    band_s: float = 0.8
    finding_s: float = 0.8
    hold_s: float = 2.0
    fps: int = 30
    reduced: bool = False

    def __post_init__(self) -> None:
        if self.fps not in RATES:
            raise InputError(
                "A film must have a number of frames a second that players know",
                key="--fps", found=f"{self.fps}", allowed=[f"{rate}" for rate in RATES],
            )  # fmt: skip
        for name, value in (("seconds", self.version_s), ("hold", self.hold_s)):
            least = QUICKEST_S if name == "seconds" else 0.0
            if not (math.isfinite(value) and least <= value <= 30.0):
                raise InputError(
                    f"The time of {'each version' if name == 'seconds' else 'the last picture'} must be {least:g} to 30 s",
                    key=f"--{name}", found=f"{value:g}",
                )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Step:
    """A still, how it comes about, and over how many frames; the first stands at once."""

    screen: Screen
    manner: Manner
    changing: int
    standing: int

    @property
    def frames(self) -> int:
        """Frames from the first of the change to the last before the next step."""
        return self.changing + self.standing


def stages(screen: Screen) -> list[tuple[str, Screen]]:
    """The stills in their order, each with what came with it: ``axes``, ``version`` (one each), ``band``, ``finding``."""
    count = versions_in(screen)
    bare = [("axes", _upto(screen, 0, banded=False))]
    bare += [("version", _upto(screen, k, banded=False)) for k in range(1, count + 1)]
    if any(_has_bands(placed.spec) for placed in screen.charts):
        bare.append(("band", _upto(screen, count, banded=True)))
    if screen.finding:
        bare.append(("finding", screen))
    return bare


def versions_in(screen: Screen) -> int:
    """Versions that are drawn in the picture."""
    return max((_count(placed.spec) for placed in screen.charts), default=0)


def steps(screen: Screen, timing: Timing) -> list[Step]:
    """The stills with the frames of each.

    Raises
    ------
    InputError
        The whole would be longer than `LONGEST_S`.
    """
    found = stages(screen)
    seconds = {
        "axes": timing.start_s,
        "version": timing.version_s,
        "band": timing.band_s,
        "finding": timing.finding_s,
    }
    total = sum(seconds[what] for what, _ in found) + timing.hold_s
    if total > LONGEST_S:
        raise InputError(
            f"A build-up must be no longer than {LONGEST_S:g} s", key="--seconds", found=f"{total:g} s",
            remedy="Choose fewer versions or less time for each",
        )  # fmt: skip
    made = []
    for i, (what, still) in enumerate(found):
        frames = max(1, round(seconds[what] * timing.fps))
        changing = 0 if i == 0 else min(frames, max(round(0.8 * frames), round(QUICKEST_S * timing.fps)))
        manner: Manner = "uncover" if what == "version" and not timing.reduced else "fade"
        held = round(timing.hold_s * timing.fps) if i == len(found) - 1 else 0
        made.append(Step(screen=still, manner=manner, changing=changing, standing=frames - changing + held))
    return made


def eased(share: float) -> float:
    """Slow, quick, slow: 3 s² - 2 s³, from 0 to 1 with no speed at either end."""
    s = min(max(share, 0.0), 1.0)
    return s * s * (3.0 - 2.0 * s)


def frame_count(planned: list[Step]) -> int:
    """Frames of the whole film."""
    return sum(step.frames for step in planned)


def _upto(screen: Screen, count: int, *, banded: bool) -> Screen:
    """The picture with the first `count` versions, without its finding, with bands or without."""
    charts = tuple(replace(placed, spec=_thinned(placed.spec, count, banded)) for placed in screen.charts)
    return replace(screen, charts=charts, rows=screen.rows[:count], finding=())


def _thinned(spec: Spec, count: int, banded: bool) -> Spec:
    data: dict[str, list[Row]] = dict(spec["datasets"])
    for name in _BY_VERSION:
        if name in data:
            data[name] = [row for row in data[name] if row["s"] < count]
    if not banded:
        data["curves"] = [
            {k: v for k, v in row.items() if k not in ("lo", "hi")} for row in data.get("curves", [])
        ]
        data |= {name: [] for name in ("intervals", "ends") if name in data}
    if "words" in data:  # of a strip: one row of words a version, and the dotted line through the base
        at = next((i for i, row in enumerate(data["words"]) if row["base"]), 0)
        data["words"] = data["words"][:count]
        data["base"] = data["base"] if at < count else []
    return {**spec, "datasets": data}


def _count(spec: Spec) -> int:
    data = spec["datasets"]
    if "words" in data:
        return len(data["words"])
    return 1 + max((int(row["s"]) for row in data.get("curves", [])), default=-1)


def _has_bands(spec: Spec) -> bool:
    data = spec["datasets"]
    return any("lo" in row for row in data.get("curves", [])) or bool(data.get("intervals"))
