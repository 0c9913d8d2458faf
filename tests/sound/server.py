"""A sound server without a sound card, started for a test and ended after it."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest

HERE = Path(__file__).parent
RATE = 48_000
QUANTUM = 8192
"""Large, so that a machine with much to do misses no block; the delay of the loop is exactly this."""
LINKS = (("bench-out:output_FL", "loop:playback_FL"), ("bench-out:output_FR", "loop:playback_FR"))
START_S = 10.0

HEARS_CTRL_C = "import os, signal, sys; signal.signal(signal.SIGINT, signal.SIG_DFL); os.execvp(sys.argv[1], sys.argv[1:])"
"""What starts a program under test: a suite that runs in the background of a shell is deaf to Ctrl-C, and so would be its children."""


@dataclass
class SoundServer:
    """A running server. Programs that are to hear it are started by `popen` or `run`."""

    process: subprocess.Popen[bytes]
    folder: Path

    @property
    def env(self) -> dict[str, str]:
        return {**os.environ, "XDG_RUNTIME_DIR": str(self.folder), "PIPEWIRE_RUNTIME_DIR": str(self.folder)}

    def words(self, *words: str | Path) -> list[str]:
        start = [sys.executable, "-c", HEARS_CTRL_C]
        return [*start, "pw-jack", "-s", str(RATE), "-p", str(QUANTUM), sys.executable, *map(str, words)]

    def popen(self, *words: str | Path) -> subprocess.Popen[str]:
        return subprocess.Popen(
            self.words(*words),
            env=self.env,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            stdin=subprocess.DEVNULL,
            text=True,
        )

    def run(self, *words: str | Path, timeout_s: float = 120.0) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            self.words(*words),
            env=self.env,
            capture_output=True,
            text=True,
            stdin=subprocess.DEVNULL,
            timeout=timeout_s,
        )

    def kill(self) -> None:
        """End it as a crash would."""
        self.process.kill()
        self.process.wait()

    def link(self) -> bool:
        """Lead the filter to the sink; True once all is there and linked."""
        there = subprocess.run(
            ["pw-link", "-io"], env=self.env, capture_output=True, text=True
        ).stdout.split()
        if not {port for pair in LINKS for port in pair} <= set(there):
            return False
        done = [subprocess.run(["pw-link", *pair], env=self.env, capture_output=True) for pair in LINKS]
        return all(one.returncode == 0 for one in done)


@contextmanager
def serving() -> Iterator[SoundServer]:
    """A server, up and linked. Without one to start, the test is skipped; where dev.py found one, it fails."""
    need()
    trouble = ""
    for _ in range(3):
        folder = Path(tempfile.mkdtemp(prefix="halfroll-sound-"))
        process = subprocess.Popen(
            ["pipewire", "-c", str(HERE / "sink.conf")],
            env={**os.environ, "XDG_RUNTIME_DIR": str(folder), "PIPEWIRE_RUNTIME_DIR": str(folder)},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
        )
        server = SoundServer(process, folder)
        try:
            if _up(server):
                yield server
                return
            server.kill()
            trouble = (process.stderr.read() if process.stderr else b"").decode(errors="replace")
        finally:
            process.kill()
            process.communicate()
            shutil.rmtree(folder, ignore_errors=True)
    pytest.fail(f"The sound server did not start: {trouble[-400:]}")


def _up(server: SoundServer) -> bool:
    end = time.monotonic() + START_S
    while time.monotonic() < end and server.process.poll() is None:
        if server.link():
            return True
        time.sleep(0.1)
    return False


def need() -> None:
    """Skip with the reason where there is no sound server to start."""
    lacking = [name for name in ("pipewire", "pw-link", "pw-jack") if shutil.which(name) is None]
    try:
        import sounddevice  # noqa: F401
    except (ImportError, OSError):
        lacking.append("PortAudio")
    if lacking and os.environ.get("HALFROLL_SOUND"):
        pytest.fail(f"dev.py found a sound server, and now {', '.join(lacking)} is missing")
    if lacking:
        pytest.skip(f"needs {', '.join(lacking)} (Debian: pipewire pipewire-bin pipewire-jack libportaudio2)")
