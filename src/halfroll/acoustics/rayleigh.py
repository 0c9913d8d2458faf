"""Far field of a surface of revolution that moves with symmetry about its axis, by Rayleigh's integral.

p(R, theta) = j w rho/(2 pi R) e^(-jkR) U(theta),  U(theta) = integral of v_n J0(k r sin theta) e^(+jkz cos theta) dA

with v_n the normal velocity, z the height towards the listener, e^(+jwt). Exact for a flat surface in an infinite plane
(Rayleigh, "The Theory of Sound", section 278); the integral around the axis gives J0. For a cone or a dome each ring is placed at its own depth
but still radiates as if in the plane: sound scattered inside the cone is left out. Good while the depth is well below half a wavelength
(H. Suzuki and J. Tichy, "Sound radiation from convex and concave domes in an infinite baffle", J. Acoust. Soc. Am. 69(1), 1981;
citation from memory); see `valid_to_hz`.
"""

from __future__ import annotations

import math

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.core.levels import ComplexArray, FloatArray


def ring_phase(
    r_m: FloatArray, z_m: FloatArray, wave_number: FloatArray, angles_rad: FloatArray
) -> ComplexArray:
    """What rings at radius and height (q,) count for, J0(k r sin) e^(jkz cos), by wave number (n,) and angle (a,): shape (n, a, q)."""
    from scipy.special import j0

    k = np.asarray(wave_number, dtype=np.float64)[:, None, None]
    sin, cos = np.sin(angles_rad)[:, None], np.cos(angles_rad)[:, None]
    return np.asarray(j0(k * (sin * r_m)) * np.exp(1j * k * (cos * z_m)), dtype=np.complex128)


def source_strength(
    flow_m3_s: ComplexArray, r_m: FloatArray, z_m: FloatArray, wave_number: FloatArray, angles_rad: FloatArray
) -> ComplexArray:
    """U (m³/s) by angle and wave number (a, n) from rings that push `flow_m3_s` (n, q), normal velocity times area."""
    phase = ring_phase(r_m, z_m, wave_number, angles_rad)
    return np.asarray(np.einsum("naq,nq->an", phase, flow_m3_s), dtype=np.complex128)


def valid_to_hz(depth_m: float, air: Air = STANDARD_AIR) -> float:
    """Up to which frequency a surface so deep may be taken as lying in its plane: depth a quarter of a wavelength (own choice)."""
    return math.inf if depth_m <= 0.0 else air.speed_of_sound / (4.0 * depth_m)
