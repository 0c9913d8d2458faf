"""A driver put together from what it is made of, by formulas of its own: the truth against which the update's first-order slopes stand.

Stiffnesses and masses add, Bl follows flux over reluctances in series, Re follows length over section: nothing of it is linear in the
logarithms that `PredictedDriver.moved` uses. Invented values of a small driver.
"""

from __future__ import annotations

import math

import numpy as np

from halfroll.driver.lumped import DriverModel
from halfroll.driver.predicted.packing import pack
from halfroll.driver.predicted.types import Assumption, PredictedDriver

RHO, C, P_REF = 1.20, 343.2, 20e-6

ASSUMED = {
    # key: (label, kind, value, relative standard uncertainty)
    "filament.tpu-grey.modulus": ("modulus of the grey TPU (surround)", "material", 26e6, 0.12),
    "filament.tpu-black.modulus": ("modulus of the black TPU (spider)", "material", 60e6, 0.15),
    "surround.thickness": ("thickness of the surround", "print", 0.5e-3, 0.04),
    "cone.density": ("density of the cone", "material", 620.0, 0.06),
    "moving.glue": ("glue on the moving parts", "assembly", 0.35e-3, 0.30),
    "moving.coil": ("mass of the coil", "winding", 1.1e-3, 0.02),
    "magnet.y30.remanence": ("remanence of the magnet", "magnet", 0.39, 0.03),
    "gap.width": ("width of the gap", "assembly", 1.3e-3, 0.03),
    "coil.resistance": ("resistance of the coil", "winding", 6.3, 0.01),
    "filament.tpu-grey.loss": ("loss of the grey TPU", "material", 0.16, 0.25),
    "steel.permeance": ("inductance of the coil in its steel", "steel", 0.25e-3, 0.08),
    "surround.area": ("roll of the surround that moves with the cone", "print", 52e-4, 0.015),
}


def driver(z: dict[str, float] | None = None) -> DriverModel:
    """The driver with each assumption moved by so many of its standard uncertainties (its logarithm moves)."""
    moved = {key: one[2] * math.exp((z or {}).get(key, 0.0) * one[3]) for key, one in ASSUMED.items()}
    ratio = {key: moved[key] / ASSUMED[key][2] for key in moved}
    thickness = ratio["surround.thickness"]
    surround = 420.0 * ratio["filament.tpu-grey.modulus"] * thickness**2.6
    spider = 380.0 * ratio["filament.tpu-black.modulus"]
    area = moved["surround.area"]
    air = 16.0 / 3.0 * RHO * math.sqrt(area / math.pi) ** 3
    surround_mass = 0.5e-3 * thickness * ratio["surround.area"]
    mass = (
        1.9e-3 * ratio["cone.density"] + moved["moving.glue"] + moved["moving.coil"] + surround_mass + 0.4e-3
    )
    reluctance = 0.55 + 0.45 * ratio["gap.width"]  # of magnet and gap in series
    bl = 4.4 * ratio["magnet.y30.remanence"] / reluctance
    stiffness = surround + spider
    resonance = math.sqrt(stiffness / (mass + air))
    loss = (moved["filament.tpu-grey.loss"] * surround + 0.05 * spider) / resonance + 0.08
    le = moved["steel.permeance"]
    return DriverModel(
        Re=moved["coil.resistance"], Mms=mass + air, Rms=loss, Sd=area, Bl=(bl, 30.0, -9e4 * bl / 4.4, 0.0, 1e8),
        K=(stiffness, 2e3, 0.5e8 * surround / 420.0 + 0.3e8 * spider / 380.0, 0.0, 1e13), Le=(le, -0.02 * le / 0.25e-3, 3.0),
        L2=1.4 * le, R2=2.2 * le / 0.25e-3, x_range=(-2.5e-3, 2.5e-3), creep=0.04,
    )  # fmt: skip


def prediction(keys: tuple[str, ...] = tuple(ASSUMED)) -> PredictedDriver:
    """The driver as assumed, with slopes by central differences of the composition."""
    base = driver()
    assumptions = tuple(
        Assumption(
            key=key, label=ASSUMED[key][0], kind=ASSUMED[key][1], unit="", value=ASSUMED[key][2],
            u=ASSUMED[key][2] * ASSUMED[key][3], shared=key.startswith(("filament", "magnet")),
        )
        for key in keys
    )  # fmt: skip
    slopes = np.array([(pack(driver({key: 0.1})) - pack(driver({key: -0.1}))) / 0.2 for key in keys])
    return PredictedDriver(model=base, assumptions=assumptions, slopes=slopes, values=())


def circuit(model: DriverModel, frequency_hz: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Impedance and acceleration per volt by solving the mesh equations, unknown: current, eddy branch current, velocity.

    The creep of the suspension multiplies its compliance by 1 - lambda log10(j f/fs) (Knudsen and Jensen 1993).
    """
    s = 2j * np.pi * frequency_hz
    fs = math.sqrt(model.K[0] / model.Mms) / (2.0 * math.pi)
    spring = model.K[0] / (1.0 - model.creep * np.log(1j * frequency_hz / fs) / math.log(10.0))
    matrix = np.zeros((len(s), 3, 3), dtype=complex)
    matrix[:, 0, 0] = model.Re + s * model.Le[0] + model.R2
    matrix[:, 0, 1] = -model.R2
    matrix[:, 0, 2] = model.Bl[0]
    matrix[:, 1, 0] = -model.R2
    matrix[:, 1, 1] = model.R2 + s * model.L2
    matrix[:, 2, 0] = -model.Bl[0]
    matrix[:, 2, 2] = model.Rms + s * model.Mms + spring / s
    source = np.zeros((len(s), 3, 1), dtype=complex)
    source[:, 0] = 1.0
    found = np.linalg.solve(matrix, source)[:, :, 0]
    return 1.0 / found[:, 0], s * found[:, 2]


def level(model: DriverModel, frequency_hz: np.ndarray, volts: float) -> np.ndarray:
    """Sound pressure level of a piston in a baffle at 1 m, p = rho Sd a / 2 pi."""
    return 20.0 * np.log10(
        RHO * model.Sd * np.abs(circuit(model, frequency_hz)[1]) * volts / (2.0 * np.pi * P_REF)
    )
