"""What stands behind a cone as a linear network in state space: a cabinet to a driver, in time and over frequency alike.

States z of the network follow the volume flow U (m³/s) that the cone takes out of the cabinet, positive outwards:

    z' = A z + B U,    p = C z + D U,    Q = E z + G U

p is the pressure (Pa) in the cabinet over its rest, so that the cone feels the force Sd p, which for a sealed cabinet is negative while
the cone is out; each row of Q is a volume flow (m³/s, positive outwards) through something else that radiates: a port, a passive
radiator, a leak. Acoustical analogies as in any textbook (Beranek and Mellow, "Acoustics", chapter 4, from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.core.levels import ComplexArray, FloatArray


@dataclass(frozen=True, kw_only=True, eq=False)
class AcousticLoad:
    """A (n, n), B (n,), C (n,), D () as above; `outlets` names the rows of E (k, n) and G (k,): ``port``, ``passive radiator``, ``leak``.

    `displacement_rows` (m, n) read displacements (m) of what moves beside the cone (a passive radiator), named by `moving`.
    """

    a: FloatArray
    b: FloatArray
    c: FloatArray
    d: float = 0.0
    outlets: tuple[str, ...] = ()
    e: FloatArray
    g: FloatArray
    moving: tuple[str, ...] = ()
    displacement_rows: FloatArray | None = None

    def states(self, frequency_hz: FloatArray) -> ComplexArray:
        """States per volume flow, e^{+jωt}, shape (n, f)."""
        s = 2j * np.pi * np.asarray(frequency_hz, dtype=np.float64)
        unit = np.eye(len(self.b))
        systems = s[:, None, None] * unit - self.a
        return np.asarray(
            np.linalg.solve(systems, np.broadcast_to(self.b[:, None], (s.size, self.b.size, 1)))[..., 0].T
        )

    def pressure(self, frequency_hz: FloatArray) -> ComplexArray:
        """Pressure in the cabinet per volume flow of the cone (Pa s/m³), shape (f,); minus it is the load's acoustic impedance."""
        return np.asarray(self.c @ self.states(frequency_hz) + self.d)

    def resonances_hz(self) -> tuple[float, ...]:
        """Frequencies at which the load swings by itself while the cone is held (Hz), ascending: its tuning, where it has one."""
        rates = np.linalg.eigvals(self.a)
        return tuple(
            sorted(float(abs(rate)) / (2.0 * math.pi) for rate in rates if rate.imag > 1e-9 * abs(rate))
        )

    def flows(self, frequency_hz: FloatArray) -> ComplexArray:
        """Volume flow of each outlet per volume flow of the cone, shape (k, f)."""
        return np.asarray(self.e @ self.states(frequency_hz) + self.g[:, None])


def closed_load(volume_m3: float, air: Air = STANDARD_AIR) -> AcousticLoad:
    """A sealed volume without loss: p = -x Sd ρc²/V. The state is the volume taken out of it (m³)."""
    stiffness = air.density * air.speed_of_sound**2 / volume_m3
    return AcousticLoad(
        a=np.zeros((1, 1)), b=np.ones(1), c=np.array([-stiffness]), e=np.zeros((0, 1)), g=np.zeros(0)
    )


def vented_load(
    volume_m3: float, tuning_hz: float, leak_q: float = math.inf, air: Air = STANDARD_AIR
) -> AcousticLoad:
    """A net volume with a port that resonates with it at a frequency, and leaks of a Q there: QL = ωb C R (Thiele 1961, Small 1973).

    Port without loss, no mutual load of cone and port. States: pressure (Pa), volume flow of the port (m³/s).
    """
    compliance, tuning = volume_m3 / (air.density * air.speed_of_sound**2), 2.0 * math.pi * tuning_hz
    leak = tuning * compliance / leak_q
    return AcousticLoad(
        a=np.array([[-leak / compliance, -1.0 / compliance], [tuning**2 * compliance, 0.0]]),
        b=np.array([-1.0 / compliance, 0.0]),
        c=np.array([1.0, 0.0]),
        outlets=("port", "leak") if leak > 0.0 else ("port",),
        e=np.array([[0.0, 1.0], [leak, 0.0]][: 2 if leak > 0.0 else 1]),
        g=np.zeros(2 if leak > 0.0 else 1),
    )
