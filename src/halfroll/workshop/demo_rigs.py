"""What the rigs of the demonstration state beyond their scales: how and when they were calibrated, and what came before.

The values that takes use are those of the scenario and stay as they are. All of it is invented.
"""

from __future__ import annotations

import datetime as dt

import numpy as np

from halfroll.core.levels import P_REF_PA, FloatArray
from halfroll.measure.rig.correction import Correction
from halfroll.workshop.audio import encode_audio
from halfroll.workshop.calibrate import file_name
from halfroll.workshop.correction_file import correction_text
from halfroll.workshop.files import digest, write_whole
from halfroll.workshop.rig_record import EarlierTable, LatencyTable, MicrophoneTable, OutputTable, RigRecord
from halfroll.workshop.store import Workshop

RATE_HZ = 48_000
CALIBRATOR_S = 6.0
CALIBRATOR_DB = 94.0

OUTPUT_V = 16.0
"""Terminal volts of digital full scale at the marked setting of the demonstration's amplifier."""

METER = "multimeter, 0.8 % and 3 digits, 100 Hz"


def dress_rigs(workshop: Workshop, seed: int) -> None:
    """Give the rigs their methods, an earlier calibration, the recording of a calibrator, and a correction curve."""
    _first(workshop)
    _second(workshop, seed)
    _spare(workshop)


def _first(workshop: Workshop) -> None:
    loaded = workshop.rig("first")
    record = loaded.record
    assert record.microphone is not None
    assert record.voltage is not None
    workshop.save(loaded, record.changed(
        microphone=record.microphone.changed(method="data sheet, half a decibel taken as standard uncertainty"),
        voltage=record.voltage.changed(method=METER, at_hz=100.0),
    ))  # fmt: skip


def _second(workshop: Workshop, seed: int) -> None:
    """Calibrated in March with a calibrator; in January the same microphone was only known by its data sheet."""
    loaded = workshop.rig("second")
    record = loaded.record
    assert record.date is not None
    assert record.microphone is not None
    assert record.voltage is not None
    assert record.current is not None
    data = encode_audio(calibrator_tone(record.microphone.pa_per_full_scale, seed), RATE_HZ, ".flac")
    name = file_name("second", "calibrator", data, ".flac")
    write_whole(loaded.path.with_name(name), data, durable=False)
    january = MicrophoneTable(
        pa_per_full_scale=4.2,
        u_db=0.5,
        date=dt.date(2026, 1, 10),
        method="data sheet of microphone and interface",
    )
    workshop.save(loaded, record.changed(
        microphone=record.microphone.changed(
            date=record.date, method="sound calibrator, 94 dB, 1000 Hz, by its certificate", calibrator_db=CALIBRATOR_DB,
            calibrator_hz=1000.0, recording=name,
        ),
        output=OutputTable(v_per_full_scale=OUTPUT_V, u_db=0.09, date=record.date, method=METER, at_hz=100.0),
        voltage=record.voltage.changed(date=record.date, method=METER, at_hz=100.0),
        current=record.current.changed(
            date=record.date, method="shunt", resistance_ohm=0.1, resistance_u_ohm=0.0006, gain_db=0.0,
        ),
        latency=LatencyTable(samples=2112.4, rate_hz=RATE_HZ, u_samples=0.02, date=record.date),
        history=(EarlierTable(replaced=record.date, note="First time with a calibrator.", microphone=january),),
    ))  # fmt: skip


def _spare(workshop: Workshop) -> None:
    """Out of date, and with a correction curve that does not reach over the whole range."""
    loaded = workshop.rig("spare-microphone")
    record: RigRecord = loaded.record
    assert record.microphone is not None
    f = np.geomspace(40.0, 16_000.0, 60)
    level = -1.2 / (1 + (f / 70.0) ** 2) + 2.4 / (1 + ((f - 9500.0) / 4200.0) ** 2)
    data = correction_text(Correction(frequency_hz=f, level_db=level - np.interp(1000.0, f, level))).encode()
    name = file_name("spare-microphone", "correction", data, ".csv")
    write_whole(loaded.path.with_name(name), data, durable=False)
    workshop.save(loaded, record.changed(microphone=record.microphone.changed(
        method="sound calibrator, borrowed", calibrator_db=CALIBRATOR_DB, calibrator_hz=1000.0, correction=name,
        correction_sha256=digest(data), correction_u_db=0.3,
    )))  # fmt: skip


def calibrator_tone(pa_per_full_scale: float, seed: int) -> FloatArray:
    """Six seconds of a 94 dB calibrator re full scale, (1, n): a tone with a little of its second harmonic and noise."""
    rng = np.random.default_rng((seed, 94))
    time = np.arange(round(CALIBRATOR_S * RATE_HZ)) / RATE_HZ
    peak = np.sqrt(2.0) * P_REF_PA * 10 ** (CALIBRATOR_DB / 20) / pa_per_full_scale
    turn = 2 * np.pi * 1000.6 * time
    wave = np.sin(turn) + 0.004 * np.sin(2 * turn + 0.7)
    return np.asarray((peak * wave + 2e-5 * rng.standard_normal(time.size))[None, :])
