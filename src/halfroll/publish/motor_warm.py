"""Whether the magnets bear a temperature: in words, and where each of them works then."""

from __future__ import annotations

from halfroll.core.text import MINUS, THIN
from halfroll.core.verdicts import Severity, Verdict
from halfroll.motor.results import MotorResult
from halfroll.motor.types import Assembly, Magnet


def warm_words(warm: MotorResult) -> str:
    """Which magnet is nearest to its knee, and whether anything is lost."""
    if not warm.magnets:
        return "There is no magnet in this motor."
    worst = min(warm.magnets, key=lambda magnet: magnet.margin_t)
    at = f"At {_celsius(worst.temperature_c)}"
    many = len(warm.magnets) > 1
    if worst.margin_t < 0.0:
        which = f"{worst.body} is worst, with" if many else f"{worst.body} has"
        return (
            f"{at} magnetisation is lost for good: {which} {100 * worst.share_below_knee:.2g}{THIN}% of its volume below the knee, "
            f"at worst by {abs(worst.margin_t):.3f}{THIN}T."
        )
    which = f"{worst.body} is nearest to its knee" if many else f"{worst.body} stays above its knee"
    return f"{at} nothing is lost for good: {which}, by {worst.margin_t:.3f}{THIN}T at its weakest place."


def weaker_words(warm: MotorResult, now: MotorResult, now_c: float) -> str:
    """What the temperature does to the force factor (the gap's flux density without a coil) as long as it lasts."""
    there, here = _strength(warm), _strength(now)
    if not here:
        return ""
    change = f"{100 * (there / here - 1.0):+.2g}{THIN}%".replace("-", MINUS)
    what = "the flux density in the gap" if now.force_factor is None else "Bl"
    return f"As long as it lasts {what} changes by {change} against {_celsius(now_c)}."


def worst_in_the_cold(assembly: Assembly) -> bool:
    """Whether a magnet's coercivity falls with the temperature, as ferrite's does: then frost is its danger, not heat."""
    grades = [body.matter.grade for body in assembly.bodies if isinstance(body.matter, Magnet)]
    return any(grade.beta_hcj_per_k > 0.0 for grade in grades)


def warm_verdicts(warm: MotorResult) -> list[Verdict]:
    """What the field at that temperature says of the magnets."""
    said = [v for v in warm.verdicts if v.severity >= Severity.CAUTION and v.code.startswith("magnet-")]
    return sorted(said, key=lambda verdict: -verdict.severity)


def _strength(result: MotorResult) -> float:
    return abs(result.gap_mean_t if result.force_factor is None else result.force_factor.at_rest)


def _celsius(value: float) -> str:
    return f"{value:g}{THIN}°C".replace("-", MINUS)
