"""A take comes in whole, and comes out as the measure room wants it."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
import soundfile

from halfroll.core.errors import InputError
from halfroll.measure.recording import Role
from halfroll.workshop import NewAudio, RigRecord, Workshop
from tests.workshop.conftest import ROLES, SETUP, SWEEP, WHEN, new_audio, recording

TAKE = "dunlin/v1/a/t1"


def files_of(workshop: Workshop) -> set[str]:
    """All files and folders of a workshop but its lock."""
    return {
        str(p.relative_to(workshop.folder)) for p in workshop.folder.rglob("*") if p.name != ".halfroll.lock"
    }


def test_a_take_comes_back_with_the_scales_of_its_rig(workshop: Workshop) -> None:
    """Samples, roles, scales, conditions and sweep, as they were given."""
    workshop.add_take("dunlin/v1/a", "t1", SETUP, WHEN, [new_audio()])
    got = workshop.recording(TAKE)
    assert got.roles == ROLES
    assert got.rate_hz == SWEEP.rate_hz
    assert got.samples == pytest.approx(recording(), abs=1e-7)
    assert {role: (scale.per_full_scale, scale.u_db) for role, scale in got.scales.items()} == {
        Role.MICROPHONE: (4.0, 0.3),
        Role.VOLTAGE: (20.0, 0.05),
    }
    assert workshop.sweep(TAKE) == SWEEP
    conditions = workshop.conditions(TAKE)
    assert (conditions.drive_v, conditions.distance_m, conditions.drive_w) == (2.0, 1.0, 1.0)
    assert conditions.radius_m == pytest.approx(0.03192, abs=1e-5)  # 32 cm2 = pi r2
    assert workshop.take(TAKE).record.when == WHEN


def test_files_are_put_together(workshop: Workshop) -> None:
    """Two files of one take become two channels; equal names are kept apart."""
    one, two = (NewAudio.from_samples("x.wav", recording()[[i]], SWEEP.rate_hz, [ROLES[i]]) for i in range(2))
    workshop.add_take("dunlin/v1/a", "t1", SETUP, WHEN, [one, two])
    assert [audio.file for audio in workshop.take(TAKE).record.audio] == ["x.wav", "x-2.wav"]
    assert workshop.recording(TAKE).samples == pytest.approx(recording(), abs=1e-7)


def test_a_voltage_that_is_only_stated_has_the_uncertainty_of_the_rig(workshop: Workshop) -> None:
    """Without a voltage channel the rig's drive_u_db stands for what was stated."""
    workshop.create_rig("loose", RigRecord(drive_u_db=0.4))
    audio = NewAudio.from_samples("x.wav", recording()[[1]], SWEEP.rate_hz, [Role.MICROPHONE])
    workshop.add_take("dunlin/v1/a", "t1", SETUP.changed(rig="loose"), WHEN, [audio])
    scales = workshop.recording(TAKE).scales
    assert scales[Role.VOLTAGE].u_db == 0.4
    assert Role.MICROPHONE not in scales


def test_the_same_recording_is_not_taken_twice(workshop: Workshop) -> None:
    """Its content hash tells, whatever its name and unit; the message says where it is."""
    workshop.add_take("dunlin/v1/a", "t1", SETUP, WHEN, [new_audio()])
    before = files_of(workshop)
    with pytest.raises(
        InputError, match=f"again.flac: This recording is in the workshop already; found take {TAKE}"
    ):
        workshop.add_take("dunlin/v2/a", "t1", SETUP, WHEN, [new_audio(file="again.flac")])
    with pytest.raises(InputError, match="The same recording is given twice"):
        workshop.add_take("dunlin/v2/a", "t1", SETUP, WHEN, [new_audio(2), new_audio(2)])
    assert files_of(workshop) == before


@pytest.mark.parametrize("where", ["audio", "record", "rename"])
def test_a_take_that_fails_half_way_leaves_nothing(
    workshop: Workshop, monkeypatch: pytest.MonkeyPatch, where: str
) -> None:
    """Whatever step fails, there is no take and no remains of one."""
    before = files_of(workshop)

    def fail(*_: object, **__: object) -> None:
        raise OSError(5, "Input/output error")

    target = {"audio": "halfroll.workshop.files.os.fsync", "record": "halfroll.workshop.takes.render",
              "rename": "pathlib.Path.rename"}[where]  # fmt: skip
    monkeypatch.setattr(target, fail)
    with pytest.raises((InputError, OSError)):
        workshop.add_take("dunlin/v1/a", "t1", SETUP, WHEN, [new_audio()])
    monkeypatch.undo()
    assert files_of(workshop) - before <= {str(Path("drivers/dunlin/v1/units/a/takes"))}
    assert workshop.take_ids() == []


def test_remains_of_a_broken_import_are_not_listed_and_go(workshop: Workshop) -> None:
    """The machine was switched off during an import: the next one clears up."""
    remains = workshop.folder / "drivers/dunlin/v1/units/a/takes/.new-12345678"
    remains.mkdir(parents=True)
    (remains / "take.toml").write_text("format = 1\n")
    assert workshop.take_ids() == []
    workshop.add_take("dunlin/v1/a", "t1", SETUP, WHEN, [new_audio()])
    assert not remains.exists()


def test_a_take_needs_unit_rig_and_a_new_name(workshop: Workshop) -> None:
    """What a take refers to must be there, and what is there is not replaced."""
    with pytest.raises(InputError, match="There is no unit dunlin/v1/b"):
        workshop.add_take("dunlin/v1/b", "t1", SETUP, WHEN, [new_audio()])
    with pytest.raises(InputError, match="There is no rig shed"):
        workshop.add_take("dunlin/v1/a", "t1", SETUP.changed(rig="shed"), WHEN, [new_audio()])
    with pytest.raises(InputError, match="one audio file at least"):
        workshop.add_take("dunlin/v1/a", "t1", SETUP, WHEN, [])
    workshop.add_take("dunlin/v1/a", "t1", SETUP, WHEN, [new_audio()])
    with pytest.raises(InputError, match="There is a take dunlin/v1/a/t1 already"):
        workshop.add_take("dunlin/v1/a", "t1", SETUP, WHEN, [new_audio(2)])


def from_file(path: Path, samples: np.ndarray, rate_hz: int, roles: Sequence[Role]) -> NewAudio:
    """A recording from a file."""
    soundfile.write(path, samples.T, rate_hz, subtype="FLOAT")
    return NewAudio.from_file(path, roles)


def test_files_that_do_not_fit_together(workshop: Workshop, tmp_path: Path) -> None:
    """Another rate or another length cannot be a channel of the same take."""
    mic = from_file(tmp_path / "mic.wav", recording()[[1]], 24_000, [Role.MICROPHONE])
    slow = from_file(tmp_path / "slow.wav", recording()[[0]], 12_000, [Role.VOLTAGE])
    short = from_file(tmp_path / "short.wav", recording()[[0], :-100], 24_000, [Role.VOLTAGE])
    with pytest.raises(
        InputError, match=r"slow\.wav: .* same sample rate; found 12000 Hz. Allowed: 24000 Hz, as mic\.wav"
    ):
        workshop.add_take("dunlin/v1/a", "t1", SETUP, WHEN, [mic, slow])
    with pytest.raises(InputError, match=r"short\.wav: .* same length; found \d+ samples"):
        workshop.add_take("dunlin/v1/a", "t1", SETUP, WHEN, [mic, short])


def test_a_wrong_number_of_channels(tmp_path: Path) -> None:
    """Two channels, one role: which is which is never guessed."""
    soundfile.write(tmp_path / "two.wav", recording().T, 24_000)
    for roles in (None, [Role.MICROPHONE]):
        with pytest.raises(
            InputError,
            match=r"two\.wav: .*as many channels as roles.*found 2 channels, 1 role \(microphone\)",
        ):
            NewAudio.from_file(tmp_path / "two.wav", roles)


def test_audio_that_was_changed_or_lost_later(workshop: Workshop) -> None:
    """The content hash in the record notices; nothing is analysed that is not what was imported."""
    loaded = workshop.add_take("dunlin/v1/a", "t1", SETUP, WHEN, [new_audio()])
    path = loaded.path.with_name("take.flac")
    path.write_bytes(new_audio(2).data)
    with pytest.raises(InputError, match="not the one that was imported: its content hash differs"):
        workshop.recording(TAKE)
    path.unlink()
    with pytest.raises(InputError, match=r"take\.flac: The file is missing"):
        workshop.recording(TAKE)
