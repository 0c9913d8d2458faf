"""From everything that was worked out of a design to the predicted driver; what is not designed is stood in for, and said."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

from halfroll.acoustics.radiation import air_mass
from halfroll.core.verdicts import Severity, Verdict
from halfroll.driver.predicted.design_ingredients import (
    MotorStudies,
    holders_of,
    ingredients_of,
    motor_levers,
    x_range_of,
)
from halfroll.driver.predicted.entered import LABELS, Known, Stated
from halfroll.driver.predicted.from_design import Built, build
from halfroll.driver.predicted.ingredients import Holder, Ingredients
from halfroll.driver.predicted.levers import Lever, slopes_of
from halfroll.driver.predicted.moving_levers import air_lever, holding, moving_levers
from halfroll.driver.predicted.stand_in import flat_bl, flat_holder, known_levers, plain_coil
from halfroll.driver.predicted.types import PredictedDriver
from halfroll.driver.predicted.worked import worked
from halfroll.motor.heat.borne import CoilHeat
from halfroll.suspension.design import MovingDesign
from halfroll.suspension.results import BreakUp, MovingMass, SuspensionResult

MISFIT = 0.01
"""Misfit of a curve, as a share of its value at rest, from which it is told (own choice)."""

MISFIT_EDDIES = 0.05
"""The same of the blocked impedance."""

USUAL_TRAVEL_M = 4e-3


class MissingPartError(Exception):
    """A part is not designed and nothing stands in: which, what needs it, which values would do, and the page to design it on."""

    def __init__(self, part: str, needs: str, lacks: str, page: str) -> None:
        super().__init__(part)
        self.part, self.needs, self.lacks, self.page = part, needs, lacks, page


@dataclass(frozen=True, kw_only=True, eq=False)
class Gathered:
    """What was worked out of a design; None where it has no such part. Lengths in m, areas in m²."""

    motor: MotorStudies | None = None
    moving: MovingDesign | None = None
    suspension: SuspensionResult | None = None
    mass: MovingMass | None = None
    break_up: BreakUp | None = None
    heat: CoilHeat | None = None
    stated_area_m2: float | None = None
    travel_m: float | None = None

    @property
    def heavy(self) -> bool:
        """Whether the design tells the moving mass: a cone is designed, and the coil on it."""
        return (
            self.mass is not None
            and self.moving is not None
            and self.moving.cone is not None
            and self.moving.former is not None
        )


@dataclass
class _StandIn:
    """Values taken from elsewhere: which, and what was said of them."""

    ask: Callable[[], Stated | None]
    used: dict[str, Known] = field(default_factory=dict)
    missing: list[str] = field(default_factory=list)

    def value(self, key: str, fault: MissingPartError) -> float:
        """A value that is needed."""
        found = self.maybe(key)
        if found is None:
            raise fault
        return found

    def maybe(self, key: str) -> float | None:
        """A value that helps."""
        known = self.ask()
        one = None if known is None else known.values.get(key)
        if one is not None:
            self.used[key] = one
        return None if one is None else one.value

    @property
    def where(self) -> str:
        """Where they come from."""
        known = self.ask()
        return "" if known is None else known.where


def driver_of(found: Gathered, known: Callable[[], Stated | None], *, slopes: bool = True) -> PredictedDriver:
    """The driver of a design.

    Parameters
    ----------
    found
        What was worked out.
    known
        Gives values that may stand in for what is not designed, such as measured ones.
    slopes
        Whether to find what each assumption does.

    Raises
    ------
    MissingPartError
        A part is not designed and nothing stands in.
    InputError
        The parts make no driver.
    """
    stand_in = _StandIn(known)
    ingredients, said = _ingredients(found, stand_in)
    built = build(ingredients)
    levers = tuple(_levers(found, ingredients, stand_in)) if slopes else ()
    table = slopes_of(ingredients, built, levers)
    assumptions = tuple(one.assumption for one in levers)
    values = worked(built.model, assumptions, table, _where(found, stand_in))
    return PredictedDriver(
        model=built.model, assumptions=assumptions, slopes=table, values=values, suspension=found.suspension, mass=found.mass,
        break_up=found.break_up, heat=found.heat, rms_parts=built.rms_parts, missing=tuple(stand_in.missing),
        verdicts=(*said, *_fit_verdicts(ingredients, built), *(() if found.suspension is None else found.suspension.verdicts), *_left_out(found)),
    )  # fmt: skip


def _ingredients(found: Gathered, stand_in: _StandIn) -> tuple[Ingredients, tuple[Verdict, ...]]:
    moving_kg, area = _moving(found, stand_in)
    holders, rms = _holders(found, stand_in)
    low = max(float(one.x_m[0]) for one in holders)
    high = min(float(one.x_m[-1]) for one in holders)
    if found.motor is not None:
        x_range, said = x_range_of(found.motor.assembly, found.motor.force_factor, low, high)
        ingredients = ingredients_of(found.motor, holders, moving_kg, area, x_range)
    else:
        needs = MissingPartError("motor", "a motor and coil", "bl_n_per_a and re_ohm", "/design")
        bl, re = stand_in.value("bl_n_per_a", needs), stand_in.value("re_ohm", needs)
        stand_in.maybe("le_h")
        known = stand_in.ask()
        x_m, curve = flat_bl(bl, max(-low, high))
        ingredients, said = Ingredients(
            re_ohm=re, alpha_per_k=0.00393, bl_x_m=x_m, bl=curve, eddies=plain_coil({} if known is None else known.values), current_terms=None,
            holders=holders, moving_kg=moving_kg, area_m2=area, x_range=(low, high),
        ), ()  # fmt: skip
        stand_in.missing.append(
            f"No motor or coil is designed: Bl, Re and Le are {stand_in.where}, and Bl stays the same over the travel."
        )
    return (ingredients if rms is None else _with_rms(ingredients, rms)), said


def _with_rms(ingredients: Ingredients, rms: float) -> Ingredients:
    from dataclasses import replace

    return replace(ingredients, other_rms=rms)


def _moving(found: Gathered, stand_in: _StandIn) -> tuple[float, float]:
    """Moving mass without air (kg) and effective area (m²)."""
    if found.heavy:
        assert found.mass is not None
        return found.mass.mass_kg, found.mass.area_m2
    lacks, place = ("coil", "/design") if found.moving and found.moving.cone else ("cone", "/suspension")
    needs = MissingPartError(lacks, "all that moves: cone and coil", "mms_g", place)
    mms = stand_in.value("mms_kg", needs)
    area = (
        found.mass.area_m2
        if found.mass is not None and found.moving is not None and found.moving.cone is not None
        else found.stated_area_m2
    )
    if area is None:
        raise MissingPartError("cone", "the effective area", "effective_area_cm2", "/suspension")
    stand_in.missing.append(f"No {lacks} is designed: the moving mass is {stand_in.where}.")
    return mms - air_mass(math.sqrt(area / math.pi)), area


def _holders(found: Gathered, stand_in: _StandIn) -> tuple[tuple[Holder, ...], float | None]:
    """What holds it, and the mechanical resistance (N s/m) where the plastics do not tell it."""
    if found.suspension is not None and found.moving is not None:
        plastics = [
            (one.material.loss_factor, one.material.creep_per_decade) for one in holding(found.moving)
        ]
        if len(plastics) == 1:
            stand_in.missing.append(
                f"Only the {found.suspension.parts[0].name} is designed: it holds everything in this prediction."
            )
        return holders_of(found.suspension.parts, plastics), None
    needs = MissingPartError(
        "suspension", "a surround or a spider", "cms_mm_per_n and rms_ns_per_m", "/suspension"
    )
    stiffness, rms = 1.0 / stand_in.value("cms_m_per_n", needs), stand_in.value("rms_ns_per_m", needs)
    stand_in.missing.append(
        f"No surround or spider is designed: Cms and Rms are {stand_in.where}, and Kms stays the same over the travel."
    )
    return (flat_holder(stiffness, found.travel_m or USUAL_TRAVEL_M),), rms


def _levers(found: Gathered, ingredients: Ingredients, stand_in: _StandIn) -> Iterator[Lever]:
    if found.motor is not None:
        yield from motor_levers(found.motor, ingredients)
    if found.moving is not None and found.mass is not None:
        parts = () if found.suspension is None else found.suspension.parts
        yield from moving_levers(found.moving, parts, found.mass, masses=found.heavy)
    yield from known_levers(stand_in.used, stand_in.where)
    yield air_lever()


def _where(found: Gathered, stand_in: _StandIn) -> dict[str, str]:
    """Where each value comes from, in words."""
    told = dict.fromkeys(("bl_n_per_a", "bl_asymmetry"), "the motor's field") | {
        "re_ohm": "the coil as wound"
    }
    told |= dict.fromkeys(("le_h", "le_1khz_h"), "eddy currents in the motor")
    told |= dict.fromkeys(("cms_m_per_n", "kms_n_per_m", "kms_asymmetry"), "surround and spider as bent")
    told |= {
        "mms_kg": "all that moves, and its air",
        "sd_m2": "cone and surround",
        "rms_ns_per_m": "losses in the plastics, and radiation",
    }
    told |= {"creep": "creep of the plastics"}
    names = {LABELS[key] for key in stand_in.used}
    same = {"Bl": ("bl_n_per_a", "bl_asymmetry"), "Re": ("re_ohm",), "Le": ("le_h", "le_1khz_h"), "Mms": ("mms_kg",), "Rms": ("rms_ns_per_m",),
            "Cms": ("cms_m_per_n", "kms_n_per_m", "kms_asymmetry"), "Sd": ("sd_m2",)}  # fmt: skip
    for name, keys in same.items():
        if name in names:
            told |= dict.fromkeys(keys, stand_in.where)
    return told


def _fit_verdicts(ingredients: Ingredients, built: Built) -> Iterator[Verdict]:
    """How well polynomials and branches meet what was computed, where that is not well."""
    for name, misfit in zip(("Kms", "Bl"), built.misfits, strict=True):
        if misfit > MISFIT:
            yield Verdict(
                code="curve-fit", severity=Severity.NOTE,
                text=f"{name} over displacement is met by its polynomial within {100 * misfit:.1f} % of its value at rest only: it bends sharply there.",
                remedy="Trust distortion near the ends of the travel less.", data={"curve": name, "misfit": misfit},
            )  # fmt: skip
    eddies = ingredients.eddies
    if max(eddies.misfit, eddies.misfit_x) > MISFIT_EDDIES:
        yield Verdict(
            code="inductance-fit", severity=Severity.NOTE,
            text=f"The coil's blocked impedance is met within {100 * eddies.misfit:.1f} % at rest and {100 * eddies.misfit_x:.1f} % over the travel: "
            "its branches cannot follow how it changes with frequency and displacement at once.",
            remedy="Trust what the inductance adds to distortion less; a shorting ring makes it small anyway.",
            data={"misfit": eddies.misfit, "misfit_x": eddies.misfit_x},
        )  # fmt: skip


def _left_out(found: Gathered) -> Iterator[Verdict]:
    """What a real driver loses and this one does not."""
    if found.motor is None or found.suspension is None:
        return
    yield Verdict(
        code="air-pumping-left-out", severity=Severity.NOTE,
        text="Air pumped through the gap and under the spider and the dust cap is left out: no source tells it without measuring. It adds to Rms, "
        "more so with a closed cap over an unvented pole.",
        remedy="Expect Qms below the prediction; measure a unit, and let the prediction learn from it.", data={},
    )  # fmt: skip
