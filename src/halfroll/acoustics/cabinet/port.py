"""Ports: their end corrections, the length for a tuning and the tuning of a length, the pipe's own resonance, the speed of the air.

fb = (c/2π) √(S/(V L)), with L = length + end corrections. Ends: flanged 0.8216 r exactly (Nomura, Yamamura and Inawashiro 1960; Norris and
Sheng 1989), 8/(3π) r as a flat piston (Rayleigh); free 0.6133 r (Levine and Schwinger 1948). Small (1973) takes one of each, 1.462 r; in
print stand 1.43 to 1.70, so the sum is a field. A slot counts as the circle with its area (common practice); long flat slots load more.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.core.errors import InputError

FLANGED, FLANGED_PISTON, FREE = 0.8216, 8.0 / (3.0 * math.pi), 0.6133
"""End corrections in radii."""
ONE_FLANGED = 1.462
"""One end flanged, one free, as Small takes them."""
END_SUMS = {
    "one end flanged, one free": ONE_FLANGED,
    "the same, exact flange": FLANGED + FREE,
    "both ends flanged": 2.0 * FLANGED,
    "both flanged, as pistons": 2.0 * FLANGED_PISTON,
    "both ends free": 2.0 * FREE,
}
"""Sums of both ends' corrections, in radii, by words."""

KINEMATIC_VISCOSITY_M2_S = 1.51e-5
"""Of air at 20 °C (from memory)."""
FASTEST_OF_C = 0.05
"""Peak air speed over the speed of sound from which a port is heard (common practice); less with sharp edges."""
TURBULENT_REYNOLDS = 2300.0
"""Reynolds number from which a steady flow in a round pipe may be turbulent (Reynolds 1883); an oscillating one stays laminar longer."""


@dataclass(frozen=True, kw_only=True)
class Port:
    """One or several equal ports.

    Parameters
    ----------
    area_m2
        Cross-section of one.
    length_m
        Length of the tube, without end corrections.
    count
        How many.
    end_sum
        Sum of both ends' corrections in radii of the circle with the same area.
    across_m
        Widest measure of the cross-section; the diameter of a round one.
    high_m
        Least measure; the diameter of a round one.
    tube_wall_m
        Wall of the tube, which takes volume too.
    """

    area_m2: float
    length_m: float
    count: int = 1
    end_sum: float = ONE_FLANGED
    across_m: float
    high_m: float
    tube_wall_m: float = 0.0

    def __post_init__(self) -> None:
        for key, what, value, low, high, unit in (
            ("diameter_mm", "cross-section", 1e4 * self.area_m2, 0.01, 1e4, " cm²"),
            ("length_mm", "length", 1e3 * self.length_m, 0.1, 5000.0, " mm"),
            ("count", "number", self.count, 1, 100, ""),
            ("end_correction_radii", "end correction", self.end_sum, 0.0, 4.0, " radii"),
            ("wall_mm", "wall", 1e3 * self.tube_wall_m, 0.0, 100.0, " mm"),
        ):
            if not low <= value <= high:
                raise InputError(f"The {what} of the port is not one a port can have", key=f"port.{key}", found=f"{value:.4g}{unit}",
                                 allowed=f"{low:g} to {high:g}{unit}")  # fmt: skip

    @staticmethod
    def round(
        diameter_m: float,
        length_m: float,
        *,
        count: int = 1,
        end_sum: float = ONE_FLANGED,
        tube_wall_m: float = 0.0,
    ) -> Port:
        """A round port."""
        return Port(area_m2=math.pi * diameter_m**2 / 4.0, length_m=length_m, count=count, end_sum=end_sum, across_m=diameter_m,
                    high_m=diameter_m, tube_wall_m=tube_wall_m)  # fmt: skip

    @staticmethod
    def slot(
        width_m: float, height_m: float, length_m: float, *, count: int = 1, end_sum: float = ONE_FLANGED, tube_wall_m: float = 0.0
    ) -> Port:  # fmt: skip
        """A rectangular port."""
        wide, high = max(width_m, height_m), min(width_m, height_m)
        return Port(area_m2=width_m * height_m, length_m=length_m, count=count, end_sum=end_sum, across_m=wide, high_m=high,
                    tube_wall_m=tube_wall_m)  # fmt: skip

    @property
    def is_round(self) -> bool:
        """Whether the cross-section is a circle."""
        return math.isclose(self.area_m2, math.pi * self.across_m**2 / 4.0, rel_tol=1e-9)

    @property
    def radius_m(self) -> float:
        """Of the circle with the area of one port."""
        return math.sqrt(self.area_m2 / math.pi)

    @property
    def all_area_m2(self) -> float:
        """Cross-section of all ports together."""
        return self.count * self.area_m2

    @property
    def effective_length_m(self) -> float:
        """Length with both end corrections."""
        return self.length_m + self.end_sum * self.radius_m

    @property
    def volume_m3(self) -> float:
        """What the tubes take of the cabinet: bore and wall, over their length."""
        wall = self.tube_wall_m
        if self.is_round:
            outer = math.pi * (self.across_m / 2.0 + wall) ** 2
        else:
            outer = (self.across_m + 2.0 * wall) * (self.high_m + 2.0 * wall)
        return self.count * outer * self.length_m

    def mass(self, air: Air = STANDARD_AIR) -> float:
        """Acoustic mass of all ports (kg/m⁴), ρ L/S."""
        return air.density * self.effective_length_m / self.all_area_m2

    def pipe_resonance_hz(self, air: Air = STANDARD_AIR) -> float:
        """The tube's own first resonance, half a wave along it: c/(2 L), where it sings and lets through what the cabinet holds."""
        return air.speed_of_sound / (2.0 * self.effective_length_m)

    def reynolds(self, peak_speed_m_s: float) -> float:
        """Reynolds number of the peak speed over the hydraulic diameter 4 S/perimeter."""
        around = math.pi * self.across_m if self.is_round else 2.0 * (self.across_m + self.high_m)
        return peak_speed_m_s * 4.0 * self.area_m2 / around / KINEMATIC_VISCOSITY_M2_S


def tuning_hz(volume_m3: float, port: Port, air: Air = STANDARD_AIR) -> float:
    """Frequency at which a port and a net volume resonate."""
    stiff = air.density * air.speed_of_sound**2 / volume_m3
    return math.sqrt(stiff / port.mass(air)) / (2.0 * math.pi)


def length_for(
    volume_m3: float, tuning: float, area_m2: float, *, count: int = 1, end_sum: float = ONE_FLANGED, air: Air = STANDARD_AIR
) -> float:  # fmt: skip
    """Length (m) of each of `count` ports of an area that tunes a net volume to a frequency (Hz).

    Raises
    ------
    InputError
        The end corrections alone are longer: the port is too narrow for so high a tuning, or the volume too small.
    """
    effective = count * area_m2 * (air.speed_of_sound / (2.0 * math.pi * tuning)) ** 2 / volume_m3
    length = effective - end_sum * math.sqrt(area_m2 / math.pi)
    if length < 1e-3:
        raise InputError(
            f"A port of this width cannot be short enough to tune {1e3 * volume_m3:.3g} l to {tuning:.4g} Hz: its ends alone load it more",
            key="port.tuning_hz", found=f"{1e3 * length:.1f} mm",
            remedy="Widen the port, use several, or tune lower",
        )  # fmt: skip
    return length
