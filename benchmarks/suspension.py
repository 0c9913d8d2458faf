"""How long K(x) of a surround at 25 displacements is, beside general-purpose finite elements at equal error of the force.

The surround is S1 of ``tests/references/suspension``, bent 6 mm both ways. Every program takes the coarsest of its own meshes whose
force is within 0.5 % of the stored solution of the finest one at both ends of the travel. Ours then reads 25 points off the few
equilibria it solved; the force of the others is solved at each of them, and K is the slope of a spline.

CalculiX: eight-node elements with reduced integration, two or more across (with one it may take a wrong branch), tight
residuals on forces scaled up; its time is that of its two runs as a program, outwards and inwards, each started and its deck read.
An empty deck tells how much of it that is. The decks are written beforehand.

Also the whole study as a page calls it: sideways stiffness, own resonances, wrinkles, strain, bent shapes and verdicts.

Run: ``python benchmarks/suspension.py``. Prints medians and ratios of one run; the bound in the design is a quarter of
CalculiX's time. All programs have one thread.
"""

from __future__ import annotations

import os

os.environ["OPENBLAS_NUM_THREADS"] = os.environ["OMP_NUM_THREADS"] = "1"

import csv
import re
import shutil
import statistics
import subprocess
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from scipy.interpolate import CubicHermiteSpline, make_interp_spline

from halfroll.core.levels import FloatArray
from halfroll.suspension.elastic.laws import Elastic
from halfroll.suspension.elastic.midline import MidLine, Profile
from halfroll.suspension.elastic.strip import place
from halfroll.suspension.study.curves import columns
from halfroll.suspension.study.cuts import MeshSettings
from halfroll.suspension.study.strip import study_strip
from halfroll.suspension.study.travel import TravelSettings, bend
from halfroll.suspension.types import SuspensionPart

FOLDER = Path(__file__).parent.parent / "tests" / "references" / "suspension"
INNER, OUTER, HEIGHT, THICKNESS = 30e-3, 40e-3, 5e-3, 0.8e-3
MODULUS, POISSON, TRAVEL = 26e6, 0.45, 6e-3
X_M = np.linspace(-TRAVEL, TRAVEL, 25)
ALLOWED = 5e-3
SCALES = (2.5, 2.0, 1.6, 1.3, 1.0)
"""Of our elements' lengths, from coarse to fine; 1 is what a study takes."""

PEER_MESHES = ((30, 2), (40, 2), (50, 2), (60, 3), (80, 4))
"""Elements along and across."""

STEPS = 12
SCALE = 1e6
"""CalculiX has an absolute floor of forces: the modulus is scaled up by this, and forces down again."""

WEDGE = 180.0
"""CalculiX gives the forces of two degrees."""


@dataclass(frozen=True)
class Run:
    """One run: largest error of F at both ends and of K at all points, relative to the stored ones; unknowns; seconds."""

    force_error: float
    stiffness_error: float
    unknowns: int
    seconds: float


def stored() -> tuple[FloatArray, FloatArray, FloatArray]:
    """X (m), F (N) and K (N/m) of the finest solution."""
    with (FOLDER / "S1_ngsolve_24x2p6.csv").open(encoding="utf-8") as lines:
        table = np.array([[float(row[key]) for key in ("x", "F", "K")] for row in csv.DictReader(lines)])
    return 1e-3 * table[:, 0], table[:, 1], 1e3 * table[:, 2]


X_STORED, F_STORED, K_STORED = stored()


def errors(force: FloatArray, stiffness: FloatArray) -> tuple[float, float]:
    """Of F at both ends, and of K at all points."""
    assert np.allclose(X_M, X_STORED)
    ends = np.abs(force[[0, -1]] / F_STORED[[0, -1]] - 1)
    return float(ends.max()), float(np.abs(stiffness / K_STORED - 1).max())


def surround() -> SuspensionPart:
    """Half an ellipse, here a circle."""
    a, middle = (OUTER - INNER) / 2, (OUTER + INNER) / 2

    def curve(s: FloatArray) -> MidLine:
        c, n = np.cos(np.pi * s), np.sin(np.pi * s)
        return MidLine(
            r=middle - a * c, z=HEIGHT * n, r1=a * np.pi * n, z1=HEIGHT * np.pi * c,
            r2=a * np.pi**2 * c, z2=-HEIGHT * np.pi**2 * n,
        )  # fmt: skip

    def wall(s: FloatArray) -> tuple[FloatArray, FloatArray]:
        return np.full_like(s, THICKNESS), np.zeros_like(s)

    profile = Profile(title="half roll", curve=curve, thickness=wall)
    return SuspensionPart(
        name="surround", profile=profile, material=Elastic(modulus_pa=MODULUS, poisson=POISSON)
    )


def ours(part: SuspensionPart, scale: float) -> Run:
    """Mesh, equilibria and 25 points of the cubic between them."""
    usual = MeshSettings()
    mesh = MeshSettings(turn_rad=scale * usual.turn_rad, stretch=scale * usual.stretch)
    start = time.perf_counter()
    bent = bend(part, TRAVEL, TravelSettings(mesh=mesh))
    cubic = CubicHermiteSpline(*columns(bent.states))
    force, stiffness = cubic(X_M), cubic(X_M, 1)
    seconds = time.perf_counter() - start
    return Run(*errors(force, stiffness), bent.ring.size, seconds)


def deck(part: SuspensionPart, along: int, across: int, side: int) -> str:
    """One way of the travel for CalculiX, in mm, N, MPa."""
    number: dict[tuple[int, int], int] = {}
    corners = [(i, j) for i in range(2 * along + 1) for j in range(2 * across + 1) if not (i % 2 and j % 2)]
    for count, corner in enumerate(corners, 1):
        number[corner] = count
    at = np.array(corners, dtype=float)
    r, z, *_ = place(part.profile, at[:, 0] / (2 * along), at[:, 1] / (2 * across) - 0.5)
    lines = [
        "*NODE,NSET=NALL",
        *(f"{n},{1e3 * a:.12g},{1e3 * b:.12g}" for n, (a, b) in enumerate(zip(r, z, strict=True), 1)),
    ]
    lines.append("*ELEMENT,TYPE=CAX8R,ELSET=EALL")
    around = ((0, 0), (2, 0), (2, 2), (0, 2), (1, 0), (2, 1), (1, 2), (0, 1))
    elements = [(i, j) for i in range(0, 2 * along, 2) for j in range(0, 2 * across, 2)]
    for count, (i, j) in enumerate(elements, 1):
        lines.append(",".join(str(n) for n in (count, *(number[i + a, j + b] for a, b in around))))
    mu, bulk = part.material.shear_pa * 1e-6 * SCALE, part.material.bulk_pa * 1e-6 * SCALE
    for name, row in (("NIN", 0), ("NOUT", 2 * along)):
        lines += [f"*NSET,NSET={name}", *(str(n) for (i, _), n in number.items() if i == row)]
    lines += ["*MATERIAL,NAME=M", "*HYPERELASTIC,NEO HOOKE", f"{mu / 2:.12g},{2 / bulk:.12g}"]
    lines += ["*SOLID SECTION,ELSET=EALL,MATERIAL=M", "*BOUNDARY", "NOUT,1,2", "*BOUNDARY", "NIN,1,1"]
    for step in range(1, STEPS + 1):
        lines += ["*STEP,NLGEOM,INC=400"]
        if step == 1:
            lines += ["*CONTROLS,PARAMETERS=FIELD", "1e-7,1e-3,,,1e-6,1e-12,1e-3,1e-12"]
            lines += ["*CONTROLS,PARAMETERS=TIME INCREMENTATION", "8,16,18,30,16,4,,10,,"]
        lines += [
            "*STATIC",
            "1.0,1.,1e-6,1.",
            "*BOUNDARY",
            f"NIN,2,2,{side * 1e3 * TRAVEL * step / STEPS:.9g}",
        ]
        lines += ["*NODE PRINT,NSET=NOUT,TOTALS=ONLY,FREQUENCY=999", "RF", "*END STEP"]
    return "\n".join(lines) + "\n"


def calculix(part: SuspensionPart, mesh: tuple[int, int]) -> Run:
    """Both ways, each its own run."""
    along, across = mesh
    with tempfile.TemporaryDirectory() as folder:
        for name, side in (("up", 1), ("down", -1)):
            (Path(folder) / f"{name}.inp").write_text(deck(part, along, across, side), encoding="ascii")
        start = time.perf_counter()
        for name in ("up", "down"):
            run_ccx(folder, name)
        seconds = time.perf_counter() - start
        up, down = (reactions(Path(folder) / f"{name}.dat") for name in ("up", "down"))
    force = np.concatenate([down[::-1], np.zeros(1), up])
    stiffness = make_interp_spline(X_M, force, k=5)(X_M, 1)
    nodes = (2 * along + 1) * (2 * across + 1) - along * across
    return Run(*errors(force, stiffness), 2 * nodes, seconds)


def run_ccx(folder: str, name: str) -> None:
    """CalculiX on a deck, with one thread."""
    threads = {
        **os.environ,
        "OMP_NUM_THREADS": "1",
        "CCX_NPROC_EQUATION_SOLVER": "1",
        "CCX_NPROC_STIFFNESS": "1",
    }
    subprocess.run(
        ["ccx", name], cwd=folder, env=threads, capture_output=True, text=True, check=True, timeout=600
    )


def reactions(path: Path) -> FloatArray:
    """Force on the inner edge (N) after each step: the opposite of the outer edge's reaction along the axis."""
    totals = re.findall(r"total force.*?\n\s*\n\s*(\S+)\s+(\S+)", path.read_text(encoding="ascii"))
    assert len(totals) == STEPS, f"{len(totals)} steps came back"
    return np.array([-float(axial) for _, axial in totals]) * WEDGE / SCALE


def empty_run() -> float:
    """Seconds CalculiX takes for one element and one step, twice."""
    part = surround()
    text = deck(part, 1, 1, 1)
    first = text.index("*STEP", text.index("*STEP") + 1)
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "one.inp").write_text(
            text[:first].replace(f"{1e3 * TRAVEL / STEPS:.9g}", "0.001"), encoding="ascii"
        )
        start = time.perf_counter()
        run_ccx(folder, "one")
        run_ccx(folder, "one")
        return time.perf_counter() - start


def coarsest(work: Callable[[Any], Run], sizes: Sequence[Any]) -> Any:
    """The first mesh whose force is near enough at both ends."""
    for size in sizes:
        if work(size).force_error <= ALLOWED:
            return size
    raise RuntimeError("no mesh was fine enough")


def whole_study(part: SuspensionPart) -> float:
    """Median duration (s) of the whole study."""
    durations = []
    for _ in range(6):
        start = time.perf_counter()
        study_strip(part, TRAVEL)
        durations.append(time.perf_counter() - start)
    return statistics.median(durations[1:])


def main() -> None:
    """Find each program's mesh, time both in turn, print the ratio."""
    part = surround()
    ways: dict[str, Callable[[], Run]] = {}
    scale = coarsest(lambda one: ours(part, one), SCALES)
    ways["halfroll"] = lambda: ours(part, scale)
    ways["halfroll, as a study"] = lambda: ours(part, 1.0)
    if shutil.which("ccx"):
        mesh = coarsest(lambda one: calculix(part, one), PEER_MESHES)
        ways[f"peer: CalculiX, {mesh[0]} x {mesh[1]}"] = lambda: calculix(part, mesh)
    runs: dict[str, list[Run]] = {name: [] for name in ways}
    for _ in range(5):
        for name, work in ways.items():
            runs[name].append(work())
    fastest = statistics.median(run.seconds for run in runs["halfroll"])
    print(f"K at {len(X_M)} displacements, error allowed {100 * ALLOWED:g} % of the force at both ends")
    print("                             F at ends  K anywhere  unknowns      time  ours over it")
    for name, done in runs.items():
        seconds = statistics.median(run.seconds for run in done)
        print(
            f"{name:28} {100 * done[0].force_error:7.2f} % {100 * done[0].stiffness_error:9.2f} % "
            f"{done[0].unknowns:9} {1e3 * seconds:6.0f} ms {fastest / seconds:10.3f}"
        )
    if len(ways) == 2:
        print("peer: CalculiX               not installed, not compared")
    else:
        print(f"of CalculiX's time, starting and a first step of one element  {1e3 * empty_run():5.0f} ms")
    print(f"the whole study with shapes and sideways stiffness            {1e3 * whole_study(part):5.0f} ms")


if __name__ == "__main__":
    main()
