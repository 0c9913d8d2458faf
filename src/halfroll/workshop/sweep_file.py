"""A sweep to be played elsewhere: its samples as WAV or FLAC, and its parameters beside it for the import."""

from __future__ import annotations

import tomllib
from dataclasses import asdict
from pathlib import Path

from halfroll.core.errors import InputError
from halfroll.measure.sweep import Sweep
from halfroll.workshop.audio import write_audio
from halfroll.workshop.files import make_folder, write_whole
from halfroll.workshop.records import SweepRecord, SweepTable
from halfroll.workshop.toml_read import read_record
from halfroll.workshop.toml_write import render

SWEEP_FILE = "sweep.toml"


def write_sweep(path: Path, sweep: Sweep, *, with_tones: bool = False) -> list[Path]:
    """Write a sweep to a .wav or .flac file, 24 bit, and its parameters to the .toml file beside it.

    `with_tones`: those that tell a telephone's gain control and clock are put into its silences (`measure.phone.signal`).
    Returns the two paths. A file of that name is replaced.
    """
    from halfroll.measure.phone.signal import phone_samples

    beside = path.with_suffix(".toml")
    if beside.exists():
        read_record(beside, SweepRecord, "")  # whatever else has that name is not ours to replace
    make_folder(path.parent)
    write_audio(path, phone_samples(sweep) if with_tones else sweep.samples(), sweep.rate_hz)
    write_whole(beside, render(SweepRecord(**asdict(sweep)), None, str(beside)))
    return [path, beside]


def sweep_beside(folder: Path) -> SweepTable | None:
    """The sweep whose parameters lie in a folder of recordings: ``sweep.toml``, else the only file of a sweep there.

    None when there is none.
    """
    named = folder / SWEEP_FILE
    found = (
        [named] if named.exists() else [path for path in sorted(folder.glob("*.toml")) if is_sweep_file(path)]
    )
    if len(found) > 1:
        raise InputError("It is not clear which sweep was played", file=str(folder),
                         found=", ".join(path.name for path in found), remedy=f"Name the right one {SWEEP_FILE}")  # fmt: skip
    if not found:
        return None
    record = read_record(found[0], SweepRecord, "").record
    return SweepTable.of(record.sweep())


def named_sweep(path: Path) -> Sweep:
    """The sweep of a file: its parameters (.toml), or the audio file beside which they lie.

    Raises
    ------
    InputError
        There are none.
    """
    beside = path.with_suffix(".toml")
    if not beside.exists():
        raise InputError("What was played is not known: there are no parameters of a sweep", file=str(beside),
                         remedy="Name the .toml file that was written with the sweep, or leave the sweep out for the builders' sweep")  # fmt: skip
    return read_record(beside, SweepRecord, "").record.sweep()


def is_sweep_file(path: Path) -> bool:
    """Whether a .toml file is meant to hold a sweep's parameters, right or wrong: some of a sweep's keys are in it."""
    try:
        values = tomllib.loads(path.read_text("utf-8-sig"))
    except (OSError, ValueError):
        return False
    return len(values.keys() & SweepTable.model_fields.keys()) >= 2
