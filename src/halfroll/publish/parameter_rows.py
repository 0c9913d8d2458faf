"""Lumped parameters in words: rows of tables for terminal, page and sheet, all from one place."""

from __future__ import annotations

from dataclasses import dataclass, field

from halfroll.core.text import THIN, format_stated, format_value, format_with_u
from halfroll.core.uncertainty import coverage_factor
from halfroll.measure.lumped.parameter_types import CoilModel, Estimates
from halfroll.workshop.fitted import FittedRun, UnitParameters

COILS: dict[CoilModel, str] = {
    "ideal": "ideal inductance",
    "lr2": "inductance with eddy-current branch",
    "semi": "semi-inductance",
}

SHOWN: dict[str, tuple[str, str, float]] = {
    "re_ohm": ("Re", "ohm", 1.0), "fs_hz": ("fs", "Hz", 1.0), "qms": ("Qms", "", 1.0), "qes": ("Qes", "", 1.0),
    "qts": ("Qts", "", 1.0), "mms_kg": ("Mms", "g", 1e3), "cms_m_per_n": ("Cms", "mm/N", 1e3),
    "rms_ns_per_m": ("Rms", "N·s/m", 1.0), "bl_n_per_a": ("Bl", "N/A", 1.0), "vas_m3": ("Vas", "l", 1e3),
    "eta0": ("η0", "%", 100.0), "sensitivity_1w_db": ("Level at 1 W into Re, 1 m, half space", "dB", 1.0),
    "sensitivity_2v83_db": ("Level at 2.83 V, 1 m, half space", "dB", 1.0), "le_h": ("Le", "mH", 1e3), "l2_h": ("L2", "mH", 1e3),
    "r2_ohm": ("R2", "ohm", 1.0), "semi_k": ("K", "Ω·sⁿ", 1.0), "semi_n": ("n", "", 1.0), "creep_lambda": ("Creep λ", "", 1.0),
}  # fmt: skip
"""Symbol, unit and its size in SI, in the order in which they are shown."""

METHODS = {"added mass": "by added mass", "known volume": "by closed box", "weighed mass": "by weighing"}


@dataclass(frozen=True, kw_only=True)
class Rows:
    """A table: its head, its rows, and what is said under it."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    notes: tuple[str, ...] = field(default=())


def shown(estimates: Estimates, name: str) -> str:
    """One value with half of its 95 % interval, or a dash."""
    if name not in estimates:
        return "–"
    _, unit, factor = SHOWN[name]
    u = factor * estimates.u(name)
    half = coverage_factor(estimates.dof) * u if u > 0.0 else None
    return format_with_u(factor * estimates.value(name), half, unit)


def run_words(run: FittedRun) -> str:
    """What hung on the cone or stood behind it."""
    record = run.record
    if record.added_mass_g is not None:
        return f"with {format_stated(record.added_mass_g, 'g')}"
    if record.volume_l is not None:
        return f"on a closed box of {format_stated(record.volume_l, 'l')}"
    return {"free-air": "alone, in free air", "baffle": "alone, in a baffle"}.get(
        record.mounting, record.mounting
    )


def fit_rows(found: UnitParameters) -> Rows:
    """Every run with what its fit gives; ± is half of a 95 % interval."""
    names = ("re_ohm", "fs_hz", "qms", "qes", "qts")
    rows = []
    for run in found.runs:
        values = ["–"] * len(names) if run.fit is None else [shown(run.fit.estimates, n) for n in names]
        model = "" if run.fit is None else COILS[run.fit.coil] + (", creep" if run.fit.creep else "")
        rows.append((run.name, run_words(run), *values, model))
    return Rows(head=("Run", "What", *(SHOWN[n][0] for n in names), "Model"), rows=tuple(rows))


def parameter_rows(found: UnitParameters) -> Rows:
    """Parameters of the unit, each with half of its 95 % interval; the absolute ones combined over the methods that agree."""
    if found.parameters is not None:
        estimates = found.parameters.estimates
    elif found.free is not None and found.free.fit is not None:
        estimates = found.free.fit.estimates
    else:
        return Rows(head=(), rows=())
    rows = tuple((SHOWN[name][0], shown(estimates, name)) for name in SHOWN if name in estimates)
    return Rows(head=("Parameter", "Value"), rows=rows)


def method_rows(found: UnitParameters) -> Rows:
    """The absolute parameters by each method beside each other, and whether the methods agree."""
    methods = found.parameters.methods if found.parameters else ()
    if not methods:
        return Rows(head=(), rows=())
    rows = tuple(
        (SHOWN[name][0], *(shown(m.estimates, name) for m in methods))
        for name in SHOWN
        if any(name in m.estimates for m in methods)
    )
    head = ("Parameter", *(METHODS[m.method] for m in methods))
    return Rows(head=head, rows=rows, notes=tuple(agreement_lines(found)))


def agreement_lines(found: UnitParameters) -> list[str]:
    """Whether each pair of methods agrees on the moving mass, in words."""
    lines = []
    for pair in found.parameters.agreement if found.parameters else ():
        half = (
            100.0
            * coverage_factor(found.parameters.estimates.dof if found.parameters else float("inf"))
            * pair.u
        )
        difference = format_with_u(100.0 * pair.relative, half, "%", digits=1)
        verb = "agree" if pair.agrees else "do not agree"
        lines.append(
            f"{pair.first.capitalize()} and {pair.second} {verb} on the moving mass: difference {difference}."
        )
    return lines


def remark_lines(found: UnitParameters) -> list[str]:
    """Corrections that were made, method by method."""
    methods = found.parameters.methods if found.parameters else ()
    return [f"{METHODS[m.method].capitalize()}: {remark}" for m in methods for remark in m.remarks]


def candidate_rows(run: FittedRun) -> Rows:
    """The models that were tried, the best first; the criterion over that of the best."""
    if run.fit is None or not run.fit.candidates:
        return Rows(head=(), rows=())
    tried = sorted(run.fit.candidates, key=lambda c: c.criterion)
    best = tried[0].criterion
    rows = tuple(
        (
            COILS[c.coil] + (", creeping suspension" if c.creep else ""),
            f"{c.criterion - best:.0f}" if c.criterion > best else "0",
            format_value(100.0 * c.rms_residual, None, "%"),
            "taken" if c.chosen else "",
        )
        for c in tried
    )
    return Rows(
        head=("Model", "Criterion over the best", "R.m.s. left over", ""), rows=rows,
        notes=(f"Bayesian information criterion; smaller is better, and more than 10{THIN}says so clearly.",),
    )  # fmt: skip
