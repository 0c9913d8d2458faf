"""Beyond harmonics: what a take holds besides the driver's regular answer, and what must be said of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.core.verdicts import Severity, Verdict, worst
from halfroll.measure.analysis.align import Aligned
from halfroll.measure.analysis.noise import NoiseSpectrum, noise_spectrum
from halfroll.measure.recording import Recording, Role
from halfroll.measure.residues.hum import Hum, hum_verdict, read_hum
from halfroll.measure.residues.residue import Residue, read_residue, regular_orders
from halfroll.measure.residues.rub import rub_verdicts, sounds_like_rub


@dataclass(frozen=True, kw_only=True)
class Beyond:
    """Residue above the harmonics, hum, and their verdicts."""

    residue: Residue | None
    hum: Hum
    verdicts: tuple[Verdict, ...]


def beyond_harmonics(
    recording: Recording,
    aligned: Aligned,
    noise: NoiseSpectrum | None,
    grid_hz: FloatArray,
    fundamental_pa: FloatArray,
    harmonics_pa: ComplexArray,
    noise_pa: FloatArray,
    *,
    arrival_s: float,
    known: tuple[Verdict, ...] = (),
) -> Beyond:
    """Read what is neither fundamental nor harmonic.

    Parameters
    ----------
    noise
        Of the microphone, from its silence.
    grid_hz, fundamental_pa, harmonics_pa, noise_pa
        As in `Response`: (n_f,), r.m.s. magnitude (n_f,), (9, n_f) and (10, n_f).
    arrival_s
        Time the sound took re the drive (s).
    known
        What was found already. A recording that is spoilt (clipped, samples lost) has a residue of its own making, so that
        nothing is said of rub; and a click that was named is not named a second time as a single event.
    """
    microphone = recording.physical(Role.MICROPHONE)
    assert microphone is not None
    sweep = aligned.deconvolution.sweep
    regular = regular_orders(harmonics_pa, noise_pa[1:])
    residue = read_residue(aligned, noise, grid_hz, fundamental_pa, regular, delay_s=arrival_s)
    hum = read_hum(microphone, noise, sweep, aligned.start_s, grid_hz, fundamental_pa)
    percent = 100.0 * np.abs(harmonics_pa) / np.maximum(fundamental_pa, 1e-30)
    found = [hum_verdict(hum, grid_hz, percent, calibrated=Role.MICROPHONE in recording.scales)]
    named = {"single-event"} if any(verdict.code == "click" for verdict in known) else set[str]()
    if residue is not None and worst(known) < Severity.BAD:
        drive = _drive(recording, aligned, grid_hz) if sounds_like_rub(residue) else None
        found += [verdict for verdict in rub_verdicts(residue, drive) if verdict.code not in named]
    return Beyond(residue=residue, hum=hum, verdicts=tuple(v for v in found if v is not None))


def _drive(recording: Recording, aligned: Aligned, grid_hz: FloatArray) -> Residue | None:
    """The same of the terminal voltage, where it was recorded; its fundamental is flat enough to be taken as its r.m.s."""
    voltage = recording.physical(Role.VOLTAGE)
    if voltage is None:
        return None
    sweep = aligned.deconvolution.sweep
    first = max(round(aligned.start_s * sweep.rate_hz), 0)
    tone = np.sqrt(np.mean(voltage[first : first + sweep.sweep_length] ** 2))
    noise = noise_spectrum(voltage, sweep, aligned.start_s)
    nothing = np.zeros(len(grid_hz))
    return read_residue(aligned, noise, grid_hz, np.full(len(grid_hz), tone), nothing, role=Role.VOLTAGE)
