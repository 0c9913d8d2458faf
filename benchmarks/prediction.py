"""How long a whole prediction of a demo version takes from nothing, driver and computed take with figures, beside its own studies one
after another, and once it is kept.

The version is the demo's avocet v8: a motor with a copper cap, a half roll, a spider of spiral arms. From nothing means: a Python that has
loaded this script alone, no process started, no result kept; every run is a process of its own. Its peer is the driver's work without the
two processes, each study in turn; the finite elements inside have benchmarks beside general-purpose programs of their own (``motor.py``,
``suspension.py``, ``flexure.py``).

Run: ``python benchmarks/prediction.py``. Prints seconds by the clock and of the processors, and ratios, medians of several runs; the bound
in the design is 4 s on two idle cores. Other work on the machine lengthens the clock, and by its use of the memory the processors' time
too: half of that is the least that two cores can take.
"""

from __future__ import annotations

import os

os.environ["OPENBLAS_NUM_THREADS"] = os.environ["OMP_NUM_THREADS"] = "1"

import resource
import statistics
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path
from typing import Any

from halfroll.core.progress import silent
from halfroll.workshop import DriverRecord, VersionRecord, Workshop
from halfroll.workshop.demo_materials import add_calibrations
from halfroll.workshop.demo_motors import add_motors
from halfroll.workshop.demo_moving import add_moving
from halfroll.workshop.prediction import predict_record, predicted_driver
from halfroll.workshop.prediction_studies import close_pool
from halfroll.workshop.virtual_takes import predicted_take

VERSION = "avocet/v8"
BOUND_S = 4.0
RUNS = 3


def workshop(folder: Path) -> Workshop:
    """A workshop with nothing but the version and its materials."""
    made = Workshop.init(folder, "Saltmarsh Workshop")
    made.create_driver("avocet", DriverRecord(title="Avocet"))
    made.create_version(
        "avocet", "v8", VersionRecord(title="Wide thin roll", rated_impedance_ohm=8.0, rated_power_w=10.0)
    )
    add_motors(made)
    add_moving(made)
    add_calibrations(made)
    return made


def seconds(work: Callable[[], Any]) -> float:
    """How long something takes by the clock (s)."""
    begun = time.perf_counter()
    work()
    return time.perf_counter() - begun


def processors() -> float:
    """Processor time of this process and of those it started that have ended (s)."""
    return sum(
        use.ru_utime + use.ru_stime
        for use in (resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    )


WORKS: dict[str, Callable[[Workshop], Any]] = {
    "driver": lambda made: predicted_driver(made, VERSION),
    "driver, computed take and figures": lambda made: predicted_take(made, VERSION),
}


def from_nothing(name: str) -> tuple[float, float, float]:
    """Two processes, nothing kept: seconds by the clock, of the processors, and asked again (median of five)."""
    work = WORKS[name]
    with tempfile.TemporaryDirectory() as folder:
        made = workshop(Path(folder) / "workshop")
        before = processors()
        first = seconds(lambda: work(made))
        here = processors()
        again = statistics.median(seconds(lambda: work(made)) for _ in range(5))
        after = processors()
        close_pool(wait=True)
        return first, processors() - before - (after - here), again


def in_new_process(name: str) -> tuple[float, float, float]:
    """`from_nothing` in a Python that has done nothing else."""
    with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as pool:
        return pool.submit(from_nothing, name).result()


def one_by_one() -> tuple[float, dict[str, float]]:
    """The same in this process: seconds by the clock, and of each study."""
    parts: dict[str, float] = {}

    def run(task: Callable[..., Any], *arguments: Any, progress: Any) -> Any:
        begun = time.perf_counter()
        found = task(*arguments, silent)
        name = task.__name__
        parts[name] = parts.get(name, 0.0) + time.perf_counter() - begun
        return found

    with tempfile.TemporaryDirectory() as folder:
        made = workshop(Path(folder) / "workshop")
        record = made.version(VERSION).record
        whole = seconds(lambda: predict_record(made, VERSION, record, slot="bench", run=run))
    return whole, parts


def main() -> None:
    """Measure and print."""
    one_by_one()  # so that every library is loaded
    alone, parts = one_by_one()
    print(
        f"{VERSION} from nothing on two cores; bound of all together {BOUND_S:g} s by the clock on idle ones"
    )
    for what in WORKS:
        runs = [in_new_process(what) for _ in range(RUNS)]
        clock, processor, again = (statistics.median(run[n] for run in runs) for n in range(3))
        print(f"{what}")
        print(f"  by the clock                      {clock:6.2f} s")
        print(f"  processors, all processes         {processor:6.2f} s, half of that {0.5 * processor:.2f} s")
        print(f"  kept, asked again                 {1e3 * again:6.0f} ms, {clock / again:.0f} times as fast")
    print(f"driver, one study after another     {alone:6.2f} s")
    for name, value in sorted(parts.items(), key=lambda part: -part[1]):
        print(f"    {name:<32}{value:6.2f} s")


if __name__ == "__main__":
    main()
