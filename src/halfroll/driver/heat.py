"""Heat of a driver while it plays: coil, former and motor as a linear thermal network.

States are rises over the air (K): rise' = A rise + B (power in the wire, power in eddy currents). What the eddy-current branches lose is
lost in the motor's iron and rings, so it warms the last body. Air pumped by the motion is not in it: it cools, so temperatures come out high.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.motor.heat.network import HeatNetwork

if TYPE_CHECKING:
    from halfroll.motor.coil.wound import Coil
    from halfroll.motor.heat.estimate import HeatPaths


@dataclass(frozen=True, kw_only=True, eq=False)
class Heat:
    """A thermal network and what its temperatures change.

    Parameters
    ----------
    bodies
        Names; the coil first, the motor (magnet and steel) last. Two where only coil and motor are known, three with the bare former.
    a, b
        (n, n) in 1/s, (n, 2) in K/J: columns for heat in the wire and in eddy currents.
    air_c
        Air around (°C).
    reference_c
        Temperature at which the driver's Re and Bl hold (°C).
    bl_per_k
        Relative change of Bl per kelvin of the motor, about a magnet's coefficient of Br; 0: none.
    start_k
        Rises at the start (n,) (K); None: as warm as the air.

    Raises
    ------
    InputError
        A network whose rises would grow without power, or shapes that do not fit.
    """

    bodies: tuple[str, ...]
    a: FloatArray
    b: FloatArray
    air_c: float = 20.0
    reference_c: float = 20.0
    bl_per_k: float = 0.0
    start_k: FloatArray | None = None

    def __post_init__(self) -> None:
        n = len(self.bodies)
        start = np.zeros(n) if self.start_k is None else self.start_k
        if self.a.shape != (n, n) or self.b.shape != (n, 2) or start.shape != (n,):
            raise InputError(
                "The heat network must have a row for each body",
                found=f"A {self.a.shape}, B {self.b.shape}, start {start.shape}",
                allowed=f"({n}, {n}), ({n}, 2), ({n},)",
            )
        if not (np.all(np.isfinite(self.a)) and np.max(np.linalg.eigvals(self.a).real) < 0.0):
            raise InputError("The heat network must cool down when no power is put in")

    @classmethod
    def of(
        cls,
        network: HeatNetwork,
        *,
        air_c: float = 20.0,
        reference_c: float = 20.0,
        bl_per_k: float = 0.0,
    ) -> Heat:
        """Coil and motor as two bodies, estimated or measured."""
        return cls(
            bodies=("coil", "motor"), a=network.matrix(), b=np.diag([1.0 / network.coil_j_k, 1.0 / network.motor_j_k]),
            air_c=air_c, reference_c=reference_c, bl_per_k=bl_per_k,
        )  # fmt: skip

    @classmethod
    def with_former(
        cls,
        network: HeatNetwork,
        coil: Coil,
        paths: HeatPaths,
        *,
        air_c: float = 20.0,
        reference_c: float = 20.0,
        bl_per_k: float = 0.0,
    ) -> Heat:
        """Coil, bare former and motor: the former beyond the winding taken out of the coil's way to the air.

        A fin that loses G at its foot and h·P·L were it as warm as its foot all over has a mean rise of G/(hPL) of the foot's. One body
        between 1/G - 1/(hPL) and 1/(hPL) loses the same and is as warm as the fin on average. What lies under the winding warms with the
        coil, as in the two bodies. Without a bare former, or where a measured network knows no way from the coil to the air, two bodies are
        all that is known.
        """
        of = cls.of(network, air_c=air_c, reference_c=reference_c, bl_per_k=bl_per_k)
        bare_j_k = _bare_former_j_k(coil)
        share = paths.former_fin / paths.coil_to_air if paths.coil_to_air > 0.0 else 0.0
        if bare_j_k <= 0.0 or share <= 0.0 or not np.isfinite(network.coil_to_air_k_w):
            return of
        fin = share / network.coil_to_air_k_w
        surface = fin * paths.former_surface / paths.former_fin
        along = 1.0 / (1.0 / fin - 1.0 / surface)
        direct, across = (1.0 - share) / network.coil_to_air_k_w, 1.0 / network.coil_to_motor_k_w
        out = 1.0 / network.motor_to_air_k_w
        flows = np.array([
            [-(direct + across + along), along, across],
            [along, -(along + surface), 0.0],
            [across, 0.0, -(across + out)],
        ])  # fmt: skip
        held = np.array([network.coil_j_k, bare_j_k, network.motor_j_k])
        into = np.array([[1.0, 0.0], [0.0, 0.0], [0.0, 1.0]])
        return replace(
            of, bodies=("coil", "former", "motor"), a=flows / held[:, None], b=into / held[:, None]
        )

    def settled_k(self, wire_w: float, eddy_w: float = 0.0) -> FloatArray:
        """Rises over the air (K) that constant powers end at, shape (n,)."""
        return np.asarray(np.linalg.solve(self.a, -self.b @ np.array([wire_w, eddy_w])))


def _bare_former_j_k(coil: Coil) -> float:
    """Heat capacity of the former beyond the winding (J/K)."""
    from halfroll.materials.types import Conductor
    from halfroll.motor.heat.masses import PLASTIC_J_KG_K

    former = coil.design.former
    specific = former.specific_heat_j_kg_k if isinstance(former, Conductor) else PLASTIC_J_KG_K
    return specific * coil.masses.former * max(0.0, 1.0 - coil.height_m / coil.former_height_m)
