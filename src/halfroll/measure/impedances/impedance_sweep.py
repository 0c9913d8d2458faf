"""Impedance from a recorded sweep: terminal voltage over current, no microphone needed; or from a take that has both."""

from __future__ import annotations

import math

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.frequency import in_band, log_grid
from halfroll.core.levels import DB_OF_RELATIVE, ComplexArray, FloatArray
from halfroll.core.progress import Progress, silent
from halfroll.core.verdicts import Verdict
from halfroll.measure.analysis import checks
from halfroll.measure.analysis.align import Aligned, align
from halfroll.measure.analysis.analyse import at_rate, valid_range
from halfroll.measure.analysis.deconvolve import order_spectrum, reference_spectrum
from halfroll.measure.analysis.noise import noise_in_order, noise_spectrum
from halfroll.measure.analysis.response import Response
from halfroll.measure.impedances.impedance import ImpedanceCurve
from halfroll.measure.recording import Recording, Role
from halfroll.measure.sweep import LOWEST_RATE_HZ, Sweep

ELECTRICAL = (Role.VOLTAGE, Role.CURRENT)

EDGE_S = 2.5e-3
"""Relative error in the sweep's first octave times the sweep's L = T/ln(f2/f1) (s): its start and the windows leave it. Own
choice; against filters of SciPy the error was 0.2 to 0.8 % for L from 1.2 to 0.36 s."""

INSIDE = 3e-4
"""The same above the first octave (1)."""

SILENT = 1e-9
"""Peak re full scale (-180 dB) below which no converter holds anything."""


def relative_of_db(u_db: float) -> float:
    """Relative standard uncertainty (1) of one in decibels, to first order."""
    return u_db / DB_OF_RELATIVE


def impedance_of_recording(
    recording: Recording,
    sweep: Sweep,
    *,
    scale_u: float | None = None,
    source: str = "recording",
    progress: Progress = silent,
) -> ImpedanceCurve:
    """The impedance over the part of a sweep that it covers well, on the house grid.

    Parameters
    ----------
    recording
        A voltage and a current channel, both with scales; other channels are not looked at.
    sweep
        What was played.
    scale_u
        Relative standard uncertainty of voltage over current (1); None: the two scales' together.
    source
        Where it comes from, in words.

    Returns
    -------
    ImpedanceCurve
        `u_ohm` from the noise in the silence around the sweep, taken as independent in the two channels: half of its
        power lies along the modulus; and from what the sweep's start leaves (`EDGE_S`, `INSIDE`). Clipping, gaps, clocks and swapped channels are among its verdicts.

    Raises
    ------
    InputError
        A channel or a scale is missing, or the recording cannot be this sweep.
    """
    _check(recording, sweep)
    sweep = at_rate(sweep, recording.rate_hz)
    progress(0.1, "finding the sweep")
    aligned = align(_electrical(recording), sweep)
    progress(0.7, "reading voltage and current")
    sweep = aligned.deconvolution.sweep
    grid = log_grid(*valid_range(sweep))
    spectra = {role: _spectrum(aligned, role, grid) for role in ELECTRICAL}
    with np.errstate(all="ignore"):  # a current that is next to nothing; the curve refuses what comes of it
        impedance: ComplexArray = spectra[Role.VOLTAGE] / spectra[Role.CURRENT]
    noise = _relative_noise(recording, aligned, spectra, grid)
    progress(1.0, "done")
    return ImpedanceCurve(
        frequency_hz=grid,
        impedance_ohm=impedance,
        u_ohm=None if noise is None else np.hypot(noise, _edge(sweep, grid)) * np.abs(impedance),
        scale_u=relative_of_db(recording.impedance_u_db) if scale_u is None else scale_u,
        source=source,
        verdicts=_verdicts(recording, aligned, spectra, grid, silence=noise is not None),
    )


def impedance_of_response(response: Response, *, scale_u: float, source: str = "take") -> ImpedanceCurve:
    """The impedance of a take whose voltage and current were recorded, where its sweep covers it.

    Raises
    ------
    InputError
        The take has no current, or no scales.
    """
    if response.impedance_ohm is None:
        raise InputError("The take must hold voltage and current with their scales", found="no impedance",
                         remedy="Record the current over a shunt, and enter its scale in the rig")  # fmt: skip
    inside = in_band(response.frequency_hz, response.valid_hz) & np.isfinite(response.impedance_ohm)
    return ImpedanceCurve(
        frequency_hz=response.frequency_hz[inside],
        impedance_ohm=response.impedance_ohm[inside],
        scale_u=scale_u,
        source=source,
        verdicts=response.verdicts,
    )


def _check(recording: Recording, sweep: Sweep) -> None:
    """Refuse what cannot give an impedance."""
    lacking = [checks.NAMES[role] for role in ELECTRICAL if role not in recording.roles]
    if lacking:
        raise InputError(
            "An impedance needs a voltage and a current channel", key="roles", found=", ".join(recording.roles),
            remedy="Say which channel holds the voltage at the terminals and which the current, or the voltage before and "
            "behind a known resistor (source and voltage)",
        )  # fmt: skip
    unscaled = [checks.NAMES[role] for role in ELECTRICAL if role not in recording.scales]
    if unscaled:
        raise InputError(
            "An impedance needs the scales of voltage and current", key="rig",
            found=f"no scale for {' and '.join(unscaled)}", remedy="Enter them in the rig: see its page, or halfroll rig",
        )  # fmt: skip
    if recording.rate_hz < LOWEST_RATE_HZ:
        raise InputError("The sample rate of the recording is out of range", found=f"{recording.rate_hz} Hz",
                         allowed=f"from {LOWEST_RATE_HZ} Hz")  # fmt: skip
    if not np.isfinite(recording.samples).all():
        raise InputError("Every sample must be a number", remedy="Export the recording again")
    if recording.samples.shape[1] < 0.5 * sweep.duration_s * recording.rate_hz:
        raise InputError(
            "The recording is shorter than the sweep", found=f"{recording.samples.shape[1] / recording.rate_hz:.2f} s",
            allowed=f"at least {sweep.duration_s:.2f} s",
        )  # fmt: skip
    for role in ELECTRICAL:
        samples = recording.channel(role)
        if samples is None or float(np.abs(samples).max()) < SILENT:
            raise InputError(f"The {checks.NAMES[role]} channel is silent: every sample is zero or next to it",
                             remedy="Check cable, input and channel order")  # fmt: skip


def _verdicts(
    recording: Recording,
    aligned: Aligned,
    spectra: dict[Role, ComplexArray],
    grid: FloatArray,
    *,
    silence: bool,
) -> tuple[Verdict, ...]:
    """What must be said of the recording of an impedance."""
    found: list[Verdict | None] = [*recording.verdicts, *aligned.verdicts]
    divided = Role.SOURCE in recording.roles
    if not divided:  # behind a series resistor the voltage is not flat
        found.append(checks.swapped(spectra, grid))
    for role in (
        (Role.VOLTAGE,) if divided else ELECTRICAL
    ):  # a current worked out of two voltages was looked at before
        samples = recording.channel(role)
        assert samples is not None
        sweep = aligned.deconvolution.sweep
        found += [checks.clipping(samples, role), checks.dropout(samples, role, sweep, aligned.start_s)]
    if not silence:
        found.append(checks.signal_over_noise(np.ones(1), np.full(1, np.nan), grid[:1]))
    return tuple(v for v in found if v is not None)


def _electrical(recording: Recording) -> Recording:
    """The recording without its other channels."""
    rows = [recording.roles.index(role) for role in ELECTRICAL]
    return Recording(
        samples=recording.samples[rows], rate_hz=recording.rate_hz, roles=ELECTRICAL, scales=recording.scales
    )


def _spectrum(aligned: Aligned, role: Role, grid: FloatArray) -> ComplexArray:
    """Complex peak amplitude (n_f,) of the fundamental of a channel, cleared of what sweep and fades do."""
    result = aligned.deconvolution
    reference = reference_spectrum(result, aligned.window, grid)
    return order_spectrum(result.responses[role.value], result, 1, aligned.window, grid) / reference


def _relative_noise(
    recording: Recording, aligned: Aligned, spectra: dict[Role, ComplexArray], grid: FloatArray
) -> FloatArray | None:
    """Relative standard uncertainty (n_f,) of the modulus from noise; None without silence around the sweep."""
    variance = np.zeros(len(grid))
    for role in ELECTRICAL:
        samples = recording.physical(role)
        assert samples is not None
        noise = noise_spectrum(samples, aligned.deconvolution.sweep, aligned.start_s)
        if noise is None:
            return None
        rms = noise_in_order(noise, aligned.deconvolution.sweep, 1, aligned.window, grid)
        variance += 0.5 * (rms / (np.abs(spectra[role]) / math.sqrt(2.0))) ** 2
    return np.asarray(np.sqrt(variance))


def _edge(sweep: Sweep, grid: FloatArray) -> FloatArray:
    """Relative error (n_f,) that start and windows of the sweep leave."""
    return np.where(grid < 2.0 * sweep.start_hz, EDGE_S / sweep.rate_constant_s, INSIDE)
