"""One reading against its band."""

from __future__ import annotations

import math

from halfroll.builds.types import Band, CheckResult, Evidence
from halfroll.core.text import format_plain, format_with_u

SURE = 1.96
"""Standard uncertainties of the reading that must lie on one side of an edge of the band: 95 % (JCGM 100, normal)."""


def judge(band: Band | None, value: float, u: float, *, key: str = "", how: str = "") -> CheckResult:
    """Whether a reading lies in its band: ``good`` inside, ``outside`` beyond it by more than `SURE` of the reading's standard uncertainty,
    ``unsure`` in between, ``not judged`` without a band or a finite reading.

    The band holds for true values, so the reading's own uncertainty is added here, and a reading that does not tell is not called bad.

    Parameters
    ----------
    band
        What is good; None: nothing is known of it.
    value, u
        Reading and its standard uncertainty, in the band's unit.
    """
    evidence = Evidence(key=key or (band.key if band else ""), value=value, u=u, how=how)
    if band is None:
        return CheckResult(
            evidence=evidence,
            band=None,
            outcome="not judged",
            text="Nothing is known of this reading for the version.",
        )
    if not (math.isfinite(value) and math.isfinite(u) and u >= 0.0):
        return CheckResult(
            evidence=evidence,
            band=band,
            outcome="not judged",
            text=f"{band.label} must be a number; found {value}.",
        )
    read, good = format_with_u(value, SURE * u or None, band.unit), band_words(band)
    beyond = max(band.low - value, value - band.high)
    side = "below" if value < band.low else "above"
    if beyond <= 0.0:
        return CheckResult(
            evidence=evidence, band=band, outcome="good", text=f"{band.label} {read}: good, within {good}."
        )
    if beyond <= SURE * u:
        text = f"{band.label} {read}: {side} {good}, but by less than the reading is sure of. Read it again with a better instrument."
        return CheckResult(evidence=evidence, band=band, outcome="unsure", text=text)
    return CheckResult(
        evidence=evidence, band=band, outcome="outside", text=f"{band.label} {read}: {side} {good}."
    )


def band_words(band: Band) -> str:
    """A band as a person reads it, "6.5 to 6.8 Ω"."""
    width = band.high - band.low
    digits = max(0, 1 - math.floor(math.log10(width))) if width > 0.0 else 2
    low = f"{band.low:.{digits}f}".replace("-", "\u2212")
    high = f"{band.high:.{digits}f}".replace("-", "\u2212")
    unit = format_plain(1.0, band.unit)[len(format_plain(1.0, "")) :] if band.unit else ""
    return f"{low} to {high}{unit}"
