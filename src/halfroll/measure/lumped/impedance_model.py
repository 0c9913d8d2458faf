"""Impedance of a driver as a function of the parameters a curve of impedance can tell, with its derivatives.

Z = Re + Zcoil(jω) + (Re/Qes)/ζ(jω) with the mechanical impedance over ωs·Mms

    ζ = jΩ + (1/Qms - b) + 1/(jΩ c(jΩ)),   Ω = f/fs,   c = [1 - λ lg(jΩ)]/(1 + b²),   b = λ π/(2 ln 10).

c is the creeping compliance of Knudsen and Jensen (JAES 41(1/2), 1993) over Cms; λ = 0 is a spring. It is normed so that
at fs the reactance is zero: fs is where the motional impedance is real, Cms = 1/(ωs²·Mms) the dynamic compliance there, and
Qms holds all mechanical loss at fs, that of the creep (b) included. So fs, Qms and Qes mean the same with and without creep.

Coil: jωLe; jωLe + jωL2·R2/(R2 + jωL2) (IEC 62458 practice); K(jω)ⁿ (Vanderkooy, JAES 37(3), 1989, with n = 1/2; Leach,
JAES 50(6), 2002, with n free).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.measure.lumped.parameter_types import CoilModel

CREEP_LOSS = math.pi / (2.0 * math.log(10.0))
"""b/λ: imaginary part of lg(j), 0.682188."""

_LE_UNIT = 1e-3  # H; keeps the one linear parameter near 1
_SEMI_HZ = (
    2000.0  # where the size of the semi-inductance is a parameter, which uncouples it from the exponent
)

_COIL_NAMES: dict[CoilModel, tuple[str, ...]] = {
    "ideal": ("le_h",),
    "lr2": ("le_h", "l2_h", "r2_ohm"),
    "semi": ("semi_k", "semi_n"),
}


def creep_compliance(frequency_hz: ArrayLike, fs_hz: float, creep_lambda: float) -> ComplexArray:
    """Compliance over that at fs, C/C0 = 1 - λ lg(jω/ωs) (Knudsen and Jensen 1993), shape of `frequency_hz`.

    λ = 0.1 at fs/10 gives 1.1 - j0.0682.
    """
    ratio = np.asarray(frequency_hz, dtype=np.float64) / fs_hz
    return np.asarray(1.0 - creep_lambda * (np.log10(ratio) + 1j * CREEP_LOSS), dtype=np.complex128)


def dynamic_compliance(frequency_hz: float, fs_hz: float, creep_lambda: float) -> float:
    """Compliance 1/Re(1/C) at a frequency over the same at fs (1); 1 without creep."""
    here, there = (creep_compliance(f, fs_hz, creep_lambda).item() for f in (frequency_hz, fs_hz))
    return (1.0 / there).real / (1.0 / here).real


@dataclass(frozen=True)
class Model:
    """One of the models: which coil, whether the suspension creeps, whether there is a resonance at all.

    A vector theta (k,) holds ln Re, ln fs, ln Qms, ln Qes, λ if it creeps, and of the coil Le in millihenry, ln L2, ln R2, or
    ln |Zcoil(2 kHz)| and n.
    """

    coil: CoilModel
    creep: bool = False
    resonance: bool = True

    @property
    def names(self) -> tuple[str, ...]:
        """What `values` returns, in order."""
        mechanical = (
            ("fs_hz", "qms", "qes", *(("creep_lambda",) if self.creep else ())) if self.resonance else ()
        )
        return ("re_ohm", *mechanical, *_COIL_NAMES[self.coil])

    @property
    def size(self) -> int:
        """Number of parameters k."""
        return len(self.names)

    @property
    def scaled(self) -> FloatArray:
        """1 where a value grows with the scale of the curve, else 0, shape (k,)."""
        return np.array([float(n in ("re_ohm", "le_h", "l2_h", "r2_ohm", "semi_k")) for n in self.names])

    def pack(self, values: dict[str, float]) -> FloatArray:
        """Theta of SI values by name; the inverse of `values`."""
        theta = {n: math.log(v) for n, v in values.items() if n not in ("le_h", "creep_lambda", "semi_n")}
        theta |= {n: values[n] for n in ("creep_lambda", "semi_n") if n in values}
        if "le_h" in values:
            theta["le_h"] = values["le_h"] / _LE_UNIT
        if "semi_k" in values:
            theta["semi_k"] += values["semi_n"] * math.log(2.0 * math.pi * _SEMI_HZ)
        return np.array([theta[n] for n in self.names])

    def values(self, theta: FloatArray) -> tuple[FloatArray, FloatArray]:
        """SI values (k,) and their derivatives by theta (k, k)."""
        values, slopes = np.exp(np.clip(theta, -60.0, 60.0)), np.ones(self.size)
        for name, unit in (("le_h", _LE_UNIT), ("creep_lambda", 1.0), ("semi_n", 1.0)):
            if name in self.names:
                at = self.names.index(name)
                values[at], slopes[at] = theta[at] * unit, unit
        logs = [i for i, n in enumerate(self.names) if n not in ("le_h", "creep_lambda", "semi_n")]
        if self.coil == "semi":  # ln K = ln |Z(2 kHz)| - n ln(2π 2 kHz)
            k, n = self.names.index("semi_k"), self.names.index("semi_n")
            values[k] *= (2.0 * math.pi * _SEMI_HZ) ** -theta[n]
        slopes[logs] = values[logs]
        jacobian = np.diag(slopes)
        if self.coil == "semi":
            jacobian[k, n] = -values[k] * math.log(2.0 * math.pi * _SEMI_HZ)
        return values, jacobian

    def impedance(self, frequency_hz: FloatArray, theta: FloatArray) -> ComplexArray:
        """Impedance (ohm), shape (n,)."""
        return self.evaluate(frequency_hz, theta)[0]

    def evaluate(self, frequency_hz: FloatArray, theta: FloatArray) -> tuple[ComplexArray, ComplexArray]:
        """Impedance (ohm), shape (n,), and its derivatives by theta (k, n)."""
        resistance = float(np.exp(np.clip(theta[0], -60.0, 60.0)))
        columns = [np.full(len(frequency_hz), resistance, dtype=np.complex128)]
        impedance = columns[0].copy()
        if self.resonance:
            motional, slopes = self._motional(frequency_hz, theta)
            impedance += motional
            columns[0] = columns[0] + motional
            columns += slopes
        coil, slopes = self._coil(frequency_hz, theta[len(columns) :])
        return impedance + coil, np.array(columns + slopes)

    def _motional(
        self, frequency_hz: FloatArray, theta: FloatArray
    ) -> tuple[ComplexArray, list[ComplexArray]]:
        resistance, fs, qms, qes = np.exp(np.clip(theta[:4], -60.0, 60.0))
        creep = float(theta[4]) if self.creep else 0.0
        loss = creep * CREEP_LOSS
        s = 1j * frequency_hz / fs
        log = np.log10(np.abs(s)) + 1j * CREEP_LOSS
        slack = 1.0 - creep * log
        spring = (1.0 + loss**2) / (s * slack)
        zeta = s + (1.0 / qms - loss) + spring
        motional = resistance / qes / zeta
        lever = -motional / zeta
        slopes = [
            lever * (-s + spring * (1.0 - creep / math.log(10.0) / slack)),
            -lever / qms,
            -motional,
        ]
        if self.creep:
            norm = 2.0 * loss * CREEP_LOSS / (1.0 + loss**2)
            slopes.append(lever * (-CREEP_LOSS + spring * (log / slack + norm)))
        return motional, slopes

    def _coil(self, frequency_hz: FloatArray, theta: FloatArray) -> tuple[ComplexArray, list[ComplexArray]]:
        s = np.asarray(2j * np.pi * frequency_hz, dtype=np.complex128)
        if self.coil == "semi":
            log = np.log(frequency_hz / _SEMI_HZ) + 0.5j * np.pi
            whole = np.exp(np.clip(theta[0], -60.0, 60.0) + np.clip(theta[1], -3.0, 3.0) * log)
            return whole, [whole, whole * log]
        lossless = s * _LE_UNIT
        if self.coil == "ideal":
            return lossless * theta[0], [lossless]
        inductance, resistance = np.exp(np.clip(theta[1:3], -60.0, 60.0))
        share = s * inductance / (resistance + s * inductance)  # of the current that takes the resistor
        eddy = resistance * share
        return lossless * theta[0] + eddy, [lossless, eddy * (1.0 - share), eddy * share]


ALL_MODELS = tuple(Model(coil, creep) for creep in (False, True) for coil in _COIL_NAMES)
"""The six models."""
