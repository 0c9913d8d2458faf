"""Adds noise to the sink of the test's server, as a room and a preamplifier would: so no two recordings are the same."""

import sys
import time

import numpy as np
import sounddevice

if __name__ == "__main__":
    random = np.random.default_rng(int(sys.argv[1]))

    def callback(outgoing, frames, when, status):
        """Fill a block."""
        outgoing[:] = 1e-5 * random.standard_normal(outgoing.shape)

    stream = sounddevice.OutputStream(samplerate=48_000, device="loop", channels=2, callback=callback)
    with stream:
        print("noise", flush=True)  # noqa: T201
        while stream.active:
            time.sleep(0.1)
