"""An interrupt at the keyboard while processes work: it stops the command at once, and no process complains."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import textwrap
import time

import pytest

from halfroll.workshop.processes import deaf_processes

PROGRAM = """
import sys, time
from halfroll.workshop import prediction_studies as studies
from halfroll.workshop.prediction_studies import Task


def slow(*_):
    time.sleep(60)


if __name__ == "__main__":
    tasks = [Task(name=str(n), key=str(n), take=str(n), work=slow, arguments=(), seconds=1.0) for n in range(3)]
    print("ready", flush=True)
    try:
        studies._side_by_side(tasks, lambda task, result: None, lambda done, what: None)
    except KeyboardInterrupt:
        print("stopped", flush=True)
"""


def test_what_is_heard_before_and_after() -> None:
    """The handler of before stands again behind it, whatever happened."""
    before = signal.getsignal(signal.SIGINT)
    during = []

    def start() -> None:
        with deaf_processes():
            during.append(signal.getsignal(signal.SIGINT))
            raise ValueError("it could not be started")

    with pytest.raises(ValueError, match="could not be started"):
        start()
    assert during == [signal.SIG_IGN]
    assert signal.getsignal(signal.SIGINT) is before


@pytest.mark.skipif(sys.platform == "win32", reason="process groups are those of POSIX")
@pytest.mark.parametrize("after_s", [0.6, 4.0])
def test_an_interrupt_stops_at_once_and_silently(after_s: float, tmp_path) -> None:
    """As a terminal sends it: to all processes of the group, while they start and while they work."""
    program = tmp_path / "program.py"
    program.write_text(textwrap.dedent(PROGRAM))
    child = subprocess.Popen(
        [sys.executable, str(program)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
    )  # fmt: skip
    assert child.stdout is not None
    assert child.stdout.readline() == "ready\n"
    time.sleep(after_s)
    os.killpg(child.pid, signal.SIGINT)
    try:
        out, err = child.communicate(timeout=20)
    finally:
        child.kill()
    assert (out, err) == ("stopped\n", "")
    assert child.returncode == 0
