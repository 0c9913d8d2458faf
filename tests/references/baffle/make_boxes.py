"""Sound of a source in the front of a rigid rectangular box, by the boundary-element method (bempp-cl).

Burton-Miller equation for the exterior Neumann problem, continuous linear pressure on triangles, dense direct
solution. Frequencies in Hz, lengths in metres, e^{+ikr} inside, magnitudes stored. The source is every triangle of the
front whose centre lies within 40 mm of the driver's centre, moving together; the result is the magnitude of the pressure
over that of the same source in an infinite baffle, 2x the free-field point source summed over the same triangles.
"""

import importlib.metadata
import json
import sys
import time
from pathlib import Path

import bempp_cl.api as bempp
import numpy as np
import scipy.linalg

C = 343.0
RADIUS = 0.04


def box(width, height, depth, step):
    """Vertices (3, n) and triangles (3, m) of a closed box, front at z = 0, corner at the origin, normals outwards."""
    sides = []
    size = np.array([width, height, depth])
    count = [max(round(s / step), 2) for s in size]
    corner = np.array([0.0, 0.0, -depth])
    for axis in range(3):
        u, v = (axis + 1) % 3, (axis + 2) % 3
        across, along = np.linspace(0, size[u], count[u] + 1), np.linspace(0, size[v], count[v] + 1)
        for end, i, j in np.ndindex(2, count[u], count[v]):
            quad = []
            for du, dv in ((0, 0), (1, 0), (1, 1), (0, 1)):
                point = np.zeros(3)
                point[axis], point[u], point[v] = end * size[axis], across[i + du], along[j + dv]
                quad.append(point + corner)
            for corners in ((0, 1, 2), (0, 2, 3)) if (i + j) % 2 else ((0, 1, 3), (1, 2, 3)):
                triangle = [quad[k] for k in corners]
                sides.append(triangle if end else triangle[::-1])
    points = np.array(sides).reshape(-1, 3)
    keys, inverse = np.unique(np.round(points, 7), axis=0, return_inverse=True)
    return keys.T.copy(), inverse.reshape(-1, 3).T.copy()


def solve(case, frequencies):
    """Level (dB over the infinite baffle) of every driver at every receiver."""
    vertices, triangles = box(*case["box_m"], case["step_m"])
    grid = bempp.Grid(vertices, triangles.astype("uint32"))
    p1, dp0 = bempp.function_space(grid, "P", 1), bempp.function_space(grid, "DP", 0)
    centres, front = grid.centroids, grid.normals[:, 2] > 0.9
    moving = [front & (np.hypot(centres[:, 0] - x, centres[:, 1] - y) < RADIUS) for x, y in case["drivers_m"]]
    speed = np.array(moving, dtype=float).T
    found = [{"driver_m": driver, "curves": {}} for driver in case["drivers_m"]]
    for frequency in frequencies:
        start = time.time()
        k = 2 * np.pi * frequency / C
        pressure = surface_pressure(p1, dp0, k, speed)
        for n, (x, y) in enumerate(case["drivers_m"]):
            for name, distance, angle in case["receivers"]:
                a = np.radians(angle)
                at = np.array([[x + distance * np.sin(a)], [y], [distance * np.cos(a)]])
                value = heard(p1, dp0, k, pressure[:, n], speed[:, n], at)
                r = np.linalg.norm(centres[moving[n]] - at[:, 0], axis=1)
                half = -2 * np.sum(grid.volumes[moving[n]] * np.exp(1j * k * r) / (4 * np.pi * r))
                level = round(20 * np.log10(abs(value / half)), 4)
                found[n]["curves"].setdefault(name, []).append(float(level))
        print(frequency, round(time.time() - start, 1), flush=True)  # noqa: T201
    return found


def surface_pressure(p1, dp0, k, speed):
    """Burton-Miller: (I/2 - K + i/k W) p = -V g - i/k (I/2 + K') g, one column for every driver."""
    ops, coupling = bempp.operators.boundary.helmholtz, 1j / k
    same = bempp.operators.boundary.sparse.identity(p1, p1, p1).weak_form().to_sparse().toarray()
    mixed = bempp.operators.boundary.sparse.identity(dp0, p1, p1).weak_form().to_sparse().toarray()
    single = ops.single_layer(dp0, p1, p1, k).weak_form().to_dense()
    double = ops.double_layer(p1, p1, p1, k).weak_form().to_dense()
    adjoint = ops.adjoint_double_layer(dp0, p1, p1, k).weak_form().to_dense()
    hyper = ops.hypersingular(p1, p1, p1, k).weak_form().to_dense()
    right = -(single @ speed) - coupling * (0.5 * mixed @ speed + adjoint @ speed)
    return scipy.linalg.solve(0.5 * same - double + coupling * hyper, right)


def heard(p1, dp0, k, pressure, speed, at):
    """Pressure at a point outside from that on the surface."""
    ops = bempp.operators.potential.helmholtz
    value = ops.double_layer(p1, at, k) * bempp.GridFunction(p1, coefficients=pressure)
    value = value - ops.single_layer(dp0, at, k) * bempp.GridFunction(dp0, coefficients=speed + 0j)
    return complex(np.ravel(value)[0])


CASES = {
    "box": {
        "box_m": [0.30, 0.40, 0.25],
        "step_m": 0.025,
        "drivers_m": [[0.15, 0.20], [0.15, 0.28], [0.11, 0.26]],
        "receivers": [["axis_far", 50.0, 0.0], ["axis_1m", 1.0, 0.0], ["30deg_far", 50.0, 30.0]],
    },
    "shallow": {
        "box_m": [0.24, 0.36, 0.15],
        "step_m": 0.024,
        "drivers_m": [[0.12, 0.18], [0.09, 0.25]],
        "receivers": [["axis_far", 50.0, 0.0], ["axis_1m", 1.0, 0.0], ["30deg_far", 50.0, 30.0]],
    },
}

if __name__ == "__main__":
    name, frequencies = sys.argv[1], [float(f) for f in sys.argv[2].split(",")]
    case = {**CASES[name], **({"step_m": float(sys.argv[3])} if len(sys.argv) > 3 else {})}
    tool = f"bempp-cl {importlib.metadata.version('bempp-cl')}"
    content = {
        "tool": tool,
        "speed_of_sound": C,
        "case": case,
        "frequency_hz": frequencies,
        "drivers": solve(case, frequencies),
    }
    Path(f"{name}_{case['step_m']}.json").write_text(json.dumps(content, indent=1), encoding="utf-8")
