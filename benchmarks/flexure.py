"""How long the force of a spiral-arm flexure is over its travel, beside general-purpose finite elements at equal error.

The flexure is S4 of ``tests/references/flexures``: force at ten displacements up to 5 mm, hub held. Every program takes the coarsest
of its own meshes whose force is within 0.5 % of the stored one at all ten; that one is far finer. One side of the travel is solved by
all, one thread each. Times hold meshing, assembling and solving; CalculiX's also its start and its files, some 20 ms.

CalculiX: bricks of 20 nodes with reduced integration, ten increments, its default tolerance; the first peer.
NGSolve by itself: fourth order, the energy as symbols that the library differentiates, as many steps as ours and the same cubic
through forces and exact slopes; the second.

Also the whole study as a page calls it, with strain, stiffness to all sides, resonances and its own error; the design's bound is 20 s.

Run: ``OPENBLAS_NUM_THREADS=1 OMP_NUM_THREADS=1 python benchmarks/flexure.py``. Prints medians and ratios of one run.
"""

from __future__ import annotations

import json
import math
import os
import re
import shutil
import statistics
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import product
from pathlib import Path
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("OMP_NUM_THREADS", "1")

import numpy as np

from halfroll.core.levels import FloatArray
from halfroll.materials.types import Filament, Origin
from halfroll.suspension.design import FlexureDesign
from halfroll.suspension.elastic.laws import Elastic
from halfroll.suspension.flexure import study_flexure
from halfroll.suspension.flexure.bend import bend_arm
from halfroll.suspension.flexure.cuts import FlexureSettings
from halfroll.suspension.study.curves import curve_of

HERE = Path(__file__).parent
STORED = json.loads(
    (HERE.parent / "tests" / "references" / "flexures" / "S4_reference.json").read_text(encoding="utf-8")
)
ROWS = [row for row in STORED["rows"] if row["x"] > 0]
X_MM, WANTED = (np.array([row[key] for row in ROWS]) for key in ("x", "F"))
ALLOWED = 5e-3
ARMS = 3
SHAPE = STORED["case"]["geometry"]
INNER, OUTER, WIDTH, THICKNESS = (SHAPE[key] for key in ("r_inner", "r_outer", "width", "thickness"))
SWEEP = math.radians(SHAPE["sweep_deg"])
MODULUS, POISSON = (STORED["case"]["material"][key] for key in ("E_MPa", "nu"))

OURS = tuple(
    FlexureSettings(orders=orders, widths=widths, turn_rad=turn)
    for orders in ((3, 2, 2), (3, 2, 3), (4, 2, 3), (4, 3, 3))
    for widths, turn in ((4.0, 0.8), (3.2, 0.65), (2.5, 0.5))
)
"""Of our meshes, from coarse to fine; the last is what a study uses."""

BRICKS = ((24, 2, 1), (24, 3, 1), (16, 3, 2), (20, 3, 2), (24, 3, 2), (32, 4, 2), (40, 4, 2))
SYMBOLS = ((12, 1, 1), (16, 1, 1), (12, 2, 1), (16, 2, 1), (24, 2, 1))


@dataclass(frozen=True)
class Run:
    """One run of a program: largest relative error of F(x), unknowns, seconds."""

    error: float
    unknowns: int
    seconds: float


def design(hub: Any = "held") -> FlexureDesign:
    """S4."""
    plastic = Filament(
        key="plastic", title="plastic", density_kg_m3=1240.0, density_u_kg_m3=0.0, modulus_pa=1e6 * MODULUS, modulus_u_pa=0.0,
        poisson=POISSON, across_factor=1.0, glass_c=60.0, continuous_c=50.0, loss_factor=0.0, creep_per_decade=0.0,
        expansion_per_k=0.0, origin=Origin(source="S4", support="own"),
    )  # fmt: skip
    return FlexureDesign(
        name="spider", family="spiral-arms", inner_radius_m=1e-3 * INNER, outer_radius_m=1e-3 * OUTER, thickness_m=1e-3 * THICKNESS,
        width_m=1e-3 * WIDTH, arms=ARMS, sweep_rad=SWEEP, hub=hub, material=plastic,
    )  # fmt: skip


def error_of(force: FloatArray) -> float:
    """Largest relative error of F at the stored displacements."""
    return float(np.abs(force / WANTED - 1).max())


def ours(settings: FlexureSettings) -> Run:
    """Equilibria of one arm and the curve through them."""
    from scipy.interpolate import CubicHermiteSpline

    material = Elastic(modulus_pa=1e6 * MODULUS, poisson=POISSON, law="st-venant")
    start = time.perf_counter()
    bent = bend_arm(design(), material, 1e-3 * float(X_MM[-1]), settings)
    curve = curve_of(bent.both_sides(ARMS))
    seconds = time.perf_counter() - start
    cubic = CubicHermiteSpline(curve.x_m, curve.force_n, curve.tangent_n_per_m)
    return Run(error_of(cubic(1e-3 * X_MM)), bent.solid.size, seconds)


def by_symbols(counts: tuple[int, int, int]) -> Run:
    """NGSolve by itself: the box of bricks bent to the arm at its own order, Newton's steps, and the same cubic as ours."""
    import ngsolve as ng
    from ngsolve.meshes import MakeHexMesh
    from scipy.interpolate import CubicHermiteSpline

    ng.SetNumThreads(1)
    start = time.perf_counter()
    mesh = MakeHexMesh(
        nx=counts[0], ny=counts[1], nz=counts[2], mapping=lambda x, y, z: (x, y - 0.5, z - 0.5)
    )
    bent = ng.GridFunction(ng.VectorH1(mesh, order=4))
    bent.Set(
        ng.CF(
            tuple(at - own for at, own in zip(place(ng.x, ng.y, ng.z, ng), (ng.x, ng.y, ng.z), strict=True))
        )
    )
    mesh.SetDeformation(bent)
    space = ng.VectorH1(mesh, order=4, dirichlet="back|front")
    mu, lam = MODULUS / (2 * (1 + POISSON)), MODULUS * POISSON / ((1 + POISSON) * (1 - 2 * POISSON))
    deformed = ng.Id(3) + ng.Grad(space.TrialFunction())
    strain = 0.5 * (deformed.trans * deformed - ng.Id(3))
    form = ng.BilinearForm(space, symmetric=True)
    form += ng.Variation(
        (0.5 * lam * ng.Trace(strain) ** 2 + mu * ng.InnerProduct(strain, strain)).Compile() * ng.dx
    )
    edge = ng.GridFunction(space)
    edge.Set((0, 0, 1), definedon=mesh.Boundaries("back"))
    steps = np.linspace(0.0, X_MM[-1], OURS[-1].steps + 1)
    force, slope = np.transpose(list(pulled(form, edge.vec, space, steps)))
    found = CubicHermiteSpline(steps, ARMS * force, ARMS * slope)(X_MM)
    return Run(error_of(found), space.ndof, time.perf_counter() - start)


def pulled(form: Any, edge: Any, space: Any, steps: FloatArray) -> Iterator[tuple[float, float]]:
    """Force (N) of one arm and its slope (N/mm) with the hub at each of the steps (mm), each guessed from the last by its slope."""
    u, follow, residual, change = (edge.CreateVector() for _ in range(4))
    u[:] = 0.0
    follow.data = edge
    for way in np.diff(steps, prepend=0.0):
        u.data += float(way) * follow
        for _ in range(30):
            form.AssembleLinearization(u)
            inverse = form.mat.Inverse(space.FreeDofs(), inverse="sparsecholesky")
            form.Apply(u, residual)
            change.data = inverse * residual
            if change.Norm() <= 1e-7 * u.Norm():
                break
            u.data -= change
        change.data = form.mat * edge
        follow.data = edge - inverse * change
        change.data = form.mat * follow
        yield float(residual.InnerProduct(edge)), float(change.InnerProduct(edge))


def calculix(counts: tuple[int, int, int]) -> Run:
    """CalculiX on a deck written here."""
    start = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        unknowns = 3 * write_deck(Path(folder) / "arm.inp", counts)
        subprocess.run(["ccx", "arm"], cwd=folder, check=True, capture_output=True, timeout=600)
        text = (Path(folder) / "arm.dat").read_text(encoding="utf-8")
    force = [-ARMS * float(row.split()[2]) for row in re.findall(r"total force.*\n\n(.*)\n", text)]
    return Run(error_of(np.array(force)), unknowns, time.perf_counter() - start)


def write_deck(path: Path, counts: tuple[int, int, int]) -> int:
    """Write S4's arm as bricks of 20 nodes; gives the number of nodes."""
    numbers: dict[tuple[int, ...], int] = {}
    corners = [(0, 0, 0), (2, 0, 0), (2, 2, 0), (0, 2, 0), (0, 0, 2), (2, 0, 2), (2, 2, 2), (0, 2, 2)]
    edges = [(1, 0, 0), (2, 1, 0), (1, 2, 0), (0, 1, 0), (1, 0, 2), (2, 1, 2), (1, 2, 2), (0, 1, 2),
             (0, 0, 1), (2, 0, 1), (2, 2, 1), (0, 2, 1)]  # fmt: skip
    elements = []
    for first in product(*(range(0, 2 * n, 2) for n in counts)):
        at = [tuple(a + b for a, b in zip(first, one, strict=True)) for one in corners + edges]
        elements.append([numbers.setdefault(one, len(numbers) + 1) for one in at])
    lines = ["*NODE,NSET=NALL"]
    for grid, number in numbers.items():
        s, v, t = (g / (2 * n) - shift for g, n, shift in zip(grid, counts, (0, 0.5, 0.5), strict=True))
        lines.append(f"{number}," + ",".join(f"{c:.12g}" for c in place(s, v, t)))
    lines.append("*ELEMENT,TYPE=C3D20R,ELSET=EALL")
    for number, nodes in enumerate(elements, 1):
        words = [str(number), *map(str, nodes)]
        lines += [",".join(words[:11]) + ",", ",".join(words[11:])]
    for name, column in (("HUB", 0), ("RIM", 2 * counts[0])):
        lines += [
            f"*NSET,NSET={name}",
            *(f"{number}," for grid, number in numbers.items() if grid[0] == column),
        ]
    lines += ["*MATERIAL,NAME=P", "*ELASTIC", f"{MODULUS},{POISSON}", "*SOLID SECTION,ELSET=EALL,MATERIAL=P"]
    every = f"{1 / len(X_MM):g}"
    lines += ["*BOUNDARY", "HUB,1,2", "RIM,1,3", "*TIME POINTS,NAME=AT,GENERATE", f"{every},1,{every}"]
    lines += [
        "*STEP,NLGEOM,INC=200",
        "*STATIC",
        f"{every},1,1e-6,{every}",
        "*BOUNDARY",
        f"HUB,3,3,{X_MM[-1]}",
    ]
    lines += ["*NODE PRINT,NSET=RIM,TOTALS=ONLY,TIME POINTS=AT", "RF", "*END STEP", ""]
    path.write_text("\n".join(lines), encoding="utf-8")
    return len(numbers)


def place(s: Any, v: Any, t: Any, m: Any = math) -> tuple[Any, Any, Any]:
    """Place (mm) on the arm; `m` gives sine, cosine and root."""
    r, a, width = INNER + (OUTER - INNER) * s, SWEEP * s, OUTER - INNER
    x1, y1 = width * m.cos(a) - r * SWEEP * m.sin(a), width * m.sin(a) + r * SWEEP * m.cos(a)
    side = WIDTH * v / m.sqrt(x1 * x1 + y1 * y1)
    return r * m.cos(a) - side * y1, r * m.sin(a) + side * x1, THICKNESS * t


def coarsest(work: Callable[[Any], Run], sizes: tuple[Any, ...]) -> Any:
    """The first mesh whose error is allowed."""
    for size in sizes:
        if work(size).error <= ALLOWED:
            return size
    raise RuntimeError("no mesh was fine enough")


def whole(hub: str) -> float:
    """Duration (s) of the whole study."""
    start = time.perf_counter()
    study_flexure(design(hub), 1e-3 * float(X_MM[-1]))
    return time.perf_counter() - start


def main() -> None:
    """Find each program's mesh, time all in turn, print the ratios."""
    ways: dict[str, tuple[Callable[[Any], Run], tuple[Any, ...]]] = {
        "halfroll": (ours, OURS),
        "halfroll, as a study": (ours, OURS[-1:]),
        "peer: NGSolve by itself": (by_symbols, SYMBOLS),
    }
    if shutil.which("ccx"):
        ways["peer: CalculiX"] = (calculix, BRICKS)
    sizes = {name: coarsest(work, tried) for name, (work, tried) in ways.items()}
    runs: dict[str, list[Run]] = {name: [] for name in ways}
    for _ in range(3):
        for name, (work, _) in ways.items():
            runs[name].append(work(sizes[name]))
    base = statistics.median(run.seconds for run in runs["halfroll"])
    print(f"force of a flexure at {len(X_MM)} displacements, error allowed {100 * ALLOWED:g} % at each")
    print("                            error  unknowns      time  ours over it")
    for name, done in runs.items():
        seconds = statistics.median(run.seconds for run in done)
        print(
            f"{name:26} {100 * done[0].error:5.2f} % {done[0].unknowns:8} {1e3 * seconds:7.0f} ms {base / seconds:8.2f}"
        )
    if "peer: CalculiX" not in ways:
        print("peer: CalculiX              not installed, not compared")
    for hub in ("held", "free"):
        print(f"the whole study, hub {hub}  {statistics.median(whole(hub) for _ in range(3)):6.1f} s")


if __name__ == "__main__":
    main()
