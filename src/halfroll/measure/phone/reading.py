"""A telephone's recording of a known sweep as a few numbers with honest uncertainties.

Read are the levels of wide bands re the middle of the range, an upper view of bass distortion, what is left above the harmonics (rub,
buzz), and where the hump of the bass stands. Absolute level is not read: nobody knows a telephone's sensitivity.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

import numpy as np

from halfroll.core.conditions import Conditions, Space
from halfroll.core.errors import InputError
from halfroll.core.levels import DB_OF_RELATIVE, FloatArray, db
from halfroll.core.progress import Progress, part, silent
from halfroll.core.verdicts import Severity, Verdict, worst
from halfroll.measure.analysis.analyse import AnalysisSettings, analyse, at_rate
from halfroll.measure.analysis.locate import check_ridge, find_ridge
from halfroll.measure.analysis.response import Response
from halfroll.measure.phone import verdicts as said
from halfroll.measure.phone.bands import BANDS_HZ, MIDDLE_HZ, RESPONSE_U_DB, PhoneBand, band_mean, cut_u_db
from halfroll.measure.phone.features import Told, bass_residue, bass_thd, resonance_by_hump
from halfroll.measure.phone.markers import GainAndClock, gain_and_clock, hear
from halfroll.measure.phone.placing import Placing, room_u_db, to_half_space_db
from halfroll.measure.phone.signal import QUIET_AFTER_S, QUIET_BEFORE_S
from halfroll.measure.recording import Recording, Role
from halfroll.measure.sweep import Sweep

LONGEST_S = 120.0
"""Longest recording that is read (s)."""

UNTOLD_GAIN_U_DB = 1.0
"""What a gain control that could not be told may do to a band (own choice)."""

REFERENCE_U_DB = 0.5
"""What laying the telephone down twice changes in a band, where two recordings are compared (own choice)."""


@dataclass(frozen=True, kw_only=True, eq=False)
class PhoneReading:
    """What a telephone's recording tells.

    Parameters
    ----------
    frequency_hz, level_db, u_db
        The response as on axis in half space, re its middle (dB), and its standard uncertainty; each (n_f,).
    bands
        Those of `BANDS_HZ` that could be read.
    thd, residue, resonance
        Bass distortion (ratio), worst of what is left above the harmonics (dB re the fundamental), resonance by the bass's hump (Hz); None
        where not read.
    signal_over_noise_db
        Lowest over the bands that were read.
    gain_and_clock
        What the tones around the sweep told.
    against
        Whether it is re a recording of a good unit by the same telephone: levels are then differences, the telephone is not in them.
    verdicts
        What must be said.
    """

    frequency_hz: FloatArray
    level_db: FloatArray
    u_db: FloatArray
    bands: tuple[PhoneBand, ...]
    thd: Told | None
    residue: Told | None
    resonance: Told | None
    signal_over_noise_db: float
    gain_and_clock: GainAndClock
    placing: Placing
    against: bool = False
    verdicts: tuple[Verdict, ...] = field(default=())

    @property
    def usable(self) -> bool:
        """Whether its numbers count."""
        return worst(self.verdicts) < Severity.BAD


def read_phone(
    samples: FloatArray,
    rate_hz: int,
    sweep: Sweep,
    placing: Placing | None = None,
    progress: Progress = silent,
) -> PhoneReading:
    """Read a telephone's recording of a sweep.

    Parameters
    ----------
    samples
        One channel (n,), or several (n_channels, n) of which the loudest is taken; any gain, any start.
    rate_hz
        Sample rate of the recording; it need not be the sweep's.
    sweep
        What was played, with or without the tones of `phone_samples`.

    Raises
    ------
    InputError
        No sweep, another one, a part of it missing, too long, or samples that are no numbers.
    """
    placing = placing or Placing()
    one = _one_channel(samples, rate_hz)
    sweep = at_rate(sweep, rate_hz)
    progress(0.05, "finding the sweep")
    start = check_ridge(find_ridge(one, rate_hz), sweep, len(one) / rate_hz)
    told = gain_and_clock(hear(one, rate_hz, sweep, start))
    played = _by_its_clock(sweep, told)
    short = _about_the_sweep(one, rate_hz, played, start)
    recording = Recording(samples=short[None], rate_hz=rate_hz, roles=(Role.MICROPHONE,))
    conditions = Conditions(
        drive_v=1.0, distance_m=placing.distance_m, space=Space.NEAR, radius_m=placing.radius_m
    )
    response = analyse(
        recording, played, conditions, AnalysisSettings(gate="none"), part(progress, 0.1, 0.95)
    )
    found = _read(response, placing, told)
    progress(1.0, "done")
    return found


def against(found: PhoneReading, reference: PhoneReading) -> PhoneReading:
    """What differs from a good unit recorded by the same telephone in the same place: the telephone, near field and room's mean go out.

    Raises
    ------
    InputError
        The reference is not usable, or lay otherwise.
    """
    if not reference.usable:
        raise InputError(
            "The recording of the good unit cannot be used",
            found=next(v.text for v in reference.verdicts if v.severity is Severity.BAD),
            remedy="Record it again",
        )
    if reference.placing.mounting != found.placing.mounting:
        raise InputError(
            "Both units must be recorded mounted alike", found=f"{found.placing.mounting} and {reference.placing.mounting}"
        )  # fmt: skip
    level = found.level_db - np.interp(found.frequency_hz, reference.frequency_hz, reference.level_db)
    others = {band.key: band for band in reference.bands}
    bands = [_difference(band, others[band.key]) for band in found.bands if band.key in others]
    u = np.interp(np.log(found.frequency_hz), *_log(tuple(bands))) if bands else found.u_db
    return replace(found, level_db=level, u_db=u, bands=tuple(bands), against=True)


def _difference(one: PhoneBand, other: PhoneBand) -> PhoneBand:
    """Of two bands; what both share, the telephone and the place, is in neither."""
    parts = {
        cause: math.hypot(one.parts.get(cause, 0.0), other.parts.get(cause, 0.0))
        for cause in ("noise", "room", "gain control")
    }
    parts["laid down twice"] = REFERENCE_U_DB
    return replace(one, value_db=one.value_db - other.value_db, u_db=math.hypot(*parts.values()), parts=parts)


def _of_bands(bands: list[PhoneBand]) -> tuple[FloatArray, FloatArray]:
    """Middles and uncertainties of bands, for a curve's band."""
    return (
        np.array([math.sqrt(band.low_hz * band.high_hz) for band in bands]),
        np.array([band.u_db for band in bands]),
    )


def _one_channel(samples: FloatArray, rate_hz: int) -> FloatArray:
    """The loudest channel (n,)."""
    every = np.atleast_2d(np.asarray(samples, dtype=np.float64))
    if every.size == 0 or every.shape[1] < rate_hz:
        raise InputError(
            "The recording is too short for a sweep", found=f"{every.shape[-1] / rate_hz:.2f} s", allowed="1 s and more"
        )  # fmt: skip
    if every.shape[1] > LONGEST_S * rate_hz:
        raise InputError("The recording is too long", found=f"{every.shape[1] / rate_hz:.0f} s", allowed=f"up to {LONGEST_S:.0f} s",
                         remedy="Cut it to one sweep with its silence")  # fmt: skip
    if not np.isfinite(every).all():
        raise InputError("Every sample of the recording must be a number", remedy="Export it again")
    one = every[int(np.argmax(np.mean(every**2, axis=1)))]
    if not np.any(one):
        raise InputError(
            "The recording is silent: every sample is zero",
            remedy="Check that the telephone may use its microphone, and record again",
        )
    return np.asarray(one)


def _by_its_clock(sweep: Sweep, told: GainAndClock) -> Sweep:
    """The sweep as the telephone's clock saw it, where the tones told it."""
    if told.clock is None or abs(told.clock) < 2.0 * told.u_clock or abs(told.clock) > 2e-3:
        return sweep
    top = 0.499 * sweep.rate_hz  # a fast clock lifts the sweep's end: it must stay below half the rate
    if sweep.stop_hz > top:
        shorter = sweep.rate_constant_s * math.log(top / sweep.start_hz)
        sweep = replace(sweep, stop_hz=top, duration_s=shorter)
    return sweep.stretched(1.0 + told.clock)


def _about_the_sweep(samples: FloatArray, rate_hz: int, sweep: Sweep, start_s: float) -> FloatArray:
    """The sweep with the silence that no tone disturbs, (n,)."""
    first = max(round((start_s - QUIET_BEFORE_S) * rate_hz), 0)
    last = round((start_s + sweep.duration_s + QUIET_AFTER_S) * rate_hz)
    return samples[first:last]


def _read(response: Response, placing: Placing, told: GainAndClock) -> PhoneReading:
    """Numbers and verdicts of an analysed recording."""
    frequency = response.frequency_hz
    magnitude = np.abs(response.pressure_full_pa)
    noise = np.nan_to_num(response.noise_pa[0], nan=0.0)
    power = np.maximum(magnitude**2 - noise**2, 0.1 * magnitude**2)  # the noise's own power is taken off
    over_noise = db(magnitude / np.maximum(noise, 1e-12 * magnitude.max()))
    near, near_u = to_half_space_db(placing, frequency)
    level = 10.0 * np.log10(power) + near
    middle = band_mean(frequency, level, MIDDLE_HZ)
    if middle is None:
        raise InputError(
            "The recording does not reach over the middle of the range",
            found=f"{frequency[0]:.0f} to {frequency[-1]:.0f} Hz", allowed="315 to 1250 Hz at least",
            remedy="Use the sweep of this page",
        )  # fmt: skip
    level = level - middle
    gain_u = _gain_u_db(told)
    bands = _bands(response, level, over_noise, near_u, placing, gain_u)
    lowest = min((_snr(frequency, over_noise, band) for band in bands), default=0.0)
    thd = bass_thd(response)
    residue = bass_residue(response)
    resonance = resonance_by_hump(frequency, level)
    curve_u = np.interp(np.log(frequency), *_log(bands)) if bands else np.full(len(frequency), 6.0)
    return PhoneReading(
        frequency_hz=frequency, level_db=level, u_db=curve_u, bands=bands, thd=thd, residue=residue, resonance=resonance,
        signal_over_noise_db=lowest, gain_and_clock=told, placing=placing,
        verdicts=said.all_of(response.verdicts, told, placing, lowest, missing=len(BANDS_HZ) - len(bands)),
    )  # fmt: skip


def _log(bands: tuple[PhoneBand, ...]) -> tuple[FloatArray, FloatArray]:
    """Where and how unsure the curve is: bands at their middles, the middle of the range by noise alone."""
    at, u = _of_bands(list(bands))
    at, u = np.append(at, math.sqrt(MIDDLE_HZ[0] * MIDDLE_HZ[1])), np.append(u, 0.7)
    order = np.argsort(at)
    return np.log(at[order]), u[order]


def _gain_u_db(told: GainAndClock) -> float:
    """What the telephone's gain control may do to a band re the middle (dB)."""
    if told.gain_change_db is None:
        return UNTOLD_GAIN_U_DB
    # The tones last a quarter of a second; a sweep dwells longer in a band, so its gain turns further: counted twice (own choice).
    return 2.0 * told.gain_change_db if said.turns_its_gain(told) else 0.0


def _bands(
    response: Response, level: FloatArray, over_noise: FloatArray, near_u: FloatArray, placing: Placing, gain_u: float
) -> tuple[PhoneBand, ...]:  # fmt: skip
    frequency = response.frequency_hz
    found = []
    for band in BANDS_HZ:
        low, high = response.valid_hz
        inside = (frequency >= low) & (frequency <= high)
        mean = band_mean(frequency, np.where(inside, level, np.nan), band)
        if mean is None:
            continue
        rows = (frequency >= band[0]) & (frequency <= band[1])
        relative = 10.0 ** (-over_noise[rows] / 20.0)
        if np.mean(relative**2) > 0.5:  # noise as strong as the sweep
            continue
        parts = {
            "noise": DB_OF_RELATIVE * float(np.sqrt(np.mean(relative**2) / 2.0)),
            "room": math.hypot(room_u_db(placing, *band), room_u_db(placing, *MIDDLE_HZ)),
            "place": float(np.mean(near_u[rows])),
            "telephone": RESPONSE_U_DB[band],
            "bass filter": cut_u_db(band),
            "gain control": gain_u,
        }
        found.append(
            PhoneBand(
                low_hz=band[0], high_hz=band[1], value_db=mean, u_db=math.hypot(*parts.values()), parts=parts
            )
        )
    return tuple(found)


def _snr(frequency: FloatArray, over_noise: FloatArray, band: PhoneBand) -> float:
    rows = (frequency >= band.low_hz) & (frequency <= band.high_hz)
    return float(np.median(over_noise[rows]))
