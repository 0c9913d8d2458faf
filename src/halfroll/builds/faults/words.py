"""Readings, sizes and advice in words."""

from __future__ import annotations

from dataclasses import dataclass

from halfroll.acoustics.radiation import air_mass
from halfroll.builds.faults.observe import BAND_KEYS, BANDS_HZ, from_scale
from halfroll.builds.faults.types import Reference
from halfroll.core.levels import FloatArray
from halfroll.core.text import THIN, format_band, format_plain, format_value


@dataclass(frozen=True, kw_only=True)
class ReadingWords:
    """A reading: its name, unit, usual standard uncertainty (a share when `relative`; common practice), and how it is taken."""

    label: str
    unit: str
    usual_u: float
    relative: bool
    how: str


_PHONE = "Record the known sweep with a phone at half a metre to a metre on the axis, the same distance from walls as the guide says; hold still."

WORDS: dict[str, ReadingWords] = {
    "re_ohm": ReadingWords(label="DC resistance", unit="ohm", usual_u=0.006, relative=True,
                           how="Multimeter on the terminals, the cone at rest; take off what the meter reads with its leads held together."),
    "fs_hz": ReadingWords(label="resonance", unit="Hz", usual_u=0.01, relative=True,
                          how="Impedance sweep, or a tone through a resistor: the frequency at which the voltage on the driver is highest."),
    "impedance_peak_ohm": ReadingWords(label="impedance at resonance", unit="ohm", usual_u=0.02, relative=True,
                                       how="From the same sweep: the highest magnitude."),
    "qts": ReadingWords(label="Qts", unit="", usual_u=0.04, relative=True, how="Impedance sweep and the fit of parameters."),
    "moving_mass_g": ReadingWords(label="moving mass", unit="g", usual_u=0.05, relative=False,
                                  how="Kitchen scale with 0.01 g, all that moves, before it is glued in."),
    "rest_height_mm": ReadingWords(label="height of the coil", unit="mm", usual_u=0.15, relative=False,
                                   how="Depth with a calliper from the top plate to the top of the winding, against the drawing."),
    "stiffness_n_per_mm": ReadingWords(label="stiffness", unit="N/mm", usual_u=0.1, relative=True,
                                       how="Driver on its back: lay a coin of known weight on the middle of the cone, read how far it sinks after ten seconds."),
    "magnet_pull": ReadingWords(label="pull of the magnet", unit="", usual_u=0.2, relative=True,
                                how="How far away a hanging steel nut is drawn in, beside a good motor. Keep fingers out of the gap."),
    "level_db": ReadingWords(label="level at 1 m for 2.83 V", unit="dB", usual_u=1.0, relative=False, how="Calibrated microphone and sweep."),
    "thd_bass_percent": ReadingWords(label="distortion in the bass", unit="%", usual_u=0.25, relative=True, how=_PHONE),
    "residue_db": ReadingWords(label="noise over the harmonics", unit="dB", usual_u=3.0, relative=False, how=_PHONE),
    "phone_fs_hz": ReadingWords(label="hump in the phone's bass", unit="Hz", usual_u=0.1, relative=True, how=_PHONE),
    "polarity": ReadingWords(label="polarity", unit="", usual_u=0.0, relative=False,
                             how="A 1.5 V cell for a moment, plus on plus: the cone must move out."),
    "rub": ReadingWords(label="rub", unit="", usual_u=0.0, relative=False,
                        how="Push the cone in and out with fingers spread evenly about its middle, ear close: it must be silent and smooth."),
    "leak": ReadingWords(label="leak", unit="", usual_u=0.0, relative=False,
                         how="In the closed box push the cone in slowly and let go: it must come back slowly. Feel about the seams with a wet finger."),
} | {
    key: ReadingWords(label=f"level {format_band(band)}", unit="dB", usual_u=3.0, relative=False, how=_PHONE)
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
