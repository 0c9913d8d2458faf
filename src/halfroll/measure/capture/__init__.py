"""The sound card: what there is, and playing and recording at once. The one place that touches one.

PortAudio runs in a process of its own. When a sound server dies, PortAudio may never return from the call it is in (seen
with JACK clients); then that process is ended and the person is told, instead of a window that answers no more.
"""

from __future__ import annotations

from halfroll.measure.capture.card import SoundCard, open_player
from halfroll.measure.capture.listing import Device, choose_device, devices
from halfroll.measure.capture.types import MOST_INPUTS, CaptureSetup, Levels

__all__ = [
    "MOST_INPUTS",
    "CaptureSetup",
    "Device",
    "Levels",
    "SoundCard",
    "choose_device",
    "devices",
    "open_player",
]
