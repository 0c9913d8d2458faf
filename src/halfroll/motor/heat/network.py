"""Heat in a coil and its motor as two bodies: the exact solution of the network.

::

    P -> coil (C_v) --R_tv-- motor (C_m) --R_tm-- air
           |                                       |
           +----------------R_va-------------------+

C_v θ_v' = P - (θ_v - θ_m)/R_tv - θ_v/R_va and C_m θ_m' = (θ_v - θ_m)/R_tv - θ_m/R_tm, θ over the air. With R_va endless this is
the network of the trade (P. J. Chapman, "Thermal Simulation of Loudspeakers", AES convention paper, 1998, from memory), and for
C_v much smaller than C_m its answer is P [R_tv (1 - e^(-t/τ_v)) + R_tm (1 - e^(-t/τ_m))]. Here both time constants come from the
2 by 2 matrix. Forced air by the coil's own motion is not in it: it cools, so the answer is on the safe side.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray

COVERAGE = 2.0
"""k of the bands, about 95 %."""

SHARING_U = 0.1
"""Relative standard uncertainty of how a measured rise is shared between the resistances; judged."""

PARAMETERS = ("coil_j_k", "motor_j_k", "coil_to_motor_k_w", "motor_to_air_k_w", "coil_to_air_k_w")


@dataclass(frozen=True, kw_only=True)
class HeatNetwork:
    """Heat capacities (J/K) and thermal resistances (K/W), each with its relative standard uncertainty `u_...`.

    `source` says whether they were estimated from the geometry or come from measurements.
    """

    coil_j_k: float
    motor_j_k: float
    coil_to_motor_k_w: float
    motor_to_air_k_w: float
    coil_to_air_k_w: float = math.inf
    u_coil_j_k: float = 0.0
    u_motor_j_k: float = 0.0
    u_coil_to_motor_k_w: float = 0.0
    u_motor_to_air_k_w: float = 0.0
    u_coil_to_air_k_w: float = 0.0
    source: Literal["estimated", "measured"] = "measured"

    def __post_init__(self) -> None:
        for name in PARAMETERS:
            value, u = getattr(self, name), getattr(self, f"u_{name}")
            endless = name == "coil_to_air_k_w" and value == math.inf
            if not (0.0 < value < math.inf or endless):
                raise InputError(
                    "A heat capacity or thermal resistance must be above 0", key=name, found=f"{value:g}"
                )
            if not 0.0 <= u < 1.0:
                raise InputError(
                    "A relative uncertainty must lie between 0 and 1", key=f"u_{name}", found=f"{u:g}"
                )

    def matrix(self, feedback_w_k: float = 0.0) -> FloatArray:
        """A of θ' = A θ + (P/C_v, 0), (2, 2) in 1/s. `feedback_w_k`: power that grows with the coil's temperature (W/K)."""
        across, out, beside = (
            1.0 / self.coil_to_motor_k_w,
            1.0 / self.motor_to_air_k_w,
            1.0 / self.coil_to_air_k_w,
        )
        return np.array([
            [-(across + beside - feedback_w_k) / self.coil_j_k, across / self.coil_j_k],
            [across / self.motor_j_k, -(across + out) / self.motor_j_k],
        ])  # fmt: skip

    @property
    def time_constants_s(self) -> tuple[float, float]:
        """Short and long time constant (s)."""
        rates = np.sort(np.linalg.eigvals(self.matrix()).real)
        return float(-1.0 / rates[0]), float(-1.0 / rates[1])

    @property
    def per_watt_k(self) -> tuple[float, float]:
        """Rise of coil and motor over the air for one watt held for ever (K/W)."""
        coil, motor = np.linalg.solve(self.matrix(), [-1.0 / self.coil_j_k, 0.0])
        return float(coil), float(motor)

    def rises_k(self, power_w: float, time_s: FloatArray, feedback_w_k: float = 0.0) -> FloatArray:
        """Rise of coil and motor over the air (K) after a power was switched on, both cold.

        Parameters
        ----------
        power_w
            Heat in the coil at the start (W), held unless there is feedback.
        time_s
            (n,) seconds.
        feedback_w_k
            What the power gains per kelvin of the coil: I² R₂₀ α at constant current, 0 at constant power.

        Returns
        -------
        (2, n). Grows without end where the feedback takes over.
        """
        root = np.sqrt([self.coil_j_k, self.motor_j_k])
        balanced = self.matrix(feedback_w_k) * root[:, None] / root[None, :]  # symmetric: exact real modes
        rates, modes = np.linalg.eigh(0.5 * (balanced + balanced.T))
        push = modes.T @ np.array([power_w / root[0], 0.0])
        grown = _grown(rates[:, None], np.asarray(time_s, dtype=np.float64)[None, :])
        return np.asarray((modes @ (push[:, None] * grown)) / root[:, None])

    def u_rel(self, answer: Callable[[HeatNetwork], float]) -> float:
        """Relative standard uncertainty of an answer above zero, from those of the parameters (JCGM 100, 5.1.2), taken as
        independent and by their ratio.
        """
        total = 0.0
        for name in PARAMETERS:
            u = getattr(self, f"u_{name}")
            if u == 0.0 or not math.isfinite(getattr(self, name)):
                continue
            up, down = (
                answer(replace(self, **{name: getattr(self, name) * math.exp(s * u)})) for s in (1.0, -1.0)
            )
            total += (0.5 * math.log(up / down)) ** 2
        return math.sqrt(total)

    def scaled_to(self, power_w: float, rise_k: float, u: float, seconds: float = math.inf) -> HeatNetwork:
        """The network with all resistances scaled so that a power gives the rise of the coil that was measured.

        Parameters
        ----------
        power_w, rise_k
            Heat in the coil (W) and rise of the coil over the air (K).
        u
            Relative standard uncertainty of rise over power, see `scaled_by`.
        seconds
            How long the power was on; endless when it had settled.

        Raises
        ------
        InputError
            A rise that no network with these heat capacities gives.
        """
        if not (power_w > 0.0 and rise_k > 0.0 and seconds > 0.0):
            raise InputError(
                "A measured power and rise must be above 0", found=f"{power_w:g} W, {rise_k:g} K"
            )
        return self.scaled_by(self._factor(power_w, rise_k, seconds), u)

    def scaled_by(self, factor: float, u: float) -> HeatNetwork:
        """The network with all resistances multiplied by a factor of relative standard uncertainty `u`.

        How the rise is shared between coil and motor stays estimated, a tenth for each resistance. The factor is common to all, and
        the parameters count as independent, so each gets as much more as leaves the rise of the coil its `u`.
        """
        sharing = {f"u_{name}": SHARING_U for name in PARAMETERS if name.endswith("_k_w")}
        scaled = replace(self._scaled(factor), **sharing, u_coil_j_k=0.0, u_motor_j_k=0.0, source="measured")
        apart = scaled.u_rel(lambda net: net.per_watt_k[0]) / SHARING_U
        left = math.hypot(u / apart, SHARING_U)
        return replace(
            scaled, u_coil_to_motor_k_w=left, u_motor_to_air_k_w=left, u_coil_to_air_k_w=left,
            u_coil_j_k=self.u_coil_j_k, u_motor_j_k=self.u_motor_j_k,
        )  # fmt: skip

    def _factor(self, power_w: float, rise_k: float, seconds: float) -> float:
        """What the resistances must be multiplied by; more resistance is always more rise."""
        if math.isinf(seconds):
            return rise_k / power_w / self.per_watt_k[0]
        from scipy.optimize import brentq

        def over(log_factor: float) -> float:
            net = self._scaled(math.exp(log_factor))
            return float(net.rises_k(power_w, np.array([seconds]))[0, 0]) - rise_k

        low, high = math.log(0.02), math.log(50.0)
        if not over(low) < 0.0 < over(high):
            raise InputError(
                "The measured rise must be one the coil can have",
                found=f"{rise_k:g} K after {seconds / 3600:g} h of {power_w:g} W",
            )
        return math.exp(float(brentq(over, low, high)))

    def _scaled(self, factor: float) -> HeatNetwork:
        return replace(
            self, coil_to_motor_k_w=self.coil_to_motor_k_w * factor, motor_to_air_k_w=self.motor_to_air_k_w * factor,
            coil_to_air_k_w=self.coil_to_air_k_w * factor,
        )  # fmt: skip


def _grown(rate: FloatArray, time_s: FloatArray) -> FloatArray:
    """(e^(λt) - 1)/λ, t where λ is 0."""
    product = rate * time_s
    small = np.abs(product) < 1e-12
    safe = np.where(small, 1.0, rate)
    return np.where(
        small, np.broadcast_to(time_s, product.shape), np.expm1(np.where(small, 0.0, product)) / safe
    )


def voltage_rise_k(
    network: HeatNetwork, voltage_v: float, resistance_ohm: float, alpha_per_k: float
) -> float:
    """Rise of the coil over the air (K) that a constant voltage ends at: the warm coil takes less power.

    θ = r V²/(R (1 + α θ)) with r = `per_watt_k` and R, α at the air's temperature: the root of α θ² + θ - r V²/R = 0.
    """
    cold = network.per_watt_k[0] * voltage_v**2 / resistance_ohm
    return (
        cold
        if alpha_per_k == 0.0
        else (math.sqrt(1.0 + 4.0 * alpha_per_k * cold) - 1.0) / (2.0 * alpha_per_k)
    )


def runaway_current_a(network: HeatNetwork, resistance_ohm: float, alpha_per_k: float) -> float:
    """Direct or r.m.s. current (A) from which a coil fed with constant current heats without end: I² R α r = 1."""
    return math.sqrt(1.0 / (resistance_ohm * alpha_per_k * network.per_watt_k[0]))
