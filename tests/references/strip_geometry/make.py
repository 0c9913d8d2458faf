"""Writes places.json from the maps with which the stored CalculiX cases were meshed.

``python make.py FOLDER_WITH_GEOMETRY_PY > places.json``. Nothing of the project is used.
"""

import importlib.util
import json
import pathlib
import sys

import numpy as np

path = pathlib.Path(sys.argv[1]) / "geometry.py"
spec = importlib.util.spec_from_file_location("geometry", path)
geometry = importlib.util.module_from_spec(spec)
spec.loader.exec_module(geometry)
CASES = geometry.load(path.with_name("cases.json"))
CASES["S2growing"] = {
    "geometry": {**CASES["S2"]["geometry"], "rolls": 4, "amp_inner": 0.5, "amp_outer": 1.25}
}
CASES["elliptic"] = {"geometry": {**CASES["S1"]["geometry"], "height": 3.5}}
PLACES = [(0.0, -0.5), (0.1, 0.5), (0.3, 0.25), (0.5, 0.0), (0.775, -0.25), (1.0, 0.5)]

found = {}
for name in ("S1", "elliptic", "S2", "S2growing"):
    rows = []
    for s, t in PLACES:
        r, z, ((rs, rt), (zs, zt)) = geometry.axi_map(CASES[name], np.float64(s), np.float64(t))
        rows.append([s, t, *(float(v) for v in (r, z, rs, rt, zs, zt))])
    found[name] = {"geometry": CASES[name]["geometry"], "s t r z rs rt zs zt": rows}
rows = []
for s, v in PLACES:
    x, y, _ = geometry.solid_map(CASES["S4"], np.float64(s), np.float64(v), 0.0)
    rows.append([s, v, float(x), float(y)])
found["S4"] = {"geometry": CASES["S4"]["geometry"], "s v x y": rows}
sys.stdout.write(json.dumps(found, indent=1) + "\n")
