"""The lumped parameters of a driver from its impedance: fit all models, take the one the points call for, say how sure it is.

The model is chosen by the Bayesian information criterion (Schwarz, Annals of Statistics 6(2), 1978) with the number of
independent values in place of the number measured. Only a model whose parameters are determined by the points is chosen.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.core.progress import Progress, silent
from halfroll.measure.impedances.impedance import ImpedanceCurve
from halfroll.measure.lumped.fit_verdicts import fit_verdicts, typed_resistance_differs
from halfroll.measure.lumped.impedance_fit import Points, Solution, inflation, solve, solve_robustly
from halfroll.measure.lumped.impedance_model import ALL_MODELS, Model
from halfroll.measure.lumped.impedance_start import Peak, find_peak, start
from halfroll.measure.lumped.parameter_types import Candidate, Estimates, Fit, FitSettings

_USUAL = FitSettings()
_ROUGH = 0.05  # relative size of residuals of a first fit
_LEAST_POINTS = 8
_METER_U = 0.005
"""Relative standard uncertainty of a typed DC resistance when none is given (common practice for a hand-held meter)."""

_AS_GOOD_AS_EXACT = 0.01
"""Mean square of the residual over its size below which a computed curve counts as exact; measured ones have about 1."""

_TYPED_DIFFERS = 3.0
"""Standard deviations beyond which a typed resistance is not used."""


def fit_impedance(curve: ImpedanceCurve, settings: FitSettings = _USUAL, progress: Progress = silent) -> Fit:
    """Fit the lumped model to a curve of impedance.

    Parameters
    ----------
    curve
        With or without phase; noise and shared uncertainty of scale are used where they are given.
    settings
        Models allowed, range, DC resistance known otherwise. A typed resistance is combined with the fitted one, unless they
        differ by more than they can; then the fitted one stands and a verdict says so.
    progress
        Called as the work goes on; may raise `CancelledError`.

    Returns
    -------
    Fit
        Without a resonance in the range only the coil is fitted: `fs_hz` and the Qs are then not among the estimates.

    Raises
    ------
    InputError
        Fewer than eight points in the range.
    """
    points = _points(curve, settings)
    peak = find_peak(points.frequency_hz, np.abs(points.impedance_ohm)) or _hidden_peak(points)
    models = [
        Model(m.coil, m.creep and peak is not None, peak is not None)
        for m in ALL_MODELS
        if settings.coil in ("auto", m.coil)
        and (settings.creep in ("auto", m.creep) or peak is None)
        and not (peak is None and m.creep)
    ]
    solutions, spread = _fit_all(points, models, peak, progress)
    chosen, candidates = _choose(points, solutions, spread, free=(settings.coil, settings.creep))
    progress(0.9, "Settling the weights")
    final = solve_robustly(points, chosen.model, chosen.theta, before=chosen)
    spread = inflation(points, final)
    estimates = _estimates(points, final, spread, curve.scale_u)
    fit = Fit(
        coil=final.model.coil,
        creep=final.model.creep,
        estimates=estimates,
        frequency_hz=points.frequency_hz,
        measured_ohm=points.impedance_ohm,
        fitted_ohm=final.fitted,
        weights=final.weights,
        phase_known=points.phase_known,
        candidates=candidates,
        scale_u=curve.scale_u,
    )
    typed = _with_typed(fit, settings)
    progress(1.0, "Fitted")
    return replace(typed, verdicts=(*typed.verdicts, *fit_verdicts(typed, spread)))


def _points(curve: ImpedanceCurve, settings: FitSettings) -> Points:
    """The points in the range asked for."""
    low, high = settings.band_hz or (0.0, math.inf)
    inside = (curve.frequency_hz >= low) & (curve.frequency_hz <= high) & (curve.modulus_ohm > 0.0)
    if inside.sum() < _LEAST_POINTS:
        raise InputError(
            f"A fit needs {_LEAST_POINTS} points of impedance in its range at least",
            found=str(int(inside.sum())),
            remedy="Widen the range, or measure more densely.",
        )
    impedance = curve.impedance_ohm if curve.phase_known else curve.modulus_ohm.astype(np.complex128)
    return Points(
        curve.frequency_hz[inside],
        impedance[inside],
        None if curve.u_ohm is None else curve.u_ohm[inside],
        curve.phase_known,
    )


def _hidden_peak(points: Points) -> Peak | None:
    """A peak of the resistance where a large coil hides that of the modulus."""
    resistance = points.impedance_ohm.real
    if not points.phase_known or (resistance <= 0.0).any():
        return None
    return find_peak(points.frequency_hz, resistance)


def _fit_all(
    points: Points, models: list[Model], peak: Peak | None, progress: Progress
) -> tuple[list[Solution], float]:
    """Every model with the weights of the richest, and how much neighbouring residuals of the best say the same.

    Weights belong to the points, not to the model: a criterion compares likelihoods of the same data. A point is an outlier when
    it is one to every rich model.
    """
    rich = [m for m in models if m.size == max(x.size for x in models if x.coil == m.coil)]
    impedance = points.impedance_ohm
    if not points.phase_known:
        impedance = _with_phase(points, peak)
    robust = []
    for i, model in enumerate(rich):
        progress(0.1 + 0.1 * i, "Finding outliers")
        robust.append(solve_robustly(points, model, start(model, points.frequency_hz, impedance, peak)))
    overall = min(robust, key=lambda s: _rms(points, s)).overall
    weights = np.max([s.weights for s in robust], axis=0)
    solutions = []
    for i, model in enumerate(models):
        progress(0.4 + 0.5 * i / len(models), "Trying the models")
        known = next((s for s in robust if s.model == model), None)
        theta = known.theta if known else start(model, points.frequency_hz, impedance, peak)
        solutions.append(solve(points, model, theta, overall, weights))
    return solutions, inflation(points, min(solutions, key=lambda s: s.misfit))


def _with_phase(points: Points, peak: Peak | None) -> ComplexArray:
    """Measured moduli with the phase of the simplest model fitted to them, only to start from."""
    model = Model("ideal", resonance=peak is not None)
    begin = start(model, points.frequency_hz, points.impedance_ohm, peak)
    ones = np.ones(len(points.frequency_hz))
    fitted = solve(points, model, begin, _ROUGH * ones, ones).fitted
    return np.asarray(np.abs(points.impedance_ohm) * fitted / np.abs(fitted))


def _choose(
    points: Points, solutions: list[Solution], spread: float, free: tuple[str, bool | str]
) -> tuple[Solution, tuple[Candidate, ...]]:
    """The determined model with the least criterion, and what was tried."""
    independent = max(points.count / spread, 2.0)
    criteria = [
        independent * math.log(max(s.misfit / points.count, _AS_GOOD_AS_EXACT))
        + s.model.size * math.log(independent)
        for s in solutions
    ]
    allowed = [i for i, s in enumerate(solutions) if _determined(points, s, spread)]
    allowed = allowed or [int(np.argmin([s.model.size for s in solutions]))]
    best = min(allowed, key=lambda i: criteria[i])
    candidates = tuple(
        Candidate(
            coil=s.model.coil,
            creep=s.model.creep,
            criterion=c,
            rms_residual=_rms(points, s),
            chosen=i == best,
            determined=i in allowed,
        )
        for i, (s, c) in enumerate(zip(solutions, criteria, strict=True))
    )
    return solutions[best], candidates


def _rms(points: Points, solution: Solution) -> float:
    rest = np.abs(points.residual(solution.fitted)) ** 2
    return math.sqrt(float(np.average(rest, weights=solution.weights + 1e-12)))


_MOST_U = {
    "re_ohm": 0.2,
    "fs_hz": 0.1,
    "qms": 0.5,
    "qes": 0.5,
    "l2_h": 0.4,
    "r2_ohm": 0.4,
    "semi_k": 0.3,
    "semi_n": 0.1,
}
"""Largest standard uncertainty of a parameter (of its logarithm, except for n) with which it counts as determined."""


def _determined(points: Points, solution: Solution, spread: float) -> bool:
    """Whether the points say what every parameter of the model is, and it is one that can be."""
    model = solution.model
    scale = solution.misfit / max(points.count - model.size, 1) * spread
    u = np.sqrt(np.abs(np.diag(solution.covariance())) * scale)
    named = dict(zip(model.names, solution.theta.tolist(), strict=True))
    if not np.isfinite(u).all() or any(u[i] > _MOST_U.get(n, math.inf) for i, n in enumerate(model.names)):
        return False
    if model.creep:
        creep, u_creep = named["creep_lambda"], float(u[model.names.index("creep_lambda")])
        if not 2.0 * u_creep < creep < 1.0:
            return False
    if model.coil == "lr2" and named["le_h"] < 0.0:
        return False
    if model.coil == "semi":
        return 0.3 <= float(named["semi_n"]) < 1.0 - 2.0 * float(u[model.names.index("semi_n")])
    return True


def _estimates(points: Points, solution: Solution, spread: float, scale_u: float) -> Estimates:
    """Values with Qts, their covariance from noise, misfit and scale."""
    model = solution.model
    values, slopes = model.values(solution.theta)
    independent = float(solution.weights.sum()) * points.count / len(solution.weights) / spread
    dof = max(independent - model.size, 1.0)
    scale = (
        max(solution.misfit, _AS_GOOD_AS_EXACT * points.count) / dof
    )  # misfit counts every value, dof the independent ones: their ratio holds the inflation
    covariance = slopes @ (solution.covariance() * scale) @ slopes.T
    shared = model.scaled * values * scale_u
    whole = covariance + np.outer(shared, shared)
    names = model.names
    if model.resonance:
        names, values, whole = _with_qts(names, values, whole)
    return Estimates(names=names, values=values, covariance=whole, dof=dof)


def _with_qts(
    names: tuple[str, ...], values: FloatArray, covariance: FloatArray
) -> tuple[tuple[str, ...], FloatArray, FloatArray]:
    """The same with Qts = Qms Qes/(Qms + Qes) behind Qes."""
    m, e = names.index("qms"), names.index("qes")
    qms, qes = values[m], values[e]
    qts = qms * qes / (qms + qes)
    at = e + 1
    lift = np.insert(np.eye(len(names)), at, 0.0, axis=0)
    lift[at, m], lift[at, e] = (qts / qms) ** 2, (qts / qes) ** 2
    return (*names[:at], "qts", *names[at:]), np.insert(values, at, qts), lift @ covariance @ lift.T


def _moved(estimates: Estimates, by: FloatArray) -> FloatArray:
    """Values moved, those above zero by their logarithm so that they stay there."""
    values = estimates.values
    free = np.array([n in ("le_h", "creep_lambda", "semi_n") for n in estimates.names])
    return np.where(
        free, values + by, values * np.exp(np.clip(by / np.maximum(np.abs(values), 1e-30), -1.0, 1.0))
    )


def _with_typed(fit: Fit, settings: FitSettings) -> Fit:
    """The fit with a typed DC resistance taken in: the best combination of both, all values moved as they hang together."""
    if settings.re_ohm is None:
        return fit
    estimates, typed = fit.estimates, settings.re_ohm
    u_typed = settings.re_u_ohm if settings.re_u_ohm else _METER_U * typed
    at = estimates.names.index("re_ohm")
    difference = typed - estimates.values[at]
    u_both = math.hypot(u_typed, estimates.u("re_ohm"))
    if abs(difference) > _TYPED_DIFFERS * u_both:
        return replace(fit, verdicts=(typed_resistance_differs(fit, typed, u_both),))
    column = estimates.covariance[:, at]
    gain = column / u_both**2
    # what all curves of this rig and this reading share: the scale's error where the fit counts, the meter's where it does
    scale = (fit.scale_u * estimates.values[at]) ** 2
    shared = (scale * u_typed**4 + u_typed**2 * column[at] ** 2) / u_both**4
    return replace(
        fit,
        estimates=replace(
            estimates,
            values=_moved(estimates, gain * difference),
            covariance=estimates.covariance - np.outer(gain, column),
        ),
        scale_u=math.sqrt(shared) / estimates.values[at],
    )
