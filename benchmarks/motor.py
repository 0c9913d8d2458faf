"""How long Bl(x) of a motor is at 33 displacements, beside general-purpose finite elements at equal error.

The motor is A1 of ``tests/references/motor``. Every program takes the coarsest of its own meshes that comes within 0.3 % of
the largest Bl of the stored solution, which is far finer. Times hold meshing, solving and Bl(x), not the start of a program.

FreeFem++ (``motor.edp``): A_phi on second-order triangles, damped Newton, what does not change assembled once; the first peer.
NGSolve by itself: third order, the energy as symbols that the library differentiates, on our meshes; the second.

Also the whole study as a page calls it: a changed dimension drawn with its field, and with its error judged.

Run: ``python benchmarks/motor.py``. Prints medians and ratios of one run; the bounds in the design are a quarter of FreeFem++'s
time, and 0.6 s for the changed dimension.
"""

from __future__ import annotations

import json
import math
import shutil
import statistics
import subprocess
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.materials.steel import MU_0, curve
from halfroll.materials.types import MagnetGrade, Origin, Steel
from halfroll.motor.field.discrete import flux_density_of
from halfroll.motor.field.magnetostatics import ORDER, StaticField, solve
from halfroll.motor.field.mesh import MeshSettings, mesh_of
from halfroll.motor.field.study import StudySettings, study
from halfroll.motor.types import Assembly, Body, Gap, Magnet, SoftSteel, Winding

HERE = Path(__file__).parent
STORED = json.loads((HERE.parent / "tests" / "references" / "motor" / "A1.json").read_text(encoding="utf-8"))
X_M = 1e-3 * np.asarray(STORED["results"]["x_mm"])
WANTED = np.asarray(STORED["results"]["Bl_Tm"])
ALLOWED = 3e-3
TRAVEL_M = 8e-3
SIZES = (4.0, 3.5, 3.0, 2.5, 2.0, 1.6, 1.3, 1.0)
"""Of our meshes, from coarse to fine."""

PEER_SIZES = (1.6, 1.4, 1.2, 1.1, 1.0, 0.9, 0.8, 0.7)


@dataclass(frozen=True)
class Run:
    """One run of a program: largest error of Bl(x) relative to its maximum, unknowns, Newton's steps, seconds."""

    error: float
    unknowns: int
    steps: int
    seconds: float


def motor() -> Assembly:
    """The motor A1."""
    table, magnet, gap, coil = (STORED[key] for key in ("steel", "magnets", "gap", "coil"))
    origin = Origin(source=table["source"], support="handbook")
    steel = Steel(key="steel", title="steel", h_a_m=tuple(table["H"]), b_t=tuple(table["B"]), conductivity_s_m=5.8e6,
                  density_kg_m3=7850.0, origin=origin)  # fmt: skip
    grade = MagnetGrade(key="ferrite", title="ferrite", family="ferrite", br_t=magnet["magnet"]["Br"], br_u_t=0.0, hcb_a_m=2e5,
                        hcj_a_m=2.5e5, mu_rec=magnet["magnet"]["mu"], alpha_br_per_k=0.0, beta_hcj_per_k=0.0, highest_c=200.0,
                        lowest_c=-40.0, density_kg_m3=4900.0, conductivity_s_m=0.0, origin=origin)  # fmt: skip
    hard = Magnet(grade=grade, direction=(0.0, magnet["magnet"]["sign"]))
    bodies = []
    for i, part in enumerate(STORED["rectangles"]):
        r0, r1, z0, z1 = (1e-3 * part[side] for side in ("r0", "r1", "z0", "z1"))
        matter = SoftSteel(steel=steel) if part["material"] == "steel" else hard
        bodies.append(Body(name=f"part {i}", outline=((r0, z0), (r1, z0), (r1, z1), (r0, z1)), matter=matter))
    mm = {key: 1e-3 * value for key, value in gap.items()}
    return Assembly(
        bodies=tuple(bodies),
        gap=Gap(inner="part 0", outer="part 3", r_inner=mm["r0"], r_outer=mm["r1"], z_low=mm["z0"], z_high=mm["z1"]),
        winding=Winding(r_inner=1e-3 * coil["r0"], r_outer=1e-3 * coil["r1"], z_low=-5e-4 * coil["height"],
                        z_high=5e-4 * coil["height"], turns=coil["turns"]),
    )  # fmt: skip


def timed(assembly: Assembly, size: float, solver: Callable[[Any], StaticField]) -> Run:
    """Mesh, field and Bl(x) by one of the two solvers that run here."""
    assert assembly.winding is not None
    start = time.perf_counter()
    field = solver(mesh_of(assembly, MeshSettings(refinement=size, travel_m=TRAVEL_M)))
    bl = field.force_factor(assembly.winding, X_M)
    seconds = time.perf_counter() - start
    return Run(error_of(bl), field.unknowns, field.steps, seconds)


def error_of(bl: FloatArray) -> float:
    """Largest error of Bl(x) relative to its maximum."""
    return float(np.abs(bl - WANTED).max() / WANTED.max())


def by_symbols(mesh: Any) -> StaticField:
    """NGSolve by itself: the energy written as symbols, Newton's steps with its own assembly and solver."""
    import ngsolve as ng

    ng.SetNumThreads(1)
    space = ng.H1(mesh.mesh, order=ORDER, dirichlet="axis")
    a = space.TrialFunction()
    b, around = flux_density_of(a), 2.0 * math.pi * ng.x
    form = ng.BilinearForm(space, symmetric=True)
    form += ng.Variation((math.pi / (MU_0 * mesh.far_m) * a * a * ng.x).Compile() * ng.ds("far"))
    form += ng.Variation((0.5 / MU_0 * (b * b) * around).Compile() * ng.dx("air|gap"))
    for i, body in enumerate(mesh.assembly.bodies):
        matter = body.matter
        if isinstance(matter, SoftSteel):
            law = curve(matter.steel)
            density = ng.BSpline(2, [0.0, *law.b_t], list(law.h_a_m)).Integrate()(ng.sqrt(b * b + 1e-14))
        else:
            rest = b - ng.CF((0.0, matter.direction[1] * matter.grade.br_t))
            density = 0.5 / (MU_0 * matter.grade.mu_rec) * (rest * rest)
        form += ng.Variation((density * around).Compile() * ng.dx(f"body{i}"))
    potential = ng.GridFunction(space)
    steps, energy = damped_newton(form, potential, space)
    return StaticField(mesh, potential, energy, steps)


def damped_newton(form: Any, potential: Any, space: Any) -> tuple[int, float]:
    """Steps and energy (J); halves a step until the energy falls."""
    vector = potential.vec
    residual, old = vector.CreateVector(), vector.CreateVector()
    energy = form.Energy(vector)
    for step in range(1, 60):
        form.AssembleLinearization(vector)
        form.Apply(vector, residual)
        move = (-(form.mat.Inverse(space.FreeDofs(), inverse="sparsecholesky")) * residual).Evaluate()
        promised, before, share = -move.InnerProduct(residual), energy, 1.0
        old.data = vector
        while share > 1e-6:
            vector.data = old + share * move
            energy = form.Energy(vector)
            if energy <= before - 1e-4 * share * promised + 1e-14 * abs(before):
                break
            share /= 2.0
        if promised < 1e-8 * abs(energy):
            return step, float(energy)
    raise RuntimeError("no convergence")


def freefem(assembly: Assembly, size: float) -> Run:
    """FreeFem++ by its own clock; its start and the reading of the steel's table are not in it."""
    steel = assembly.bodies[0].matter
    assert isinstance(steel, SoftSteel)
    law, b = curve(steel.steel), np.linspace(0.0, 6.0, 6001)
    with tempfile.TemporaryDirectory() as folder:
        table = Path(folder) / "table.txt"
        rows = np.column_stack([law.h(b), law.slope(b + 5e-4), law.energy(b)])
        np.savetxt(table, rows, header="6001 0.001", comments="")
        command = ["FreeFem++", "-nw", "-v", "0", str(HERE / "motor.edp"), str(size), str(table)]
        out = subprocess.run(command, capture_output=True, text=True, check=True, timeout=300).stdout
    head, values = out[out.index("RESULT") :].splitlines()[:2]
    unknowns, steps, *seconds = head.split()[1:]
    bl = np.asarray(values.split(), dtype=float)
    return Run(error_of(bl), int(unknowns), int(steps), sum(map(float, seconds)))


def coarsest(work: Callable[[float], Run], sizes: tuple[float, ...]) -> float:
    """The first size whose error is allowed."""
    for size in sizes:
        if work(size).error <= ALLOWED:
            return size
    raise RuntimeError("no mesh was fine enough")


def redrawn(assembly: Assembly, judge_error: bool) -> float:
    """Median duration (s) of the whole study with one diameter changed each time."""
    durations = []
    for k in range(6):
        r0, z0 = assembly.bodies[3].outline[1][0] + 1e-4 * k, -2e-3
        outline = ((14e-3, z0), (r0, z0), (r0, 2e-3), (14e-3, 2e-3))
        bodies = (*assembly.bodies[:3], replace(assembly.bodies[3], outline=outline))
        start = time.perf_counter()
        study(replace(assembly, bodies=bodies), StudySettings(travel_m=TRAVEL_M, judge_error=judge_error))
        durations.append(time.perf_counter() - start)
    return statistics.median(durations[1:])


def main() -> None:
    """Find each program's mesh, time all in turn, print the ratios."""
    assembly = motor()
    ways: dict[str, tuple[Callable[[float], Run], tuple[float, ...]]] = {
        "halfroll": (lambda size: timed(assembly, size, solve), SIZES),
        "peer: NGSolve by itself": (lambda size: timed(assembly, size, by_symbols), SIZES),
    }
    if shutil.which("FreeFem++"):
        ways["peer: FreeFem++"] = (lambda size: freefem(assembly, size), PEER_SIZES)
    sizes = {name: coarsest(work, tried) for name, (work, tried) in ways.items()}
    runs: dict[str, list[Run]] = {name: [] for name in ways}
    for _ in range(5):
        for name, (work, _) in ways.items():
            runs[name].append(work(sizes[name]))
    ours = statistics.median(run.seconds for run in runs["halfroll"])
    print(f"Bl at {len(X_M)} displacements, error allowed {100 * ALLOWED:g} % of the largest")
    print("                            error  unknowns  steps      time  ours over it")
    for name, done in runs.items():
        seconds = statistics.median(run.seconds for run in done)
        print(
            f"{name:26} {100 * done[0].error:5.2f} % {done[0].unknowns:8} {done[0].steps:6} "
            f"{1e3 * seconds:6.0f} ms {ours / seconds:8.2f}"
        )
    if "peer: FreeFem++" not in ways:
        print("peer: FreeFem++             not installed, not compared")
    print(f"a changed dimension drawn with its field  {1e3 * redrawn(assembly, False):6.0f} ms")
    print(f"the same with its error judged            {1e3 * redrawn(assembly, True):6.0f} ms")


if __name__ == "__main__":
    main()
