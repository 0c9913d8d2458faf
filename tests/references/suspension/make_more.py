"""Makes cone.csv and taper.csv with CalculiX (`ccx` on the path): a cone that snaps through, and a roll whose wall grows outwards.

Needs NumPy alone. Run: ``python make_more.py``; some minutes. Units mm, N, MPa. The modulus is scaled up and forces down again, because
CalculiX stops at an absolute floor of residual forces; it gives the forces of a wedge of two degrees.
"""

import re
import subprocess
import tempfile
from pathlib import Path

import numpy as np

HERE = Path(__file__).parent
SCALE, WEDGE = 1e6, 180.0
MODULUS, POISSON = 26.0, 0.45
MESHES = ((80, 4), (160, 6))


def cone(s, t):
    """From radius 20, 3 high, to radius 30; 0.8 thick."""
    along = np.array([10.0, -3.0]) / np.hypot(10, 3)
    return 20 + 10 * s - 0.8 * t * along[1], 3 - 3 * s + 0.8 * t * along[0]


def taper(s, t):
    """Half a circle of radius 5 between 30 and 40; 0.4 thick inside, 1.2 outside, linear along it."""
    radius = 5 + (0.4 + 0.8 * s) * t
    return 35 - radius * np.cos(np.pi * s), radius * np.sin(np.pi * s)


CASES = {"cone": (cone, -6.0, 24), "taper": (taper, 5.0, 20), "taper_in": (taper, -5.0, 20)}


def deck(shape, travel, steps, along, across):
    """Eight-node elements with reduced integration."""
    corners = [(i, j) for i in range(2 * along + 1) for j in range(2 * across + 1) if not (i % 2 and j % 2)]
    number = {corner: n for n, corner in enumerate(corners, 1)}
    at = np.array(corners, dtype=float)
    r, z = shape(at[:, 0] / (2 * along), at[:, 1] / (2 * across) - 0.5)
    lines = [
        "*NODE,NSET=NALL",
        *(f"{n},{a:.12g},{b:.12g}" for n, (a, b) in enumerate(zip(r, z, strict=True), 1)),
    ]
    lines.append("*ELEMENT,TYPE=CAX8R,ELSET=EALL")
    around = ((0, 0), (2, 0), (2, 2), (0, 2), (1, 0), (2, 1), (1, 2), (0, 1))
    elements = [(i, j) for i in range(0, 2 * along, 2) for j in range(0, 2 * across, 2)]
    for n, (i, j) in enumerate(elements, 1):
        lines.append(",".join(str(k) for k in (n, *(number[i + a, j + b] for a, b in around))))
    mu, bulk = SCALE * MODULUS / (2 * (1 + POISSON)), SCALE * MODULUS / (3 * (1 - 2 * POISSON))
    for name, row in (("NIN", 0), ("NOUT", 2 * along)):
        lines += [f"*NSET,NSET={name}", *(str(n) for (i, _), n in number.items() if i == row)]
    lines += ["*MATERIAL,NAME=M", "*HYPERELASTIC,NEO HOOKE", f"{mu / 2:.12g},{2 / bulk:.12g}"]
    lines += ["*SOLID SECTION,ELSET=EALL,MATERIAL=M", "*BOUNDARY", "NOUT,1,2", "*BOUNDARY", "NIN,1,1"]
    for step in range(1, steps + 1):
        lines += ["*STEP,NLGEOM,INC=400"]
        if step == 1:
            lines += ["*CONTROLS,PARAMETERS=FIELD", "1e-7,1e-3,,,1e-6,1e-12,1e-3,1e-12"]
            lines += ["*CONTROLS,PARAMETERS=TIME INCREMENTATION", "8,16,18,30,16,4,,10,,"]
        lines += ["*STATIC", "1.0,1.,1e-6,1.", "*BOUNDARY", f"NIN,2,2,{travel * step / steps:.9g}"]
        lines += ["*NODE PRINT,NSET=NOUT,TOTALS=ONLY,FREQUENCY=999", "RF", "*END STEP"]
    return "\n".join(lines) + "\n"


def forces(text):
    """Force on the inner edge after each step (N)."""
    totals = re.findall(r"total force.*?\n\s*\n\s*(\S+)\s+(\S+)", text)
    return np.array([-float(axial) for _, axial in totals]) * WEDGE / SCALE


def main():
    """One file a case: x, and F on both meshes."""
    for name, (shape, travel, steps) in CASES.items():
        columns = [travel * np.arange(1, steps + 1) / steps]
        for mesh in MESHES:
            with tempfile.TemporaryDirectory() as folder:
                (Path(folder) / "part.inp").write_text(deck(shape, travel, steps, *mesh), encoding="ascii")
                subprocess.run(["ccx", "part"], cwd=folder, capture_output=True, check=True)
                found = forces((Path(folder) / "part.dat").read_text(encoding="ascii"))
                columns.append(np.append(found, np.full(steps - len(found), np.nan)))
        head = "x_mm," + ",".join(f"F_{a}x{b}_N" for a, b in MESHES)
        np.savetxt(
            HERE / f"{name}.csv",
            np.column_stack(columns),
            delimiter=",",
            header=head,
            comments="",
            fmt="%.9g",
        )


if __name__ == "__main__":
    main()
