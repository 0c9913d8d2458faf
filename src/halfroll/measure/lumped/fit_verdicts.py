"""What must be said about a fit of the lumped model."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from halfroll.core.verdicts import Severity, Verdict
from halfroll.measure.lumped.fit_residual import (
    Bump,
    Stretch,
    about_resonance,
    crossings,
    lost_stretches,
    second_resonance,
    zone,
)
from halfroll.measure.lumped.parameter_types import Fit

COPPER_PER_K = 0.00393
"""Temperature coefficient of the resistance of annealed copper at 20 °C (IEC 60028)."""

_FEWEST = 5  # points between the crossings of the r0 method
_STRUCTURED = 3.0  # values that say the same, from which a residual is no noise
_MISFIT, _CAUTION_MISFIT, _BAD_MISFIT = 0.004, 0.02, 0.15
_NOISY = 0.05
_LEAST_BUMP, _CAUTION_BUMP = 0.01, 0.03
_BENT, _BENT_CAUTION, _BENT_OVER = 0.004, 0.01, 1.8
_ROUGH, _ROUGH_OVER = 0.01, 2.0
_LOW_QMS = 1.3
_COIL_SPAN = 15.0  # highest frequency over fs
_OUTLIER = 0.5  # weight
_MAINS_HZ = (50.0, 60.0)


def _percent(share: float) -> str:
    """A share in per cent with two digits, never as a power of ten."""
    percent = 100.0 * share
    return f"{percent:.2g}" if percent < 99.5 else f"{percent:.0f}"


def typed_resistance_differs(fit: Fit, typed_ohm: float, u_ohm: float) -> Verdict:
    """A DC resistance was typed that the curve contradicts."""
    fitted = fit.estimates.value("re_ohm")
    kelvin = (fitted / typed_ohm - 1.0) / COPPER_PER_K
    return Verdict(
        code="resistance-differs",
        severity=Severity.CAUTION,
        text=f"The curve says Re = {fitted:.4g} ohm, the typed value is {typed_ohm:.4g} ohm. They differ by more than three times "
        f"their uncertainty, so the typed one is not used. A copper coil {abs(kelvin):.0f} K {'warmer' if kelvin > 0 else 'colder'} "
        f"or {abs(fitted - typed_ohm):.2g} ohm {'of leads and clips' if kelvin > 0 else 'lost in the calibration'} would explain it.",
        remedy="Compare the resistance of leads and clips, let the coil cool, and check the shunt or resistor of the rig.",
        data={"fitted_ohm": fitted, "typed_ohm": typed_ohm, "u_ohm": u_ohm, "copper_k": kelvin},
    )


def fit_verdicts(fit: Fit, spread: float) -> tuple[Verdict, ...]:
    """Everything to be said; `spread` is by how much neighbouring residuals say the same."""
    if "fs_hz" not in fit.estimates:
        return (_no_resonance(fit),)
    local = tuple(_local_misfits(fit))
    said = [
        _edge(fit),
        _few_points(fit),
        _short(fit),
        *local,
        _misfit(fit, spread),
        _low_qms(fit),
        _outliers(fit),
    ]
    upper = crossings(fit)[1]
    if all(v.data.get("frequency_hz", v.data.get("low_hz", 0.0)) > 2.0 * upper for v in local):
        said.append(_resonance(fit, spread))
    return tuple(v for v in said if v is not None)


def _no_resonance(fit: Fit) -> Verdict:
    low, high = float(fit.frequency_hz[0]), float(fit.frequency_hz[-1])
    modulus = np.abs(fit.measured_ohm)
    falls, rises = modulus[0] > 1.2 * modulus.min(), int(np.argmax(modulus)) == len(modulus) - 1
    where = " It falls from the first point on, so the resonance lies below." if falls else ""
    where = where or (
        " It rises to the last point, so the resonance may lie above." if rises and high < 500.0 else ""
    )
    return Verdict(
        code="no-resonance",
        severity=Severity.BAD,
        text=f"The impedance has no peak between {low:.4g} Hz and {high:.4g} Hz, so there are no resonance and no Q.{where}",
        remedy="Measure from well below the resonance on, and check that the cone moves freely.",
        data={"low_hz": low, "high_hz": high},
    )


def _edge(fit: Fit) -> Verdict | None:
    low, high = crossings(fit)
    first, last = float(fit.frequency_hz[0]), float(fit.frequency_hz[-1])
    if first <= low and last >= high:
        return None
    return Verdict(
        code="resonance-at-edge",
        severity=Severity.CAUTION,
        text=f"The resonance reaches from {low:.4g} Hz to {high:.4g} Hz, but the curve covers {first:.4g} Hz to {last:.4g} Hz. "
        "One flank is missing, so Re, fs and the Qs lean on the model.",
        remedy=f"Measure from {0.5 * low:.2g} Hz on."
        if first > low
        else f"Measure up to {2.0 * high:.2g} Hz.",
        data={"lower_hz": low, "upper_hz": high, "first_hz": first, "last_hz": last},
    )


def _few_points(fit: Fit) -> Verdict | None:
    count = int((zone(fit) & (fit.weights > _OUTLIER)).sum())
    if count >= _FEWEST:
        return None
    low, high = crossings(fit)
    return Verdict(
        code="few-points-at-resonance",
        severity=Severity.CAUTION if count > 1 else Severity.BAD,
        text=f"Only {count} {'point counts' if count == 1 else 'points count'} between {low:.4g} Hz and {high:.4g} Hz, where the "
        "resonance is; a sharp one is easily missed or rounded.",
        remedy="Measure with finer steps or a longer sweep.",
        data={"points": count, "lower_hz": low, "upper_hz": high},
    )


def _short(fit: Fit) -> Verdict | None:
    last, fs, re = float(fit.frequency_hz[-1]), fit.estimates.value("fs_hz"), fit.estimates.value("re_ohm")
    if last >= _COIL_SPAN * fs:
        return None
    refused = [c for c in fit.candidates if not c.determined and c.coil != "ideal" and not c.creep]
    less = " A model with more losses is not determined there." if refused else ""
    return Verdict(
        code="range-too-short",
        severity=Severity.NOTE,
        text=f"The curve ends at {last:.4g} Hz, only {last / fs:.2g} times the resonance, where the coil adds little to {re:.3g} ohm. What is "
        f"said of the coil holds in this range only.{less}",
        remedy="Measure up to 10 kHz or beyond if the coil matters.",
        data={"last_hz": last, "refused": [c.coil for c in refused]},
    )


def _local_misfits(fit: Fit) -> Iterator[Verdict]:
    """A second resonance, a stretch that was given up."""
    bump = second_resonance(fit)
    if bump is not None and bump.size >= _LEAST_BUMP:
        yield _second(fit, bump)
    for stretch in lost_stretches(fit)[:1]:
        if bump is None or not stretch.low_hz <= bump.at_hz <= stretch.high_hz:
            yield _lost(stretch)


def _second(fit: Fit, bump: Bump) -> Verdict:
    below = bump.at_hz < fit.estimates.value("fs_hz")
    cause = (
        "Below the main one it comes from a box with an opening or a leak, or from a weak stand."
        if below
        else "It comes from a box with an opening, from the stand, or from cone, cap, surround or spider in a resonance of their own."
    )
    return Verdict(
        code="second-resonance",
        severity=Severity.CAUTION if bump.size >= _CAUTION_BUMP else Severity.NOTE,
        text=f"There is a second resonance at {bump.at_hz:.4g} Hz, {_percent(bump.size)} % of the impedance there, which one moving "
        f"mass cannot make. {cause}",
        remedy="Clamp the driver rigidly in free air, or close the leak; if it stays, look for the part that moves by itself.",
        data={"frequency_hz": bump.at_hz, "size": bump.size},
    )


def _lost(stretch: Stretch) -> Verdict:
    return Verdict(
        code="misfit-in-part",
        severity=Severity.CAUTION,
        text=f"From {stretch.low_hz:.4g} Hz to {stretch.high_hz:.4g} Hz the curve leaves the model by {_percent(stretch.size)} %, far more "
        "than elsewhere. These points were left out.",
        remedy="At the low end look for a leak of the box or too high a level, at the top for a resonance of the cone.",
        data={
            "low_hz": stretch.low_hz,
            "high_hz": stretch.high_hz,
            "size": stretch.size,
            "points": stretch.points,
        },
    )


def _resonance(fit: Fit, spread: float) -> Verdict | None:
    """The resonance itself: rough as by a coil that touches, or bent as by a spring that is not linear."""
    seen = about_resonance(fit)
    if seen is None:
        return None
    # a noisy current channel alone makes the scatter grow with the impedance
    if (
        seen.rough > max(_ROUGH, _ROUGH_OVER * seen.rough_far * max(seen.impedance_ratio, 1.0))
        and spread < _STRUCTURED
    ):
        return Verdict(
            code="rough-resonance",
            severity=Severity.CAUTION,
            text=f"About the resonance the points scatter by {_percent(seen.rough)} %, far above it by {_percent(seen.rough_far)} %. "
            "A coil that touches, a loose part, or draught on the cone do that, and Qms comes out too low.",
            remedy="Press the cone gently in and out and listen for rubbing, and measure again.",
            data={"scatter": seen.rough, "scatter_above": seen.rough_far},
        )
    if spread > _STRUCTURED and seen.smooth > max(_BENT, _BENT_OVER * seen.smooth_far):
        return Verdict(
            code="bent-resonance",
            severity=Severity.CAUTION if seen.smooth > _BENT_CAUTION else Severity.NOTE,
            text=f"About and below the resonance the model misses the curve by {_percent(seen.smooth)} %, far above it by "
            f"{_percent(seen.smooth_far)} %. That is not a linear mass on a spring: the level is too high for the suspension, the "
            "coil rubs, a box leaks, or the sweep was too fast to resolve the peak. fs and Qms are those of this level only.",
            remedy="Measure with less voltage or a slower sweep; if it stays, look for rubbing.",
            data={"misfit": seen.smooth, "misfit_above": seen.smooth_far},
        )
    return None


def _low_qms(fit: Fit) -> Verdict | None:
    qms = fit.estimates.value("qms")
    if qms >= _LOW_QMS:
        return None
    return Verdict(
        code="low-qms",
        severity=Severity.NOTE,
        text=f"Qms = {qms:.2g} is low: usual suspensions have 1.5 to 10 (common practice). A coil that rubs lowers it.",
        remedy="Press the cone gently in and out and listen for rubbing; if nothing touches, the suspension itself is that lossy.",
        data={"qms": qms},
    )


def _misfit_severity(rms: float) -> Severity:
    if rms > _BAD_MISFIT:
        return Severity.BAD
    return Severity.CAUTION if rms > _CAUTION_MISFIT else Severity.NOTE


def _misfit(fit: Fit, spread: float) -> Verdict | None:
    rms = math.sqrt(float(np.average(np.abs(fit.residual) ** 2, weights=fit.weights + 1e-9)))
    structured = spread > _STRUCTURED
    if structured and rms > _MISFIT:
        return Verdict(
            code="model-misfit",
            severity=_misfit_severity(rms),
            text=f"The best of the models misses the curve by {_percent(rms)} % (r.m.s.), and not as noise does. The uncertainties shown "
            "were widened for that, but the values are those of a model that is not quite this driver.",
            remedy="Look at the residual: a bump tells a second resonance, a tilt at the top a coil no model here describes; narrow the "
            "range if only the resonance is wanted.",
            data={"rms": rms, "points_that_say_the_same": spread},
        )
    if not structured and rms > _NOISY:
        return Verdict(
            code="noisy-impedance",
            severity=Severity.NOTE,
            text=f"The points scatter by {_percent(rms)} % (r.m.s.) about the fitted curve.",
            remedy="Measure at a higher level, slower, or with a larger shunt.",
            data={"rms": rms},
        )
    return None


def _outliers(fit: Fit) -> Verdict | None:
    lost = fit.weights < _OUTLIER
    for stretch in lost_stretches(fit):
        lost &= (fit.frequency_hz < stretch.low_hz) | (fit.frequency_hz > stretch.high_hz)
    at = fit.frequency_hz[lost]
    if not len(at):
        return None
    some = ", ".join(f"{f:.4g} Hz" for f in at[:4]) + (" and others" if len(at) > 4 else "")
    mains = next((m for m in _MAINS_HZ if _hums(at, m)), None)
    why = f" They sit on harmonics of the {mains:g} Hz mains." if mains else ""
    return Verdict(
        code="outlier-points",
        severity=Severity.NOTE,
        text=f"{len(at)} of {len(fit.weights)} points lie far off the others and hardly count: {some}.{why}",
        remedy="Nothing, if they are few; hum on many points calls for other leads or earthing."
        if mains
        else "",
        data={"points": len(at), "frequencies_hz": [float(f) for f in at]},
    )


def _hums(at: np.ndarray[tuple[int, ...], np.dtype[np.float64]], mains_hz: float) -> bool:
    """Whether most of these frequencies are on the first harmonics of the mains."""
    low = at[at < 8.5 * mains_hz]
    on = np.abs(low / mains_hz - np.round(low / mains_hz)) * mains_hz < 0.02 * low
    return 2 * int(np.sum(on)) > len(at)
