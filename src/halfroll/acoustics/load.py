"""What stands behind a cone as a linear network in state space: a cabinet to a driver, in time and over frequency alike.

States z of the network follow the volume flow U (m³/s) that the cone takes out of the cabinet, positive outwards:

    z' = A z + B U,    p = C z + D U,    Q = E z + G U

p is the pressure (Pa) in the cabinet over its rest, so that the cone feels the force Sd p, which for a sealed cabinet is negative while
the cone is out; each row of Q is a volume flow (m³/s, positive outwards) through something else that radiates: a port, a passive
radiator, a leak. Acoustical analogies as in any textbook (Beranek and Mellow, "Acoustics", chapter 4, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

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

    def flows(self, frequency_hz: FloatArray) -> ComplexArray:
        """Volume flow of each outlet per volume flow of the cone, shape (k, f)."""
        return np.asarray(self.e @ self.states(frequency_hz) + self.g[:, None])
