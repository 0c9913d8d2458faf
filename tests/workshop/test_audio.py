"""Audio files: what goes in comes out; every file that cannot be a take is refused in words."""

import hashlib
from pathlib import Path

import numpy as np
import pytest
import soundfile

from halfroll.core.errors import InputError
from halfroll.workshop.audio import encode_audio, read_audio, read_head, write_audio

RATE = 8000
TONE = 0.5 * np.sin(np.arange(2 * RATE) * 0.1).reshape(2, RATE)


@pytest.mark.parametrize("name", ["take.wav", "take.flac"])
def test_samples_come_back_to_24_bits(tmp_path: Path, name: str) -> None:
    """Rounding to 24 bits is at most half a step of 2^-23."""
    sha256 = write_audio(tmp_path / name, TONE, RATE)
    audio = read_audio(tmp_path / name)
    assert audio.rate_hz == RATE
    assert np.abs(audio.samples - TONE).max() <= 2.0**-24 * (1 + 1e-9)
    assert audio.sha256 == sha256 == hashlib.sha256((tmp_path / name).read_bytes()).hexdigest()


@pytest.mark.parametrize("suffix", [".wav", ".flac"])
def test_equal_samples_give_equal_bytes(suffix: str) -> None:
    """A hash stands for the recording, so nothing such as a time may go into the file."""
    assert encode_audio(TONE, RATE, suffix) == encode_audio(TONE, RATE, suffix)


def test_whole_number_formats_clip(tmp_path: Path) -> None:
    """Beyond full scale a converter clips; it does not wrap round."""
    write_audio(tmp_path / "a.flac", np.array([[-2.0, 2.0, 0.0]]), RATE)
    assert read_audio(tmp_path / "a.flac").samples == pytest.approx(np.array([[-1.0, 1.0, 0.0]]), abs=2e-7)


def text(path: Path) -> None:
    """A letter by the name of a recording."""
    path.write_text("Dear reader,\nthis is not a recording.\n")


def empty(path: Path) -> None:
    """A file of no bytes."""
    path.touch()


def not_numbers(path: Path) -> None:
    """A NaN half a second into the second channel."""
    samples = TONE.T.copy()
    samples[4000, 1] = np.nan
    soundfile.write(path, samples, RATE, subtype="FLOAT")


def infinite(path: Path) -> None:
    """An infinite sample."""
    soundfile.write(path, np.array([0.0, np.inf]), RATE, subtype="FLOAT")


def three_hertz(path: Path) -> None:
    """A head that says 3 Hz."""
    soundfile.write(path, TONE.T, 3)


def no_samples(path: Path) -> None:
    """A head and nothing else."""
    soundfile.write(path, np.zeros((0, 1)), RATE)


def too_long(path: Path) -> None:
    """Ten minutes and a second."""
    soundfile.write(path, np.zeros(601 * RATE, dtype=np.int16), RATE)


def too_many_channels(path: Path) -> None:
    """Nine channels."""
    soundfile.write(path, np.zeros((100, 9)), RATE)


def cut_short(path: Path) -> None:
    """A copy that broke off."""
    soundfile.write(path, TONE.T, RATE)
    path.write_bytes(path.read_bytes()[:10_000])


def only_a_head(path: Path) -> None:
    """A copy that broke off in the head."""
    soundfile.write(path, TONE.T, RATE)
    path.write_bytes(path.read_bytes()[:20])


def another_format(path: Path) -> None:
    """A recording of another format."""
    soundfile.write(path, TONE.T, RATE, format="AIFF")


def bytes_of_chance(path: Path) -> None:
    """No text and no recording."""
    path.write_bytes(bytes(range(128, 256)) * 10)


def a_folder(path: Path) -> None:
    """A folder by the name of a recording."""
    path.mkdir()


def missing(path: Path) -> None:
    """Nothing."""


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (text, "must be a WAV or FLAC recording; found text. Export the recording as WAV or FLAC."),
        (empty, "The audio file is empty"),
        (not_numbers, "channel 2 at 0.500 s is not one; found nan (1 such samples)"),
        (infinite, "channel 1 at 0.000 s is not one; found inf"),
        (
            three_hertz,
            "sample rate of the recording is out of range; found 3 Hz. Allowed: 8000 to 768000 Hz.",
        ),
        (no_samples, "holds no samples"),
        (too_long, "too long; found 601 s. Allowed: up to 600 s."),
        (too_many_channels, "too many channels; found 9. Allowed: 1 to 8."),
        (cut_short, "cut short; found 10000 bytes. Allowed: 32044 bytes, as its header says."),
        (only_a_head, "must be a WAV or FLAC recording; found a damaged recording"),
        (another_format, "must be a WAV or FLAC recording; found AIFF"),
        (bytes_of_chance, "must be a WAV or FLAC recording; found bytes starting 80 81"),
        (a_folder, "A file is wanted here; this is a folder"),
        (missing, "The file is missing. Check the name, or bring the file back."),
    ],
)
def test_files_that_are_no_take(tmp_path: Path, make: object, said: str) -> None:
    """Each wrong file has its message, which names it."""
    path = tmp_path / "take.wav"
    assert callable(make)
    make(path)
    with pytest.raises(InputError) as fault:
        read_audio(path)
    assert said in str(fault.value)
    assert str(fault.value).startswith(str(path))


def test_a_flac_that_breaks_off_is_damaged(tmp_path: Path) -> None:
    """The head of the file is whole, its frames are not."""
    path = tmp_path / "take.flac"
    write_audio(path, np.random.default_rng(1).uniform(-1, 1, (1, RATE)), RATE)
    path.write_bytes(path.read_bytes()[:5000])
    assert read_head(path).frames == RATE
    with pytest.raises(InputError, match="The audio file is damaged"):
        read_audio(path)
