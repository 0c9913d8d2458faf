"""What is said about the heat of a coil."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from halfroll.core.text import THIN, format_value
from halfroll.core.verdicts import Severity, Verdict
from halfroll.materials.types import Filament
from halfroll.motor.coil.wound import Coil
from halfroll.motor.heat.borne import Bearable, CoilHeat
from halfroll.motor.heat.network import COVERAGE

CREEPS_C = 60.0
"""A former that bears no more than this for hours is said: coils rise by 100 K in ordinary power tests."""

WARM_MAGNET_K = 40.0
"""Rise of the motor from which the loss of flux is said."""


def heat_verdicts(
    coil: Coil, heat: CoilHeat, rated_power_w: float | None = None, field_coils: Sequence[str] = ()
) -> tuple[Verdict, ...]:
    """Verdicts on a coil's heat; `field_coils` are names of bodies that warm the motor by themselves."""
    return (*_found(coil, heat, rated_power_w), *_field_coils(field_coils))


def _found(coil: Coil, heat: CoilHeat, rated_power_w: float | None) -> Iterator[Verdict]:
    continuous, short, network = heat.continuous, heat.short, heat.network
    limit = continuous.limit
    power = format_value(continuous.power_w, None, "W")
    former = coil.design.former
    soft = limit.node == "coil" and ("former" in limit.part or "glue" in limit.part)
    if soft:
        yield Verdict(
            code="coil-softens-first", severity=Severity.CAUTION,
            text=f"The {limit.part} gives way first, at {limit.lasting_c:g}{THIN}°C, which {power} reach in the end; "
            f"the wire's enamel would bear {coil.design.wire.class_c:g}{THIN}°C.",
            remedy="Stay well below: softened, it lets the coil go, and hot plastic gives off fumes and burns skin. A former of plastic for heat, of card or "
            "polyimide film, and a glue for heat bear more.",
            data={"limit_c": limit.lasting_c, "continuous_w": continuous.power_w, "part": limit.part},
        )  # fmt: skip
    elif limit.node == "coil":
        yield Verdict(
            code="coil-gets-hot", severity=Severity.CAUTION,
            text=f"Nothing gives way below {limit.lasting_c:g}{THIN}°C ({limit.part}); a coil that warm burns skin and scorches paper.",
            remedy="Let it cool before you touch it, air the room, and never leave it alone at high power.",
            data={"limit_c": limit.lasting_c, "continuous_w": continuous.power_w, "part": limit.part},
        )  # fmt: skip
    if isinstance(former, Filament) and former.continuous_c <= CREEPS_C and "former" not in limit.part:
        yield Verdict(
            code="former-creeps", severity=Severity.CAUTION, data={"continuous_c": former.continuous_c},
            text=f"A former of {former.title} creeps from {former.continuous_c:g}{THIN}°C on; a coil gets that warm in ordinary use.",
            remedy="Print the former of a plastic for heat, or roll it from card or polyimide film.",
        )  # fmt: skip
    if rated_power_w is not None:
        yield from _rated(continuous, rated_power_w)
    yield from _magnets(heat)
    if network.source == "estimated":
        yield Verdict(
            code="heat-estimated", severity=Severity.NOTE, data={"u_rel": continuous.u_rel},
            text=f"The powers come from the geometry; the continuous one is good to about ± {100 * math.expm1(COVERAGE * continuous.u_rel):.0f}{THIN}% "
            "in still air, with the coil in the middle of its gap and no box that warms up.",
            remedy="Log the coil's resistance after an hour at a known power; the measured rise goes before the estimate.",
        )  # fmt: skip
    one = next((bearable for bearable in short if bearable.seconds <= 1.0), None)
    if one is not None and one.power_w < 2.0 * continuous.power_w:
        yield Verdict(
            code="coil-heats-at-once", severity=Severity.CAUTION, data={"one_second_w": one.power_w},
            text=f"A second of {format_value(one.power_w, None, 'W')} is enough: the coil has little metal to take up heat.",
            remedy="Fuse the driver in power tests; direct current from a faulty amplifier burns such a coil in seconds.",
        )  # fmt: skip


def _rated(continuous: Bearable, rated_power_w: float) -> Iterator[Verdict]:
    if rated_power_w > continuous.power_w:
        yield Verdict(
            code="rated-power-too-hot", severity=Severity.CAUTION,
            text=f"The rated power of {format_value(rated_power_w, None, 'W')} is more than the {format_value(continuous.power_w, None, 'W')} that "
            f"the {continuous.limit.part} bears for ever. The wire takes less of it where the impedance is above the resistance, but count on that "
            "only after a test.",
            remedy="Rate it lower, or take a former, glue or wire for more heat.",
            data={"rated_w": rated_power_w, "continuous_w": continuous.power_w},
        )  # fmt: skip


def _magnets(heat: CoilHeat) -> Iterator[Verdict]:
    continuous = heat.continuous
    warmest = heat.warm_c[1] - heat.air_c
    magnet = next((limit for limit in heat.limits if limit.node == "motor"), None)
    if magnet is not None and continuous.limit.node == "motor":
        yield Verdict(
            code="magnet-limits-power", severity=Severity.CAUTION,
            text=f"The {magnet.part} gives way first: {magnet.lasting_c:g}{THIN}°C, after hours. Above that it loses "
            "magnetisation for good.",
            remedy="Take a grade for higher temperature, or give the motor more surface.",
            data={"limit_c": magnet.lasting_c, "continuous_w": continuous.power_w},
        )  # fmt: skip
    elif warmest > WARM_MAGNET_K:
        yield Verdict(
            code="motor-gets-warm", severity=Severity.NOTE, data={"motor_rise_k": warmest},
            text=f"After hours of the continuous power the motor is {warmest:.0f}{THIN}K warmer than the air, and the frame that holds it "
            "nearly so; its magnets are weaker by their temperature coefficient until they cool.",
            remedy="Look at the magnets' operating points at that temperature, and take a plastic for the frame that bears it.",
        )  # fmt: skip


def _field_coils(names: Sequence[str]) -> Iterator[Verdict]:
    if names:
        yield Verdict(
            code="field-coil-heats", severity=Severity.CAUTION, data={"bodies": list(names)},
            text=f"What the {' and '.join(names)} turns into heat is not in these powers: the motor is warmer than they say, all the time.",
            remedy="Measure how warm the motor gets with its field current alone, and take that off what the coil may warm up by.",
        )  # fmt: skip
