"""How long an estimate of a changed design takes beside solving it properly: what the page of sliders answers with while one is dragged.

The design is the ring magnet with a half roll and a corrugated spider. Each dimension is moved by half a step. The proper solve holds the studies
that follow from the change, in this process and with nothing kept of that design; the peer is that same solve, since an estimate has no
other. Prints medians and the ratio of one run; the bound in the design is 0.3 s for an estimate with its figures.

Run: ``python benchmarks/what_if.py``
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import statistics
import tempfile
import time
from pathlib import Path
from typing import Any

from halfroll.app.design_draft import DesignDraft
from halfroll.app.design_start import start
from halfroll.app.suspension_draft import SuspensionDraft
from halfroll.app.suspension_start import former_mm
from halfroll.app.suspension_start import start as start_moving
from halfroll.materials.catalogue import catalogue
from halfroll.study.dimensions import with_values
from halfroll.study.sensitivity import solve_properly, what_next
from halfroll.workshop import DriverRecord, VersionRecord, Workshop

VERSION = "knot/v1"
KEYS = ("surround.thickness_mm", "cone.depth_mm", "coil.turns", "moving.glue_g")
TURNS = 5
BOUND_S = 0.3


def designed(folder: Path) -> Workshop:
    """A workshop with one whole design, saved."""
    shop = Workshop.init(folder, "Benchmark")
    shop.create_driver("knot", DriverRecord(title="Knot"))
    shop.create_version("knot", "v1", VersionRecord(rated_impedance_ohm=4.0, rated_power_w=10.0))
    motor = DesignDraft(shop, VERSION)
    motor.change(lambda data: data.update(start("ring", catalogue())))
    motor.save()
    moving = SuspensionDraft(shop, VERSION)
    moving.change(lambda data: data.update(start_moving("roll", former_mm(moving.record))))
    moving.save()
    return shop


def here(task: Any, *arguments: Any, progress: Any) -> Any:
    """A study in this process."""
    return task(*arguments, progress)


def main() -> None:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as folder:
        shop = designed(Path(folder) / "shop")
        began = time.perf_counter()
        found = what_next(shop, VERSION, keys=KEYS, run=here)
        print(f"learning {len(KEYS)} dimensions: {time.perf_counter() - began:.1f} s, once for each design")
        record = shop.version(VERSION).record
        estimates, solves = [], []
        for one in found.solved.dimensions:
            values = {one.key: one.value + (one.step if one.whole else 0.5 * one.step)}
            for _ in range(TURNS):
                began = time.perf_counter()
                found.estimate(values)
                estimates.append(time.perf_counter() - began)
            began = time.perf_counter()
            solve_properly(
                shop, VERSION, with_values(record, values), found.reader, slot=f"bench {one.key}", run=here
            )
            solves.append(time.perf_counter() - began)
            print(
                f"{one.label}: estimate {1e3 * statistics.median(estimates[-TURNS:]):.0f} ms, solved {solves[-1]:.2f} s"
            )
        middle = statistics.median(estimates)
        print(
            f"estimate {1e3 * middle:.0f} ms (bound {1e3 * BOUND_S:.0f} ms), {statistics.median(solves) / middle:.0f} times faster than solving"
        )


if __name__ == "__main__":
    main()
