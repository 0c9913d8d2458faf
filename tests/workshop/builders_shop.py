"""A workshop with one version known by entered parameters, and recordings of units of it by a telephone."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from scipy import signal

from halfroll.driver.telephone import Telephone, heard
from halfroll.measure.phone.signal import PHONE_SWEEP, phone_samples
from halfroll.workshop import DriverRecord, UnitRecord, VersionRecord, Workshop
from halfroll.workshop.audio import write_audio
from halfroll.workshop.parameters_record import ParametersTable

VERSION = "knot/v1"
FS_HZ, Q = 80.0, 0.8
PHONE = Telephone(rate_hz=44_100, clock=6e-5, room_db=-40.0)


def builders_shop(folder: Path) -> Workshop:
    """Knot v1 with parameters as from a sheet, and one unit."""
    shop = Workshop.init(folder, "Saltmarsh Workshop", durable=False)
    shop.create_driver("knot", DriverRecord(title="Knot"))
    shop.create_version("knot", "v1", VersionRecord(
        rated_impedance_ohm=8.0, rated_power_w=10.0, effective_area_cm2=54.0,
        parameters=ParametersTable(source="sheet", re_ohm=6.4, bl_n_per_a=4.4, mms_g=6.0, fs_hz=FS_HZ, qms=4.0, le_mh=0.3, travel_mm=3.0),
    ))  # fmt: skip
    shop.create_unit(VERSION, "01", UnitRecord(built_by="Saltmarsh Workshop", re_ohm=6.42, moving_mass_g=5.5))
    return shop


def pressure(fs_hz: float = FS_HZ, q: float = Q) -> np.ndarray:
    """What a second-order driver of a resonance and a Q makes of the builders' sweep, by SciPy."""
    w = 2 * np.pi * fs_hz
    b, a = signal.bilinear([1, 0, 0], [1, w / q, w * w], PHONE_SWEEP.rate_hz)
    return signal.lfilter(b, a, phone_samples())


def recorded(path: Path, fs_hz: float = FS_HZ, q: float = Q, phone: Telephone = PHONE, seed: int = 1) -> Path:
    """A telephone's file of it, as WAV, FLAC, or whatever its name says and the codecs at hand can write."""
    samples = heard(pressure(fs_hz, q), PHONE_SWEEP.rate_hz, phone, np.random.default_rng(seed))
    if path.suffix in (".wav", ".flac"):
        write_audio(path, samples, phone.rate_hz, samples_as="PCM_16", durable=False)
    else:
        compress(path, samples, phone.rate_hz)
    return path


def compress(path: Path, samples: np.ndarray, rate_hz: int) -> None:
    """A compressed file, as telephones write them."""
    import av

    codec = {".m4a": "aac", ".mp3": "libmp3lame", ".ogg": "libvorbis"}[path.suffix]
    with av.open(str(path), "w") as container:
        stream = container.add_stream(codec, rate=rate_hz, layout="mono")
        stream.bit_rate = 128_000
        frame = av.AudioFrame.from_ndarray(samples.astype(np.float32)[None], format="fltp", layout="mono")
        frame.sample_rate = rate_hz
        for packet in [*stream.encode(frame), *stream.encode(None)]:
            container.mux(packet)
