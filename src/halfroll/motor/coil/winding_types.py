"""What is asked of a winding, the room it must keep to, and what the answer consists of."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from halfroll.core.errors import InputError
from halfroll.core.verdicts import Verdict
from halfroll.motor.coil.clearance import RUNOUT_M, WALL_TOLERANCE_M, Clearance
from halfroll.motor.coil.wound import Coil
from halfroll.motor.types import Assembly, Gap

Kind = Literal["rated", "resistance"]

RATED_LEAST = 0.8
"""IEC 60268-5, 16.1: the lowest magnitude of the impedance must not be below 80 % of the rated impedance."""

RATED_MOST = 0.95
"""Above this share a lower rated impedance would be missed in level; common practice."""


@dataclass(frozen=True, kw_only=True)
class Target:
    """What a winding must come to.

    ``rated``: a rated impedance, `ohm`; then R at 20 °C lies from 80 % to 95 % of it, so that the lowest magnitude of the
    impedance, which is R and a little, keeps the 80 % of IEC 60268-5. ``resistance``: R itself, within `tolerance` (relative).
    """

    ohm: float
    kind: Kind = "rated"
    tolerance: float = 0.05

    def __post_init__(self) -> None:
        if not 0.5 <= self.ohm <= 1000.0:
            raise InputError("The impedance aimed at must be one a coil can have", key="impedance", found=f"{self.ohm:g} ohm",
                             allowed="0.5 to 1000 ohm")  # fmt: skip
        if not 0.0 < self.tolerance <= 0.5:
            raise InputError("The tolerance of the resistance must be a share of it", key="tolerance",
                             found=f"{100 * self.tolerance:g} %", allowed="above 0 to 50 %")  # fmt: skip

    @property
    def range_ohm(self) -> tuple[float, float]:
        """Lowest and highest R at 20 °C (ohm) that meets it."""
        if self.kind == "rated":
            return RATED_LEAST * self.ohm, RATED_MOST * self.ohm
        return self.ohm * (1.0 - self.tolerance), self.ohm * (1.0 + self.tolerance)

    @property
    def aim_ohm(self) -> float:
        """R that is aimed at (ohm)."""
        low, high = self.range_ohm
        return 0.5 * (low + high)

    def in_words(self) -> str:
        """What was asked, and what that means for R."""
        low, high = self.range_ohm
        if self.kind == "rated":
            return (
                f"{self.ohm:g} ohm rated impedance: R from {low:.3g} to {high:.3g} ohm, since the lowest impedance may not "
                "fall under 80 % of the rated one (IEC 60268-5)"
            )
        return f"{self.ohm:g} ohm of direct-current resistance: R from {low:.3g} to {high:.3g} ohm"


@dataclass(frozen=True, kw_only=True)
class Room:
    """What a winding must keep to.

    Parameters
    ----------
    gap
        The gap it moves in.
    clearance_m
        Least clearance as drawn on each side (m), warm or cold the smaller one.
    height_m
        Least and most winding height (m).
    travel_m
        Travel each way (m) over which the number of turns in the gap must stay: |winding height - gap height|/2.
    coil_c, motor_c
        Temperatures the clearance is taken at (°C).
    motor
        The whole motor, when it is known: no part of it may be in the coil's way at rest or within the travel, and walls that are
        nearer than the gap's, such as a copper cap, count for the clearance.
    """

    gap: Gap
    clearance_m: float = 0.2e-3
    height_m: tuple[float, float] = (2e-3, 50e-3)
    travel_m: float = 0.0
    coil_c: float = 20.0
    motor_c: float = 20.0
    runout_m: float = RUNOUT_M
    wall_tolerance_m: float = WALL_TOLERANCE_M
    motor: Assembly | None = None

    @property
    def gap_height_m(self) -> float:
        """Height of the gap (m)."""
        return self.gap.z_high - self.gap.z_low


@dataclass(frozen=True, kw_only=True)
class Choice:
    """A winding that fits.

    Parameters
    ----------
    coil, clearance
        As wound, and its room on both sides.
    bl
        Force factor at rest (T m); of a field of 1 T when none was solved.
    merit
        (Bl)²/R in N²/W.
    score
        What it is ranked by.
    travel_m
        Geometric travel each way (m), half the difference of the heights of winding and gap, and which is longer.
    hung
        ``overhung`` when the winding is longer, ``underhung`` when the gap is.
    why
        Why it stands where it does, one sentence.
    """

    coil: Coil
    clearance: Clearance
    bl: float
    merit: float
    score: float
    travel_m: float
    hung: Literal["overhung", "underhung"]
    why: str = ""


@dataclass(frozen=True, kw_only=True)
class Windings:
    """The answer: `choices` best first, `rejected` windings by reason, and what the answer rests on."""

    target: Target
    choices: tuple[Choice, ...]
    rejected: dict[str, int]
    ranked_by: str
    verdicts: tuple[Verdict, ...] = field(default=())

    @property
    def tried(self) -> int:
        """All windings that were looked at."""
        return len(self.choices) + sum(self.rejected.values())
