"""Levels of the input channels, and the bar with the stop that always works."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from nicegui import ui

from halfroll.app.frame import telling
from halfroll.app.job import Job
from halfroll.core.levels import spl
from halfroll.core.text import format_value
from halfroll.measure.recording import Role
from halfroll.workshop import RigRecord

if TYPE_CHECKING:
    from halfroll.measure.capture import CaptureSetup, Levels

Row = tuple[str, float, float, int, str]
"""Name of a channel, its peak and r.m.s. re full scale, samples at full scale, and what the r.m.s. is in words."""

_LEAST = 1e-6


class Meters(ui.element, component="static/meters.js"):
    """One line a channel: r.m.s., peak, highest peak, and a word when full scale was reached."""

    def __init__(self) -> None:
        super().__init__()
        self.rows: list[Row] = []

    def show(self, rows: list[Row]) -> None:
        """Show other levels."""
        if rows != self.rows:
            self.rows = rows
            self.run_method("show", rows)

    def _displayed_contents(self, *, only_visible: bool) -> list[Any]:
        return [*super()._displayed_contents(only_visible=only_visible), *(name for name, *_ in self.rows)]


class StopBar(ui.element, component="static/stop.js"):
    """What plays and how far it is; its button and the Escape key stop it."""

    def __init__(self, on_stop: Callable[[], None]) -> None:
        super().__init__()
        self.shown: tuple[str, float, bool] = ("Nothing plays.", 0.0, False)
        self.on("stop", telling(on_stop))

    def follow(self, job: Job | None) -> None:
        """Show a job, or that there is none."""
        if job is None:
            shown = ("Nothing plays.", 0.0, False)
        else:
            shown = (f"{job.what}: {job.step or 'beginning'}", round(job.done, 3), True)
        if shown != self.shown:
            self.shown = shown
            self.run_method("show", *shown)

    def _displayed_contents(self, *, only_visible: bool) -> list[Any]:
        return [*super()._displayed_contents(only_visible=only_visible), self.shown[0]]


def level_rows(levels: Levels | None, setup: CaptureSetup | None, rig: RigRecord) -> list[Row]:
    """What the meters show of the latest levels."""
    if levels is None or setup is None:
        return []
    return [
        (f"{n} {role}", peak, rms, over, _in_words(role, rms, rig))
        for n, (role, peak, rms, over) in enumerate(
            zip(setup.inputs, levels.peak, levels.rms, levels.over, strict=False), 1
        )
    ]


def _in_words(role: Role, rms: float, rig: RigRecord) -> str:
    """What the r.m.s. of a channel is by the rig's scale: sound pressure level, volts or amperes."""
    if rms < _LEAST:
        return ""
    if role is Role.MICROPHONE and rig.microphone is not None:
        return f"{format_value(float(spl(rms * rig.microphone.pa_per_full_scale)), None, 'dB')} sound pressure level"
    if role in (Role.VOLTAGE, Role.SOURCE) and rig.voltage is not None:
        return format_value(rms * rig.voltage.v_per_full_scale, None, "V")
    if role is Role.CURRENT and rig.current is not None and rig.current.a_per_full_scale is not None:
        return format_value(rms * rig.current.a_per_full_scale, None, "A")
    return ""
