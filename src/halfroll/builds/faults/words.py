"""Readings, sizes and advice in words."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from halfroll.acoustics.radiation import air_mass
from halfroll.builds.faults.observe import BAND_KEYS, BANDS_HZ, from_scale
from halfroll.builds.faults.types import Reference
from halfroll.core.levels import FloatArray
from halfroll.core.text import THIN, format_band, format_plain, format_value
from halfroll.measure.phone.bands import phone_u_db
from halfroll.workshop.builder_readings import READINGS


@dataclass(frozen=True, kw_only=True)
class ReadingWords:
    """A reading: its name, unit, usual standard uncertainty of a value (in its unit), and how it is taken."""

    label: str
    unit: str
    usual_u: Callable[[float], float]
    how: str


TELEPHONE = (
    "Lay the driver as before, hold the telephone 3 cm before the middle of the cone without touching it, play the sweep of the builders' "
    "page quietly and record it as WAV if the recorder can; without automatic gain if it can be switched off."
)
"""How a recording is taken: near, so that the room counts little."""

_VOLTS = f"{TELEPHONE} Say at how many volts at the terminals it played."


def chance(probability: float) -> str:
    """A probability as a person reads it: never 0 or 100 %."""
    if probability >= 0.995:
        return f"over 99{THIN}%"
    if probability < 0.005:
        return f"under 1{THIN}%"
    return f"{100.0 * probability:.0f}{THIN}%"


def _typed(key: str, label: str) -> ReadingWords:
    kind = READINGS[key]
    return ReadingWords(label=label, unit=kind.unit, usual_u=kind.usual_u, how=kind.hint)


def _heard(label: str, unit: str, u: Callable[[float], float], how: str = TELEPHONE) -> ReadingWords:
    return ReadingWords(label=label, unit=unit, usual_u=u, how=how)


WORDS: dict[str, ReadingWords] = {
    key: _typed(key, label) for key, label in {
        "re_ohm": "DC resistance", "fs_hz": "resonance", "impedance_peak_ohm": "impedance at resonance", "qts": "Qts", "moving_mass_g": "moving mass",
        "rest_height_mm": "height of the coil", "stiffness_n_per_mm": "stiffness", "magnet_pull": "pull of the magnet", "polarity": "polarity",
        "rub": "rub", "leak": "leak",
    }.items()
} | {
    "level_db": _heard("level at 1 m for 2.83 V", "dB", lambda _: 1.0, "Calibrated microphone and sweep."),
    "thd_bass_percent": _heard("distortion in the bass", "%", lambda value: 0.5 * value, _VOLTS),
    "residue_db": _heard("noise over the harmonics", "dB", lambda _: phone_u_db(BANDS_HZ[1])),
    "phone_fs_hz": _heard("hump in the phone's bass", "Hz", lambda value: 0.1 * value),
} | {
    key: _heard(f"level {format_band(band)}", "dB", lambda _, band=band: phone_u_db(band))  # type: ignore[misc]
    for key, band in zip(BAND_KEYS, BANDS_HZ, strict=True)
}  # fmt: skip


def told(key: str, value: float, u: float | None = None) -> str:
    """A reading in its own unit as a person reads it."""
    words = WORDS[key]
    if key == "polarity":
        return "moves out" if value > 0.0 else "moves in"
    if key in ("rub", "leak"):
        return "yes" if value > 0.6 else "no" if value < 0.4 else "perhaps"
    if key in ("magnet_pull", "qts"):
        return f"{value:.2f}"
    return format_value(value, u, words.unit, digits=1, sign=key in BAND_KEYS or key == "rest_height_mm")


def told_scaled(key: str, middle: float, u: float) -> str:
    """The same of a value and uncertainty in the scale of its column."""
    value = from_scale(key, middle)
    spread = u if value == middle else value * u
    return told(key, value, spread)


def interval(sizes: FloatArray, weights: FloatArray) -> tuple[float, float, float]:
    """Mean, and the 2.5 % and 97.5 % quantiles, of a weighted size."""
    order = sizes.argsort()
    reached = weights[order].cumsum() - 0.5 * weights[order]
    low, high = (
        float(sizes[order][min(len(order) - 1, int(reached.searchsorted(q)))]) for q in (0.025, 0.975)
    )
    return float((sizes * weights).sum()), low, high


def size_of(fault: str, sizes: FloatArray, weights: FloatArray, reference: Reference) -> str:
    """How large a fault is, in words: about the mean, from lower to upper of 95 %."""
    if (
        not sizes.shape[1]
        or fault in ("reversed-leads",)
        or (fault == "reversed-magnet" and reference.magnets == 1)
    ):
        return ""
    mean, low, high = interval(sizes[:, 0], weights)
    turns = reference.coil.turns
    if fault in ("fewer-turns", "shorted-turns"):
        what = "fewer" if fault == "fewer-turns" else "shorted"
        if turns:
            return f"about {mean * turns:.0f} of {turns} turns {what}, {low * turns:.0f} to {high * turns:.0f}{_layer(low, high, reference, fault)}"
        return (
            f"about {100 * mean:.0f}{THIN}% of the turns {what}, {100 * low:.0f} to {100 * high:.0f}{THIN}%"
        )
    if fault == "off-centre":
        out = float(((sizes[:, 1] >= 0.5) * weights).sum())
        where = "too far out" if out > 0.9 else "too far in" if out < 0.1 else "out or in"
        return f"about {format_plain(mean, 'mm', 2)} {where}, {format_plain(low, 'mm', 2)} to {format_plain(high, 'mm', 2)}"
    if fault == "bad-joint":
        return f"about {format_plain(mean, 'ohm', 2)} more, {format_plain(low, 'ohm', 2)} to {format_plain(high, 'ohm', 2)}"
    return _ratio_words(fault, mean, low, high, reference)


def _ratio_words(fault: str, mean: float, low: float, high: float, reference: Reference) -> str:
    percent = {"weak-magnet": (1.0, "of the usual flux"), "reversed-magnet": (1.0, "of the usual flux left")}
    if fault in percent:
        words = percent[fault][1]
        return f"about {100 * mean:.0f}{THIN}% {words}, {100 * low:.0f} to {100 * high:.0f}{THIN}%"
    if fault == "heavy-parts":
        kg = reference.model.Mms - air_mass(reference.model.radius)
        return f"about {format_plain(1e3 * mean * kg, 'g', 2)} too much, {format_plain(1e3 * low * kg, 'g', 2)} to {format_plain(1e3 * high * kg, 'g', 2)}"
    if fault in ("stiff-print", "soft-print"):
        return f"stiffness about {mean:.2g} times the usual, {low:.2g} to {high:.2g} times"
    if fault == "glued-spider":
        return f"the glued part about {mean:.2g} times as stiff, {low:.2g} to {high:.2g} times"
    if fault == "leak":
        return f"a leak of Q about {mean:.2g}, {low:.2g} to {high:.2g}"
    return f"noise about {format_value(mean, None, 'dB')} re the tone, {format_value(low, None, 'dB')} to {format_value(high, None, 'dB')}"


def _layer(low: float, high: float, reference: Reference, fault: str) -> str:
    """Says when a whole layer would do."""
    layers = reference.coil.layers
    if fault != "fewer-turns" or not layers or layers < 2 or not low <= 1.0 / layers <= high:
        return ""
    return "; a whole layer would do"
