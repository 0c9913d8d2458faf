"""What must be said of causes of distortion: where they cannot be told, oppose or need each other."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.core.text import THIN, format_band, format_percent
from halfroll.core.verdicts import Severity, Verdict
from halfroll.driver.causes import ROWS, Causes

CANCELS = -0.25
INTERACTS = 0.3
"""Shares in a band below, or above, which causes are said to cancel, or to act together (own choice)."""

SMALL = 1e-3
"""Distortion over a band below which nothing is said of its causes (own choice)."""


def causes_said(found: Causes, band_hz: tuple[float, float]) -> tuple[Verdict, ...]:
    """What must be said of the causes over a band of distortion."""
    return (*_unsteady(found), *_one_way(found), *_mixed(found, band_hz))


def _unsteady(found: Causes) -> Iterator[Verdict]:
    bad = np.array([one != "steady" for one in found.standing])
    if bad.any():
        where = found.frequency_hz[bad]
        yield Verdict(
            code="causes-not-told", severity=Severity.CAUTION,
            text=f"At {found.voltage_v:.3g}{THIN}V {_places(where)} the cone leaves the travel the model holds for, or finds no steady motion: no distortion is "
            "told there, and no cause of it.",
            remedy="Ask for a lower level.", data={"frequency_hz": [float(f) for f in where]},
        )  # fmt: skip


def _one_way(found: Causes) -> Iterator[Verdict]:
    for cause, ways in zip(found.causes, found.ways, strict=True):
        where = found.frequency_hz[(ways < 2) & np.isfinite(found.thd)]
        if where.size:
            yield Verdict(
                code="cause-half-told", severity=Severity.NOTE,
                text=f"{cause.symbol} {_places(where)}: with it alone, or without it, the cone would leave the travel the model holds for, so its share rests "
                "on one of the two comparisons, or is left in what causes make together.",
                data={"cause": cause.key, "frequency_hz": [float(f) for f in where]},
            )  # fmt: skip


def _mixed(found: Causes, band_hz: tuple[float, float]) -> Iterator[Verdict]:
    for parity in ROWS:
        if not found.size_over_band(parity, band_hz) > SMALL:
            continue
        shares = found.over_band(parity, band_hz)
        for cause, share in zip(found.causes, shares[:-1], strict=True):
            if share < CANCELS:
                yield Verdict(
                    code="causes-cancel", severity=Severity.NOTE,
                    text=f"Over {format_band(band_hz)} {cause.symbol} takes away {parity} distortion that the others make ({format_percent(share)}): were it made perfect alone, "
                    f"{parity} distortion would grow.",
                    remedy="Mend the causes it opposes first.", data={"cause": cause.key, "parity": parity, "share": float(share)},
                )  # fmt: skip
        if abs(shares[-1]) > INTERACTS:
            yield Verdict(
                code="causes-act-together", severity=Severity.NOTE,
                text=f"Over {format_band(band_hz)} {format_percent(shares[-1])} of the {parity} distortion belongs to no cause alone: they act on each other, and "
                "mending one changes the shares of the rest.",
                data={"parity": parity, "share": float(shares[-1])},
            )  # fmt: skip


def _places(where_hz: FloatArray) -> str:
    low, high = float(where_hz.min()), float(where_hz.max())
    return (
        f"at {low:.3g}{THIN}Hz"
        if low == high
        else f"at {where_hz.size} tones from {low:.3g} to {high:.3g}{THIN}Hz"
    )
