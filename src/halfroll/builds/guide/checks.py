"""The checks of a guide: how each is read, what is good, what to do when it is not."""

from __future__ import annotations

from collections.abc import Mapping

from halfroll.builds.guide.judge import band_words
from halfroll.builds.guide.types import Check
from halfroll.builds.types import Band
from halfroll.workshop.builder_readings import READINGS

_ANY = "no band is known yet: note it"

HOW: dict[str, str] = {
    "coil_re": "Strip both ends. Multimeter on its lowest ohm range; hold the probes together first and take that value off.",
    "weight": "Scale that shows hundredths of a gram, set to zero with an empty cup on it.",
    "moving_mass_g": "Weigh cone, coil, cap, leads and glue, and {shares}.",
    "rest_height_mm": "Cone at rest, axis level. {drawn}How far it stands out of that (+) or in (-), by ruler or depth gauge.",
    "rub_hand": "Push the cone in and out by three fingertips set evenly around it, as far as its travel, and once more tilted a little each way.",
    "rub_tone": "Play a slow tone from 20 to 200 Hz, quiet first, then as far as half the travel, an ear beside the magnet.",
}

IF_NOT: dict[str, str] = {
    "re_ohm": "Too low: turns are missing, or touch each other. Too high: too many turns, thinner wire, or a bad joint. Count the layers, wind it again.",
    "re_terminals": "Not what the coil had before: a joint or lead is bad. Solder it again before anything else.",
    "coil_g": "Too heavy: too much glue in the winding, or other wire. It must still fit the gap; else wind it again.",
    "weight": "Look at the slicer's flow, the filament and the wall; print it again before it is glued in, or note it as a deviation.",
    "moving_mass_g": "Find which part is off by weighing them one by one. A heavier cone lowers resonance and level; note it or print again.",
    "rest_height_mm": "Loosen the spider while its glue is soft, and set the jig again.",
    "rub_hand": "Take it out again: centre the jig, look for crumbs in the gap with tape, check that the former is round.",
    "rub_tone": "Turn the driver by a quarter and listen again. If it follows gravity, the coil sits off centre; if not, look for a crumb or a loose lead.",
    "polarity": "Change the two leads over, or mark the other terminal.",
    "fs_hz": "Too high: suspension thicker or stiffer, or glue crept onto it. Too low: heavier cone, or thinner walls. Ask for a builder's check.",
    "leak": "Look for the leak with a wet finger along the joints: surround to frame, cap, terminals.",
    "qts": "Too high: weak motor, a magnet the wrong way round, wide gap. Too low: something rubs.",
    "impedance_peak_ohm": "Too low: something rubs or is lossy, or too few turns. Too high: check the meter and the reference resistor.",
}

LABELS = {"polarity": "Polarity", "rub": "No rub", "leak": "Tight"}
GOOD = {
    "polarity": "the cone moves out",
    "rub": "nothing scrapes, neither heard nor felt",
    "leak": "the cone comes back slowly",
}


def measured(
    key: str, bands: Mapping[str, Band], *, how: str = "", if_not: str = "", label: str = ""
) -> Check:
    """A reading against its band."""
    band = bands.get(key)
    known = READINGS.get(key)
    return Check(
        key=key, label=label or (band.label if band else known.label if known else key), how=how or (known.hint if known else HOW["weight"]),
        good=band_words(band) if band else _ANY, if_not=if_not or IF_NOT.get(key, IF_NOT["weight"]), band=band,
    )  # fmt: skip


def seen(key: str, *, how: str = "", if_not: str = "") -> Check:
    """Something that is only seen, heard or felt."""
    return Check(
        key=key,
        label=LABELS[key],
        how=how or READINGS[key].hint,
        good=GOOD[key],
        if_not=if_not or IF_NOT[key],
    )
