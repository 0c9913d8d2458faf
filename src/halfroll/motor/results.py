"""What a motor computation gives: plain numbers and arrays that can be kept, sent to another process and drawn.

Every result carries `verdicts`: what it assumes and where it ends stand beside the numbers.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from halfroll.core.levels import FloatArray
from halfroll.core.verdicts import Verdict


@dataclass(frozen=True, kw_only=True, eq=False)
class FieldMap:
    """The field over a mesh of straight triangles, for drawing.

    Parameters
    ----------
    points_m
        (n, 2) nodes (r, z) in metres. Nodes on the border of two bodies occur once for each.
    triangles
        (m, 3) indices into `points_m`.
    body
        (m,) index into the assembly's bodies, -1 for air.
    flux_wb
        (n,) flux through the circle of that radius, 2 pi r A (Wb): its contours are flux lines.
    b_t
        (n, 2) flux density (B_r, B_z) in T.
    """

    points_m: FloatArray
    triangles: FloatArray
    body: FloatArray
    flux_wb: FloatArray
    b_t: FloatArray


@dataclass(frozen=True, kw_only=True, eq=False)
class ForceFactor:
    """Bl over displacement: `x_m` (n,), `bl` (n,) in T m (N/A), `u` (n,) standard uncertainty by discretisation and, where
    given, by material (T m).
    """

    x_m: FloatArray
    bl: FloatArray
    u: FloatArray

    @property
    def at_rest(self) -> float:
        """Bl at x = 0 (T m)."""
        import numpy as np

        return float(np.interp(0.0, self.x_m, self.bl))


@dataclass(frozen=True, kw_only=True)
class Saturation:
    """How full a steel body is: the largest mean of the flux density over a whole cross-section (T), and where."""

    body: str
    mean_t: float
    across: str
    """``z`` for a section across the axis (at `at_m` height), ``r`` for a cylinder (at radius `at_m`)."""
    at_m: float
    peak_t: float
    """Largest flux density at least 0.5 mm inside the faces (T): corners do not converge and are left out."""
    mu_r: float
    """Relative permeability B/(mu0 H) at `mean_t`."""
    peak_at_m: tuple[float, float] = (0.0, 0.0)
    """Where `peak_t` is (r, z)."""


@dataclass(frozen=True, kw_only=True)
class OperatingPoint:
    """Where a magnet works on its demagnetisation curve at a temperature, mean and worst place, along its polarisation."""

    body: str
    temperature_c: float
    b_mean_t: float
    h_mean_a_m: float
    permeance: float
    b_worst_t: float
    worst_at_m: tuple[float, float]
    knee_t: float
    """Flux density at the knee at this temperature (T): below it part of the magnetisation is lost for good."""
    margin_t: float
    """`b_worst_t` less `knee_t`."""
    share_below_knee: float
    """Share of the magnet's volume below its knee, 0 to 1."""
    safe_to_c: float = math.inf
    """Temperature (°C) at which its weakest place reaches the knee, the load on it unchanged: the hottest it may get, or for
    ferrite the coldest; infinite or minus infinite when the grade's own limit comes first."""


@dataclass(frozen=True, kw_only=True, eq=False)
class MotorResult:
    """The static field of a motor and what the trade reads from it.

    `gap_mean_t` mean radial flux density over the gap's height at its middle radius; `gap_z_m`, `gap_b_t` (n,) radial flux density along
    the coil's (or the gap's) middle radius; `leakage_share` of the magnets' flux that does not cross the gap;
    `offset_best_m` the coil offset that makes Bl(x) most symmetric; `error` relative discretisation error of Bl(0)
    estimated by refinement; `stray_t` flux density 50 mm away on the axis outside (for what lies near).
    """

    field: FieldMap
    gap_mean_t: float
    gap_u_t: float
    gap_z_m: FloatArray
    gap_b_t: FloatArray
    gap_flux_wb: float
    magnet_flux_wb: float
    leakage_share: float
    force_factor: ForceFactor | None
    offset_best_m: float | None
    steel: tuple[Saturation, ...]
    magnets: tuple[OperatingPoint, ...]
    stray_t: float
    error: float
    unknowns: int
    verdicts: tuple[Verdict, ...] = ()


@dataclass(frozen=True, kw_only=True, eq=False)
class BlockedImpedance:
    """Inductance and eddy-current loss of the blocked coil around the operating point.

    `frequency_hz` (f,), `x_m` (n,); `inductance_h` and `resistance_ohm` (n, f): series inductance and added series
    resistance, without the wire's own direct-current resistance; `u_rel` relative uncertainty by discretisation.
    They are by the slope of the steel's magnetisation curve. `low_level_inductance_h` and `low_level_resistance_ohm` (n, f)
    are by its smaller, reversible permeability, estimated (`motor.eddy.skin`); None without steel or when they were not asked for.
    """

    frequency_hz: FloatArray
    x_m: FloatArray
    inductance_h: FloatArray
    resistance_ohm: FloatArray
    u_rel: float
    verdicts: tuple[Verdict, ...] = ()
    low_level_inductance_h: FloatArray | None = None
    low_level_resistance_ohm: FloatArray | None = None


@dataclass(frozen=True, kw_only=True, eq=False)
class Modulation:
    """Force factor with current, from the whole nonlinear field: `current_a` (c,) from 0, `x_m` (n,), `bl` (c, n) in T m,
    the part of the force that turns with the current over the current.

    `reluctance_n` (c, n) is the part that does not turn with it (N): the coil is drawn to where its inductance is largest.
    `inductance_h` (c, n) is the flux linkage that turns with the current over the current (H); at 0 its limit.
    `even_linkage_wb` (c, n) is the part that does not turn with it, less that of no current (Wb).
    """

    current_a: FloatArray
    x_m: FloatArray
    bl: FloatArray
    reluctance_n: FloatArray
    inductance_h: FloatArray
    u_rel: float = 0.0
    verdicts: tuple[Verdict, ...] = ()
    even_linkage_wb: FloatArray | None = None


@dataclass(frozen=True, kw_only=True, eq=False)
class FieldInfluences:
    """How Bl answers to what is not known exactly: `bl` (n,) over `x_m` (n,) on the mesh of the comparison, and by name (k,) the standard
    uncertainty `u` (k,), relative or for the gap's width in m, and the change of Bl (k, n) in T m for one of them.
    """

    x_m: FloatArray
    bl: FloatArray
    names: tuple[str, ...]
    u: FloatArray
    change: FloatArray


@dataclass(frozen=True, kw_only=True, eq=False)
class AssemblyForce:
    """Axial force on a body while it is brought to its place: `distance_m` (n,) still to go, `force_n` (n,) towards its
    place (negative: pushed away); `contact_n` extrapolated to its place, None when no distance is near enough.
    """

    body: str
    distance_m: FloatArray
    force_n: FloatArray
    u_rel: float
    contact_n: float | None = None
    verdicts: tuple[Verdict, ...] = ()
