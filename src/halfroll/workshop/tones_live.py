"""A series of tones live: what a person asks for becomes a plan, the plan is played through a rig, and what came is kept."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from halfroll.core.conditions import Space
from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, part, silent
from halfroll.measure.recording import Role, Scale
from halfroll.measure.stepped.tones import TonePlan, ToneSettings, level_steps, tone_frequencies
from halfroll.workshop import paths
from halfroll.workshop.levels import ToneSetup, add_tones
from halfroll.workshop.live import drive_of
from halfroll.workshop.loaded import Loaded
from halfroll.workshop.records import RigRecord, VersionRecord
from halfroll.workshop.runs import free_name
from halfroll.workshop.store import Workshop
from halfroll.workshop.tones_record import TonesRecord

if TYPE_CHECKING:
    from halfroll.measure.player import Player


FARTHEST_M = 100.0


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """What a person asks for: powers into the rated impedance (W), band (Hz), limits, conditions."""

    rig: str
    low_w: float
    high_w: float
    count: int
    low_hz: float
    high_hz: float
    per_octave: int
    distance_m: float
    space: str
    v_max: float | None = None
    stop_thd: float = 30.0
    longest: float = 6.0
    temperature_c: float | None = None
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class Prepared:
    """A plan that was checked, and what belongs to it."""

    unit_id: str
    rig: RigRecord
    plan: TonePlan
    setup: ToneSetup


def prepare(workshop: Workshop, unit_id: str, wanted: Wanted) -> Prepared:
    """Check all that can be checked before a sound is made.

    Raises
    ------
    InputError
        There is no such unit or rig; the rig lacks its output scale or its latency; levels lie above a limit.
    """
    workshop.existing(unit_id, "unit")
    rig = workshop.rig(wanted.rig).record
    version = workshop.version(paths.version_of(unit_id)).record
    if rig.output is None:
        raise InputError("Tones need the rig's output scale, so that nothing plays louder than it should",
                         key="output", found=f"rig {wanted.rig} without it", remedy="Calibrate the output of the rig first")  # fmt: skip
    rate_hz = 48_000 if rig.devices is None else rig.devices.rate_hz
    if rig.latency is None or rig.latency.rate_hz != rate_hz:
        raise InputError("Tones need the delay of the sound card, so that each is found in the recording",
                         key="latency", found=f"rig {wanted.rig} without it at {rate_hz} Hz",
                         remedy="Find the delay of the rig by a loop first")  # fmt: skip
    impedance = _impedance(version)
    if not 0.0 < wanted.distance_m <= FARTHEST_M:
        raise InputError("The distance of the microphone must be above 0", key="distance_m",
                         found=f"{wanted.distance_m:g} m", allowed=f"up to {FARTHEST_M:g} m")  # fmt: skip
    if not 0.0 < wanted.stop_thd <= 100.0:
        raise InputError("The distortion from which nothing gets louder must be above 0", key="stop_thd",
                         found=f"{wanted.stop_thd:g} %", allowed="up to 100 %")  # fmt: skip
    if wanted.temperature_c is not None and not -50.0 <= wanted.temperature_c <= 80.0:
        raise InputError("The temperature of the air must be one that people bear", key="temperature_c",
                         found=f"{wanted.temperature_c:g} °C", allowed="-50 to 80 °C")  # fmt: skip
    drive = drive_of(rig, version, watts=wanted.high_w, v_max=wanted.v_max)
    plan = TonePlan(
        frequency_hz=tone_frequencies(wanted.low_hz, wanted.high_hz, wanted.per_octave),
        level_v=tuple(
            math.sqrt(w * impedance) for w in level_steps(wanted.low_w, wanted.high_w, wanted.count)
        ),
        rate_hz=rate_hz,
        v_per_full_scale=rig.output.v_per_full_scale,
        limit_v=drive.limit_v,
        settings=ToneSettings(stop_thd=wanted.stop_thd / 100.0, longest_s=wanted.longest),
    )
    setup = ToneSetup(
        rig=wanted.rig,
        distance_m=wanted.distance_m,
        space=Space(wanted.space),
        limit_v=plan.limit_v,
        temperature_c=wanted.temperature_c,
        note=wanted.note,
    )
    return Prepared(unit_id=unit_id, rig=rig, plan=plan, setup=setup)


def measure(
    workshop: Workshop, prepared: Prepared, *, name: str | None = None, progress: Progress = silent
) -> Loaded[TonesRecord]:
    """Play the plan through the rig's sound card, and keep the series whole or not at all.

    Raises
    ------
    InputError
        The sound card is not there, was lost, or nothing was recorded.
    CancelledError
        `progress` asked to stop; nothing is kept.
    """
    from halfroll.workshop.bench import open_player

    with open_player(prepared.rig, v_max=prepared.plan.limit_v) as card:
        return play_and_keep(workshop, card, card.roles, prepared, name=name, progress=progress)


def play_and_keep(
    workshop: Workshop,
    player: Player,
    roles: tuple[Role, ...],
    prepared: Prepared,
    *,
    name: str | None = None,
    progress: Progress = silent,
) -> Loaded[TonesRecord]:
    """The same through any player."""
    from halfroll.measure.stepped.tone_run import measure_tones

    when = dt.datetime.now().astimezone().replace(microsecond=0)
    rig = prepared.rig
    scales = {}
    if rig.voltage is not None:
        scales[Role.VOLTAGE] = Scale(per_full_scale=rig.voltage.v_per_full_scale, u_db=rig.voltage.u_db)
    run = measure_tones(player, prepared.plan, roles, scales, part(progress, 0.0, 0.97))
    chosen = name or free_name(workshop, prepared.unit_id, "tones", f"{when.date().isoformat()}-tones")
    progress(0.98, "keeping the series")
    return add_tones(workshop, prepared.unit_id, chosen, run, roles, prepared.setup, when)


def _impedance(version: VersionRecord) -> float:
    if version.rated_impedance_ohm is None:
        raise InputError("Levels in watts need the version's rated impedance, which is not stated",
                         key="rated_impedance_ohm", remedy="Enter it in the version's record")  # fmt: skip
    return version.rated_impedance_ohm
