"""What the edges of a rectangular baffle do to the sound of a driver in it.

Every point of the four edges is a secondary source. Its strength is that of the exact solution for a rigid right-angled
wedge (Biot and Tolstoy 1957; Medwin 1981) in the line-integral form of U. P. Svensson, R. I. Fred and J. Vanderkooy,
"An analytic secondary source model of edge diffraction impulse responses", JASA 106(5), 1999: with ν = 2/3 an edge
element dz, m from the source and l from the listener, adds -(ν/4π) e^{-jk(m+l)} β/(m l) dz. Sound that runs along the
front from edge to edge is followed to the third order; what comes after is taken as a geometric row, which brings the
low-frequency limit to half of the infinite baffle, as it must be.

Not in it: the back edges (the box is taken to be deep), rounded or bevelled edges, grilles. See `UNCERTAINTY_DB`.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.core.errors import InputError
from halfroll.core.levels import ComplexArray, FloatArray

UNCERTAINTY_DB = 0.3
"""Standard uncertainty of the level (dB). Against boundary-element solutions of whole boxes (15 and 25 cm deep) the model
keeps to 0.3 dB r.m.s. and 0.7 dB at most between 30 Hz and 4 kHz, on axis and at 30 degrees; what it lacks are the back
edges, which count most about the step."""

VALID_TO_HZ = 4000.0
"""How far that comparison reaches (Hz). Above, rounded edges and the frame of a real driver count for more."""

WIDEST_ANGLE_RAD = math.radians(60.0)
"""Angle from the axis up to which the model is used; seen more sideways the back edges matter as much as the front's."""

_NU = 2.0 / 3.0
"""π over the open angle of a right-angled edge, 3π/2."""
_FAR_M = 1000.0
_PANEL, _MOST_PANELS, _ACROSS_PANELS = 8, 60, 2
"""Panels of eight points an edge for what runs from edge to edge; enough for its smooth kernel."""
_NEXT_ORDER = 0.2
"""Each order is about a fifth of the one before, with its sign turned (low-frequency limit, any place in the front)."""
_RINGS, _SPOKES = 3, 8


@dataclass(frozen=True, kw_only=True)
class Baffle:
    """A flat rectangular front with sharp edges and the place of a driver in it.

    Parameters
    ----------
    width_m, height_m
        Size of the front.
    x_m, y_m
        Centre of the driver from the left and from the lower edge.

    Raises
    ------
    InputError
        A size is not positive or the driver's centre lies outside.
    """

    width_m: float
    height_m: float
    x_m: float
    y_m: float

    def __post_init__(self) -> None:
        sizes = f"{100 * self.width_m:g} x {100 * self.height_m:g} cm"
        if not (0.02 <= self.width_m <= 10.0 and 0.02 <= self.height_m <= 10.0):
            raise InputError("Width and height of a baffle must be 2 cm to 10 m", key="baffle", found=sizes)
        if not (0.0 < self.x_m < self.width_m and 0.0 < self.y_m < self.height_m):
            raise InputError(
                "The driver's centre must lie within the baffle", key="baffle",
                found=f"{100 * self.x_m:g} cm from the left and {100 * self.y_m:g} cm from below, in {sizes}",
            )  # fmt: skip

    @property
    def to_edge_m(self) -> float:
        """From the driver's centre to the nearest edge (m)."""
        return min(self.x_m, self.y_m, self.width_m - self.x_m, self.height_m - self.y_m)

    def step_hz(self, air: Air = STANDARD_AIR) -> float:
        """Rough centre of the baffle step, c/(π W) with W the shorter side (Hz): rule of thumb, common practice."""
        return air.speed_of_sound / (math.pi * min(self.width_m, self.height_m))


@dataclass(frozen=True, kw_only=True)
class Listener:
    """A point in front of the baffle: distance (m) from the driver's centre, angles (rad) to the right and upwards."""

    distance_m: float = math.inf
    horizontal_rad: float = 0.0
    vertical_rad: float = 0.0

    def place(self, baffle: Baffle) -> FloatArray:
        """Its coordinates (3,) from the lower left corner of the front (m)."""
        if not self.distance_m > 0.0:
            raise InputError("The distance of the listener must be above 0 m", found=f"{self.distance_m:g} m")
        across = math.cos(self.horizontal_rad) * math.cos(self.vertical_rad)
        if across < math.cos(WIDEST_ANGLE_RAD) - 1e-9:
            raise InputError(
                "The baffle model holds up to 60 degrees from the axis", found=f"{math.degrees(math.acos(across)):.0f} degrees"
            )  # fmt: skip
        distance = min(self.distance_m, _FAR_M)
        aside = math.sin(self.horizontal_rad) * math.cos(self.vertical_rad)
        return np.array([
            baffle.x_m + distance * aside, baffle.y_m + distance * math.sin(self.vertical_rad), distance * across,
        ])  # fmt: skip


ON_AXIS = Listener()


def baffle_transfer(
    frequency_hz: FloatArray,
    baffle: Baffle,
    radius_m: float,
    listener: Listener = ON_AXIS,
    *,
    over: Literal["half-space", "free-field"] = "half-space",
    air: Air = STANDARD_AIR,
) -> ComplexArray:
    """Pressure with the baffle over that of the same piston in an infinite baffle or in free field.

    Parameters
    ----------
    frequency_hz
        Shape (n,), above zero.
    baffle, listener
        Front and point; from a distance the low-frequency limit over half space is 1/2 (-6.02 dB), at high frequency
        it is 1 with a ripple. Close to a box the low-frequency limit is higher, for the sound begins at its front.
    radius_m
        Effective radius of the piston, spread over 25 point sources; it must lie within the baffle.
    over
        ``free-field`` is the pressure the same volume acceleration gives into 4π, half of that into 2π.

    Returns
    -------
    Complex, shape (n,), e^{+jωt}.

    Raises
    ------
    InputError
        The piston reaches over an edge, or the listener stands too far aside.
    """
    frequency_hz = np.asarray(frequency_hz, dtype=np.float64)
    if not 0.0 < radius_m <= baffle.to_edge_m:
        raise InputError(
            "The cone must lie within the baffle", key="baffle",
            found=f"{1e3 * radius_m:.0f} mm effective radius, {1e3 * baffle.to_edge_m:.0f} mm from the centre to the nearest edge",
            remedy="Correct the baffle's size, the driver's place in it or the effective piston area",
        )  # fmt: skip
    wave_number = 2.0 * np.pi * frequency_hz / air.speed_of_sound
    place = listener.place(baffle)
    points, weights = _piston(baffle, radius_m)
    quarter_wave = air.speed_of_sound / float(frequency_hz.max()) / 4.0
    spacing = max(min(quarter_wave, (baffle.to_edge_m - 0.95 * radius_m) / 2.0), 1e-4)
    panels = math.ceil(max(baffle.width_m, baffle.height_m) / spacing / _PANEL)
    edges = _edges(baffle.width_m, baffle.height_m, min(max(panels, 2), _MOST_PANELS))
    direct = np.zeros(len(frequency_hz), dtype=np.complex128)
    diffracted = np.zeros_like(direct)
    origin = math.dist(place, (baffle.x_m, baffle.y_m, 0.0))
    for point, weight in zip(points, weights, strict=True):
        way = math.dist(place, (*point, 0.0))
        direct += weight * 2.0 / way * np.exp(-1j * wave_number * (way - origin))
        diffracted += weight * _first_order(wave_number, edges, point, place, origin)
    later = np.zeros_like(direct)
    fade = _fade(wave_number, baffle)
    later[fade > 0.0] = _later_orders(wave_number[fade > 0.0], baffle, place, origin)
    factor = 1.0 if over == "half-space" else 2.0
    return np.asarray(factor * (1.0 + (diffracted + fade * later) / direct), dtype=np.complex128)


class _Edges(NamedTuple):
    """Points on the four edges: place (n, 2), length each stands for (n,), inward and along (n, 2), which edge (n,)."""

    place: FloatArray
    length: FloatArray
    inward: FloatArray
    along: FloatArray
    edge: np.ndarray


class _Ways(NamedTuple):
    """From edge points to a point: how far (n,), across the edge (n,), along it (n,), angle from the front (n,)."""

    far: FloatArray
    across: FloatArray
    along: FloatArray
    angle: FloatArray


@functools.lru_cache(maxsize=32)
def _edges(width: float, height: float, panels: int) -> _Edges:
    """Gauss-Legendre points in equal panels, the same number on every edge."""
    node, weight = np.polynomial.legendre.leggauss(_PANEL)
    part = (np.arange(panels)[:, None] + (node + 1.0) / 2.0).ravel() / panels
    share = np.tile(weight / 2.0 / panels, panels)
    corners = np.array([(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)])
    inward = np.array([(0.0, 1.0), (-1.0, 0.0), (0.0, -1.0), (1.0, 0.0)])
    step = np.roll(corners, -1, axis=0) - corners
    long = np.hypot(*step.T)
    count = len(part)
    return _Edges(
        place=(corners[:, None] + part[None, :, None] * step[:, None]).reshape(-1, 2),
        length=np.outer(long, share).ravel(),
        inward=np.repeat(inward, count, axis=0),
        along=np.repeat(step / long[:, None], count, axis=0),
        edge=np.repeat(np.arange(4), count),
    )


def _piston(baffle: Baffle, radius: float) -> tuple[FloatArray, FloatArray]:
    """Places (m, 2) and weights (m,) of point sources that stand for a piston: Gauss rule in r², even spokes."""
    node, weight = np.polynomial.legendre.leggauss(_RINGS)
    rings = radius * np.sqrt((node + 1.0) / 2.0)
    turn = 2.0 * np.pi * (np.arange(_SPOKES) + 0.5) / _SPOKES
    offset = rings[:, None, None] * np.stack([np.cos(turn), np.sin(turn)], axis=-1)
    centre = np.array([baffle.x_m, baffle.y_m])
    return (centre + offset).reshape(-1, 2), np.repeat(weight / 2.0, _SPOKES) / _SPOKES


def _ways_to(edges: _Edges, place: FloatArray) -> _Ways:
    """From every edge point to a place in space (3,)."""
    step = place[:2] - edges.place
    inward, along = np.sum(step * edges.inward, axis=1), np.sum(step * edges.along, axis=1)
    return _Ways(np.sqrt(inward**2 + along**2 + place[2] ** 2), np.hypot(inward, place[2]), along,
                 np.arctan2(place[2], inward))  # fmt: skip


def _beta(cosh_eta: FloatArray, angle: FloatArray | float) -> FloatArray:
    """β of Svensson et al. (1999) for a source on the front, its four terms falling together in two pairs."""
    spread = np.cosh(_NU * np.arccosh(np.maximum(cosh_eta, 1.0)))
    pairs = (_NU * (np.pi + angle), _NU * (np.pi - angle))
    return np.asarray(2.0 * sum(np.sin(p) / (spread - np.cos(p)) for p in pairs), dtype=np.float64)


def _first_order(
    wave_number: FloatArray, edges: _Edges, source: FloatArray, place: FloatArray, origin: float
) -> ComplexArray:
    """What the edges add to one point source of unit strength (n_f,), over e^{-jk origin}."""
    to_source, to_place = _ways_to(edges, np.array([*source, 0.0])), _ways_to(edges, place)
    shift = _shift(
        (to_source.far, to_source.along, to_source.across), (to_place.far, to_place.along, to_place.across)
    )
    strength = (
        -_NU / (4.0 * np.pi) * edges.length * _beta(shift, to_place.angle) / (to_source.far * to_place.far)
    )
    late = to_source.far + to_place.far - origin
    return np.asarray(np.exp(-1j * np.outer(wave_number, late)) @ strength, dtype=np.complex128)


def _later_orders(wave_number: FloatArray, baffle: Baffle, place: FloatArray, origin: float) -> ComplexArray:
    """Second and third order and the row that follows them (n_f,), for a point source at the driver's centre.

    Sound that reaches an edge along the front comes with its mirror image in it already, hence half of β.
    """
    edges = _edges(baffle.width_m, baffle.height_m, _ACROSS_PANELS)
    source, out = _ways_to(edges, np.array([baffle.x_m, baffle.y_m, 0.0])), _ways_to(edges, place)
    far, across, along, apart = _between(edges)
    half = -_NU / (8.0 * np.pi)
    into = (source.far[:, None], source.along[:, None], source.across[:, None])
    first = 2.0 * half * _beta(_shift(into, (far, along, across)), 0.0) / (source.far[:, None] * far)
    first *= np.where(apart, edges.length[:, None], 0.0)
    back = (far, along.T, across.T)
    last = half * _beta(_shift(back, (out.far, out.along, out.across)), out.angle) / out.far * edges.length
    turn = _shift([x[:, :, None] for x in back], [x[None] for x in (far, along, across)])
    kernel = half * _beta(turn, 0.0) * np.where(apart, edges.length[:, None] / far, 0.0)
    leave = np.exp(-1j * np.outer(wave_number, out.far - origin))
    step = np.exp(-1j * wave_number[:, None, None] * far)
    field = first * step * np.exp(-1j * np.outer(wave_number, source.far))[:, :, None]
    second = np.einsum("fij,ij,fj->f", field, last, leave, optimize=True)
    field = np.matmul(field.transpose(2, 0, 1), kernel.transpose(1, 0, 2)).transpose(1, 0, 2) * step
    third = np.einsum("fij,ij,fj->f", field, last, leave, optimize=True)
    row = 1.0 / (1.0 + _NEXT_ORDER * np.exp(-1j * wave_number * float(far[apart].mean())))
    return np.asarray(second + third * row, dtype=np.complex128)


def _between(edges: _Edges) -> tuple[FloatArray, FloatArray, FloatArray, np.ndarray]:
    """From edge point to edge point (n, n): how far, across and along the first one's edge; whether on two edges."""
    step = edges.place[None] - edges.place[:, None]
    apart = edges.edge[:, None] != edges.edge[None]
    far = np.where(apart, np.hypot(step[..., 0], step[..., 1]), 1.0)
    across = np.where(apart, np.einsum("ijk,ik->ij", step, edges.inward), 1.0)
    return far, across, np.einsum("ijk,ik->ij", step, edges.along), apart


def _shift(here: Sequence[FloatArray], there: Sequence[FloatArray]) -> FloatArray:
    """Return cosh η = (m l + z_s z_r)/(r_s r_r) of two points seen from one edge point, each as (far, along, across)."""
    return np.asarray((here[0] * there[0] + here[1] * there[1]) / (here[2] * there[2]), dtype=np.float64)


def _fade(wave_number: FloatArray, baffle: Baffle) -> FloatArray:
    """1 while the points on the edges lie closer than a third of a wavelength, 0 an octave above (n_f,).

    By then the later orders are weak anyway: they fall with frequency.
    """
    widest = 1.5 * float(_edges(baffle.width_m, baffle.height_m, _ACROSS_PANELS).length.max())
    octaves = np.clip(np.log2(np.maximum(wave_number, 1e-12) * 3.0 * widest / (2.0 * np.pi)), 0.0, 1.0)
    return np.asarray(np.where(octaves < 1.0, np.cos(octaves * np.pi / 2.0) ** 2, 0.0), dtype=np.float64)
