"""What is computed of suspensions and moving parts. Arrays are float64; every x is the inner edge's displacement (m), + outwards.

Uncertainties are standard ones and come from the material and the print tolerance; the finite elements' own error is far
smaller and stands apart (`SuspensionResult.mesh_error`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halfroll.core.levels import FloatArray
from halfroll.core.verdicts import Verdict


@dataclass(frozen=True, kw_only=True, eq=False)
class StiffnessCurve:
    """Force and stiffness over travel: x_m, force_n, tangent_n_per_m (dF/dx), kms_n_per_m (F/x, its limit at 0), (n,) each.

    `u_relative` is the standard uncertainty of all of them together, as a share: modulus and thickness scale the whole curve.
    """

    x_m: FloatArray
    force_n: FloatArray
    tangent_n_per_m: FloatArray
    kms_n_per_m: FloatArray
    u_relative: float

    def at_rest(self) -> float:
        """Kms(0) (N/m)."""
        return float(self.kms_n_per_m[len(self.x_m) // 2])


@dataclass(frozen=True, kw_only=True, eq=False)
class BentShape:
    """A part bent to x_m: its outline (n, 2) as r, z (m), closed; and for the map places (k, 2), the largest principal
    Green-Lagrange strain there and the hoop strain, nan within a thickness of a clamp, where they are no property of the part.
    Triangles (m, 3) join the places.
    """

    x_m: float
    outline_m: FloatArray
    places_m: FloatArray
    triangles: NDArray[np.int64]
    strain: FloatArray
    hoop_strain: FloatArray


@dataclass(frozen=True, kw_only=True, eq=False)
class ArmShape:
    """One arm of a planar flexure bent to x_m, in space; the other arms are copies turned about the axis.

    turn_rad the hub's turn; upper_m, lower_m (rows along, places across, 3) the two faces as x, y, z (m) about the hub's rest; strain
    (rows, places) the larger of the two faces' largest principal Green-Lagrange strain, nan within a thickness of a clamp.
    """

    x_m: float
    turn_rad: float
    upper_m: FloatArray
    lower_m: FloatArray
    strain: FloatArray


@dataclass(frozen=True, kw_only=True)
class TravelRange:
    """Between which displacements something holds (m); `full_low`, `full_high` tell that it still holds at the travel's end."""

    low_m: float
    high_m: float
    full_low: bool
    full_high: bool


@dataclass(frozen=True, kw_only=True, eq=False)
class PartResult:
    """One suspension part.

    asymmetry: (K(X)-K(-X))/(K(X)+K(-X)) with Kms at the travel's ends. limit: range where Kms(0)/Kms(x) stays above 75 %
    (IEC 62458; AES2 practice). strain, stress_pa (n,): largest principal Green-Lagrange strain and true stress away from clamps, over
    the curve's x; hoop_strain (n,) the lowest hoop strain of the middle surface. mass_kg all of it between its clamps, without lips, moving_kg the share that counts as moving (kinetic
    energy at unit edge velocity), area_m2 the area it adds to that inside its inner radius (swept volume per travel);
    radial_n_per_m, tilt_nm_per_rad, cross_n_per_rad: stiffness against a sideways shift of the inner edge, against tilting it, and their
    coupling, about the inner clamp. own_hz: first resonances with both edges held, and how many nodal diameters each has.
    A planar flexure has no hoop: its hoop_strain is nan; hub_turn_rad (n,) is how far its hub turns when it is free to, None when it is
    held (and for strips), arm_shapes how one arm looks at the displacements of `shapes`.
    mesh_error, curve_error: how far elements and the cubic between equilibria may move the force, as shares of the largest; reached_m the
    displacements between which equilibria were found.
    wrinkle_x_m: displacements at which a shape with so many waves around (wrinkle_waves) becomes unstable; empty when none in the travel.
    """

    name: str
    curve: StiffnessCurve
    asymmetry: float
    limit: TravelRange
    strain: FloatArray
    stress_pa: FloatArray
    hoop_strain: FloatArray
    mass_kg: float
    moving_kg: float
    area_m2: float
    radial_n_per_m: float
    tilt_nm_per_rad: float
    cross_n_per_rad: float
    own_hz: tuple[tuple[float, int], ...]
    wrinkle_x_m: tuple[float, ...] = ()
    wrinkle_waves: tuple[int, ...] = ()
    hub_turn_rad: FloatArray | None = None
    shapes: tuple[BentShape, ...] = ()
    arm_shapes: tuple[ArmShape, ...] = ()
    mesh_error: float = 0.0
    curve_error: float = 0.0
    reached_m: tuple[float, float] = (0.0, 0.0)
    verdicts: tuple[Verdict, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Rocking:
    """The rocking of all moving parts on surround and spider: the lower of the two sideways resonances (Hz), its standard uncertainty,
    and the height over the gap (m) about which it turns; `shift_hz` is the upper one, which is mostly a shift where both parts hold well.
    """

    rocking_hz: float
    rocking_u_hz: float
    pivot_m: float
    shift_hz: float


@dataclass(frozen=True, kw_only=True, eq=False)
class SuspensionResult:
    """Surround and spider together, and with the moving mass what follows.

    sag_m under the mass with the axis upright, at once and after `creep_days`; resonance_hz of the moving mass on Kms(0), in free
    air when the mass contains the air load. None where no mass is known.
    """

    parts: tuple[PartResult, ...]
    curve: StiffnessCurve
    asymmetry: float
    limit: TravelRange
    moving_kg: float | None = None
    moving_u_kg: float | None = None
    resonance_hz: float | None = None
    resonance_u_hz: float | None = None
    sag_m: float | None = None
    sag_later_m: float | None = None
    creep_days: float = 365.0
    rocking: Rocking | None = None
    verdicts: tuple[Verdict, ...] = ()


@dataclass(frozen=True, kw_only=True)
class MovingPart:
    """One moving part's mass (kg) with its standard uncertainty, its centre of gravity over the gap (m), its moments of inertia
    (kg m²) about the axis and about a diameter through its own centre of gravity; `basis` geometry, slicer, scale or stated.
    """

    name: str
    mass_kg: float
    mass_u_kg: float
    centre_m: float
    polar_kg_m2: float
    diametral_kg_m2: float
    basis: str


@dataclass(frozen=True, kw_only=True)
class MovingMass:
    """All moving parts with their sum, common centre of gravity and diametral inertia about it; `air_kg` is the air load that is
    part of Mms and `area_m2` Sd, with its surround's share (m²) and standard uncertainty.
    """

    parts: tuple[MovingPart, ...]
    mass_kg: float
    mass_u_kg: float
    centre_m: float
    diametral_kg_m2: float
    air_kg: float
    area_m2: float
    area_u_m2: float
    surround_area_m2: float

    @property
    def mms_kg(self) -> float:
        """Moving mass with its air load (kg)."""
        return self.mass_kg + self.air_kg


@dataclass(frozen=True, kw_only=True, eq=False)
class ShellMode:
    """A resonance of the moving shell: frequency (Hz), shape as displacement (n, 2) in r and z of the places (n, 2) along each line,
    scaled to 1 at its largest; `lines` says how many places each line (cone, cap, former, surround) has, in order, `names` their names;
    `heard` how much it takes part in the radiated sound (volume velocity per unit modal velocity, over Sd, 0 to about 1).
    `kind` piston, surround, cone, dome, dust cap or former: what moves or bends most; `quality` its Q with losses in the plastic and to the
    air; `peak_db` about how far it lifts or cuts the level on axis when driven at the winding; `u_relative` standard uncertainty of its
    frequency, as a share. `own_share` is the part of the strain energy that is in the diaphragm, not in what holds it.
    """

    frequency_hz: float
    places_m: FloatArray
    shape: FloatArray
    lines: tuple[int, ...]
    names: tuple[str, ...]
    heard: float
    words: str
    kind: str = ""
    quality: float = 0.0
    peak_db: float = 0.0
    u_relative: float = 0.0
    own_share: float = 0.0


@dataclass(frozen=True, kw_only=True, eq=False)
class BreakUp:
    """Where the diaphragm stops moving as one piece.

    first_hz: first axisymmetric bending resonance that is heard; second_hz the next. usable_hz: where the far-field response first leaves the
    rigid piston's by `usable_db`. frequency_hz (n,), response_db (angles, n): level of the moving shell's far field re that of a
    rigid piston of the same Sd and mass driven by the same force on axis, at each of angles_deg; up to the second break-up.
    u_relative: standard uncertainty of the first break-up's frequency, as a share (modulus, thickness, density). valid_hz: up to where the far field of
    so deep a diaphragm is good; usable_u_relative that of usable_hz, which a surround's resonance may decide. first_hz, second_hz are None when no such resonance was found.
    """

    first_hz: float | None
    second_hz: float | None
    usable_hz: float
    usable_db: float
    frequency_hz: FloatArray
    angles_deg: tuple[float, ...]
    response_db: FloatArray
    piston_db: FloatArray
    modes: tuple[ShellMode, ...]
    u_relative: float
    verdicts: tuple[Verdict, ...] = ()
    valid_hz: float = math.inf
    usable_u_relative: float = 0.0
