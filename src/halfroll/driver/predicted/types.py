"""A driver worked out from its design: the model, what was assumed, and how the model moves when an assumption does."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from halfroll.core.levels import FloatArray
from halfroll.core.verdicts import Verdict
from halfroll.driver.lumped import DriverModel

if TYPE_CHECKING:
    from halfroll.motor.heat.borne import CoilHeat
    from halfroll.suspension.results import BreakUp, MovingMass, SuspensionResult

AssumptionKind = Literal["material", "magnet", "steel", "print", "assembly", "winding", "air", "entered"]


@dataclass(frozen=True, kw_only=True)
class Assumption:
    """One thing that is not known exactly: what it is, its value and standard uncertainty in `unit`.

    `key` names it for machines and in other versions alike: ``filament.tpu-grey.modulus``, ``magnet.n42.remanence``, ``surround.thickness``,
    ``gap.width``, ``moving.glue``. `shared` tells that it belongs to a material or bought part, so that what is learnt of it holds for other
    versions too; then `record` is the id of the material. A value above zero moves by its logarithm when `by_ratio`.
    """

    key: str
    label: str
    kind: AssumptionKind
    unit: str
    value: float
    u: float
    by_ratio: bool = True
    shared: bool = False
    record: str = ""
    source: str = ""


@dataclass(frozen=True, kw_only=True)
class Worked:
    """One value that follows, such as fs or Bl: with its standard uncertainty, and each assumption's share of it (unit of the value, signed,
    for one standard uncertainty of the assumption).
    """

    key: str
    symbol: str
    unit: str
    value: float
    u: float
    shares: tuple[tuple[str, float], ...] = ()
    where: str = ""
    """Where it comes from: ``the motor's field``, ``measured``, ``entered``."""


@dataclass(frozen=True, kw_only=True, eq=False)
class PredictedDriver:
    """A driver model with what was assumed for it.

    Parameters
    ----------
    model
        The driver at the assumed values; Mms holds the air load of an infinite baffle.
    assumptions
        What it rests on, (a,).
    slopes
        Change of the packed model (`predicted.packing.pack`) per standard uncertainty of each assumption, shape (a, p).
    values
        The small-signal parameters and what else follows, with uncertainty.
    break_up, mass, suspension, heat
        What the design's studies gave, for those who need more than the model; None where the design has no such part.
    rms_parts
        What Rms is made of, by words (N s/m).
    missing
        Parts the design lacks that a prediction would have used, and what was taken instead, in words.
    verdicts
        What must be said.
    """

    model: DriverModel
    assumptions: tuple[Assumption, ...]
    slopes: FloatArray
    values: tuple[Worked, ...]
    suspension: SuspensionResult | None = None
    mass: MovingMass | None = None
    break_up: BreakUp | None = None
    heat: CoilHeat | None = None
    rms_parts: tuple[tuple[str, float], ...] = ()
    missing: tuple[str, ...] = ()
    verdicts: tuple[Verdict, ...] = ()

    def moved(self, by: Mapping[str, float]) -> DriverModel:
        """The model with assumptions moved by so many of their standard uncertainties, to first order."""
        import numpy as np

        from halfroll.driver.predicted.packing import pack, unpack

        z = np.array([by.get(one.key, 0.0) for one in self.assumptions])
        return unpack(pack(self.model) + z @ self.slopes, self.model)
