"""A small workshop made through the command line itself, from recordings a SciPy filter made."""

import json
import shutil

import numpy as np
import pytest
import soundfile

from halfroll.cli.main import run
from tests.measure.bench import SWEEP, noise, passed
from tests.once import made_once

ROLES = "microphone,voltage"


def write_take(path, gain=1.0, seed=1, spoil=None):
    """Two-channel recording of the bench: microphone and voltage, 24 bit."""
    signal = SWEEP.samples()
    microphone = gain * passed(signal + 0.02 * signal**2) + noise(2e-5, len(signal), seed)
    if spoil is not None:
        microphone = spoil(microphone)
    soundfile.write(path, np.array([microphone, signal]).T, SWEEP.rate_hz, subtype="PCM_24")
    return path


@pytest.fixture
def say(capsys):
    """Runs one command line; returns exit code, stdout, stderr."""

    def command(*arguments):
        code = run([str(a) for a in arguments])
        captured = capsys.readouterr()
        return code, captured.out, captured.err

    return command


@pytest.fixture
def ask(say):
    """Runs a command with --json that must succeed and returns its object."""

    def command(*arguments):
        code, out, err = say(*arguments, "--json")
        assert code == 0, err
        return json.loads(out)

    return command


def take_id(workshop, end):
    """Id of the take whose name ends so; imported takes carry their date in front."""
    found = [p.parent for p in (workshop / "drivers").rglob("take.toml") if p.parent.name.endswith(end)]
    assert len(found) == 1, found
    take, unit, version = found[0], found[0].parents[1], found[0].parents[3]
    return f"{version.parent.name}/{version.name}/{unit.name}/{take.name}"


@pytest.fixture
def workshop(small_workshop, tmp_path):
    """A copy of the small workshop to be changed or damaged."""
    return shutil.copytree(small_workshop, tmp_path / "copy")


@pytest.fixture(scope="session")
def small_workshop(shared, tmp_path_factory):
    """Two versions, two units each, two takes each; version v2 is 3 dB louder. Made once for all workers, each has its copy."""
    made = made_once(shared, "hide", make_hide)
    return shutil.copytree(made / "hide", tmp_path_factory.mktemp("small") / "hide")


def make_hide(home):
    """Make that workshop, and beside it what it was made from."""
    folder = home / "hide"
    for words in (
        ["init", folder, "--name", "Hide"],
        ["--workshop", folder, "add", "rig", "bench", "--mic-pa", "2", "--mic-u", "0.3", "--volts", "6", "--volts-u", "0.1"],
        ["--workshop", folder, "add", "driver", "dunlin", "--title", "Dunlin"],
        ["--workshop", folder, "add", "version", "dunlin/v1", "--impedance", "4", "--power", "3"],
        ["--workshop", folder, "add", "version", "dunlin/v2", "--parent", "v1", "--impedance", "4", "--power", "3",
         "--change", "stronger magnet"],
    ):  # fmt: skip
        assert run([str(w) for w in words]) == 0
    rng, seeds = np.random.default_rng(3), iter(range(100))
    assert (
        run(["sweep", str(home / "sweep.wav"), "--duration", "3", "--before", "0.4", "--after", "0.6"]) == 0
    )
    for version, gain in (("v1", 0.5), ("v2", 0.5 * 10 ** (3 / 20))):
        for unit in ("01", "02"):
            assert run(["--workshop", str(folder), "add", "unit", f"dunlin/{version}/{unit}"]) == 0
            session = home / f"{version}-{unit}"
            session.mkdir()
            (session / "sweep.toml").write_bytes((home / "sweep.toml").read_bytes())
            for take in "ab":
                spread = 10 ** (rng.normal(0, 0.1) / 20)
                write_take(session / f"{version}-{unit}-{take}.wav", gain * spread, seed=next(seeds))
            words = [
                "import",
                session,
                "--unit",
                f"dunlin/{version}/{unit}",
                "--rig",
                "bench",
                "--roles",
                ROLES,
            ]
            words += ["--distance", "0.343", "--space", "half-space", "--gate", "none"]
            assert run(["--workshop", str(folder), *(str(w) for w in words)]) == 0
