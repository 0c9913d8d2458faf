"""What can be wrong with an impedance curve, whatever it came from: turned round, ten times too large, noisy."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.core.text import format_value
from halfroll.core.verdicts import Severity, Verdict
from halfroll.measure.analysis import checks
from halfroll.measure.impedances.impedance import ImpedanceCurve

LOWEST_OVER_EXPECTED = (0.6, 1.7)
"""The lowest modulus over the DC resistance (or four fifths of the rated impedance) of a loudspeaker lies between these.
Own choice: rated impedance is a rounded word, so this only finds gross errors."""

GROSS = 3.0
"""Further off than this the curve cannot be meant."""

NOISY = 0.05
"""Relative uncertainty of the modulus from noise from which a point counts as noisy."""

PHASE_REVERSED = -0.5
"""Correlation of phase and slope below which the phase has the wrong sign; 1 for an ideal minimum-phase curve over many decades."""


def checked(
    curve: ImpedanceCurve, *, rated_ohm: float | None = None, re_ohm: float | None = None
) -> ImpedanceCurve:
    """The curve with its sign set right and everything said that must be said of it.

    Parameters
    ----------
    curve
        As measured.
    rated_ohm
        Rated impedance of the version; None when not stated.
    re_ohm
        DC resistance of the unit by a meter; None when not measured. It goes before the rated impedance.
    """
    found = list(curve.verdicts)
    if curve.phase_known:
        sense = checks.impedance_sense(curve.impedance_ohm)
        if sense is not None and sense.code == "current-reversed":
            curve = replace(curve, impedance_ohm=-curve.impedance_ohm)
            found.append(sense)
        reversed_phase = phase_sense(curve)
        if reversed_phase is not None:
            curve = replace(curve, impedance_ohm=np.conj(curve.impedance_ohm))
            found.append(reversed_phase)
    told = {v.code for v in found}
    expected = None if "shunt-tenfold" in told else against_expected(curve, rated_ohm, re_ohm)
    found += [v for v in (expected, noise(curve)) if v is not None]
    return replace(curve, verdicts=tuple(found))


def phase_sense(curve: ImpedanceCurve) -> Verdict | None:
    """A phase of the wrong sign: where the modulus of a loudspeaker rises the voltage leads (Bode's relation)."""
    x = np.log(curve.frequency_hz)
    slope = np.gradient(np.log(curve.modulus_ohm), x)
    phase = np.angle(curve.impedance_ohm)
    if np.std(slope) < 0.05 or np.std(phase) < 0.02:
        return None
    correlation = float(np.corrcoef(slope, phase)[0, 1])
    if correlation > PHASE_REVERSED:
        return None
    return Verdict(
        code="phase-reversed",
        severity=Severity.CAUTION,
        text="The phase has the wrong sign: it falls where the impedance rises.",
        remedy="It was turned round for this analysis; export the phase of voltage over current.",
        data={"correlation": correlation},
    )


def against_expected(curve: ImpedanceCurve, rated_ohm: float | None, re_ohm: float | None) -> Verdict | None:
    """The lowest modulus against what a meter or the rated impedance lets expect: a wrong shunt or scale."""
    lowest = float(curve.modulus_ohm.min())
    if re_ohm is not None:
        expected, words = re_ohm, f"the DC resistance of {format_value(re_ohm, None, 'ohm')}"
    elif rated_ohm is not None:
        expected, words = 0.8 * rated_ohm, f"the rated impedance of {format_value(rated_ohm, None, 'ohm')}"
    else:
        return None
    ratio = lowest / expected
    if LOWEST_OVER_EXPECTED[0] <= ratio <= LOWEST_OVER_EXPECTED[1]:
        return None
    gross = not 1.0 / GROSS < ratio < GROSS
    factor = (
        f"{ratio:.2g} times what is to be expected"
        if ratio > 1.0
        else f"only 1/{1.0 / ratio:.2g} of what is to be expected"
    )
    return Verdict(
        code="impedance-unexpected",
        severity=Severity.BAD if gross else Severity.CAUTION,
        text=f"The lowest impedance is {format_value(lowest, None, 'ohm')}, {factor} from {words}.",
        remedy=_shunt_hint(ratio),
        data={"impedance_min_ohm": lowest, "ratio": ratio},
    )


def _shunt_hint(ratio: float) -> str:
    """What probably was typed wrong: an error of ten is mostly a shunt's."""
    for ten, word in ((10.0, "ten times too large"), (0.1, "ten times too small")):
        if 0.6 < ratio / ten < 1.7:
            return f"The shunt or series resistor, or a scale, seems to be entered {word}; correct it in the rig."
    return "Check the shunt or series resistor, the scales of voltage and current, and the units of a table."


def noise(curve: ImpedanceCurve) -> Verdict | None:
    """Too much noise on the curve."""
    if curve.u_ohm is None:
        return None
    relative: FloatArray = curve.u_ohm / curve.modulus_ohm
    share = float(np.mean(relative > NOISY))
    if share <= 0.05:
        return None
    worst = int(np.argmax(relative))
    return Verdict(
        code="impedance-under-noise",
        severity=Severity.BAD if share > 0.5 else Severity.CAUTION,
        text=f"Noise moves the impedance by more than {100 * NOISY:.0f} % over {100 * share:.0f} % of the range, most at "
        f"{format_value(float(curve.frequency_hz[worst]), None, 'Hz')}.",
        remedy="Raise the level a little, use a longer sweep, or a larger series resistor.",
        data={"share": share, "worst_hz": float(curve.frequency_hz[worst])},
    )
