"""How fast a driver is played, beside a circuit simulator on the same circuit, and how close to converged.

The signal is a sweep of 0.7 s from 20 Hz to 20 kHz at 1 W through a shunt; the driver that of tests/references/driver_model. The peer is
ngspice with the largest step of 1/384 kHz on a netlist written here: flux as a state, motion as a circuit. Needs ngspice on the path.
Run: ``python benchmarks/time_domain.py``. Prints medians and ratios of one run; the bounds in the design are a ratio of 400 at an error
of 2e-5 or less in acceleration, relative r.m.s. against a run with 16 steps a sample.
"""

from __future__ import annotations

import json
import math
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np

from halfroll.acoustics.load import vented_load
from halfroll.core.levels import FloatArray
from halfroll.driver.heat import Heat
from halfroll.driver.large_signal import Motion, play
from halfroll.driver.lumped import DriverModel
from halfroll.motor.heat.network import HeatNetwork

PARAMETERS = Path(__file__).parents[1] / "tests" / "references" / "driver_model" / "params.json"
RATE_HZ, PEAK_V, SHUNT_OHM = 48_000.0, 2.0 * math.sqrt(2.0), 0.1
SLOWNESS_S = 0.1
SWEEP_S = SLOWNESS_S * math.log(1000.0)
ALL_S = SWEEP_S + 0.05
FADE_IN_S, FADE_OUT_S = 0.05, 0.01
PEER_STEP_S = 1.0 / 384_000.0
OVERSAMPLING = 4
RATIO, ERROR = 400.0, 2e-5


def reference_driver() -> DriverModel:
    """The driver of the tests."""
    raw = json.loads(PARAMETERS.read_text(encoding="utf-8"))
    low, high = raw["valid_x_mm"]
    return DriverModel(
        Re=raw["Re"], Mms=raw["Mms"], Rms=raw["Rms"], Sd=raw["Sd"], L2=raw["L2"], R2=raw["R2"],
        Bl=tuple(raw["bl"]), K=tuple(raw["k"]), Le=tuple(raw["le"]), x_range=(low * 1e-3, high * 1e-3),
    )  # fmt: skip


def source() -> FloatArray:
    """The sweep with its fades (V)."""
    t = np.arange(round(ALL_S * RATE_HZ)) / RATE_HZ
    rise = 0.5 - 0.5 * np.cos(np.pi * np.clip(t / FADE_IN_S, 0.0, 1.0))
    fall = 0.5 - 0.5 * np.cos(np.pi * np.clip((SWEEP_S - t) / FADE_OUT_S, 0.0, 1.0))
    phase = 2.0 * np.pi * 20.0 * SLOWNESS_S * np.exp(np.minimum(t, SWEEP_S) / SLOWNESS_S)
    return np.asarray(PEAK_V * rise * fall * np.sin(phase))


def netlist(driver: DriverModel) -> str:
    """The same circuit: x in mm, flux in mWb, velocity in m/s as voltages."""

    def poly(coefficients: tuple[float, ...], slope: bool = False) -> str:
        terms = [c * 1e-3**n for n, c in enumerate(coefficients)]
        if slope:
            terms = [1e3 * n * c for n, c in enumerate(terms)][1:]
        return "(" + "+".join("*".join([f"({c:.12e})", *["V(x)"] * n]) for n, c in enumerate(terms)) + ")"

    bl, k, le, dle = poly(driver.Bl), poly(driver.K), poly(driver.Le), poly(driver.Le, slope=True)
    fade_in = f"((time<{FADE_IN_S})?(0.5-0.5*cos({math.pi}*time/{FADE_IN_S})):1)"
    late = SWEEP_S - FADE_OUT_S
    fade_out = f"((time>{late})?(0.5-0.5*cos({math.pi}*({SWEEP_S}-time)/{FADE_OUT_S})):1)"
    sweep = f"sin({2.0 * math.pi * 20.0 * SLOWNESS_S}*exp(time/{SLOWNESS_S}))"
    force = f"{bl}*i(Vi)+0.5*{dle}*i(Vi)*i(Vi)-1e-3*{k}*V(x)"
    return "\n".join([
        "moving-coil driver", f"Bs src 0 V=(time<={SWEEP_S})?{PEAK_V}*{fade_in}*{fade_out}*{sweep}:0", f"Rs src t {SHUNT_OHM}",
        "Vi t n1 0", f"Re n1 n2 {driver.Re}", f"L2 n2 n3 {driver.L2}", f"R2 n2 n3 {driver.R2}",
        f"Be n3 0 V=i(Vlam)+{bl}*V(vel)", f"Blam lam 0 V=1000*{le}*i(Vi)", "Clam lam lg 1e-3", "Vlam lg 0 0",
        f"Bf 0 vel I={force}", f"Cm vel 0 {driver.Mms}", f"Rm vel 0 {1.0 / driver.Rms}", "Bx 0 x I=V(vel)", "Cx x 0 1e-3",
        f"Ba acc 0 V=({force}-{driver.Rms}*V(vel))/{driver.Mms}",
        ".options method=trap reltol=1e-6 abstol=1e-11 vntol=1e-9 chgtol=1e-16", ".save v(x) v(acc)",
        f".tran {PEER_STEP_S} {ALL_S} 0 {PEER_STEP_S} uic", ".end", "",
    ])  # fmt: skip


def peer(driver: DriverModel) -> tuple[float, FloatArray]:
    """Seconds ngspice takes; time (s), displacement (m), acceleration (m/s²) of every step, (3, n)."""
    with tempfile.TemporaryDirectory() as folder:
        circuit, answer = Path(folder) / "driver.cir", Path(folder) / "driver.raw"
        circuit.write_text(netlist(driver), encoding="utf-8")
        begin = time.perf_counter()
        subprocess.run(["ngspice", "-b", "-r", str(answer), str(circuit)], check=True, capture_output=True)
        took = time.perf_counter() - begin
        head, _, body = answer.read_bytes().partition(b"Binary:\n")
    names = [line.split()[1] for line in head.decode().split("\nVariables:")[1].strip().splitlines()]
    rows = np.frombuffer(body, dtype=np.float64).reshape(-1, len(names)).T
    x = rows[names.index("v(x)")] if "v(x)" in names else rows[names.index("x")]
    acceleration = rows[names.index("v(acc)")] if "v(acc)" in names else rows[names.index("acc")]
    return took, np.stack([rows[0], 1e-3 * x, acceleration])


def median_s(work: Callable[[], object], times: int = 15) -> float:
    """Median duration (s) after one run to warm up."""
    work()
    durations = []
    for _ in range(times):
        begin = time.perf_counter()
        work()
        durations.append(time.perf_counter() - begin)
    return statistics.median(durations)


def apart(a: FloatArray, b: FloatArray) -> float:
    """Relative r.m.s. difference."""
    return float(np.linalg.norm(a - b) / np.linalg.norm(b))


def whole(driver: DriverModel) -> Callable[[], Motion]:
    """The full loop with everything it knows: two branches that follow Le(x), current in Le, creep, a vented box with a leak, heat."""
    rich = replace(
        driver,
        branches=((4e-5, 6.0),),
        eddy_follows=True,
        Le_i=((-4e-6, 2e-4),),
        creep=0.08,
        alpha_per_k=0.0039,
    )
    heat = Heat.of(HeatNetwork(coil_j_k=3.0, motor_j_k=100.0, coil_to_motor_k_w=5.0, motor_to_air_k_w=4.0))
    load, voltage = vented_load(3e-3, 62.0, 7.0), source()
    return lambda: play(rich, voltage, RATE_HZ, series_ohm=SHUNT_OHM, load=load, heat=heat)


def main() -> int:
    """Measure all in one run, print ratios, and say whether the bounds are met."""
    if shutil.which("ngspice") is None:
        print("ngspice is not on the path: nothing to compare with.")
        return 2
    driver, voltage = reference_driver(), source()

    def lean(steps: int = OVERSAMPLING) -> Motion:
        return play(driver, voltage, RATE_HZ, series_ohm=SHUNT_OHM, oversampling=steps)

    before = median_s(lean)
    other, steps = peer(driver)
    ours = statistics.median(
        [before, median_s(lean)]
    )  # before and after the peer: the machine may be busier by then
    full = median_s(whole(driver), 5)
    fine = lean(16)
    error = apart(lean().acceleration_m_s2, fine.acceleration_m_s2)
    at = np.arange(round(0.3 * RATE_HZ)) / RATE_HZ  # up to 400 Hz, where the peer's own steps do not show
    peers = np.interp(at, steps[0], steps[2])
    print(f"{ALL_S:.2f} s of signal          time       of real time   peer over it")
    print(f"ngspice, {steps.shape[1]} steps {1e3 * other:10.1f} ms {ALL_S / other:11.2f}")
    print(
        f"lean loop, {OVERSAMPLING} a sample {1e3 * ours:9.2f} ms {ALL_S / ours:11.1f} {other / ours:13.0f}   bound {RATIO:.0f}"
    )
    print(
        f"full loop, all of it   {1e3 * full:9.2f} ms {ALL_S / full:11.1f} {other / full:13.0f}   (the peer has the lean circuit)"
    )
    print(f"error in acceleration against 16 a sample {error:.1e}   bound {ERROR:.0e}")
    print(
        f"apart from the peer up to 400 Hz: {apart(peers, fine.acceleration_m_s2[: at.size]):.1e} in acceleration"
    )
    met = other / ours >= RATIO and error <= ERROR
    print("bounds met" if met else "bounds NOT met")
    return 0 if met else 1


if __name__ == "__main__":
    sys.exit(main())
