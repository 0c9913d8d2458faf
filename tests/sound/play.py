"""Plays through the sound card in a process that hears the test's server. What to do is a JSON object; so is the answer."""

import json
import os
import signal as signals
import sys
import threading
import time
from pathlib import Path

import numpy as np

from halfroll.core.errors import HalfrollError
from halfroll.core.progress import CancelToken
from halfroll.measure.capture import CaptureSetup, devices, open_player
from halfroll.measure.recording import Role


def play(wanted: dict) -> dict:
    """Play a file of samples as often as wanted, and keep what came in beside it."""
    setup = CaptureSetup(**{**wanted["setup"], "inputs": tuple(Role(r) for r in wanted["setup"]["inputs"])})
    signal = np.load(wanted["signal"])
    token, began = CancelToken(), time.monotonic()

    def report(done: float, what: str) -> None:
        print(f"{done:.3f}", flush=True)  # noqa: T201
        if wanted.get("stop_at") is not None and done >= wanted["stop_at"]:
            token.cancel()

    with open_player(setup) as card:
        if (
            "stall_s" in wanted
        ):  # the process that talks to the sound system gets no time, as on a busy machine
            child = card._process.pid
            threading.Timer(1.5, os.kill, (child, signals.SIGSTOP)).start()
            threading.Timer(1.5 + wanted["stall_s"], os.kill, (child, signals.SIGCONT)).start()
        for number in range(wanted.get("times", 1)):
            recorded = card.play(signal, token.wrap(report))
            np.save(Path(wanted["signal"]).with_name(f"heard-{number}.npy"), recorded)
        levels = card.listen()
    return {"names": card.names, "peak": levels.peak, "took_s": time.monotonic() - began}


if __name__ == "__main__":
    wanted = json.loads(sys.argv[1])
    try:
        answer = play(wanted) if "signal" in wanted else {"devices": [vars(device) for device in devices()]}
    except HalfrollError as fault:
        answer = {"fault": type(fault).__name__, "text": str(fault)}
    print(json.dumps(answer))  # noqa: T201
