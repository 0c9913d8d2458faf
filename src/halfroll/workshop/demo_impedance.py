"""Impedance runs of the demonstration: tables as different programs might write them, and one recording of voltage and current."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import numpy as np

from halfroll.acoustics.load import closed_load
from halfroll.core.frequency import log_grid
from halfroll.core.levels import ComplexArray
from halfroll.driver.demo.scenario import DRIVERS, SECOND_RIG, units_of
from halfroll.driver.demo.types import Unit, Version
from halfroll.driver.linear import current_of, linear_response
from halfroll.driver.lumped import DriverModel
from halfroll.driver.noise import white_noise
from halfroll.measure.recording import Role
from halfroll.measure.sweep import Sweep
from halfroll.workshop.impedance_record import ImpedanceRecord
from halfroll.workshop.records import SweepTable
from halfroll.workshop.runs import add_run
from halfroll.workshop.store import Workshop
from halfroll.workshop.takes import NewAudio

VERSIONS = (("avocet", "v5"), ("avocet", "v7"), ("avocet", "v8"))
"""Versions of which the impedance was measured beside the takes."""

BY_RECORDING = ("avocet", "v7", "02")
MORE = ("avocet", "v7", "01")
"""The unit that was measured again, and on a box too."""

CREEP = 0.06
"""λ of the printed suspensions. Invented."""

MASS_G, MASS_U_G = 3.0, 0.03
BOX_L, BOX_U_L = 1.5, 0.02
DRIVE_V = 0.25
NOISE = 6e-4
"""Relative noise of a table's points."""

_GRID = log_grid(15.0, 20_000.0, 24)
_SWEEP = Sweep(start_hz=10.0, duration_s=3.0, silence_before_s=0.4, silence_after_s=0.8)
_INPUT_NOISE = 1.5e-6


def add_impedance(workshop: Workshop, seed: int) -> None:
    """Measure the impedance of the units of `VERSIONS` that there are without and with a mass, and of one more often."""
    there = set(workshop.version_ids())
    for driver in DRIVERS:
        for version in driver.versions:
            if (driver.name, version.name) in VERSIONS and f"{driver.name}/{version.name}" in there:
                for unit in units_of(driver, version, seed):
                    _measure(workshop, version, unit, seed)


def _measure(workshop: Workshop, version: Version, unit: Unit, seed: int) -> None:
    rng = np.random.default_rng((seed, DRIVERS.index(next(d for d in DRIVERS if d.name == unit.driver)),
                                 int(version.name[1:]), int(unit.name), 77))  # fmt: skip
    place, model = (unit.driver, unit.version, unit.name), replace(unit.model, creep=CREEP)
    bench = _Bench(workshop, version, unit, rng)
    if place == BY_RECORDING:
        bench.recording("alone", model)
    else:
        bench.table("alone", linear_response(model, _GRID).impedance_ohm)
    with_mass = linear_response(model, _GRID, added_kg=1e-3 * MASS_G).impedance_ohm
    bench.table(f"{MASS_G:g}-g", with_mass, added=True)
    if place == MORE:
        softer = model.with_scaled(K=0.994)
        bench.table("alone-again", linear_response(softer, _GRID).impedance_ohm)
        boxed = linear_response(model, _GRID, load=closed_load(1e-3 * BOX_L)).impedance_ohm
        bench.table("box", boxed, boxed=True)


class _Bench:
    """Writes runs of one unit, minutes apart."""

    def __init__(self, workshop: Workshop, version: Version, unit: Unit, rng: np.random.Generator) -> None:
        self._workshop = workshop
        self._unit_id = f"{unit.driver}/{unit.version}/{unit.name}"
        self._unit = unit
        self._when = dt.datetime.fromisoformat(f"{version.measured}T{9 + int(unit.name):02d}:05:00")
        self._rng = rng
        self._temperature_c = version.temperature_c

    def table(self, name: str, impedance: ComplexArray, *, added: bool = False, boxed: bool = False) -> None:
        """A table of modulus and phase; a friend's program writes commas and semicolons."""
        record = ImpedanceRecord(
            when=self._next(),
            method="table",
            mounting="closed-box" if boxed else "baffle",
            added_mass_g=MASS_G if added else None,
            added_mass_u_g=MASS_U_G if added else 0.0,
            volume_l=BOX_L if boxed else None,
            volume_u_l=BOX_U_L if boxed else 0.0,
            rig="divider",
            scale_u_percent=0.5,
            drive_v=DRIVE_V,
            temperature_c=self._temperature_c,
            note="A ring of putty round the dust cap." if added else "",
        )
        n = len(impedance)
        noisy = impedance * (1.0 + NOISE * (self._rng.standard_normal(n) + 1j * self._rng.standard_normal(n)))
        text = _with_commas(noisy) if self._unit.built_by != "Saltmarsh Workshop" else _plain(noisy)
        add_run(self._workshop, self._unit_id, name, record, files={"impedance.csv": text.encode()})

    def recording(self, name: str, model: DriverModel) -> None:
        """A sweep recorded as voltage and current, no microphone."""
        rig = SECOND_RIG
        assert rig.current_a is not None
        volts = _SWEEP.samples() * (np.sqrt(2.0) * DRIVE_V / _SWEEP.level)
        amps = current_of(model, volts, _SWEEP.rate_hz)
        samples = np.stack([volts / rig.voltage_v, amps / rig.current_a])
        samples = samples + np.stack([white_noise(volts.size, _INPUT_NOISE, self._rng) for _ in range(2)])
        record = ImpedanceRecord(
            when=self._next(),
            method="recording",
            mounting="baffle",
            rig=rig.name,
            drive_v=DRIVE_V,
            temperature_c=self._temperature_c,
            sweep=SweepTable.of(_SWEEP),
        )
        audio = NewAudio.from_samples("sweep.flac", samples, _SWEEP.rate_hz, (Role.VOLTAGE, Role.CURRENT))
        add_run(self._workshop, self._unit_id, name, record, audio=[audio])

    def _next(self) -> dt.datetime:
        self._when += dt.timedelta(minutes=4)
        return self._when


def _plain(impedance: ComplexArray) -> str:
    rows = zip(_GRID, np.abs(impedance), np.degrees(np.angle(impedance)), strict=True)
    return "frequency_hz,modulus_ohm,phase_deg\n" + "".join(f"{f:.3f},{z:.4f},{p:.3f}\n" for f, z, p in rows)


def _with_commas(impedance: ComplexArray) -> str:
    head = "Messung vom Samstag\nFrequenz [kHz];Realteil [Ohm];Imaginärteil [Ohm]\n"
    rows = zip(1e-3 * _GRID, impedance.real, impedance.imag, strict=True)
    return head + "".join(f"{f:.6f};{re:.4f};{im:.4f}\n".replace(".", ",") for f, re, im in rows)
