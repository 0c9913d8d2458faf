"""What a cabinet is: its volume or sizes, what stands in it, what leaks."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.acoustics.baffle import Baffle
from halfroll.acoustics.cabinet.port import Port, tuning_hz
from halfroll.acoustics.cabinet.stuffing import Stuffing
from halfroll.acoustics.cabinet.walls import WallReading, Walls, read_box, read_cylinder
from halfroll.core.errors import InputError

Kind = Literal["closed", "vented", "passive-radiator"]
KINDS: tuple[Kind, ...] = ("closed", "vented", "passive-radiator")

LOSSES_AT_HZ = 100.0
"""Where QL and QA of a closed cabinet hold unless stated; those of a vented one hold at its tuning."""
USUAL_QL = 7.0
"""A good start for a vented cabinet (Small 1973); measured ones lie mostly between 5 and 10."""
VISCOSITY_PA_S = 1.81e-5
"""Of air at 20 °C (from memory)."""


@dataclass(frozen=True, kw_only=True)
class Losses:
    """Q of leaks, absorption and port at the tuning, as Small (1973) defines them: QL = ωb Cab RL, QA = 1/(ωb Cab RA), QP = 1/(ωb Cab RP).

    Infinite: none. `at_hz` says where they hold instead of at the tuning.
    """

    leak_q: float = math.inf
    absorption_q: float = math.inf
    port_q: float = math.inf
    at_hz: float | None = None

    def __post_init__(self) -> None:
        for key, value in (("ql", self.leak_q), ("qa", self.absorption_q), ("qp", self.port_q)):
            if not value >= 0.5:
                raise InputError("A loss must be stated as a Q of 0.5 or more", key=f"losses.{key}", found=f"{value:g}",
                                 remedy="Leave it away for none; leaks of a well-made cabinet are 5 to 20")  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Gap:
    """A narrow slit through the wall, such as an open seam: length along the wall, width of the opening, thickness of the wall (m).

    Laminar, R = 12 μ t/(l h³), mass 6 ρ t/(5 l h) (Beranek, "Acoustics", 5.4, from memory); it holds for openings well below 1 mm.
    """

    long_m: float
    open_m: float
    through_m: float


@dataclass(frozen=True, kw_only=True)
class Hole:
    """A narrow round hole through the wall: R = 8 μ t/(π a⁴), mass 4 ρ t/(3 π a²) (Beranek, from memory; below about 1 mm)."""

    diameter_m: float
    through_m: float


Leak = Gap | Hole


@dataclass(frozen=True, kw_only=True)
class Radiator:
    """A passive radiator: moving mass with its air load (kg), compliance (m/N), loss (N s/m), area (m²), travel one way (m)."""

    mass_kg: float
    compliance_m_n: float
    resistance: float
    area_m2: float
    travel_m: float = math.inf
    count: int = 1

    def __post_init__(self) -> None:
        checks = (("mass_g", "moving mass", self.mass_kg), ("cms_mm_per_n", "compliance", self.compliance_m_n),
                  ("rms_ns_per_m", "mechanical loss", self.resistance), ("area_cm2", "area", self.area_m2), ("travel_mm", "travel", self.travel_m))  # fmt: skip
        for key, what, value in checks:
            if not value > 0.0:
                raise InputError(
                    f"The {what} of the passive radiator must be above zero",
                    key=f"radiator.{key}",
                    found=f"{value:g}",
                )

    @property
    def resonance_hz(self) -> float:
        """In free air."""
        return 1.0 / (2.0 * math.pi * math.sqrt(self.mass_kg * self.compliance_m_n))

    @property
    def all_area_m2(self) -> float:
        """Area of all radiators together."""
        return self.count * self.area_m2


@dataclass(frozen=True, kw_only=True)
class Box:
    """A rectangular inside, width and height as seen from the front, depth (m)."""

    width_m: float
    height_m: float
    depth_m: float

    @property
    def volume_m3(self) -> float:
        """Inside."""
        return self.width_m * self.height_m * self.depth_m

    @property
    def face_m(self) -> tuple[float, float]:
        """Width and height of the front, inside."""
        return self.width_m, self.height_m


@dataclass(frozen=True, kw_only=True)
class Cylinder:
    """A round inside with the driver in one end: diameter and depth (m)."""

    diameter_m: float
    depth_m: float

    @property
    def volume_m3(self) -> float:
        """Inside."""
        return math.pi * self.diameter_m**2 / 4.0 * self.depth_m

    @property
    def face_m(self) -> tuple[float, float]:
        """Width and height of the square in which the front lies."""
        return self.diameter_m, self.diameter_m


Inside = Box | Cylinder


@dataclass(frozen=True, kw_only=True)
class Cabinet:
    """A cabinet for one driver.

    Parameters
    ----------
    kind
        Closed, vented or with a passive radiator.
    gross_m3
        Volume inside with nothing in it.
    taken_m3
        What driver, bracing and all else but the port take of it.
    inside
        Its shape, where known.
    port, radiator
        What a vented cabinet and one with a passive radiator must have.
    front
        Outside of the front with the driver's place, for diffraction.
    wall_m
        Thickness of the walls, where known.
    """

    kind: Kind
    gross_m3: float
    taken_m3: float = 0.0
    inside: Inside | None = None
    port: Port | None = None
    radiator: Radiator | None = None
    losses: Losses = Losses()
    leak: Leak | None = None
    stuffing: Stuffing | None = None
    walls: Walls | None = None
    front: Baffle | None = None
    name: str = ""

    def __post_init__(self) -> None:
        if not 1e-5 <= self.gross_m3 <= 10.0:
            raise InputError(
                "The volume of a cabinet must be 0.01 l to 10 000 l",
                key="volume_l" if self.inside is None else "inside",
                found=f"{1e3 * self.gross_m3:g} l",
            )
        for kind, has, table in (
            ("vented", self.port, "port"),
            ("passive-radiator", self.radiator, "radiator"),
        ):
            if (self.kind == kind) != (has is not None):
                rule = f"needs a table [{table}]" if self.kind == kind else f"has no [{table}]"
                raise InputError(f"A cabinet of the kind {self.kind} {rule}", key=table)
        if self.net_m3 <= 0.05 * self.gross_m3:
            port = 0.0 if self.port is None else self.port.volume_m3
            raise InputError(
                "What stands in the cabinet leaves no air in it", key="volume_l" if self.inside is None else "inside",
                found=f"{1e3 * self.gross_m3:.3g} l inside, {1e3 * self.taken_m3:.3g} l taken, {1e3 * port:.3g} l of port",
                remedy="Make the cabinet larger, or the port shorter",
            )  # fmt: skip

    @property
    def net_m3(self) -> float:
        """Volume left to the air: without driver, bracing and port; fibres of stuffing are seen to in the network."""
        return self.gross_m3 - self.taken_m3 - (0.0 if self.port is None else self.port.volume_m3)

    def compliance(self, air: Air = STANDARD_AIR) -> float:
        """Acoustic compliance of the free air in it (m³/Pa), V/(ρ c²)."""
        return self.net_m3 / (air.density * air.speed_of_sound**2)

    def tuning_hz(self, air: Air = STANDARD_AIR) -> float | None:
        """Where port or passive radiator resonate with the air inside, without stuffing; None for a closed cabinet."""
        if self.port is not None:
            return tuning_hz(self.net_m3, self.port, air)
        if self.radiator is not None:
            one = self.radiator
            stiff = 1.0 / one.compliance_m_n + one.count * one.area_m2**2 / self.compliance(air)
            return math.sqrt(stiff / one.mass_kg) / (2.0 * math.pi)
        return None

    def losses_at_hz(self, air: Air = STANDARD_AIR) -> float:
        """Where the Qs of the losses hold."""
        return self.losses.at_hz or self.tuning_hz(air) or LOSSES_AT_HZ

    def wall_reading(self, air: Air = STANDARD_AIR) -> WallReading | None:
        """How stiff the walls are; None where their material or the sizes are not stated."""
        if self.walls is None or self.inside is None:
            return None
        if isinstance(self.inside, Box):
            box = self.inside
            return read_box(self.walls, (box.width_m, box.height_m, box.depth_m), self.net_m3, air)
        return read_cylinder(self.walls, self.inside.diameter_m, self.net_m3, air)
