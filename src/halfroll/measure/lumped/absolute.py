"""Absolute parameters of a driver: moving mass by each method, what follows from it, and whether the methods agree.

Uncertainty is carried to first order (JCGM 100, 5.2): every result is differentiated by every number it rests on, so what two
methods share (the free-air fit, the area, the scale of the rig) cancels between them as far as it does.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.core.errors import InputError, RefusedError
from halfroll.core.levels import FloatArray
from halfroll.core.uncertainty import coverage_factor
from halfroll.measure.lumped.absolute_inputs import Inputs
from halfroll.measure.lumped.absolute_methods import Mounting, absolute_of
from halfroll.measure.lumped.absolute_verdicts import (
    box_verdicts,
    mass_verdicts,
    methods_disagree,
    no_method,
    refuse_impossible,
    remarks,
)
from halfroll.measure.lumped.parameter_types import (
    ABSOLUTE_NAMES,
    AddedMass,
    Agreement,
    Estimates,
    Fit,
    KnownVolume,
    Method,
    MethodResult,
    Parameters,
    WeighedMass,
)


def absolute_parameters(
    free: Fit,
    *,
    area_m2: float,
    area_u_m2: float = 0.0,
    air: Air = STANDARD_AIR,
    added: Sequence[AddedMass] = (),
    boxes: Sequence[KnownVolume] = (),
    weighed: WeighedMass | None = None,
    mounting: Mounting = "free air",
) -> Parameters:
    """Mms, Cms, Rms, Bl, Vas, eta0 and sensitivity of a driver, by every method there is material for.

    Parameters
    ----------
    free
        Fit of the driver without mass and box, mounted as `mounting` says; Mms holds the air load of that mounting.
    area_m2, area_u_m2
        Effective piston area Sd and its standard uncertainty (m²).
    air
        Air at the time of the box measurement; eta0 and sensitivity are for it too.
    added, boxes, weighed
        Material for the three methods. Without any only the values of the fit are returned, and a verdict says what is missing.
    mounting
        Of the driver during `free` and `added`.

    The result is combined over the methods that agree. Where none do, the surest stands, with an uncertainty that
    reaches the others.

    Raises
    ------
    InputError
        `area_m2`, a mass or a volume not above zero, or a fit without a resonance.
    RefusedError
        A moving mass no cone of this area can have, such as from a mass typed in the wrong unit.
    """
    _check(free, area_m2, added, boxes, weighed)
    inputs = Inputs(free, area_m2, area_u_m2, air, mounting, tuple(added), tuple(boxes), weighed)
    _check_stiffness(inputs)
    found = {m: f for m, f in _mass_functions(inputs).items() if f is not None}
    verdicts = [v for v in free.verdicts if v.code in ("resonance-at-edge", "few-points-at-resonance")]
    if not found:
        return Parameters(estimates=free.estimates, verdicts=(*verdicts, no_method()))
    results = tuple(_method_result(inputs, m, f) for m, f in found.items())
    masses = _log_masses(list(found.values()))
    log_mass, jacobian = inputs.propagate(masses)
    covariance = jacobian @ inputs.covariance @ jacobian.T
    agreement = _agreements(tuple(found), log_mass, covariance, free.estimates.dof)
    weights, excess = _combine(tuple(found), log_mass, covariance, agreement)
    estimates = _all_estimates(inputs, masses, weights, excess)
    if any(not a.agrees for a in agreement):
        verdicts.append(methods_disagree(agreement, results))
    verdicts += [v for r in results for v in r.verdicts]
    return Parameters(estimates=estimates, methods=results, agreement=agreement, verdicts=tuple(verdicts))


Masses = Callable[[FloatArray], float]


def _check(
    free: Fit,
    area_m2: float,
    added: Sequence[AddedMass],
    boxes: Sequence[KnownVolume],
    weighed: WeighedMass | None,
) -> None:
    """What is given must be of the right sign, and every fit must have found a resonance."""
    numbers = [("The piston area (m²)", area_m2)]
    numbers += [("An added mass (kg)", a.mass_kg) for a in added]
    numbers += [("The volume of a box (m³)", b.volume_m3) for b in boxes]
    numbers += [("The mass weighed (kg)", weighed.mass_kg)] if weighed else []
    for what, value in numbers:
        if not 0.0 < value < math.inf:
            raise InputError(f"{what} must be above zero", found=f"{value:g}")
    fits = [("without mass and box", free)]
    fits += [(f"with {1e3 * a.mass_kg:g} g", a.fit) for a in added]
    fits += [(f"on {1e3 * b.volume_m3:g} l", b.fit) for b in boxes]
    for what, fit in fits:
        if "fs_hz" not in fit.estimates:
            raise InputError(
                f"The impedance {what} must show a resonance",
                found="none",
                remedy="Measure from well below the resonance on.",
            )
    _check_order(free, added, boxes)


def _check_order(free: Fit, added: Sequence[AddedMass], boxes: Sequence[KnownVolume]) -> None:
    """A mass lowers the resonance and a box raises it; otherwise two measurements were taken for one another."""
    fs = free.estimates.value("fs_hz")
    for mass in added:
        lower = mass.fit.estimates.value("fs_hz")
        if lower >= fs:
            raise RefusedError(
                f"The resonance with {1e3 * mass.mass_kg:g} g on the cone must lie below that without, {fs:.4g} Hz",
                found=f"{lower:.4g} Hz",
                remedy="Check which measurement had the mass on it, and that the mass was fixed.",
            )
    for box in boxes:
        higher = box.fit.estimates.value("fs_hz")
        if higher <= fs:
            raise RefusedError(
                f"The resonance on a closed box of {1e3 * box.volume_m3:g} l must lie above that without, {fs:.4g} Hz",
                found=f"{higher:.4g} Hz",
                remedy="Check which measurement was on the box, and that the box is tight.",
            )


def _check_stiffness(inputs: Inputs) -> None:
    """A closed box adds stiffness."""
    for i, box in enumerate(inputs.boxes):
        ratio = inputs.ratio_at(inputs.values, i)
        if not ratio > 0.0:
            raise RefusedError(
                f"The stiffness on a closed box of {1e3 * box.volume_m3:g} l must be larger than without",
                found=f"{100.0 * ratio:+.1f} % of it",
                remedy="The box may leak, or Qec or Re of one of the two measurements is wrong",
            )


def _mass_functions(inputs: Inputs) -> dict[Method, Masses | None]:
    """Mms (kg) of the inputs by each method there is material for."""
    return {
        "added mass": inputs.mass_by_added if inputs.added else None,
        "known volume": inputs.mass_by_volume if inputs.boxes else None,
        "weighed mass": inputs.mass_by_weight if inputs.weighed else None,
    }


def _log_masses(functions: list[Masses]) -> Callable[[FloatArray], FloatArray]:
    """Logarithms of the masses of several methods as one function of the inputs."""
    return lambda x: np.log([f(x) for f in functions])


def _method_result(inputs: Inputs, method: Method, mass: Masses) -> MethodResult:
    """Absolute parameters by one method, checked against what a cone can be."""

    def absolute(x: FloatArray) -> FloatArray:
        return absolute_of(mass(x), inputs.free_at(x), inputs.area_at(x), inputs.air)

    found = mass(inputs.values)
    refuse_impossible(method, found, inputs)
    values, jacobian = inputs.propagate(absolute)
    estimates = Estimates(
        names=ABSOLUTE_NAMES,
        values=values,
        covariance=jacobian @ inputs.covariance @ jacobian.T,
        dof=inputs.dof(method),
    )
    verdicts = mass_verdicts(inputs, found) if method == "added mass" else ()
    verdicts = box_verdicts(inputs) if method == "known volume" else verdicts
    return MethodResult(
        method=method, estimates=estimates, remarks=remarks(method, found, inputs), verdicts=verdicts
    )


def _agreements(
    methods: tuple[Method, ...], log_mass: FloatArray, covariance: FloatArray, dof: float
) -> tuple[Agreement, ...]:
    """Every pair of methods; the difference of logarithms is that over the mean to second order."""
    pairs = []
    for i, first in enumerate(methods):
        for j in range(i + 1, len(methods)):
            a, b = np.exp(log_mass[[i, j]])
            u = math.sqrt(max(covariance[i, i] + covariance[j, j] - 2.0 * covariance[i, j], 0.0))
            relative = float(2.0 * (b - a) / (a + b))
            agrees = abs(relative) <= coverage_factor(dof) * u
            pairs.append(
                Agreement(first=first, second=methods[j], relative=relative, u=u, agrees=bool(agrees))
            )
    return tuple(pairs)


def _combine(
    methods: tuple[Method, ...],
    log_mass: FloatArray,
    covariance: FloatArray,
    agreement: tuple[Agreement, ...],
) -> tuple[FloatArray, float]:
    """Weight of each method in the mean of the logarithms (n,), and the variance that those left out call for.

    The weights are the best linear unbiased ones of the largest group in which all agree, the surest group of that size.
    """
    agree = {frozenset((a.first, a.second)) for a in agreement if a.agrees}
    best: tuple[int, float, list[int], FloatArray] | None = None
    for pick in range(1, 2 ** len(methods)):
        group = [i for i in range(len(methods)) if pick >> i & 1]
        if any(frozenset((methods[i], methods[j])) not in agree for i in group for j in group if i < j):
            continue
        weights, variance = _best_weights(covariance[np.ix_(group, group)])
        if best is None or (len(group), -variance) > (best[0], -best[1]):
            best = (len(group), variance, group, weights)
    assert best is not None
    whole = np.zeros(len(methods))
    whole[best[2]] = best[3]
    left = [i for i in range(len(methods)) if i not in best[2]]
    reach = max((abs(float(log_mass[i] - whole @ log_mass)) for i in left), default=0.0)
    return whole, (reach / 2.0) ** 2


def _best_weights(covariance: FloatArray) -> tuple[FloatArray, float]:
    """Weights of the mean of least variance and that variance; equal ones where the covariance is singular.

    Negative weights, which strong correlation can give, are not used: the surest value then stands alone.
    """
    n = len(covariance)
    if n == 1:
        return np.ones(1), float(covariance[0, 0])
    if np.linalg.cond(covariance) > 1e12:
        weights = np.full(n, 1.0 / n)
    else:
        solved = np.linalg.solve(covariance, np.ones(n))
        weights = solved / solved.sum()
    if (weights < 0.0).any():
        weights = np.eye(n)[int(np.argmin(np.diag(covariance)))]
    return weights, float(weights @ covariance @ weights)


def _all_estimates(
    inputs: Inputs, masses: Callable[[FloatArray], FloatArray], weights: FloatArray, excess: float
) -> Estimates:
    """Values of the free-air fit and absolute ones together, with one covariance."""

    def everything(x: FloatArray) -> FloatArray:
        mass = math.exp(float(weights @ masses(x)) + float(x[inputs.excess_at]) * math.sqrt(excess))
        return np.concatenate(
            [x[inputs.free_slice], absolute_of(mass, inputs.free_at(x), inputs.area_at(x), inputs.air)]
        )

    values, jacobian = inputs.propagate(everything)
    return Estimates(
        names=(*inputs.free.estimates.names, *ABSOLUTE_NAMES),
        values=values,
        covariance=jacobian @ inputs.covariance @ jacobian.T,
        dof=inputs.free.estimates.dof,
    )
