"""Resonances of the moving parts that are the same all around the axis, and what each of them is."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR, Air
from halfroll.acoustics.radiation import piston_impedance
from halfroll.acoustics.rayleigh import ring_phase
from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.suspension.diaphragm.assembled import Assembly
from halfroll.suspension.results import ShellMode

MOST_MODES = 80
SEARCHED_HZ = 60e3
"""Resonances are looked for up to here: beyond hearing, so that small domes get an answer, too."""

HEARD_DB = 3.0
"""A resonance counts as heard when it lifts or cuts the level on axis by this much (own choice, that of the usable frequency)."""

OWN_SHARE = 0.5
"""A resonance is the diaphragm's when this share of its strain energy is there (own choice)."""

_NODE_LEAST = 0.03
"""A change of sign is a nodal circle when both sides reach this share of the largest normal displacement."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Rigid:
    """The same parts as a rigid piston on the same suspension: motion of the free degrees of freedom (size,) per unit of travel,
    moving mass (kg), stiffness (N/m) and its imaginary part, area (m²) and the area a load of air acts on (m²).
    """

    motion: FloatArray
    mass_kg: float
    stiffness_n_per_m: float
    loss_n_per_m: float
    area_m2: float
    air_area_m2: float

    @property
    def radius_m(self) -> float:
        """Radius of the piston of that area."""
        return float(np.sqrt(self.area_m2 / np.pi))


@dataclass(frozen=True, kw_only=True, eq=False)
class Modes:
    """Undamped resonances: angular frequencies (m,) and shapes (size, m) of unit modal mass."""

    omega: FloatArray
    shapes: FloatArray


def rigid_piston(assembly: Assembly) -> Rigid:
    """Diaphragm, former and cap as one rigid body; the surround follows as it does at rest."""
    shell = assembly.shell
    k, rows = shell.stiffness, shell.kept
    on = np.zeros(shell.full_size, dtype=bool)
    for number in assembly.diaphragm:
        mesh = shell.meshes[number]
        on[3 * mesh.first : 3 * (mesh.first + len(mesh.s))] = True
    moved = on[rows]
    motion = np.where(moved & (rows % 3 == 1), 1.0, 0.0)
    if not moved.all():
        free = ~moved
        motion[free] = np.linalg.solve(k[np.ix_(free, free)], -(k @ motion)[free])
    return Rigid(
        motion=motion, mass_kg=float(motion @ shell.mass @ motion), stiffness_n_per_m=float(motion @ k @ motion),
        loss_n_per_m=float(motion @ shell.loss @ motion), area_m2=float(assembly.flow.sum(axis=0) @ motion),
        air_area_m2=float(motion @ assembly.air_area @ motion),
    )  # fmt: skip


def solve_modes(assembly: Assembly, most: int = MOST_MODES) -> Modes:
    """The lowest resonances, rising."""
    from scipy.linalg import eigh

    shell = assembly.shell
    last = min(most, shell.size) - 1
    squared, shapes = eigh(shell.stiffness, shell.mass, subset_by_index=[0, last], check_finite=False)
    return Modes(omega=np.sqrt(np.maximum(squared, 0.0)), shapes=shapes)


def air_load(frequency_hz: FloatArray, radius_m: float, air: Air = STANDARD_AIR) -> ComplexArray:
    """Load of the air on both sides per area (Pa s/m), that of a piston spread evenly (own approximation above its first resonances)."""
    ka = 2 * np.pi * frequency_hz * radius_m / air.speed_of_sound
    return np.asarray(2 * air.density * air.speed_of_sound * piston_impedance(ka), dtype=np.complex128)


def describe(
    assembly: Assembly, modes: Modes, rigid: Rigid, air: Air = STANDARD_AIR
) -> tuple[ShellMode, ...]:
    """Every resonance up to `SEARCHED_HZ` in words and numbers, in air: as many as `first_resonance` leaves of the modes."""
    lossy, aired = (
        np.einsum("im,ij,jm->m", modes.shapes, matrix, modes.shapes, optimize=True)
        for matrix in (assembly.shell.loss, assembly.air_area)
    )
    volumes, driven = assembly.flow @ modes.shapes, np.abs(assembly.drive @ modes.shapes)
    found: list[ShellMode] = []
    for n in range(first_resonance(assembly), len(modes.omega)):
        omega, load = _in_air(float(modes.omega[n]), float(aired[n]), rigid.radius_m, air)
        if omega > 2 * np.pi * SEARCHED_HZ:
            break
        phase = ring_phase(assembly.r, assembly.z, np.array([omega / air.speed_of_sound]), np.zeros(1))[0, 0]
        volume = float(np.abs(phase @ volumes[:, n])) / rigid.area_m2
        damping = float(lossy[n] + omega * load.real * aired[n]) / float(modes.omega[n]) ** 2
        sound = _Sound(rigid.mass_kg * volume * float(driven[n]), volume, max(damping, 1e-6))
        found.append(_described(assembly, modes.shapes[:, n], omega / (2 * np.pi), sound, first=not found))
    return tuple(found)


def first_resonance(assembly: Assembly) -> int:
    """Number of the first mode that is one: a body that nothing holds moves freely in the first, at no frequency."""
    return 0 if assembly.held else 1


def _in_air(omega: float, aired: float, radius_m: float, air: Air) -> tuple[float, complex]:
    """Angular frequency of a mode of unit mass with the air's mass on it, and the load there."""
    found, load = omega, 0j
    for _ in range(4):
        load = complex(air_load(np.array([found / (2 * np.pi)]), radius_m, air)[0])
        found = omega / np.sqrt(1 + aired * load.imag / found)
    return float(found), load


@dataclass(frozen=True)
class _Sound:
    """Share of a mode in the volume acceleration of the rigid piston, its volume velocity over Sd, its damping."""

    share: float
    volume: float
    damping: float

    @property
    def peak_db(self) -> float:
        return float(20 * np.log10(1.0 + self.share / self.damping))


def _described(assembly: Assembly, shape: FloatArray, hz: float, sound: _Sound, *, first: bool) -> ShellMode:
    shell = assembly.shell
    moved = [shell.nodal(n, shape)[:, :2] for n in range(len(shell.lines))]
    places = [np.column_stack([mesh.r, mesh.z]) for mesh in shell.meshes]
    together = np.concatenate(moved)
    largest = float(np.hypot(*together.T).max())
    kind, own = ("piston", 0.0) if first and assembly.held else _kind(assembly, shape)
    mode = ShellMode(
        frequency_hz=hz, places_m=np.concatenate(places), shape=together / largest,
        lines=tuple(len(one) for one in places), names=tuple(line.name for line in shell.lines),
        heard=sound.volume / largest, words="", kind=kind, quality=1.0 / sound.damping, peak_db=sound.peak_db,
        own_share=own,
    )  # fmt: skip
    return replace(mode, words=_words(mode, own))


def _kind(assembly: Assembly, shape: FloatArray) -> tuple[str, float]:
    """What bends most, by strain energy, and the diaphragm's share of that energy."""
    shell = assembly.shell
    strain = [float(shape @ k @ shape) for k in shell.line_stiffness]
    held = sum(e for n, e in enumerate(strain) if n not in assembly.diaphragm) + float(
        shape @ shell.extra_stiffness @ shape
    )
    own = {n: strain[n] for n in assembly.diaphragm}
    share = sum(own.values()) / (held + sum(own.values()))
    return ("surround" if share < OWN_SHARE else shell.lines[max(own, key=lambda n: own[n])].name), share


def is_break_up(mode: ShellMode, *, least_share: float = OWN_SHARE, least_db: float = HEARD_DB) -> bool:
    """Whether a resonance is one of the diaphragm's own that is heard: so much of its strain energy is there, so much it lifts the level."""
    return mode.kind != "piston" and mode.own_share >= least_share and mode.peak_db >= least_db


def nodal_circles(mode: ShellMode) -> tuple[tuple[str, float, float], ...]:
    """Nodal circles of the normal displacement: name of the line, radius and height (m) of each."""
    found: list[tuple[str, float, float]] = []
    ends = np.concatenate([[0], np.cumsum(mode.lines)])
    normal = [_normal(mode.places_m[a:b], mode.shape[a:b]) for a, b in pairwise(ends)]
    largest = max(float(np.abs(u).max()) for u in normal)
    for name, u, (a, b) in zip(mode.names, normal, pairwise(ends), strict=True):
        if name == "former":
            continue
        found.extend(
            (name, float(r), float(z)) for r, z in _crossings(mode.places_m[a:b], u, _NODE_LEAST * largest)
        )
    return tuple(found)


def _normal(places: FloatArray, shape: FloatArray) -> FloatArray:
    along = np.gradient(places, axis=0)
    along = along / np.maximum(np.hypot(*along.T), 1e-15)[:, None]
    return np.asarray(along[:, 0] * shape[:, 1] - along[:, 1] * shape[:, 0])


def _crossings(places: FloatArray, u: FloatArray, least: float) -> list[FloatArray]:
    """Places where u changes sign between stretches that both reach `least`."""
    strong = np.flatnonzero(np.abs(u) >= least)
    out: list[FloatArray] = []
    for a, b in pairwise(strong):
        if u[a] * u[b] < 0:
            at = int(a) + int(np.flatnonzero(u[a : b + 1] * u[a] < 0)[0])
            share = u[at - 1] / (u[at - 1] - u[at])
            out.append(places[at - 1] + share * (places[at] - places[at - 1]))
    return out


def _words(mode: ShellMode, own: float) -> str:
    """What moves, in a sentence; `own` is the diaphragm's share of the strain energy."""
    if mode.kind == "piston":
        return "All parts move as one on the suspension: its resonance."
    if mode.kind == "surround":
        with_it = "hardly bends" if own < 0.1 else "bends a little with it" if own < 0.3 else "bends with it"
        return f"The surround moves against the cone's edge; the cone {with_it}."
    circles = [f"{d:.0f}" for d in sorted(2e3 * r for name, r, _ in nodal_circles(mode) if name == mode.kind)]
    where = (
        f"nodal circle at {circles[0]} mm diameter"
        if len(circles) == 1
        else f"nodal circles at {', '.join(circles)} mm diameter"
    )
    where = f"; {where}" if circles else ""
    heard = "" if mode.peak_db >= HEARD_DB else " It is hardly heard."
    if mode.kind == "former":
        return f"The former gives between winding and cone.{heard}"
    return f"The {mode.kind} bends{where}.{heard}"
