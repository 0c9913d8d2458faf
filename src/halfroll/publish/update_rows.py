"""An update as rows for people and as plain values for programs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from halfroll.core.text import THIN, format_with_u
from halfroll.driver.update.types import NEPER_DB, Cause, Residual, Update, as_dict
from halfroll.publish.parameter_rows import Rows
from halfroll.publish.update_points import change_words, shown_causes

if TYPE_CHECKING:
    from halfroll.workshop.learnt_others import OtherVersion
    from halfroll.workshop.update import VersionUpdate

OTHERS = {
    "fs_hz": ("fs", "Hz", ".1f"),
    "bl_n_per_a": ("Bl", "N/A", ".2f"),
    "level_2v83_db": ("level at 2.83 V", "dB", ".1f"),
}

UNITS = {"Pa": (1e-6, "MPa"), "kg": (1e3, "g"), "m": (1e3, "mm"), "m²": (1e4, "cm²")}


def cause_rows(found: Update, most: int = 10) -> Rows:
    """What was assumed, where it lies with what was measured; ± is a standard uncertainty."""
    rows = [
        (
            one.assumption.label,
            _valued(one.assumption.value, one.assumption.u, one.assumption.unit),
            _valued(one.value, one.value_u, one.assumption.unit),
            change_words(one) if one.moved or one.informed else "not told",
            _deviations(one),
            f"{100.0 * one.probability:.0f}{THIN}%",
        )
        for one in shown_causes(found, most)
    ]
    return Rows(
        head=("Assumption", "assumed", "after", "change", "standard deviations", "takes part"),
        rows=tuple(rows),
        notes=(
            "± is one standard uncertainty. An assumption that did not move stands as all data together leave it.",
        ),
    )


def _valued(value: float, u: float, unit: str) -> str:
    factor, shown = UNITS.get(unit, (1.0, unit))
    return format_with_u(factor * value, factor * u, shown)


def _deviations(one: Cause) -> str:
    z, u = (one.z_few, one.u_few) if one.moved else (one.z, one.u)
    return f"{z:+.1f} ± {u:.1f}".replace("-", "−")


SHORT = {"impedance": "Impedance", "modulus": "Impedance", "level": "Level", "thd": "THD", "fs_hz": "fs", "qms": "Qms", "qes": "Qes", "re_ohm": "Re",
         "moving_mass_kg": "Weighed mass", "mms_kg": "Mms", "bl_n_per_a": "Bl"}  # fmt: skip


def residual_rows(found: Update) -> Rows:
    """Measured less predicted by cause, one column for each thing measured: a single value in per cent, a curve r.m.s. in dB."""
    named = {one.assumption.key: one.assumption.label for one in found.causes}
    moved = [one.assumption.key for one in found.causes if one.moved]
    residuals = found.residuals
    shares = [dict(one.shares) for one in residuals]
    beside = [
        sum((share for key, share in one.shares if key not in named), np.zeros(len(one.difference)))
        for one in residuals
    ]
    rows = [("measured less predicted", *(_size(one, one.difference) for one in residuals))]
    rows += [
        (named[key], *(_size(one, share[key]) for one, share in zip(residuals, shares, strict=True)))
        for key in moved
    ]
    rows.append(
        (
            "scales of the measurement, and beside the assumptions",
            *(_size(*pair) for pair in zip(residuals, beside, strict=True)),
        )
    )
    rows.append(("left", *(_size(one, one.remainder) for one in residuals)))
    head = (
        SHORT.get(one.observation.key, one.observation.label) + ("" if one.observation.counted else "*")
        for one in residuals
    )
    return Rows(
        head=("Share", *head), rows=tuple(rows),
        notes=("Single values in per cent: all rows but the first add up to the first. Of curves stands the root mean square in dB; the picture shows them whole.",
               "* only shown: the curve it was fitted to is counted."),
    )  # fmt: skip


def _size(one: Residual, values: np.ndarray) -> str:
    if one.observation.kind == "value":
        percent = 100.0 * float(values[0]) / NEPER_DB
        return f"{percent:+.1f}{THIN}%".replace("-", "−") if abs(percent) >= 0.05 else f"0{THIN}%"
    count = len(one.observation.values)
    return f"{np.sqrt(np.mean(values[:count] ** 2)):.2f}{THIN}dB"


def other_rows(others: Sequence[OtherVersion]) -> Rows:
    """Other versions that use what moved, before and with what was learnt."""
    rows = []
    for one in others:
        if one.fault:
            rows.append((one.version_id, *("–" for _ in OTHERS), one.fault))
            continue
        moves = [
            f"{one.before[key]:{form}} → {one.after[key]:{form}}{THIN}{unit}"
            for key, (_, unit, form) in OTHERS.items()
        ]
        rows.append((one.version_id, *moves, ""))
    notes = any(one.fault for one in others)
    head = ("Version", *(label for label, _, _ in OTHERS.values()), *(("",) if notes else ()))
    return Rows(head=head, rows=tuple(row if notes else row[:-1] for row in rows))


def update_dict(found: VersionUpdate) -> dict[str, Any]:
    """Plain values for programs."""
    one = found.update
    return {
        "version": found.version_id,
        "units": list(found.units),
        "not_measured": list(found.missing),
        "verdicts": [verdict.as_dict() for verdict in one.verdicts],
        "assumptions": [_cause_dict(cause) for cause in one.causes],
        "explanation": as_dict(one.explanation),
        "other_explanations": [as_dict(other) for other in one.others],
        "cannot_tell_apart": [
            {"first": pair.first, "second": pair.second, "bayes_factor": pair.odds, "correlation": pair.correlation,
             "would_tell": [{"measurement": telling.what, "apart_sd": telling.apart} for telling in pair.telling]}
            for pair in one.alike
        ],
        "scales": [{"scale": name, "moved_sd": z, "u_sd": u} for name, z, u in one.scales],
        "misfit": {
            "chi_squared": one.misfit.chi_squared, "points": one.misfit.points, "probability": one.misfit.probability,
            "stretches": [{"of": of, "low_hz": low, "high_hz": high, "rms_u": rms} for of, low, high, rms in one.misfit.stretches],
            "widened": dict(one.misfit.widened),
        },
        "residuals": [_residual_dict(residual) for residual in one.residuals],
    }  # fmt: skip


def _cause_dict(one: Cause) -> dict[str, Any]:
    said = one.assumption
    return {
        "key": said.key, "label": said.label, "kind": said.kind, "unit": said.unit, "assumed": said.value, "assumed_u": said.u,
        "value": one.value, "value_u": one.value_u, "moved": one.moved, "moved_sd": one.z_few if one.moved else one.z,
        "moved_u_sd": one.u_few if one.moved else one.u, "all_free_sd": one.z, "all_free_u_sd": one.u, "probability": one.probability,
        "material": said.record if said.shared else None,
    }  # fmt: skip


def _residual_dict(one: Residual) -> dict[str, Any]:
    seen, count = one.observation, len(one.observation.values)
    return {
        "of": seen.key, "label": seen.label, "counted": seen.counted, "source": seen.source, "frequency_hz": seen.frequency_hz.tolist(),
        "difference_db": one.difference[:count].tolist(), "left_db": one.remainder[:count].tolist(),
        "shares_db": {key: share[:count].tolist() for key, share in one.shares},
    }  # fmt: skip
