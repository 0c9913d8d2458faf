"""The demonstration's series of tones and its log of power: one unit each of the latest Avocet."""

from __future__ import annotations

import datetime as dt

import numpy as np

from halfroll.core.conditions import Space
from halfroll.core.progress import Progress, silent
from halfroll.driver.demo.bench import DemoPlayer
from halfroll.driver.demo.scenario import DRIVERS, QUIET_LAWN_DBA, SECOND_RIG, SEED, units_of
from halfroll.measure.heat.coil_temperature import resistance_factor
from halfroll.measure.recording import Role, Scale
from halfroll.measure.stepped.tone_run import measure_tones
from halfroll.measure.stepped.tones import TonePlan, ToneSettings, level_steps, tone_frequencies
from halfroll.workshop.demo_rigs import OUTPUT_V
from halfroll.workshop.levels import ToneSetup, add_tones, start_power_log
from halfroll.workshop.power_record import PowerRecord, PowerStepTable
from halfroll.workshop.store import Workshop

LEVELS_W = (0.25, 6.4)
LIMIT_W = 8.0

_LOG = ((1.0, 8.0, 0.22), (2.0, 8.0, 0.22), (4.0, 8.0, 0.24), (6.0, 2.0, 0.26))
"""Power (W), hours, and kelvin of rise per watt over ten: invented, with an eye on what coils of this size do."""


def add_tones_and_power(workshop: Workshop, seed: int = SEED, progress: Progress = silent) -> None:
    """Add a series of tones of one unit, and a log of power of another, if their version is in the demonstration."""
    driver = DRIVERS[0]
    version = driver.versions[-1]
    version_id = f"{driver.name}/{version.name}"
    if version_id not in workshop.version_ids():
        return
    units = units_of(driver, version, seed)
    rated = version.rated_impedance_ohm
    player = DemoPlayer(
        units[0].model, version.modes, SECOND_RIG, v_per_full_scale=OUTPUT_V, distance_m=1.0,
        temperature_c=version.temperature_c, noise_dba=QUIET_LAWN_DBA, seed=(seed, 60, 268),
    )  # fmt: skip
    plan = TonePlan(
        frequency_hz=tone_frequencies(40.0, 160.0),
        level_v=tuple(float(np.sqrt(w * rated)) for w in level_steps(*LEVELS_W, 5)),
        rate_hz=player.rate_hz,
        v_per_full_scale=OUTPUT_V,
        limit_v=float(np.sqrt(LIMIT_W * rated)),
        settings=ToneSettings(shortest_s=0.4, longest_s=0.7, silence_s=0.5, weakest_db=-50.0),
    )
    scales = {
        Role.MICROPHONE: Scale(per_full_scale=SECOND_RIG.microphone_pa),
        Role.VOLTAGE: Scale(per_full_scale=SECOND_RIG.voltage_v),
    }
    run = measure_tones(player, plan, player.roles, scales, progress)
    setup = ToneSetup(
        rig=SECOND_RIG.name, distance_m=1.0, space=Space.HALF, limit_v=round(plan.limit_v, 3),
        temperature_c=version.temperature_c, note="On the lawn, baffle flush with the ground.",
    )  # fmt: skip
    day = dt.date.fromisoformat(version.measured)
    add_tones(workshop, f"{version_id}/{units[0].name}", "lawn", run, player.roles, setup, dt.datetime.combine(day, dt.time(17, 30)))  # fmt: skip
    _add_power_log(workshop, f"{version_id}/{units[-1].name}", units[-1].re_ohm, rated, day)


def _add_power_log(workshop: Workshop, unit_id: str, re_ohm: float, rated_ohm: float, day: dt.date) -> None:
    """Four steps: three are borne, at the last the coil gets too warm for the printed spider."""
    steps = []
    for number, (watts, hours, per_watt) in enumerate(_LOG):
        air = 19.0 + 0.5 * number
        rise = per_watt * watts * 50.0
        last = number == len(_LOG) - 1
        cold = re_ohm * resistance_factor(air)
        steps.append(
            PowerStepTable(
                when=dt.datetime.combine(day + dt.timedelta(days=1 + number), dt.time(9)),
                drive_v=round(float(np.sqrt(watts * rated_ohm)), 2),
                hours=hours,
                temperature_c=air,
                re_before_ohm=round(cold, 2),
                re_warm_ohm=round(cold * resistance_factor(air + rise, air), 2),
                re_after_ohm=round(cold * (1.0 if not last else 1.004), 2),
                level_change_db=(0.0, -0.1, -0.1, -0.4)[number],
                judged="changed" if last else "passed",
                note="Arms of the spider soft beside the coil; stopped after two hours." if last else "",
            )
        )
    record = PowerRecord(
        when=dt.datetime.combine(day + dt.timedelta(days=1), dt.time(9)),
        note="In the shed, on bricks, never left alone.",
        signal="Pink noise through a 40 Hz high-pass, crest factor 2",
        glue_c=120.0,
        filament_c=75.0,
        enamel_c=155.0,
        steps=tuple(steps),
    )
    start_power_log(workshop, unit_id, "endurance", record)
