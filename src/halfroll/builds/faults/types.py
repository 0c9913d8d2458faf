"""What the fault finder works on: a version as its good units are, and how a unit was mounted when it was read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from halfroll.builds.types import Band
from halfroll.core.levels import FloatArray
from halfroll.core.verdicts import Verdict
from halfroll.driver.cone import ConeMode
from halfroll.driver.lumped import DriverModel

MountingKind = Literal["free air", "baffle", "box"]


@dataclass(frozen=True, kw_only=True)
class Mounting:
    """What was around a driver when it was read.

    Parameters
    ----------
    kind
        ``free air``, ``baffle`` (large, nothing close behind) or ``box``.
    volume_m3
        Net volume of the box.
    tuning_hz
        Where a port or passive radiator is tuned to; None: closed.
    """

    kind: MountingKind = "free air"
    volume_m3: float = 0.0
    tuning_hz: float | None = None


FREE_AIR = Mounting()
BAFFLE = Mounting(kind="baffle")


@dataclass(frozen=True, kw_only=True)
class Mounted:
    """How the unit was mounted for what was read with meters (`electrical`) and for what a microphone heard (`sound`).

    `near`: the microphone stood close before the cone, so that of a box neither port nor leak was heard, only what they do to the cone.
    """

    electrical: Mounting = FREE_AIR
    sound: Mounting = BAFFLE
    near: bool = False


@dataclass(frozen=True, kw_only=True)
class Coil:
    """What a fault of the coil needs: `turns` and `layers` (None where not known), mass of its metal (kg)."""

    turns: int | None = None
    layers: int | None = None
    metal_kg: float = 0.0


@dataclass(frozen=True, kw_only=True, eq=False)
class Reference:
    """A version's good units.

    Parameters
    ----------
    version_id, source
        Which, and where it comes from in words: its design, measured units, entered parameters.
    model
        The driver in an infinite baffle at the middle of what is known.
    steps
        Change of the packed model (`predicted.packing.pack`) for one standard deviation of each thing in which good units differ or that
        is not known of the version, (a, p); the things are independent.
    step_labels
        Their names, (a,).
    rest_steps_mm
        What each does to the height of the coil (mm), (a,).
    coil
        Turns, layers, mass.
    magnets
        Magnets in the motor; one can only be in upside down as a whole.
    spider_share
        Share of the stiffness at rest that the spider has, lower and upper bound where it is not known; None: there is no spider.
    modes
        Of the cone, for the treble.
    drive_v
        Voltage at the terminals at which distortion was or will be heard.
    mounted
        How units are mounted where nobody says otherwise.
    bands
        What the assembly guide says of good units, by key.
    """

    version_id: str
    source: str
    model: DriverModel
    steps: FloatArray
    step_labels: tuple[str, ...]
    rest_steps_mm: FloatArray
    coil: Coil = Coil()
    magnets: int = 1
    spider_share: tuple[float, float] | None = (0.3, 0.7)
    modes: tuple[ConeMode, ...] = ()
    drive_v: float = 2.0
    mounted: Mounted = Mounted()
    bands: Mapping[str, Band] = field(default_factory=dict)
    verdicts: tuple[Verdict, ...] = ()
