"""The smaller lines of the demonstration, and a driver known only from a printed sheet."""

from __future__ import annotations

import numpy as np

from halfroll.core.conditions import Space
from halfroll.core.frequency import THIRD_OCTAVE_NOMINAL_HZ
from halfroll.core.levels import spl
from halfroll.driver.cone import ConeMode, cone_transfer
from halfroll.driver.demo.types import Change, Driver, Reference, Version, model
from halfroll.driver.linear import linear_response

_SMALL_CONE = (
    ConeMode(frequency_hz=5200.0, q=4.0, share=0.20),
    ConeMode(frequency_hz=11500.0, q=5.0, share=0.20),
)
_LARGE_CONE = (
    ConeMode(frequency_hz=2500.0, q=4.5, share=0.20),
    ConeMode(frequency_hz=5600.0, q=5.0, share=0.22),
)

DUNLIN = Driver(
    name="dunlin",
    title="Dunlin",
    aim="A 2.5-inch driver for camera posts; 4 ohm, because it runs from a 5 V amplifier.",
    versions=(
        Version(
            name="v1",
            title="Small and stiff",
            parent=None,
            date="2026-03-08",
            measured="2026-03-14",
            summary="Avocet's v2 suspension, made smaller. Too stiff at this size.",
            rated_impedance_ohm=4.0,
            rated_power_w=4.0,
            units=2,
            model=model(
                bl=(2.1, 0.10, -0.25, 0, -0.01), k=(3400, 160, 180, 0, 15), le_mh=(0.09, -0.012, -0.006), re=3.5,
                mms_g=2.6, rms=0.95, sd_cm2=21, l2_mh=0.05, r2=1.5, travel_mm=2.0,
            ),
            modes=_SMALL_CONE,
            temperature_c=16.0,
        ),
        Version(
            name="v2",
            title="Avocet's mirrored spiders",
            parent="v1",
            date="2026-05-25",
            measured="2026-05-30",
            summary="What worked in the large one works in the small one.",
            changes=(
                Change("spider", "slotted disc, 0.6 mm", "two mirrored, three arms of 0.4 mm", "as in Avocet v7"),
                Change("coil height", "5 mm", "7 mm", "the cone now moves twice as far"),
            ),
            rated_impedance_ohm=4.0,
            rated_power_w=5.0,
            units=2,
            model=model(
                bl=(2.35, 0.02, -0.14, 0, -0.008), k=(2200, 25, 70, 0, 6), le_mh=(0.10, -0.008, -0.004), re=3.5,
                mms_g=2.9, rms=0.8, sd_cm2=21, l2_mh=0.05, r2=1.5, travel_mm=2.6,
            ),
            modes=_SMALL_CONE,
            temperature_c=20.0,
        ),
    ),
)  # fmt: skip

CURLEW = Driver(
    name="curlew",
    title="Curlew",
    aim="A 5-inch driver for the large hide, with room for a cabinet of 12 litres.",
    versions=(
        Version(
            name="v1",
            title="Avocet v4, larger",
            parent=None,
            date="2026-04-12",
            measured="2026-04-18",
            summary="Deep at the first try; the coil sits off the middle.",
            rated_impedance_ohm=8.0,
            rated_power_w=15.0,
            units=2,
            model=model(
                bl=(5.2, 0.20, -0.10, 0, -0.002), k=(3000, 120, 90, 0, 3), le_mh=(0.40, -0.04, -0.010), re=6.5,
                mms_g=11.5, rms=1.7, sd_cm2=88, l2_mh=0.3, r2=4.0, travel_mm=4.0,
            ),
            modes=_LARGE_CONE,
        ),
        Version(
            name="v2",
            title="Jig and mirrored spiders",
            parent="v1",
            date="2026-06-07",
            measured="2026-06-13",
            summary="The second unit went straight into its cabinet and was measured there.",
            changes=(
                Change("spider", "one, four arms of 0.9 mm", "two mirrored, four arms of 0.6 mm", "as in Avocet v7"),
                Change("coil gluing", "printed ring as a stop", "jig with a 0.3 mm shim", "as in Avocet v7"),
            ),
            rated_impedance_ohm=8.0,
            rated_power_w=15.0,
            units=2,
            model=model(
                bl=(5.7, 0.03, -0.07, 0, -0.002), k=(2350, 30, 38, 0, 1), le_mh=(0.42, -0.03, -0.006), re=6.5,
                mms_g=12.5, rms=1.5, sd_cm2=88, l2_mh=0.3, r2=4.0, travel_mm=4.5,
            ),
            modes=_LARGE_CONE,
            coil_spread_m=0.05e-3,
            temperature_c=20.0,
        ),
    ),
)  # fmt: skip


def drawer_reference() -> Reference:
    """A driver nobody here has measured: the curve a printed sheet would show, third octaves rounded to half a decibel."""
    driver = model(
        bl=(4.6,),
        k=(2200,),
        le_mh=(0.25,),
        re=6.8,
        mms_g=5.4,
        rms=0.9,
        sd_cm2=53,
        l2_mh=0.2,
        r2=4.0,
        travel_mm=3.0,
    )
    modes = (
        ConeMode(frequency_hz=5000.0, q=3.0, share=0.10),
        ConeMode(frequency_hz=11000.0, q=3.0, share=0.15),
    )
    frequency = np.array([f for f in THIRD_OCTAVE_NOMINAL_HZ if f >= 40.0])
    drive_v = 8.0**0.5
    pressure = (
        linear_response(driver, frequency).pressure_pa_per_v * cone_transfer(frequency, modes) * drive_v
    )
    level = np.round(2.0 * spl(np.abs(pressure))) / 2.0
    return Reference(
        driver="drawer-four",
        title="Four-inch from the drawer",
        aim="A bought paper-cone driver without a name, for comparison.",
        version="as-sold",
        summary="Known only from the sheet in its box; never measured here.",
        source="Printed sheet in the box, no maker named: curve at 1 W, 1 m in a large baffle",
        rated_impedance_ohm=8.0,
        rated_power_w=15.0,
        drive_v=drive_v,
        distance_m=1.0,
        space=Space.HALF,
        figures={
            "sensitivity_db": (84.5, 0.5),
            "lower_limit_hz": (58.0, 3.0),
            "upper_limit_hz": (11000.0, 1000.0),
        },
        frequency_hz=tuple(float(f) for f in frequency),
        level_db=tuple(float(v) for v in level),
    )
