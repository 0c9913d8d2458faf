"""Measuring live: the level for a wanted drive, the sweep played and recorded, judged, and kept whole or not at all."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from halfroll.core.errors import InputError, RefusedError
from halfroll.core.levels import FloatArray
from halfroll.core.progress import Progress, part, silent
from halfroll.core.text import format_stated, format_value
from halfroll.core.verdicts import Severity, Verdict, worst
from halfroll.measure.recording import Role, Scale
from halfroll.measure.sweep import Sweep
from halfroll.workshop import paths
from halfroll.workshop.bench import limit_v, most_of
from halfroll.workshop.jobs import analysis_settings
from halfroll.workshop.records import AudioTable, RigRecord, SweepTable, TakeRecord, TakeSetup, VersionRecord
from halfroll.workshop.store import Workshop
from halfroll.workshop.takes import NewAudio, conditions_of, recording_of

if TYPE_CHECKING:
    from pathlib import Path

    from halfroll.measure.analysis.response import Response
    from halfroll.measure.level.ramp import FoundLevel, RampSettings
    from halfroll.measure.player import Player

Decision = Literal["keep", "again", "stop"]

CAUTIONS = (
    "Protect your ears. A sweep is far louder than music at the same setting; above 85 dB(A) wear hearing protection, and keep "
    "your ears away from the cone.",
    "Protect the driver. Stay below its rated power, begin low, and stop at the first rattle or smell.",
    "Amplifiers that run from the mains stay closed. Change wires with the power off.",
)
"""What is said before a sound is made."""


@dataclass(frozen=True, kw_only=True)
class Drive:
    """The voltage that is wanted and what must not be exceeded (V r.m.s. of a sine), and where that limit comes from."""

    target_v: float
    label: str
    limit_v: float
    limit_from: str


@dataclass(frozen=True, kw_only=True)
class Heard:
    """One sweep as recorded, and what is said about it. `response` is None when it could not be analysed."""

    samples: FloatArray
    when: dt.datetime
    setup: TakeSetup
    verdicts: tuple[Verdict, ...]
    response: Response | None

    @property
    def bad(self) -> bool:
        """Whether it would not count in the figures."""
        return worst(self.verdicts) is Severity.BAD

    def summary(self) -> str:
        """One sentence on how it went."""
        grave = [v for v in self.verdicts if v.severity >= Severity.CAUTION]
        if self.bad:
            return "Bad: it would not count in the figures."
        return "Good, with a caution." if grave else "Good."


@dataclass(frozen=True, kw_only=True)
class Kept:
    """A take that was saved, and what was heard."""

    take_id: str
    heard: Heard


def drive_of(
    rig: RigRecord,
    version: VersionRecord,
    *,
    watts: float | None = None,
    volts: float | None = None,
    v_max: float | None = None,
) -> Drive:
    """The wanted drive, by power into the rated impedance or by voltage, under every limit that is known.

    Limits are the rig's ``[limits]``, `v_max`, and the version's rated power into its rated impedance.

    Raises
    ------
    RefusedError
        More is wanted than a limit allows.
    InputError
        Both or neither are given, or power is wanted and the version has no rated impedance.
    """
    if (watts is None) == (volts is None):
        raise InputError("Either a power or a voltage must be given", found="both" if watts else "neither")
    impedance, power = version.rated_impedance_ohm, version.rated_power_w
    if watts is not None and impedance is None:
        raise InputError("A power needs the version's rated impedance, which is not stated", key="rated_impedance_ohm",
                         remedy="Enter it in the version's record, or ask for a voltage")  # fmt: skip
    if volts is None:
        assert watts is not None
        assert impedance is not None
        _check_positive("power", watts, "W")
        volts = math.sqrt(watts * impedance)
    _check_positive("voltage", volts, "V")
    limits = [(limit, "the limit that was set") for limit in [limit_v(rig, v_max)] if limit is not None]
    if impedance is not None and power is not None:
        limits.append((math.sqrt(power * impedance), f"the rated power of {format_stated(power, 'W')}"))
    limit, source = min(limits, default=(volts, "what was asked for"))
    if volts > limit * (1 + 1e-9):
        raise RefusedError(f"The wanted voltage is above {source}", found=format_value(volts, None, "V"),
                           allowed=f"up to {format_value(limit, None, 'V')} at the terminals",
                           remedy="Ask for less, or raise the limit if the driver bears it")  # fmt: skip
    label = f"{volts:.3g}v" if watts is None else f"{watts:.3g}w"
    return Drive(target_v=volts, label=label, limit_v=limit, limit_from=source)


def _check_positive(what: str, value: float, unit: str) -> None:
    if not (math.isfinite(value) and value > 0):
        raise InputError(f"The wanted {what} must be a number above 0", found=f"{value:g} {unit}")


def level_for(
    player: Player,
    rig: RigRecord,
    roles: Sequence[Role],
    drive: Drive,
    *,
    settings: RampSettings | None = None,
    progress: Progress = silent,
) -> FoundLevel:
    """Find the playback level for a drive with a rig; see `halfroll.measure.level.find_level`.

    With a series resistor the voltage before it counts: at the resonance nearly all of it stands at the terminals, far more than
    at the frequency of the search, and the limit must hold there too.
    """
    from halfroll.measure.level.find_level import find_level

    voltage = None
    divided = {Role.SOURCE, Role.VOLTAGE} <= set(roles)
    if Role.VOLTAGE in roles and rig.voltage is not None:
        gain_db = rig.current.gain_db if divided and rig.current is not None else 0.0
        full_scale_v = rig.voltage.v_per_full_scale / 10.0 ** (gain_db / 20.0)
        scale = Scale(per_full_scale=full_scale_v, u_db=rig.voltage.u_db)
        voltage = (list(roles).index(Role.SOURCE if divided else Role.VOLTAGE), scale)
    output = None
    if rig.output is not None:
        output = Scale(per_full_scale=rig.output.v_per_full_scale, u_db=rig.output.u_db)
    found = find_level(
        player,
        drive.target_v,
        limit_v=drive.limit_v,
        voltage=voltage,
        output=output,
        most=most_of(rig),
        settings=settings,
        progress=progress,
    )
    return replace(found, place="before the series resistor") if divided else found


def setup_at(setup: TakeSetup, sweep: Sweep, found: FoundLevel) -> tuple[TakeSetup, Sweep]:
    """What a take's record states at a level that was found, and the sweep to play.

    The drive is stated where it is not in the recording.
    """
    at_level = replace(sweep, level=found.level)
    stated = {} if found.measured else {"drive_v": found.voltage_v}
    return setup.changed(sweep=SweepTable.of(at_level), **stated), at_level


def hear(
    workshop: Workshop,
    player: Player,
    unit_id: str,
    roles: Sequence[Role],
    setup: TakeSetup,
    progress: Progress = silent,
) -> Heard:
    """Play the sweep of `setup` once, record and judge it. Nothing is saved.

    Raises
    ------
    InputError
        The device was lost or dropped samples.
    CancelledError
        `progress` asked to stop.
    """
    sweep = setup.sweep.sweep()
    when = dt.datetime.now().astimezone().replace(microsecond=0)
    samples = player.play(sweep.samples(), part(progress, 0.0, 0.9))
    progress(0.9, "judging the recording")
    version = workshop.version(paths.version_of(unit_id)).record
    response: Response | None = None
    try:
        folder = paths.folder_of(workshop.folder, unit_id)
        response = _analyse(folder, samples, roles, setup, when, workshop.rig(setup.rig).record, version)
        verdicts = response.verdicts
    except InputError as fault:
        verdicts = (
            Verdict(
                code="not-analysed",
                severity=Severity.BAD,
                text=f"The take could not be analysed. {fault}",
                data=dict(fault.as_dict()),
            ),
        )
    progress(1.0, "judged")
    return Heard(samples=samples, when=when, setup=setup, verdicts=verdicts, response=response)


def _analyse(
    folder: Path,
    samples: FloatArray,
    roles: Sequence[Role],
    setup: TakeSetup,
    when: dt.datetime,
    rig: RigRecord,
    version: VersionRecord,
) -> Response:
    """The response of a recording that is not saved yet, by the same recipe as that of a saved one."""
    from halfroll.measure.analysis.analyse import analyse

    audio = (AudioTable(file="take.flac", sha256="0" * 64, roles=tuple(roles)),)
    record = TakeRecord.model_validate({**dict(setup), "when": when, "audio": audio})
    sweep = setup.sweep.sweep()
    recording = recording_of(samples, sweep.rate_hz, roles, rig, when, folder)
    return analyse(recording, sweep, conditions_of(record, version), analysis_settings(record))


def keep(workshop: Workshop, unit_id: str, roles: Sequence[Role], heard: Heard, label: str) -> Kept:
    """Save what was heard as a take with a name of its own, whole or not at all."""
    audio = NewAudio.from_samples("take.flac", heard.samples, heard.setup.sweep.rate_hz, tuple(roles))
    name = take_name(workshop, unit_id, heard.when, label)
    return Kept(
        take_id=workshop.add_take(unit_id, name, heard.setup, heard.when, [audio]).id,
        heard=heard,
    )


def take_name(workshop: Workshop, unit_id: str, when: dt.datetime, label: str) -> str:
    """Date, drive and the next free number: ``2026-04-10-1w-3``."""
    stem = paths.slug(f"{when:%Y-%m-%d}-{label}")
    taken = {take_id.rpartition("/")[2] for take_id in workshop.take_ids(unit_id)}
    return next(name for n in range(1, len(taken) + 2) if (name := f"{stem}-{n}") not in taken)


def measure(
    workshop: Workshop,
    player: Player,
    unit_id: str,
    roles: Sequence[Role],
    setup: TakeSetup,
    label: str,
    *,
    repeats: int = 1,
    decide: Callable[[Heard], Decision] = lambda heard: "stop" if heard.bad else "keep",
    told: Callable[[Kept], None] = lambda kept: None,
    progress: Progress = silent,
) -> list[Kept]:
    """Play the sweep of `setup` as often as wanted; each repeat is judged, then kept as a take of its own.

    Parameters
    ----------
    decide
        Told every recording before it is saved; says whether to keep it, to throw it away and record again, or to throw it
        away and stop.
    told
        Told every take that was saved.

    Raises
    ------
    InputError, CancelledError
        As `hear`. The repeats saved before that stay; the one being recorded is not saved.
    """
    if not 1 <= repeats <= 100:
        raise InputError("The number of repeats must be 1 to 100", found=str(repeats))
    made: list[Kept] = []
    while len(made) < repeats:
        number = len(made)
        share = _named(
            part(progress, number / repeats, (number + 1) / repeats), f"take {number + 1} of {repeats}"
        )
        share(0.0, "beginning")
        heard = hear(workshop, player, unit_id, roles, setup, share)
        decision = decide(heard)
        if decision == "stop":
            break
        if decision == "keep":
            made.append(keep(workshop, unit_id, roles, heard, label))
            told(made[-1])
    return made


def _named(progress: Progress, name: str) -> Progress:
    """The same with a name before what is being done."""

    def report(done: float, what: str) -> None:
        progress(done, f"{name}, {what}")

    return report


def say_found(found: FoundLevel) -> str:
    """The level that was found, in a sentence."""
    how = "read" if found.measured else "by the output scale"
    u_v = found.voltage_v * (10 ** (found.u_db / 20) - 1)
    return (
        f"{format_value(found.voltage_v, u_v or None, 'V')} {found.place} ({how}, tone of "
        f"{format_value(found.frequency_hz, None, 'Hz')}) at {format_value(20 * math.log10(found.level), None, 'dB')} re full scale, "
        f"after {len(found.steps)} tone bursts."
    )
