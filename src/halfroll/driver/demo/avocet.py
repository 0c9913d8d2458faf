"""Avocet, the main line of the demonstration: eight versions of a 4-inch wide-range driver.

From a lower limit near 136 Hz and a tenth of distortion in the bass to 52 Hz and two per cent, at the price of about
4 dB of sensitivity. One step cannot be told from its parent in the bass (v5), one is a step back (v6) and is left.
"""

from __future__ import annotations

from halfroll.driver.cone import ConeMode
from halfroll.driver.demo.types import Change, Driver, Version, model

_SOFT_CONE = (
    ConeMode(frequency_hz=3400.0, q=4.5, share=0.18),
    ConeMode(frequency_hz=7900.0, q=6.0, share=0.22),
)
_RIBBED_CONE = (
    ConeMode(frequency_hz=4300.0, q=4.0, share=0.16),
    ConeMode(frequency_hz=9200.0, q=5.0, share=0.22),
)

_V1 = Version(
    name="v1",
    title="First print",
    parent=None,
    date="2026-01-11",
    measured="2026-01-17",
    summary="It plays. Loud for its power, but stiff: flat surround and slotted disc spider, both 0.8 mm of hard TPU.",
    rated_impedance_ohm=8.0,
    rated_power_w=5.0,
    units=2,
    model=model(
        bl=(3.3, 0.20, -0.45), k=(7850, 500, 2900, 0, 350), le_mh=(0.22, -0.03, -0.012), re=6.7, mms_g=4.0,
        rms=1.8, sd_cm2=52, l2_mh=0.20, r2=3.0, travel_mm=1.5,
    ),
    modes=_SOFT_CONE,
    temperature_c=14.0,
)  # fmt: skip
_V2 = Version(
    name="v2",
    title="Half-roll surround",
    parent="v1",
    date="2026-02-01",
    measured="2026-02-07",
    summary="The surround now bends instead of stretching; the spider is the stiff part that is left.",
    changes=(
        Change("surround shape", "flat ring", "half roll, 5 mm radius", "the flat ring stretches and goes hard at 0.3 mm"),
        Change("surround thickness", "0.8 mm", "0.6 mm", "two lines of the nozzle are enough in a roll"),
    ),
    rated_impedance_ohm=8.0,
    rated_power_w=5.0,
    units=3,
    model=model(
        bl=(3.3, 0.20, -0.45), k=(4900, 330, 480, 0, 25), le_mh=(0.22, -0.03, -0.012), re=6.7, mms_g=4.1,
        rms=1.45, sd_cm2=52, l2_mh=0.20, r2=3.0, travel_mm=1.8,
    ),
    modes=_SOFT_CONE,
    temperature_c=14.0,
)  # fmt: skip
_V3 = Version(
    name="v3",
    title="Spider with bent arms",
    parent="v2",
    date="2026-02-22",
    measured="2026-03-01",
    summary="Softer again, and the cone reaches the edge of the short coil: what distorts now is the motor.",
    changes=(
        Change("spider", "slotted disc, 0.8 mm", "four bent arms, 0.8 mm", "arms turn a little instead of stretching"),
        Change("effective area", "52 cm²", "54 cm²", "the roll moved outwards by 1 mm"),
    ),
    rated_impedance_ohm=8.0,
    rated_power_w=5.0,
    units=3,
    model=model(
        bl=(3.3, 0.20, -0.42), k=(3300, 130, 115, 0, 4), le_mh=(0.22, -0.03, -0.012), re=6.7, mms_g=4.4,
        rms=1.2, sd_cm2=54, l2_mh=0.20, r2=3.0, travel_mm=2.0,
    ),
    modes=_SOFT_CONE,
    temperature_c=16.0,
)  # fmt: skip
_V4 = Version(
    name="v4",
    title="Long coil",
    parent="v3",
    date="2026-03-15",
    measured="2026-03-21",
    summary="The coil stays in the gap. Heavier, so a little less loud, but half the distortion.",
    changes=(
        Change("coil height", "5.5 mm", "10.5 mm", "the short coil leaves the 4 mm gap at 1 mm of travel"),
        Change("coil layers", "2 of 0.16 mm wire", "2 of 0.20 mm wire", "same resistance with more turns in height"),
        Change("magnet", "one ring 60 x 10 mm", "two rings 60 x 10 mm", "wins back what the longer coil loses"),
    ),
    rated_impedance_ohm=8.0,
    rated_power_w=10.0,
    units=3,
    model=model(
        bl=(4.1, 0.12, -0.12, 0, -0.004), k=(3300, 100, 128, 0, 5), le_mh=(0.30, -0.04, -0.012), re=6.6, mms_g=5.7,
        rms=1.25, sd_cm2=54, l2_mh=0.24, r2=3.0, travel_mm=3.0,
    ),
    modes=_SOFT_CONE,
    temperature_c=16.0,
)  # fmt: skip
_V5 = Version(
    name="v5",
    title="Copper cap and ribs",
    parent="v4",
    date="2026-04-05",
    measured="2026-04-11",
    summary="For the treble: less inductance, stiffer cone. In the bass nothing should change, and nothing seems to.",
    changes=(
        Change("pole", "bare steel", "copper cap, 0.5 mm", "the treble falls and the inductance moves with the coil"),
        Change("cone", "smooth, 0.6 mm", "0.6 mm with 12 ribs", "the first break-up sits in the voices at 3.4 kHz"),
    ),
    rated_impedance_ohm=8.0,
    rated_power_w=10.0,
    units=3,
    model=model(
        bl=(4.08, 0.12, -0.12, 0, -0.004), k=(3300, 100, 128, 0, 5), le_mh=(0.16, -0.008, -0.003), re=6.6, mms_g=5.75,
        rms=1.25, sd_cm2=54, l2_mh=0.08, r2=2.0, travel_mm=3.0,
    ),
    modes=_RIBBED_CONE,
    temperature_c=18.0,
)  # fmt: skip
_V6 = Version(
    name="v6",
    title="Soft spider",
    parent="v5",
    date="2026-04-26",
    measured="2026-05-02",
    summary="A step back. The soft arms sag in a week and the coil no longer sits in the middle of the gap.",
    changes=(
        Change("spider filament", "TPU 95A", "TPU 85A", "to get the resonance down without another print"),
        Change("coil gluing", "printed ring as a stop", "by eye", "the ring did not fit over the softer spider"),
    ),
    rated_impedance_ohm=8.0,
    rated_power_w=10.0,
    units=2,
    model=model(
        bl=(4.05, 0.40, -0.15, 0, -0.004), k=(2950, 240, 170, 0, 10), le_mh=(0.16, -0.010, -0.003), re=6.6, mms_g=5.8,
        rms=1.1, sd_cm2=54, l2_mh=0.08, r2=2.0, travel_mm=3.0,
    ),
    modes=_RIBBED_CONE,
    coil_spread_m=0.2e-3,
    temperature_c=18.0,
)  # fmt: skip
_V7 = Version(
    name="v7",
    title="Two mirrored spiders",
    parent="v5",
    date="2026-05-17",
    measured="2026-05-23",
    summary="Back to v5 and on from there: what one spider does outwards the other does inwards, and a jig centres the coil.",
    changes=(
        Change("spider", "one, four arms of 0.8 mm", "two mirrored, four arms of 0.5 mm", "one alone is harder inwards"),
        Change("coil gluing", "printed ring as a stop", "jig with a 0.3 mm shim", "the coil sat 0.3 mm too far out"),
        Change("former", "0.15 mm paper", "0.15 mm glass laminate", "paper went soft in the fog"),
    ),
    rated_impedance_ohm=8.0,
    rated_power_w=10.0,
    units=3,
    model=model(
        bl=(4.25, 0.03, -0.11, 0, -0.004), k=(2850, 30, 80, 0, 3), le_mh=(0.16, -0.003, -0.002), re=6.6, mms_g=6.7,
        rms=1.2, sd_cm2=54, l2_mh=0.08, r2=2.0, travel_mm=3.5,
    ),
    modes=_RIBBED_CONE,
    coil_spread_m=0.05e-3,
    temperature_c=20.0,
)  # fmt: skip
_V8 = Version(
    name="v8",
    title="Wide thin roll",
    parent="v7",
    date="2026-06-14",
    measured="2026-06-20",
    summary="The one for the hides: deep enough for a bittern, and clean.",
    changes=(
        Change("surround", "half roll, 5 mm, 0.6 mm thick", "half roll, 7 mm, 0.42 mm thick", "more travel before it goes hard"),
        Change("surround filament", "TPU 95A, grey spool", "TPU 95A, harder", "one printed line must hold it now"),
        Change("cone", "0.6 mm with 12 ribs", "0.8 mm with 12 ribs", "heavier on purpose: lower resonance"),
        Change("coil height", "10.5 mm", "12 mm", "travel grew with the new roll"),
    ),
    rated_impedance_ohm=8.0,
    rated_power_w=10.0,
    units=3,
    model=model(
        bl=(4.4, 0.02, -0.085, 0, -0.002), k=(2570, 12, 45, 0, 1.2), le_mh=(0.16, -0.003, -0.002), re=6.6, mms_g=7.9,
        rms=1.1, sd_cm2=54, l2_mh=0.08, r2=2.0, travel_mm=4.0,
    ),
    modes=_RIBBED_CONE,
    coil_spread_m=0.05e-3,
    temperature_c=20.0,
)  # fmt: skip

AVOCET = Driver(
    name="avocet",
    title="Avocet",
    aim="A 4-inch wide-range driver for bird hides: rain, fog and gulls must not hurt it, and one printer makes it in a day.",
    versions=(_V1, _V2, _V3, _V4, _V5, _V6, _V7, _V8),
)
