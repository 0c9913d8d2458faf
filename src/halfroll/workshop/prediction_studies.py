"""The studies a predicted driver rests on: which there are, under which keys they are kept, and how they are worked out side by side.

Motor and suspension know nothing of each other until the model is put together, so two processes share them. The processes stay for the next
prediction; where none can start, or somebody else runs the work (`run`), it goes on one after another.
"""

from __future__ import annotations

import contextlib
import functools
import itertools
import math
import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from multiprocessing import active_children, get_context
from multiprocessing.process import BaseProcess
from typing import TYPE_CHECKING, Any

from halfroll.core.progress import Progress, part, silent
from halfroll.workshop.index import Result
from halfroll.workshop.jobs import code_of, key_of
from halfroll.workshop.motor_studies import FREQUENCIES_HZ, Case, no_solver, solver_release
from halfroll.workshop.packing import pack, unpack_value
from halfroll.workshop.processes import deaf_processes
from halfroll.workshop.suspension_studies import MovingStudy

if TYPE_CHECKING:
    from halfroll.workshop.store import Workshop

Run = Callable[..., Any]
"""``run(task, *arguments, progress=progress)`` works a task out somewhere else, such as in the pages' solver."""

BLOCKED_POINTS, MODULATION_POINTS = 7, 3
WORKERS = 2


@dataclass(frozen=True, kw_only=True, eq=False)
class Task:
    """One study: its name among the others, the key and the take its result is kept under, the function that works it out with its
    arguments (a progress callback comes last), and roughly how long it takes (s).
    """

    name: str
    key: str
    take: str
    work: Callable[..., Any]
    arguments: tuple[Any, ...]
    seconds: float


def motor_tasks(case: Case, x_range: tuple[float, float], slot: str, *, slopes: bool) -> list[Task]:
    """The studies of a motor with its coil over a range of displacement (m)."""
    from halfroll.driver.predicted import studies
    from halfroll.driver.predicted.design_ingredients import displacements_of
    from halfroll.motor.coil.wound import wind
    from halfroll.motor.field.study import displacements, usual_travel

    assembly = case.assembly
    assert case.design.coil is not None
    peak = math.sqrt(2.0 * case.power_w / wind(case.design.coil).resistance_ohm)
    blocked, modulated = (
        displacements_of(x_range, BLOCKED_POINTS),
        displacements_of(x_range, MODULATION_POINTS),
    )
    found = [
        Task(
            name="field",
            key=case.key("field"),
            take=case.take("field", slot),
            work=studies.field,
            arguments=(assembly, case.settings),
            seconds=0.65,
        ),
        _task("blocked", studies.blocked, (assembly, FREQUENCIES_HZ, blocked), slot, 0.9),
        _task("modulation", studies.modulated, (assembly, peak, modulated), slot, 0.9),
    ]
    if slopes:
        found.append(
            _task(
                "influences",
                studies.influences,
                (assembly, displacements(usual_travel(assembly), 33)),
                slot,
                0.7,
            )
        )
    return found


def _task(name: str, work: Callable[..., Any], arguments: tuple[Any, ...], slot: str, seconds: float) -> Task:
    said = [one.tobytes().hex() if hasattr(one, "tobytes") else repr(one) for one in arguments]
    key = key_of("prediction", name, code_of("core", "materials", "motor"), solver_release(), *said)
    return Task(
        name=name, key=key, take=f"prediction {name} {slot}", work=work, arguments=arguments, seconds=seconds
    )


def holder_task(study: MovingStudy, slot: str) -> Task:
    """The study of a surround or spider, kept as `workshop.suspensions` keeps it."""
    from halfroll.driver.predicted import studies
    from halfroll.suspension.design import FlexureDesign

    flexure = isinstance(getattr(study.design, study.kind), FlexureDesign)
    return Task(
        name=study.kind,
        key=study.key,
        take=study.take(slot),
        work=studies.bent,
        arguments=(study.design,),
        seconds=1.9 if flexure else 0.4,
    )


def work_all(
    workshop: Workshop, tasks: Sequence[Task], progress: Progress, run: Run | None = None
) -> dict[str, Any]:
    """The results of all tasks by name: from the index, or worked out now and kept there.

    Raises
    ------
    InputError
        What a study refuses.
    CancelledError
        `progress` asked to stop; what was finished is kept.
    """
    found: dict[str, Any] = {}
    missing = []
    for task in tasks:
        packed = workshop.index.response(task.key)
        known = None if packed is None else unpack_value(packed)
        if known is None:
            missing.append(task)
        else:
            found[task.name] = known
    missing.sort(key=lambda task: -task.seconds)

    def keep(task: Task, result: Any) -> None:
        found[task.name] = result
        workshop.index.put_results([Result(take=task.take, response_key=task.key, response=pack(result))])

    if run is None and len(missing) > 1 and _cores() > 1:
        with contextlib.suppress(BrokenProcessPool):  # processes cannot start here: go on without
            _side_by_side(missing, keep, progress)
        missing = [task for task in missing if task.name not in found]
    _one_by_one(missing, keep, progress, run)
    return found


def _one_by_one(
    tasks: Sequence[Task], keep: Callable[[Task, Any], None], progress: Progress, run: Run | None
) -> None:
    total, done = sum(task.seconds for task in tasks) or 1.0, 0.0
    for task in tasks:
        told = part(progress, done / total, (done + task.seconds) / total)
        told(0.0, task.name)
        with _with_solver():
            result = (
                task.work(*task.arguments, told)
                if run is None
                else run(task.work, *task.arguments, progress=told)
            )
        keep(task, result)
        done += task.seconds


def _side_by_side(tasks: Sequence[Task], keep: Callable[[Task, Any], None], progress: Progress) -> None:
    """In the two processes; what is not begun when somebody stops the work is dropped."""
    pool = _pool()
    total, done = sum(task.seconds for task in tasks), 0.0
    waiting: dict[Future[Any], Task] = {}
    queue = iter(tasks)
    try:
        while True:
            for task in itertools.islice(
                queue, WORKERS - len(waiting)
            ):  # what waits in the pool itself could not be dropped
                waiting[pool.submit(task.work, *task.arguments, silent)] = task
            if not waiting:
                return
            progress(done / total, ", ".join(task.name for task in list(waiting.values())[:WORKERS]))
            finished, _ = wait(waiting, timeout=0.1, return_when=FIRST_COMPLETED)
            for future in finished:
                task = waiting.pop(future)
                with _with_solver():
                    result = future.result()
                keep(task, result)
                done += task.seconds
    except BrokenProcessPool:
        close_pool()
        raise
    except KeyboardInterrupt:  # nobody waits for a study to end that nobody wants
        waiting.clear()
        _end_processes()
        raise
    finally:
        for future in waiting:
            future.cancel()


def aside(work: Callable[..., Any], *arguments: Any) -> Callable[[Progress], Any]:
    """Begin a work in one of the processes if they stand, and give what waits for its result; else it is done when that is called."""
    if not _POOL:
        return functools.partial(work, *arguments)
    future = _POOL[0].submit(work, *arguments, silent)

    def result(progress: Progress) -> Any:
        try:
            while not future.done():
                progress(0.5, "moving what was assumed")
                wait((future,), timeout=0.1)
            return future.result()
        except BrokenProcessPool:
            close_pool()
            return work(*arguments, progress)
        except KeyboardInterrupt:
            _end_processes()
            raise
        finally:
            future.cancel()

    return result


_POOL: list[ProcessPoolExecutor] = []
_PROCESSES: list[BaseProcess] = []
_THREADS = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")


def _pool() -> ProcessPoolExecutor:
    """The processes, started once and kept: loading the finite-element library takes them a second."""
    if not _POOL:
        pool = ProcessPoolExecutor(WORKERS, mp_context=get_context("spawn"))
        others = set(active_children())
        with _single_threaded(), deaf_processes():
            for _ in range(WORKERS):
                pool.submit(int)  # so that both are started now
        _POOL.append(pool)
        _PROCESSES[:] = set(active_children()) - others
    return _POOL[0]


@contextlib.contextmanager
def _single_threaded() -> Iterator[None]:
    """Processes started meanwhile use one thread each for linear algebra: two on two cores with two threads each wait for one another."""
    before = {name: os.environ.get(name) for name in _THREADS}
    os.environ.update(dict.fromkeys(_THREADS, "1"))
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value


def _end_processes() -> None:
    """End the processes in the middle of their work."""
    for process in _PROCESSES:
        process.terminate()
    _PROCESSES.clear()
    close_pool()


def close_pool(*, wait: bool = False) -> None:
    """End the processes, and wait for that if asked to; the next prediction starts others."""
    while _POOL:
        _POOL.pop().shutdown(wait=wait, cancel_futures=True)


@contextlib.contextmanager
def _with_solver() -> Iterator[None]:
    """Say in words that the finite-element library is missing."""
    try:
        yield
    except ImportError as fault:
        raise no_solver(fault) from fault


def _cores() -> int:
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
