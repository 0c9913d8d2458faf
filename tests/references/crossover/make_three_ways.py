"""Run `three_ways.cir` with ngspice and keep what it says: python make_three_ways.py."""

import json
import subprocess
from pathlib import Path

HERE = Path(__file__).parent
COLUMNS = ("low_v", "mid_v", "high_v", "source_a", "c1_v", "c3_v", "c5_v", "low_a", "mid_a", "high_a")


def main() -> None:
    """Solve, and write ``three_ways.json``."""
    version = subprocess.run(["ngspice", "--version"], capture_output=True, text=True, check=True).stdout
    subprocess.run(["ngspice", "-b", "three_ways.cir"], cwd=HERE, check=True, capture_output=True)
    table = HERE / "three_ways.txt"
    rows = [[float(cell) for cell in line.split()] for line in table.read_text().splitlines() if line.strip()]
    table.unlink()
    found = {"tool": next(line for line in version.splitlines() if "ngspice-" in line).strip("* ").split(" :")[0],
             "frequency_hz": [row[0] for row in rows]}  # fmt: skip
    for number, name in enumerate(COLUMNS):
        found[name] = {
            part: [row[3 * number + place] for row in rows] for part, place in (("re", 1), ("im", 2))
        }
    (HERE / "three_ways.json").write_text(json.dumps(found, indent=0) + "\n")


if __name__ == "__main__":
    main()
