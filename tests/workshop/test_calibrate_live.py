"""The delay of a sound card, measured on the spot through a player that is late by a known time."""

from __future__ import annotations

from contextlib import contextmanager

import numpy as np
import pytest

from halfroll.core.errors import InputError
from halfroll.measure.recording import Role
from halfroll.workshop import RigRecord, Workshop, calibrate_live
from halfroll.workshop.calibrate import keep

RATE = 48_000


@pytest.fixture
def shop(tmp_path):
    """A rig with a sound card, a limit, and a delay that is wrong by now."""
    shop = Workshop.init(tmp_path / "shop", "Saltmarsh Workshop", durable=False)
    shop.create_rig("bench", RigRecord.model_validate({
        "output": {"v_per_full_scale": 20.0}, "limits": {"v_max": 0.2},
        "devices": {"inputs": ["microphone", "voltage"], "rate_hz": RATE}, "latency": {"samples": 1056.0, "rate_hz": RATE},
    }))  # fmt: skip
    shop.create_rig("bare", RigRecord())
    return shop


def late(monkeypatch, samples, gain=0.5):
    """A card whose voltage input hears the output so much later; returns what was played."""
    played = []

    class Card:
        def play(self, signal, progress):
            played.append(signal)
            heard = np.zeros((2, signal.size))
            heard[1, samples:] = gain * signal[: signal.size - samples]
            return heard + 1e-6 * np.random.default_rng(len(played)).standard_normal(heard.shape)

    @contextmanager
    def opened(rig):
        assert rig.latency is None  # else the card would take the old delay out
        yield Card()

    monkeypatch.setattr(calibrate_live, "open_player", opened)
    return played


def test_the_delay_of_the_card_is_found_within_the_limit(shop, monkeypatch):
    """8192 samples, to a hundredth; nothing above the limit of 0.2 V r.m.s. (0.0141 of 20 V) was played; the rig holds it."""
    played = late(monkeypatch, 8192)
    proposal = calibrate_live.measure_latency(shop, "bench")
    assert proposal.facts["samples"] == pytest.approx(8192, abs=0.01)
    assert len(played) == 3
    assert max(np.max(np.abs(signal)) for signal in played) <= 0.2 * np.sqrt(2.0) / 20.0 * (1 + 1e-9)
    keep(shop, proposal)
    assert shop.rig("bench").record.latency.samples == pytest.approx(8192, abs=0.01)


def test_what_cannot_be_measured_is_said(shop, monkeypatch):
    """No sound card, no such input, an input that hears nothing: each in words, and the rig stays as it was."""
    late(monkeypatch, 100)
    with pytest.raises(InputError, match="names no sound card"):
        calibrate_live.measure_latency(shop, "bare")
    with pytest.raises(InputError, match="No input of the rig's sound card holds the current"):
        calibrate_live.measure_latency(shop, "bench", role=Role.CURRENT)
    with pytest.raises(InputError, match="does not hold what was played"):
        calibrate_live.measure_latency(shop, "bench", role=Role.MICROPHONE)
    assert shop.rig("bench").record.latency.samples == 1056.0
