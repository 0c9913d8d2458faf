"""Bringing recordings in: one file, several that are one take, a folder; each whole or not at all."""

import datetime as dt
import os
from pathlib import Path

import pytest
import soundfile

from halfroll.core.errors import CancelledError, InputError
from halfroll.core.progress import CancelToken, silent
from halfroll.measure.recording import Role
from halfroll.measure.sweep import Sweep
from halfroll.workshop import SweepTable, TakeSetup, Workshop, import_takes, plan, write_sweep
from tests.workshop.conftest import ROLES, SETUP, SWEEP, WHEN, recording

UNIT = "dunlin/v1/a"
UNSAID = TakeSetup(**{key: value for key, value in SETUP if key != "sweep"})
"""The setup without a sweep, which then comes from the file beside the recordings."""


def write(path: Path, seed: int = 1, channel: int | None = None) -> Path:
    """Write a recording, last changed at a fixed time."""
    path.parent.mkdir(parents=True, exist_ok=True)
    samples = recording(seed)
    soundfile.write(
        path, (samples if channel is None else samples[[channel]]).T, SWEEP.rate_hz, subtype="FLOAT"
    )
    os.utime(path, (1.8e9, 1.8e9))
    return path


def test_one_file(workshop: Workshop, tmp_path: Path) -> None:
    """The take is named after when and what; the file is copied and its bytes stay."""
    source = write(tmp_path / "Erster Versuch, 1 W.wav")
    done = import_takes(workshop, UNIT, [source], SETUP, roles=ROLES, when=WHEN)
    assert done.takes == ("dunlin/v1/a/2026-03-31-1405-erster-versuch-1-w",)
    loaded = workshop.take(done.takes[0])
    assert loaded.record.audio[0].file == "erster-versuch-1-w.wav"
    assert (loaded.path.parent / "erster-versuch-1-w.wav").read_bytes() == source.read_bytes()
    assert source.exists()


def test_when_a_file_does_not_say_it_is_its_time(workshop: Workshop, tmp_path: Path) -> None:
    """The time at which the recorder closed the file."""
    done = import_takes(workshop, UNIT, [write(tmp_path / "a.wav")], SETUP, roles=ROLES)
    assert workshop.take(done.takes[0]).record.when == dt.datetime.fromtimestamp(1.8e9, dt.UTC)


def test_two_takes_of_one_minute_and_name(workshop: Workshop, tmp_path: Path) -> None:
    """The second gets a number."""
    sources = [write(tmp_path / "one" / "t.wav", 1), write(tmp_path / "two" / "t.wav", 2)]
    done = import_takes(workshop, UNIT, sources, SETUP, roles=ROLES, when=WHEN)
    assert [take.rpartition("/")[2] for take in done.takes] == ["2026-03-31-1405-t", "2026-03-31-1405-t-2"]


def test_names_tell_the_roles(workshop: Workshop, tmp_path: Path) -> None:
    """Files that differ by a role at the end are one take."""
    sources = [write(tmp_path / "t1-mic.wav", channel=1), write(tmp_path / "t1_Voltage.wav", channel=0)]
    done = import_takes(workshop, UNIT, sources, SETUP, when=WHEN)
    assert workshop.take(done.takes[0]).record.roles == (Role.MICROPHONE, Role.VOLTAGE)


def test_files_given_together(workshop: Workshop, tmp_path: Path) -> None:
    """Names of any kind, said to be one take, in the order of the roles."""
    sources = [write(tmp_path / "in1-voltage.wav", channel=0), write(tmp_path / "other.wav", channel=1)]
    done = import_takes(workshop, UNIT, sources, SETUP, roles=[Role.MICROPHONE], together=True, when=WHEN)
    assert workshop.take(done.takes[0]).record.roles == (Role.VOLTAGE, Role.MICROPHONE)


def test_a_folder(workshop: Workshop, tmp_path: Path) -> None:
    """All recordings in it and below, with the sweep beside them; the played sweep itself is not a take."""
    write(tmp_path / "day" / "a.wav", 1)
    write(tmp_path / "day" / "deep" / "b.wav", 2)
    write_sweep(tmp_path / "day" / "played.wav", SWEEP)
    write_sweep(tmp_path / "day" / "deep" / "sweep.flac", SWEEP)
    done = import_takes(workshop, UNIT, [tmp_path / "day"], UNSAID, roles=ROLES, when=WHEN)
    assert [take.rpartition("-")[2] for take in done.takes] == ["a", "b"]
    assert [workshop.sweep(take) for take in done.takes] == [SWEEP, SWEEP]


def test_a_sweep_that_is_stated_goes_before_the_file(workshop: Workshop, tmp_path: Path) -> None:
    """What a person says counts more than what lies about."""
    write_sweep(tmp_path / "sweep.wav", Sweep())
    done = import_takes(workshop, UNIT, [write(tmp_path / "a.wav")], SETUP, roles=ROLES, when=WHEN)
    assert workshop.sweep(done.takes[0]) == SWEEP


def test_a_folder_of_another_workshop(workshop: Workshop, tmp_path: Path) -> None:
    """A take's own record beside its recording is no sweep file, and its recording no played sweep."""
    other = import_takes(workshop, UNIT, [write(tmp_path / "take.wav")], SETUP, roles=ROLES, when=WHEN).takes[
        0
    ]
    folder = workshop.take(other).path.parent
    assert plan([folder])[0].sweep is None
    workshop.take(other).path.rename(folder / "take.toml.away")
    done = import_takes(workshop, "dunlin/v2/a", [folder], UNSAID, roles=ROLES, when=WHEN)
    assert len(done.takes) == 1


def test_two_sweeps_beside_a_recording_are_not_guessed_at(tmp_path: Path) -> None:
    """Which one was played must be said by its name."""
    write(tmp_path / "a.wav")
    for name in ("one.wav", "two.wav"):
        write_sweep(tmp_path / name, SWEEP)
    with pytest.raises(
        InputError, match=r"not clear which sweep was played; found one\.toml, two\.toml.*sweep\.toml"
    ):
        plan([tmp_path / "a.wav"])


def test_a_sweep_file_with_a_slip(tmp_path: Path) -> None:
    """The file beside the recordings is checked as every record."""
    write(tmp_path / "a.wav")
    (tmp_path / "sweep.toml").write_text("format = 1\nstart_hz = 20.0\nstop_hz = 8000.0\nduraton_s = 1.0\n")
    with pytest.raises(InputError, match=r"sweep\.toml:4, duraton_s: .*Correct it to duration_s"):
        plan([tmp_path / "a.wav"])


def test_one_bad_file_does_not_hold_up_the_others(workshop: Workshop, tmp_path: Path) -> None:
    """The good ones come in, and the report says what was refused."""
    write(tmp_path / "day" / "a.wav")
    (tmp_path / "day" / "b.wav").write_text("not a recording")
    done = import_takes(workshop, UNIT, [tmp_path / "day"], SETUP, roles=ROLES, when=WHEN)
    assert len(done.takes) == 1
    assert "b.wav: The file must be a WAV or FLAC recording; found text" in str(done.refused[0])


def test_importing_a_folder_again_refuses_what_is_there(workshop: Workshop, tmp_path: Path) -> None:
    """New recordings of a folder come in, known ones are named."""
    write(tmp_path / "day" / "a.wav", 1)
    import_takes(workshop, UNIT, [tmp_path / "day"], SETUP, roles=ROLES, when=WHEN)
    write(tmp_path / "day" / "b.wav", 2)
    done = import_takes(workshop, UNIT, [tmp_path / "day"], SETUP, roles=ROLES, when=WHEN)
    assert len(done.takes) == 1
    assert "in the workshop already; found take dunlin/v1/a/2026-03-31-1405-a" in str(done.refused[0])
    with pytest.raises(InputError, match="in the workshop already"):
        import_takes(workshop, UNIT, [tmp_path / "day"], SETUP, roles=ROLES, when=WHEN)


def test_nothing_to_import(workshop: Workshop, tmp_path: Path) -> None:
    """An empty folder, and a file that is not there."""
    with pytest.raises(InputError, match=r"There is no recording to import. Allowed: \.wav and \.flac"):
        import_takes(workshop, UNIT, [tmp_path], SETUP)
    with pytest.raises(InputError, match="The file is missing"):
        import_takes(workshop, UNIT, [tmp_path / "nothing.wav"], SETUP)


def test_an_import_can_be_stopped(workshop: Workshop, tmp_path: Path) -> None:
    """What came in before stays whole; the rest is not begun."""
    for seed in (1, 2, 3):
        write(tmp_path / "day" / f"{seed}.wav", seed)
    token = CancelToken()
    steps: list[str] = []

    def after_one(done: float, what: str) -> None:
        steps.append(what)
        if len(steps) == 2:
            token.cancel()
        token.wrap(silent)(done, what)

    with pytest.raises(CancelledError):
        import_takes(workshop, UNIT, [tmp_path / "day"], SETUP, roles=ROLES, when=WHEN, progress=after_one)
    assert len(workshop.take_ids()) == 1


def test_a_written_sweep_can_be_read_elsewhere(tmp_path: Path) -> None:
    """The samples are the sweep's to 24 bits; the parameters beside it are the record's."""
    wav, toml = write_sweep(tmp_path / "deep" / "sweep.wav", SWEEP)
    samples, rate = soundfile.read(wav)
    assert rate == SWEEP.rate_hz
    assert samples == pytest.approx(SWEEP.samples(), abs=1e-7)
    assert plan([wav])[0].sweep == SweepTable.of(SWEEP)
    toml.write_text("format = 1\ntitle = 'a record of something else'\n")
    with pytest.raises(InputError, match="start_hz"):
        write_sweep(wav, SWEEP)
