"""Break-up: where the diaphragm stops moving as one piece, and up to where its sound is a rigid piston's."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.acoustics.rayleigh import valid_to_hz
from halfroll.core.frequency import log_grid
from halfroll.core.levels import FloatArray
from halfroll.core.progress import Progress, part, silent
from halfroll.core.verdicts import Verdict
from halfroll.suspension.design import MovingDesign
from halfroll.suspension.diaphragm import said
from halfroll.suspension.diaphragm.assembled import Assembly
from halfroll.suspension.diaphragm.assembly import assemble
from halfroll.suspension.diaphragm.forced import Forced, forced
from halfroll.suspension.diaphragm.modes import (
    HEARD_DB,
    OWN_SHARE,
    SEARCHED_HZ,
    Rigid,
    describe,
    first_resonance,
    is_break_up,
    rigid_piston,
    solve_modes,
)
from halfroll.suspension.diaphragm.spread import relative_uncertainties
from halfroll.suspension.results import BreakUp, MovingMass, PartResult, ShellMode

ANGLES_DEG = (0.0, 15.0, 30.0, 45.0, 60.0)
USABLE_DB = 3.0
PER_OCTAVE = 24
LOWEST_HZ, HEARING_HZ = 20.0, 20e3
NEAR_SHARE, NEAR_DB = 0.1, 1.0
"""How near to the borders of `is_break_up` a resonance is told to be a close call (own choice)."""
BEYOND = 1.3
"""The response is computed to this many times the second break-up."""

_PEAK = (-4.0, -2.0, -1.0, -0.5, 0.0, 0.5, 1.0, 2.0, 4.0)
"""Extra points about each resonance, in half its width."""


def break_up(
    design: MovingDesign,
    *,
    mass: MovingMass | None = None,
    surround: PartResult | None = None,
    spider: PartResult | None = None,
    air: Air = STANDARD_AIR,
    progress: Progress = silent,
) -> BreakUp:
    """Resonances of the moving parts, and their far field against that of a rigid piston of the same mass, area and force.

    Parameters
    ----------
    design
        With a cone or dome at least; a surround, former and cap belong to it.
    mass
        Masses of the parts (`moving_mass`), so that what was weighed counts; computed when None.
    surround, spider
        Results of their studies where there are any: a spider, and a flexure in either place, is a spring.

    Raises
    ------
    InputError
        There is no cone, or a part cannot be.
    CancelledError
        Through `progress`.
    """
    progress(0.0, "joining the shell")
    assembly = assemble(design, mass, surround=surround, spider=spider)
    rigid = rigid_piston(assembly)
    progress(0.2, "finding resonances")
    modes = solve_modes(assembly)
    spread = relative_uncertainties(assembly, modes)[first_resonance(assembly) :]
    shown = [
        replace(mode, u_relative=float(u))
        for mode, u in zip(describe(assembly, modes, rigid, air), spread, strict=False)
    ]
    heard = [mode for mode in shown if is_break_up(mode)]
    close = [mode for mode in shown if _on_the_border(mode)]
    grid = _grid(shown, heard)
    found = forced(assembly, modes, rigid, grid, np.radians(ANGLES_DEG), air, part(progress, 0.4, 1.0))
    usable, left = _usable(found, _resonance_hz(rigid, assembly))
    depth = float(np.ptp(assembly.z))
    valid = valid_to_hz(depth, air)
    top = float(grid[-1])
    return BreakUp(
        first_hz=heard[0].frequency_hz if heard else None,
        second_hz=heard[1].frequency_hz if len(heard) > 1 else None,
        usable_hz=usable, usable_db=USABLE_DB, frequency_hz=grid, angles_deg=ANGLES_DEG, response_db=found.response_db,
        piston_db=found.piston_db, modes=tuple(mode for mode in shown if mode.frequency_hz <= top),
        u_relative=(heard or shown)[0].u_relative, valid_hz=valid, usable_u_relative=_ended_by(shown, usable).u_relative,
        verdicts=(
            *_said(heard, left, top, valid, depth), *_by_surround(shown, usable, left), *_close_calls(heard, close), *assembly.verdicts,
            said.bell_modes(),
        ),
    )  # fmt: skip


def _said(heard: Sequence[ShellMode], left: bool, top: float, valid: float, depth: float) -> list[Verdict]:
    out = []
    if not heard:
        out.append(said.no_break_up(SEARCHED_HZ))
    if not left:
        out.append(said.usable_beyond(top, USABLE_DB))
    if valid < top:
        out.append(said.too_deep(valid, depth))
    return out


def _by_surround(shown: Sequence[ShellMode], usable: float, left: bool) -> list[Verdict]:
    """What is said when the resonance that moves the level most at the usable frequency is the surround's."""
    most = _ended_by(shown, usable)
    return [said.surround_first(usable, most.frequency_hz)] if left and most.kind == "surround" else []


def _ended_by(shown: Sequence[ShellMode], usable: float) -> ShellMode:
    """The resonance besides the piston's that moves the level most at the usable frequency."""

    def moves(mode: ShellMode) -> float:
        """Its part of the volume acceleration: below its resonance with the square of frequency."""
        share, ratio = (10 ** (mode.peak_db / 20) - 1) / mode.quality, (usable / mode.frequency_hz) ** 2
        return share * ratio / abs(complex(1 - ratio, ratio / mode.quality))

    return max([mode for mode in shown if mode.kind != "piston"] or shown, key=moves)


def _on_the_border(mode: ShellMode) -> bool:
    """Whether a little more or less strain energy or level would make a resonance count, or not."""
    wide = is_break_up(mode, least_share=OWN_SHARE - NEAR_SHARE, least_db=HEARD_DB - NEAR_DB)
    return wide and not is_break_up(mode, least_share=OWN_SHARE + NEAR_SHARE, least_db=HEARD_DB + NEAR_DB)


def _close_calls(heard: Sequence[ShellMode], close: Sequence[ShellMode]) -> list[Verdict]:
    """What is said when first or second break-up hang on a resonance at the border of what counts."""
    last = heard[1].frequency_hz if len(heard) > 1 else math.inf
    touched = [mode for mode in close if mode.frequency_hz <= last]
    return [said.close_call([(mode.frequency_hz, mode in heard) for mode in touched])] if touched else []


def _resonance_hz(rigid: Rigid, assembly: Assembly) -> float:
    return math.sqrt(rigid.stiffness_n_per_m / rigid.mass_kg) / (2 * math.pi) if assembly.held else 0.0


def _grid(shown: Sequence[ShellMode], heard: Sequence[ShellMode]) -> FloatArray:
    """24 points an octave from 20 Hz to beyond the second break-up, closer about every resonance."""
    last = heard[min(1, len(heard) - 1)].frequency_hz if heard else HEARING_HZ / BEYOND
    top = min(max(BEYOND * last, HEARING_HZ / 4), SEARCHED_HZ)
    grid = log_grid(LOWEST_HZ, top, PER_OCTAVE)
    near = [
        mode.frequency_hz * (1 + step / (2 * mode.quality))
        for mode in shown
        if mode.frequency_hz < top
        for step in _PEAK
    ]
    extra = np.asarray([hz for hz in near if LOWEST_HZ <= hz <= grid[-1]])
    return np.unique(np.concatenate([grid, extra]))


def _usable(found: Forced, resonance_hz: float) -> tuple[float, bool]:
    """First frequency (Hz) above the resonance where the level on axis leaves the piston's by `USABLE_DB`, and whether it does."""
    away = np.abs(found.response_db[0])
    outside = np.flatnonzero((away > USABLE_DB) & (found.frequency_hz > 1.5 * resonance_hz))
    if not outside.size:
        return float(found.frequency_hz[-1]), False
    n = int(outside[0])
    if n == 0:
        return float(found.frequency_hz[0]), True
    (a, b), (low, high) = away[n - 1 : n + 1], np.log(found.frequency_hz[n - 1 : n + 1])
    return float(np.exp(low + (high - low) * (USABLE_DB - a) / (b - a))), True
