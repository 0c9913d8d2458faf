"""What a strip does when the motion is not straight along the axis: sideways and tilting stiffness, own resonances, wrinkles."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from halfroll.core.progress import Progress, part, silent
from halfroll.suspension.elastic.equilibrium import State
from halfroll.suspension.elastic.harmonic import edge_stiffness, first_unstable, own_resonances, waves_about
from halfroll.suspension.elastic.ring import Ring

MOST_DIAMETERS = 4
"""Own resonances are looked for with 0 to so many nodal diameters."""

LOOKS = 6
"""At so many displacements each way, at most, wrinkles are looked for."""

WRINKLES = (1, 2, 3, 4, 5, 6, 7, 8, 10, 12, 14, 16, 20, 24, 32, 40, 48, 64)
"""Numbers of waves around that are tried: wrinkles are about as long as the strip is wide, so two neighbours buckle at nearly
the same displacement.
"""


@dataclass(frozen=True, kw_only=True)
class Sideways:
    """See the fields of the same names of `PartResult`; `searched` are the numbers of waves around that were tried for wrinkles, `looked_m`
    the displacements (m) at which.
    """

    radial_n_per_m: float
    tilt_nm_per_rad: float
    cross_n_per_rad: float
    own_hz: tuple[tuple[float, int], ...]
    wrinkle_x_m: tuple[float, ...]
    wrinkle_waves: tuple[int, ...]
    searched: tuple[int, ...] = WRINKLES
    looked_m: tuple[float, ...] = ()


def sideways(ring: Ring, states: Sequence[State], progress: Progress = silent) -> Sideways:
    """All of it, from the equilibria of a study; one of them at rest. Wrinkles are looked for at the displacements of `states`.

    Raises
    ------
    CancelledError
        Through `progress`.
    """
    rest = min(states, key=lambda state: abs(state.x_m))
    waves = waves_about(ring, rest.u)
    stiffness = edge_stiffness(waves, float(ring.mesh.z[ring.mesh.inner].mean()))
    own = []
    for n in range(MOST_DIAMETERS + 1):
        progress(0.4 * n / (MOST_DIAMETERS + 1), "sideways and own resonances")
        own.append((float(own_resonances(waves, n)[0][0]), n))
    wrinkles, looked = [], []
    for number, side in enumerate(_sides(states)):
        told = part(progress, 0.4 + 0.3 * number, 0.7 + 0.3 * number)
        found, at = _first_wrinkle(ring, side, told)
        looked += at
        if found is not None:
            wrinkles.append(found)
    return Sideways(
        radial_n_per_m=float(stiffness[0, 0]),
        tilt_nm_per_rad=float(stiffness[1, 1]),
        cross_n_per_rad=float(stiffness[0, 1]),
        own_hz=tuple(sorted(own)),
        wrinkle_x_m=tuple(x for x, _ in wrinkles),
        wrinkle_waves=tuple(n for _, n in wrinkles),
        looked_m=tuple(sorted(looked)),
    )


def _sides(states: Sequence[State]) -> tuple[list[State], list[State]]:
    ordered = sorted(states, key=lambda state: abs(state.x_m))
    return [s for s in ordered if s.x_m < 0], [s for s in ordered if s.x_m > 0]


def _first_wrinkle(
    ring: Ring, side: Sequence[State], progress: Progress
) -> tuple[tuple[float, int] | None, list[float]]:
    """The state nearest to rest that would wrinkle, and the displacements (m) at which that was looked for.

    Up to `LOOKS` states are looked at, evenly over the travel and its end among them, from rest outwards: a strip may wrinkle halfway and be
    smooth again at the end. Where one wrinkles, the states between it and the one before follow.
    """
    looked: list[float] = []

    def waves_at(number: int) -> int | None:
        progress(number / len(side), "looking for wrinkles")
        looked.append(float(side[number].x_m))
        return first_unstable(waves_about(ring, side[number].u), WRINKLES)

    before = -1
    for at in sorted({round(k * len(side) / LOOKS) - 1 for k in range(1, LOOKS + 1)} - {-1}):
        waves = waves_at(at)
        if waves is not None:
            for between in range(before + 1, at):
                nearer = waves_at(between)
                if nearer is not None:
                    return (float(side[between].x_m), nearer), looked
            return (float(side[at].x_m), waves), looked
        before = at
    return None, looked
