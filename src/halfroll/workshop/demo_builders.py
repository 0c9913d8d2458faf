"""The demonstration's builders: three people, as invented as the rest, who built an Avocet v8 and wrote in."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np

from halfroll.driver.demo.scenario import DRIVERS, SEED
from halfroll.driver.telephone import Telephone, heard
from halfroll.measure.phone.signal import PHONE_SWEEP, phone_samples
from halfroll.workshop.audio import encode_audio
from halfroll.workshop.builders import NewRecording, add_check, checked_record
from halfroll.workshop.phone_audio import PhoneAudio
from halfroll.workshop.store import Workshop

if TYPE_CHECKING:
    from halfroll.core.levels import FloatArray
    from halfroll.driver.lumped import DriverModel

VERSION = "avocet/v8"
UNEVEN, HARDER = 0.3, 2.0
"""By how much a glued spider's stiffness has grown at the end of its travel, to one side more than to the other, and to both."""
DISTANCE_M = 0.03
PLAYED_V = 1.0
RATE_HZ = 32_000


@dataclass(frozen=True, kw_only=True)
class _Builder:
    """Somebody, what they wrote, what they read, and what it was."""

    name: str
    date: dt.date
    complaint: str
    readings: dict[str, float]
    status: str
    found: str | None = None
    answer: str = ""
    phone: Telephone | None = None
    glue: float = 1.0
    reference: bool = False


BUILDERS = (
    _Builder(
        name="sedge", date=dt.date(2026, 7, 4), complaint="Is mine all right? It is my first.", status="answered", found="none",
        readings={"re_ohm": 6.6, "fs_hz": 91.0, "moving_mass_g": 7.0, "polarity": 1.0, "rub": 0.0},
        answer="It is. Put it into its box.", phone=Telephone(rate_hz=RATE_HZ, clock=35e-6, highpass_hz=30.0, peak=0.4),
    ),
    _Builder(
        name="marram", date=dt.date(2026, 7, 11), complaint="Mine sounds thin, as if the bass were missing.", status="mended",
        found="glued-spider", readings={"re_ohm": 6.7, "polarity": 1.0, "rub": 0.0}, glue=1.7, reference=True,
        answer="Compare the arms of the spider with the drawing: there is glue between two of them.",
        phone=Telephone(rate_hz=RATE_HZ, clock=-90e-6, highpass_hz=95.0, highpass_order=2, peak=0.5, noise_rms=2e-4),
    ),
    _Builder(
        name="samphire", date=dt.date(2026, 7, 18), complaint="Quiet, and it rattles a little when I turn it up.", status="open",
        readings={"re_ohm": 5.6, "fs_hz": 70.0, "moving_mass_g": 7.0, "polarity": -1.0, "rub": 1.0},
    ),
)  # fmt: skip


def add_builders(workshop: Workshop, seed: int = SEED) -> None:
    """Add the three checks, where the version is in the demonstration."""
    if VERSION not in workshop.version_ids():
        return
    for number, builder in enumerate(BUILDERS):
        record = checked_record(workshop, _record(builder))
        add_check(workshop, builder.name, record, _recordings(builder, (seed, 80, number)))


def _record(builder: _Builder) -> dict[str, Any]:
    """The record of a builder's check as plain values."""
    return {
        "date": builder.date, "version": VERSION, "builder": builder.name, "complaint": builder.complaint, "mounting": "baffle",
        "drive_v": PLAYED_V, "status": builder.status, "answer": builder.answer,
        "readings": [{"what": key, "value": value} for key, value in builder.readings.items()],
    } | ({} if builder.found is None else {"found_fault": builder.found})  # fmt: skip


def _recordings(builder: _Builder, seed: tuple[int, ...]) -> dict[str, NewRecording]:
    """What the builder's telephone made of the unit, and of a good one where there was one."""
    if builder.phone is None:
        return {}
    found = {"recording": _recording(builder.phone, builder.glue, (*seed, 1))}
    if builder.reference:
        found["reference"] = _recording(replace(builder.phone, peak=0.6), 1.0, (*seed, 2))
    return found


def _recording(phone: Telephone, glue: float, seed: tuple[int, ...]) -> NewRecording:
    samples = heard(_pressure(glue), PHONE_SWEEP.rate_hz, phone, np.random.default_rng(seed))
    data = encode_audio(samples, phone.rate_hz, ".flac", "PCM_16")
    audio = PhoneAudio(samples=samples[None], rate_hz=phone.rate_hz, data=data, file="telephone.flac")
    return NewRecording(audio=audio, sweep=PHONE_SWEEP, distance_cm=100.0 * DISTANCE_M)


@lru_cache(maxsize=2)
def _pressure(glue: float) -> FloatArray:
    """The sweep played by a unit whose suspension is so many times as stiff, as heard in front of its cone (Pa)."""
    from halfroll.driver.large_signal import play
    from halfroll.driver.microphone import Position, sound_pressure

    version = DRIVERS[0].versions[-1]
    model = _built(version.model, glue)
    source = phone_samples() * (PLAYED_V * np.sqrt(2.0) / PHONE_SWEEP.level)
    motion = play(model, source, PHONE_SWEEP.rate_hz, oversampling=2)
    return sound_pressure(motion, model.radius, Position(distance_m=DISTANCE_M), version.modes)


def _built(model: DriverModel, glue: float) -> DriverModel:
    """A builder's unit: glue in the suspension shortens what bends, so it is stiffer, harder further out and uneven."""
    built = model.with_scaled(K=glue)
    if glue == 1.0:
        return built
    half = 0.5 * (model.x_range[1] - model.x_range[0])
    slope, bend = (built.K[0] * share / half**power for power, share in ((1, UNEVEN), (2, HARDER)))
    return replace(built, K=(built.K[0], built.K[1] + slope, built.K[2] + bend, *built.K[3:]))
