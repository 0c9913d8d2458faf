"""All figures of one take."""

from __future__ import annotations

from halfroll.figures.rules import RULES
from halfroll.figures.types import FigureSettings, Reading, Source, TakeReadings
from halfroll.figures.view import TakeView
from halfroll.measure.analysis.response import Response


def read_take(
    response: Response, settings: FigureSettings, rated_power_w: float | None = None
) -> dict[str, Reading]:
    """Every figure of the table, read from one response; a figure that cannot be read says why in `missing`."""
    view = TakeView(response=response, settings=settings, rated_power_w=rated_power_w)
    return {rule.key: rule.read(view) for rule in RULES if rule.read is not None}


def take_readings(
    response: Response,
    settings: FigureSettings,
    *,
    take_id: str,
    when: str,
    rig: str,
    rated_power_w: float | None = None,
    excluded: str = "",
    source: Source = "measured",
    calibration_dates: tuple[str, str, str] = ("", "", ""),
) -> TakeReadings:
    """What a comparison needs of a take: its figures, conditions and verdicts, without the curves."""
    return TakeReadings(
        take_id=take_id,
        when=when,
        rig=rig,
        conditions=response.conditions,
        readings=read_take(response, settings, rated_power_w),
        verdicts=response.verdicts,
        gate_s=response.gate.length_s,
        valid_from_hz=response.gate.valid_from_hz,
        valid_hz=response.valid_hz,
        calibrated=response.calibrated,
        microphone_u_db=response.microphone_u_db,
        voltage_u_db=response.voltage_u_db,
        current_u_db=response.current_u_db,
        current_shares_voltage=response.current_shares_voltage,
        calibration_dates=calibration_dates,
        excluded=excluded,
        source=source,
    )
