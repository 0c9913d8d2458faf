"""How long a workshop with 2,000 analysed takes needs to open, beside merely parsing the same records and results.

The workshop has 10 drivers of 5 versions with 4 units and 10 takes each; its results are one real analysis, kept once
for every take.  The overview reads every record and every reading, and checks on the disk that no record and no
recording has changed.  The peers do less: the standard library parses the same take records (tomllib), and the same
readings (json), and checks nothing.
Run: ``python benchmarks/overview.py``.  Prints medians (by the clock, and of the processor's time, which other work on
the machine lengthens less) and ratios of one run; the bound in the design is 1 s.
"""

from __future__ import annotations

import datetime as dt
import json
import statistics
import sys
import tempfile
import time
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np

from halfroll.app.standing import headline
from halfroll.core.conditions import Space
from halfroll.figures.readings import take_readings
from halfroll.figures.rules import HEADLINES
from halfroll.measure.analysis.analyse import analyse
from halfroll.measure.recording import Role
from halfroll.measure.sweep import Sweep
from halfroll.workshop import (
    DriverRecord,
    MicrophoneTable,
    NewAudio,
    RigRecord,
    SweepTable,
    TakeSetup,
    UnitRecord,
    VersionRecord,
    Workshop,
    derive,
    overview,
    read_contents,
)
from halfroll.workshop.index import Result
from halfroll.workshop.jobs import Job
from halfroll.workshop.packing import pack
from halfroll.workshop.paths import folder_of, version_of
from halfroll.workshop.stored import readings_to_json
from halfroll.workshop.takes import write_take

DRIVERS, VERSIONS, UNITS, TAKES = 10, 5, 4, 10
SWEEP = Sweep(stop_hz=10_000.0, duration_s=2.0, rate_hz=24_000)
SETUP = TakeSetup(rig="bench", drive_v=2.0, distance_m=1.0, space=Space.HALF, sweep=SweepTable.of(SWEEP))
WHEN = dt.datetime(2026, 3, 31, 14, 5, tzinfo=dt.UTC)


def samples(seed: int, length: int | None = None) -> np.ndarray:
    """A microphone's samples (1, n): the sweep with a little noise."""
    played = SWEEP.samples()[:length]
    return 0.3 * played[None] + np.random.default_rng(seed).normal(0, 1e-5, (1, len(played)))


def build(folder: Path) -> Workshop:
    """Records and short recordings of every take."""
    workshop = Workshop.init(folder, "Two thousand takes", durable=False)
    workshop.create_rig("bench", RigRecord(microphone=MicrophoneTable(pa_per_full_scale=4.0, u_db=0.3)))
    seed = 0
    for d in range(DRIVERS):
        workshop.create_driver(f"wader-{d}", DriverRecord(title=f"Wader {d}"))
        for v in range(VERSIONS):
            record = VersionRecord(
                parent=f"v{v - 1}" if v else None, rated_impedance_ohm=4.0, rated_power_w=5.0
            )
            version_id = workshop.create_version(f"wader-{d}", f"v{v}", record).id
            for u in range(UNITS):
                unit_id = workshop.create_unit(version_id, f"u{u}", UnitRecord()).id
                for t in range(TAKES):
                    audio = NewAudio.from_samples(
                        "take.flac", samples(seed, 2400), SWEEP.rate_hz, [Role.MICROPHONE]
                    )
                    write_take(
                        folder_of(folder, unit_id) / "takes", f"t{t}", SETUP, WHEN, [audio], durable=False
                    )
                    seed += 1
    return workshop


def fill_index(workshop: Workshop) -> None:
    """One real analysis, kept for every take under its own key."""
    first = workshop.take_ids("wader-0/v0/u0")[0]
    audio = NewAudio.from_samples("take.flac", samples(0), SWEEP.rate_hz, [Role.MICROPHONE])
    full = write_take(
        folder_of(workshop.folder, "wader-0/v0/u0") / "takes", "full", SETUP, WHEN, [audio], durable=False
    )
    recording = workshop.recording("wader-0/v0/u0/full")
    response = analyse(recording, SWEEP, workshop.conditions(first))
    for file in full.parent.iterdir():
        file.unlink()
    full.parent.rmdir()
    packed, settings = pack(response), workshop.settings
    contents = read_contents(workshop.folder, workshop.index)

    def results() -> Iterator[Result]:
        for take_id, take in contents.takes.items():
            job = Job(
                take_id=take_id,
                take=take,
                version=contents.versions[version_of(take_id)],
                rig=contents.rigs["bench"],
            )
            readings = take_readings(response, settings, rated_power_w=5.0, **job.identity)
            yield Result(take=take_id, response_key=job.response_key, response=packed,
                         readings_key=job.readings_key(settings), readings=readings_to_json(readings))  # fmt: skip

    workshop.index.put_results(results())


def median_s(work: Callable[[], object], times: int = 9) -> tuple[float, float]:
    """Median duration (s) by the clock and of processor time, after one run to warm up."""
    work()
    clock, processor = [], []
    for _ in range(times):
        start, start_cpu = time.perf_counter(), time.process_time()
        work()
        clock.append(time.perf_counter() - start)
        processor.append(time.process_time() - start_cpu)
    return statistics.median(clock), statistics.median(processor)


def whole_page(workshop: Workshop) -> None:
    """What the first page shows: the overview, and the headline figures of every version out of its readings."""
    seen = overview(workshop, figures=HEADLINES)
    for driver in seen.drivers:
        for version in driver.versions:
            headline(version, driver.record.title, workshop.settings)


def measure(workshop: Workshop) -> None:
    """Time the overview and the peers in one run and print the ratios."""
    folder = workshop.folder
    records = [path.read_text() for path in folder.glob("drivers/*/*/units/*/takes/*/take.toml")]
    known = derive.standing(workshop, read_contents(folder, workshop.index)).readings.values()
    readings = [readings_to_json(reading) for reading in known]
    assert len(records) == len(readings) == DRIVERS * VERSIONS * UNITS * TAKES
    size_mb = (folder / ".halfroll" / "index.sqlite").stat().st_size / 1e6
    print(f"workshop: {len(records)} analysed takes, index {size_mb:.0f} MB")
    print("                                         clock  processor  ratio")
    base = 0.0
    for name, work in (
        ("overview from the index", lambda: overview(Workshop.open(folder))),
        ("with headline figures", lambda: whole_page(Workshop.open(folder))),
        ("peer: tomllib, the take records", lambda: [tomllib.loads(text) for text in records]),
        ("peer: json, the readings", lambda: [json.loads(text) for text in readings]),
    ):
        clock, processor = median_s(work)
        base = base or processor
        print(f"{name:36} {1e3 * clock:6.0f} ms  {1e3 * processor:6.0f} ms  {processor / base:5.2f}")


def main() -> None:
    """Build the workshop, wait until its time stamps can be trusted, measure."""
    with tempfile.TemporaryDirectory() as folder:
        print("building ...", file=sys.stderr)
        workshop = build(Path(folder) / "workshop")
        fill_index(workshop)
        time.sleep(2.5)
        overview(workshop)
        measure(workshop)


if __name__ == "__main__":
    main()
