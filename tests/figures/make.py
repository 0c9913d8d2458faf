"""Responses and readings made by formula, so that every figure is known beforehand."""

from collections.abc import Sequence

import numpy as np

from halfroll.core.conditions import Conditions, Space
from halfroll.core.frequency import log_grid
from halfroll.core.levels import P_REF_PA
from halfroll.core.verdicts import Verdict
from halfroll.figures.rules import RULES
from halfroll.figures.types import Reading, TakeReadings
from halfroll.measure.analysis.response import Gate, ImpulseResponse, Response

GRID = log_grid(20.0, 20000.0)


def level_of_corners(
    corners_db: Sequence[tuple[float, float]], frequency_hz: np.ndarray = GRID
) -> np.ndarray:
    """A level (dB) through given corners (Hz, dB), straight over lg f, going on straight beyond the ends."""
    f, level = np.log(np.array(corners_db)[:, 0]), np.array(corners_db)[:, 1]
    x = np.log(frequency_hz)
    inner = np.interp(x, f, level)
    low = level[0] + (x - f[0]) * (level[1] - level[0]) / (f[1] - f[0])
    high = level[-1] + (x - f[-1]) * (level[-1] - level[-2]) / (f[-1] - f[-2])
    return np.where(x < f[0], low, np.where(x > f[-1], high, inner))


def make_response(
    level_db: np.ndarray | float = 90.0,
    *,
    harmonics: dict[int, float | np.ndarray] | None = None,
    noise_pa: float | np.ndarray = 0.0,
    frequency_hz: np.ndarray = GRID,
    drive_v: float | None = 2.0,
    rated_impedance_ohm: float | None = 4.0,
    distance_m: float = 1.0,
    space: Space = Space.HALF,
    radius_m: float | None = 0.05,
    impedance_ohm: np.ndarray | None = None,
    gate: Gate | None = None,
    valid_hz: tuple[float, float] = (20.0, 20000.0),
    calibrated: bool = True,
    verdicts: tuple[Verdict, ...] = (),
) -> Response:
    """A response of a given level at its drive, with harmonics as shares of the fundamental."""
    n = len(frequency_hz)
    pressure = np.broadcast_to(P_REF_PA * 10.0 ** (np.asarray(level_db) / 20.0), n).astype(complex)
    orders = np.zeros((9, n), dtype=complex)
    for order, share in (harmonics or {}).items():
        orders[order - 2] = share * pressure
    noise = np.asarray(noise_pa, dtype=float)
    return Response(
        frequency_hz=frequency_hz,
        pressure_pa=pressure,
        pressure_full_pa=pressure,
        voltage_v=np.full(n, 1.0 if drive_v is None else drive_v),
        harmonics_pa=orders,
        noise_pa=np.broadcast_to(noise[:, None] if noise.ndim == 1 else noise, (10, n)),
        impedance_ohm=impedance_ohm,
        impulse=ImpulseResponse(values=np.zeros(1), start_s=0.0, rate_hz=48000),
        gate=gate or Gate(),
        valid_hz=valid_hz,
        conditions=Conditions(
            drive_v=drive_v,
            distance_m=distance_m,
            space=space,
            rated_impedance_ohm=rated_impedance_ohm,
            radius_m=radius_m,
        ),
        calibrated=calibrated,
        voltage_recorded=True,
        verdicts=verdicts,
    )


def make_take(
    unit: str,
    number: int,
    values: dict[str, float | Reading],
    *,
    version: str = "dunlin/1",
    rig: str = "bench",
    drive_w: float | None = 1.0,
    space: Space = Space.HALF,
    distance_m: float = 1.0,
    microphone_u_db: float = 0.0,
    voltage_u_db: float = 0.0,
    **more: object,
) -> TakeReadings:
    """A take with given figures; those not given are missing."""
    missing = {rule.key: Reading(missing="Not made.") for rule in RULES}
    given = {k: v if isinstance(v, Reading) else Reading(value=v, u=0.0) for k, v in values.items()}
    return TakeReadings(
        take_id=f"{version}/{unit}/{number}",
        when="2026-01-01T10:00",
        rig=rig,
        conditions=Conditions(
            drive_v=None if drive_w is None else float(np.sqrt(4.0 * drive_w)),
            distance_m=distance_m,
            space=space,
            rated_impedance_ohm=4.0,
            temperature_c=more.pop("temperature_c", None),  # type: ignore[arg-type]
        ),
        readings={**missing, **given},
        microphone_u_db=microphone_u_db,
        voltage_u_db=voltage_u_db,
        **more,  # type: ignore[arg-type]
    )
