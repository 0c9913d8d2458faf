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

WRINKLES = (1, 2, 3, 4, 5, 6, 7, 8, 10, 12, 14, 16, 20, 24, 32, 40, 48, 64)
"""Numbers of waves around that are tried: wrinkles are about as long as the strip is wide, so two neighbours buckle at nearly
the same displacement.
"""


@dataclass(frozen=True, kw_only=True)
class Sideways:
    """See the fields of the same names of `PartResult`; `searched` are the numbers of waves around that were tried for wrinkles."""

    radial_n_per_m: float
    tilt_nm_per_rad: float
    cross_n_per_rad: float
    own_hz: tuple[tuple[float, int], ...]
    wrinkle_x_m: tuple[float, ...]
    wrinkle_waves: tuple[int, ...]
    searched: tuple[int, ...] = WRINKLES


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
    wrinkles = []
    for number, side in enumerate(_sides(states)):
        told = part(progress, 0.4 + 0.3 * number, 0.7 + 0.3 * number)
        if (found := _first_wrinkle(ring, side, told)) is not None:
            wrinkles.append(found)
    return Sideways(
        radial_n_per_m=float(stiffness[0, 0]),
        tilt_nm_per_rad=float(stiffness[1, 1]),
        cross_n_per_rad=float(stiffness[0, 1]),
        own_hz=tuple(sorted(own)),
        wrinkle_x_m=tuple(x for x, _ in wrinkles),
        wrinkle_waves=tuple(n for _, n in wrinkles),
    )


def _sides(states: Sequence[State]) -> tuple[list[State], list[State]]:
    ordered = sorted(states, key=lambda state: abs(state.x_m))
    return [s for s in ordered if s.x_m < 0], [s for s in ordered if s.x_m > 0]


def _first_wrinkle(ring: Ring, side: Sequence[State], progress: Progress) -> tuple[float, int] | None:
    """The state nearest to rest that would wrinkle, found by halving: what wrinkles once is taken to wrinkle beyond."""
    found: tuple[float, int] | None = None
    low, high = 0, len(side) - 1
    at = high
    while low <= high:
        progress(1 - (high - low + 1) / len(side), "looking for wrinkles")
        waves = first_unstable(waves_about(ring, side[at].u), WRINKLES)
        if waves is None:
            low = at + 1
        else:
            found, high = (float(side[at].x_m), waves), at - 1
        at = (low + high) // 2
    return found
