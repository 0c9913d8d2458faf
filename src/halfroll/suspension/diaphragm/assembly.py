"""From a maker's design to a shell: which lines there are, where they meet, what they carry, what radiates."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from halfroll.core.errors import InputError
from halfroll.core.levels import FloatArray
from halfroll.core.verdicts import Verdict
from halfroll.materials.printed import InPrint, in_print
from halfroll.materials.types import Filament
from halfroll.suspension.density import plastic_of, strip_density
from halfroll.suspension.design import FlexureDesign, MovingDesign, StripDesign
from halfroll.suspension.diaphragm import said
from halfroll.suspension.diaphragm.assembled import Assembly, Spread
from halfroll.suspension.diaphragm.joints import nearest_s, neck_s, place_at
from halfroll.suspension.diaphragm.mass import moving_mass, stiffness_at_rest
from halfroll.suspension.diaphragm.radiating import LEAST_NECK_M, radiating
from halfroll.suspension.diaphragm.shell import Joint, Shell, ShellLine, Spot
from halfroll.suspension.elastic import revolved
from halfroll.suspension.elastic.midline import Profile
from halfroll.suspension.profile.placed import moving_lines, raised
from halfroll.suspension.results import MovingMass, MovingPart, PartResult
from halfroll.suspension.study.spread import THICKNESS_U_M

MOST_APART_M = 3e-3
"""Two parts whose edges lie further apart than this (m) do not meet as drawn."""


@dataclass(frozen=True, kw_only=True)
class _Holder:
    """A suspension part that is no line: where it sits, its stiffness (N/m), moving mass (kg), loss factor."""

    spot: Spot
    n_per_m: float
    kg: float
    loss_factor: float
    u_relative: float


def assemble(
    design: MovingDesign,
    mass: MovingMass | None = None,
    *,
    surround: PartResult | None = None,
    spider: PartResult | None = None,
) -> Assembly:
    """Join a design's lines to a shell.

    Parameters
    ----------
    design
        With a cone or dome at least.
    mass
        Masses of the parts; computed when None. They set each part's density, so that a part weighed is as heavy as on the scale.
    surround, spider
        Results of their studies; they give the stiffness of a spider, or of a flexure in either place. What is missing is estimated.

    Raises
    ------
    InputError
        There is no cone, or a part cannot be.
    """
    if design.cone is None:
        raise InputError(
            "Break-up needs a cone or a dome",
            key="cone",
            found="none",
            remedy="Add a [cone] table to the version",
        )
    mass = mass if mass is not None else moving_mass(design, surround=surround, spider=spider)
    return _Assembler(design, mass, {"surround": surround, "spider": spider}).assembled()


class _Assembler:
    """Collects lines, seats and joints; the shell is made once all seats are known."""

    def __init__(
        self, design: MovingDesign, mass: MovingMass, results: Mapping[str, PartResult | None]
    ) -> None:
        self.design = design
        self.known: dict[str, MovingPart] = {part.name: part for part in mass.parts}
        self.results = results
        self.profiles = dict(moving_lines(design))
        self.lines: list[ShellLine] = []
        self.seats: list[list[float]] = []
        self.spreads: list[Spread] = []
        self.joints: list[Joint] = []
        self.clamped: list[Spot] = []
        self.holders: list[_Holder] = []
        self.verdicts: list[Verdict] = []

    def assembled(self) -> Assembly:
        """Everything joined and loaded."""
        cone = self._add_cone()
        neck = self._seat(cone, neck_s(self.design, self.lines[cone].profile))
        former = self._add_former(neck)
        cap, cap_s = self._add_cap(cone, former)
        surround = self._add_surround(cone)
        self._add_spider(neck if former is None else former)
        shell = Shell(self._seated(), self.joints, self.clamped)
        self._load(shell, neck, cone)
        drive = self._drive(shell, neck, former)
        surfaces = radiating(shell, cone, cap, cap_s, surround)
        if cap is None and place_at(shell.lines[cone].profile, 0.0)[0] > LEAST_NECK_M:
            self.verdicts.append(said.open_neck())
        return Assembly(
            shell=shell, drive=drive, surfaces=surfaces,
            diaphragm=tuple(n for n in range(len(self.lines)) if n != surround), spreads=tuple(self.spreads),
            held=surround is not None or bool(self.holders),
            spring_spread=max((holder.u_relative for holder in self.holders), default=0.0), verdicts=tuple(self.verdicts),
        )  # fmt: skip

    def _add_cone(self) -> int:
        cone = self.design.cone
        assert cone is not None
        name = "dome" if cone.shape == "dome" else "cone"
        return self._printed(
            name, self.profiles["cone"], plastic_of(cone.material, cone.print), cone.material
        )

    def _add_former(self, neck: Spot) -> Spot | None:
        """The former hangs on the cone; its place there, as a spot of its own."""
        former = self.design.former
        if former is None:
            self.verdicts.append(said.no_former())
            return None
        line = self.profiles["former"]
        plastic = in_print(former.material, raster="around", direction="both")
        number = self._printed("former", line, plastic, former.material)
        _, z = place_at(self.lines[neck.line].profile, neck.s)
        for at in (former.winding_low_m, former.winding_high_m):
            self._seat(number, nearest_s(line, z=at))
        top = self._seat(number, nearest_s(line, z=z))
        self._join(top, neck, "former", "cone")
        return top

    def _add_cap(self, cone: int, former: Spot | None) -> tuple[int | None, float]:
        """The cap's line, and where it sits along the cone's (0 when on the former)."""
        cap = self.design.cap
        if cap is None:
            return None, 0.0
        number = self._printed(
            "dust cap", self.profiles["cap"], plastic_of(cap.material, cap.print), cap.material
        )
        rim = self._seat(number, 1.0)
        inner = place_at(self.lines[cone].profile, 0.0)[0]
        if former is not None and cap.radius_m < inner:
            self._join(rim, self._seat(former.line, 1.0), "dust cap", "former")
            return number, 0.0
        s = nearest_s(self.lines[cone].profile, r=cap.radius_m)
        self._join(rim, self._seat(cone, s), "dust cap", "cone")
        return number, s

    def _add_surround(self, cone: int) -> int | None:
        surround = self.design.surround
        edge = self._seat(cone, 1.0)
        if surround is None:
            self.verdicts.append(said.no_surround())
            return None
        if isinstance(surround, FlexureDesign):
            self._hold(surround, edge, self.results["surround"])
            return None
        line = self.profiles["surround"]
        plastic = in_print(
            surround.material, raster=surround.print.raster, infill=surround.print.infill, direction="radial"
        )
        density = strip_density(surround, revolved.of_wall(line).amount)
        number = self._line("surround", line, plastic, surround.material, density)
        self._join(self._seat(number, 0.0), edge, "surround", "cone")
        self.clamped.append(self._seat(number, 1.0))
        return number

    def _add_spider(self, at: Spot) -> None:
        spider = self.design.spider
        if spider is None:
            return
        line = self.lines[at.line].profile
        spot = (
            at
            if self.design.former is None
            else self._seat(at.line, nearest_s(line, z=spider.height_over_gap_m))
        )
        self._hold(spider, spot, self.results["spider"])

    def _hold(self, holder: StripDesign | FlexureDesign, spot: Spot, result: PartResult | None) -> None:
        if result is not None:
            stiffness, u = result.curve.at_rest(), result.curve.u_relative
        else:
            stiffness, u = (
                stiffness_at_rest(holder),
                holder.material.modulus_u_pa / holder.material.modulus_pa,
            )
        kg, loss = self.known[holder.name].mass_kg, holder.material.loss_factor
        self.holders.append(_Holder(spot=spot, n_per_m=stiffness, kg=kg, loss_factor=loss, u_relative=u))

    def _printed(self, name: str, profile: Profile, plastic: InPrint, material: Filament) -> int:
        """A line as heavy as its part."""
        density = (
            self.known[name].mass_kg / revolved.of_wall(profile).amount
            if name in self.known
            else plastic.density_kg_m3
        )
        return self._line(name, profile, plastic, material, density)

    def _line(self, name: str, profile: Profile, plastic: InPrint, material: Filament, density: float) -> int:
        self.lines.append(
            ShellLine(
                name=name,
                profile=profile,
                modulus_pa=plastic.modulus_pa,
                poisson=plastic.poisson,
                density_kg_m3=density,
                loss_factor=material.loss_factor,
            )
        )
        self.seats.append([])
        wall = float(profile.thickness(np.array([0.5]))[0][0])
        part = self.known.get(name)
        self.spreads.append(
            Spread(
                material=material.key,
                modulus=plastic.modulus_u_pa / plastic.modulus_pa,
                thickness=THICKNESS_U_M / wall,
                density=plastic.density_u_kg_m3 / plastic.density_kg_m3
                if part is None or part.basis == "geometry"
                else part.mass_u_kg / part.mass_kg,
            )
        )
        return len(self.lines) - 1

    def _seat(self, line: int, s: float) -> Spot:
        self.seats[line].append(s)
        return Spot(line=line, s=s)

    def _join(self, held: Spot, by: Spot, held_name: str, by_name: str) -> None:
        """Join two places; what is drawn far below or above the other is moved along the axis to meet it, and that is said."""
        a, b = (place_at(self.lines[spot.line].profile, spot.s) for spot in (held, by))
        apart = math.dist(a, b)
        if apart > MOST_APART_M:
            self.verdicts.append(said.apart(held_name, by_name, apart))
            line = self.lines[held.line]
            moved = raised(line.profile, b[1] - a[1])
            self.lines[held.line] = replace(line, profile=moved)
        self.joints.append(Joint(held=held, by=by))

    def _seated(self) -> list[ShellLine]:
        return [replace(line, seats=tuple(seats)) for line, seats in zip(self.lines, self.seats, strict=True)]

    def _load(self, shell: Shell, neck: Spot, cone: int) -> None:
        """Glue and leads at the neck, holders' springs and masses, the surround's lip on the cone's edge."""
        for name in ("glue", "leads"):
            if name in self.known:
                shell.add_mass(neck, self.known[name].mass_kg)
        for holder in self.holders:
            shell.add_mass(holder.spot, holder.kg)
            shell.add_spring(holder.spot, holder.n_per_m, holder.loss_factor)
        surround = self.design.surround
        if isinstance(surround, StripDesign) and surround.lip_inner_m > 0:
            volume = revolved.of_wall(self.profiles["surround"]).amount
            ring = surround.inner_radius_m**2 - (surround.inner_radius_m - surround.lip_inner_m) ** 2
            lip = math.pi * ring * surround.thickness_m * strip_density(surround, volume)
            shell.add_mass(Spot(line=cone, s=1.0), lip)

    def _drive(self, shell: Shell, neck: Spot, former: Spot | None) -> FloatArray:
        """A unit force spread over the winding, whose mass lies there too; without a former at the neck."""
        design = self.design.former
        if former is None or design is None:
            return shell.row(neck, 1)
        line = self.profiles["former"]  # where it was drawn: it may have been moved to meet the cone since
        low, high = (nearest_s(line, z=z) for z in (design.winding_low_m, design.winding_high_m))
        if not high > low:
            raise InputError(
                "The winding must lie on the former", key="former", found=f"{1e3 * design.winding_low_m:g} to {1e3 * design.winding_high_m:g} mm",
                allowed=f"{1e3 * design.low_m:g} to {1e3 * design.high_m:g} mm over the gap's middle",
            )  # fmt: skip
        wound = shell.surface(former.line, low, high)
        share = wound.along / wound.along.sum()
        weight = (design.winding_kg * share)[:, None]
        shell.extra_mass += wound.u_z.T @ (weight * wound.u_z) + wound.u_r.T @ (weight * wound.u_r)
        return np.asarray(share @ wound.u_z)
