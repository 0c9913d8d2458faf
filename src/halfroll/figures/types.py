"""Value objects of the figures: settings, a reading from one take, a figure of a version."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass, field
from functools import cached_property
from typing import Any, Literal

from halfroll.core.conditions import Conditions
from halfroll.core.uncertainty import coverage_factor
from halfroll.core.verdicts import Severity, Verdict, worst
from halfroll.measure.analysis.distortion import ThdReference as ThdReference

LimitRule = Literal["effective", "minus_10", "minus_6", "minus_3"]
Bound = Literal["upper", "lower"]
Spread = Literal["own", "pooled"]
Known = Literal["known", "pooled", "one unit", "one take", "assumptions", "none"]
Source = Literal["measured", "predicted", "published"]


@dataclass(frozen=True, kw_only=True)
class FigureSettings:
    """How figures are read; stated beside every number.

    Parameters
    ----------
    sensitivity_band_hz
        Band of the characteristic sensitivity (Hz).
    distortion_band_hz
        Band of mean and worst distortion (Hz).
    limit_rule
        Rule of the lower and upper limit; ``effective`` is IEC 60268-5 cl. 21.2.
    thd_reference
        THD over the total pressure (IEC 60268-5 cl. 24.1) or over the fundamental.
    level_w
        Drive, as power into the rated impedance (W), at which versions are compared.
    level_tolerance_db
        How far a take's drive may lie from `level_w` and still count as that level (dB).
    """

    sensitivity_band_hz: tuple[float, float] = (200.0, 2000.0)
    distortion_band_hz: tuple[float, float] = (40.0, 150.0)
    limit_rule: LimitRule = "effective"
    thd_reference: ThdReference = "total"
    level_w: float = 1.0
    level_tolerance_db: float = 0.5

    def as_dict(self) -> dict[str, Any]:
        """Plain values for JSON and cache keys."""
        return asdict(self)


@dataclass(frozen=True, kw_only=True)
class Reading:
    """One figure read from one take.

    Parameters
    ----------
    value
        In the rule's unit; None when it could not be read (then `missing` says why).
    u
        Standard uncertainty from noise and room inside this take; None when unknown.
    u_room, u_fixed
        The parts of `u` that repeating the take does not show: what the room brings, and what else stays the same,
        such as orders under the noise.
    dof
        Degrees of freedom behind `u` where it comes from a fit; None where they are many or not known.
    bound
        ``upper``: the true value is at most this; ``lower``: at least.
    at_hz
        Frequency the value belongs to, where that matters.
    missing
        Why there is no value, one sentence.
    cautions
        What must be said beside it.
    shares
        Of a prediction: what each assumption does to the value for one standard uncertainty of it, (key, signed change), largest first. A key
        is that of an assumption other versions share, or has the version's name before it.
    """

    value: float | None = None
    u: float | None = None
    u_room: float = 0.0
    u_fixed: float = 0.0
    dof: float | None = None
    bound: Bound | None = None
    at_hz: float | None = None
    missing: str = ""
    cautions: tuple[str, ...] = ()
    shares: tuple[tuple[str, float], ...] = ()

    def as_dict(self) -> dict[str, Any]:
        """Plain values for JSON."""
        return asdict(self)

    @staticmethod
    def from_dict(raw: dict[str, Any]) -> Reading:
        """The inverse of `as_dict`."""
        shares = tuple((key, share) for key, share in raw.get("shares", ()))
        return Reading(**{**raw, "cautions": tuple(raw["cautions"]), "shares": shares})


@dataclass(frozen=True, kw_only=True)
class TakeReadings:
    """All that the figures need of one take, light enough to keep for thousands.

    Parameters
    ----------
    take_id
        ``driver/version/unit/take``, or of a run ``driver/version/unit/kind/name``.
    when
        ISO date and time of the take.
    rig
        Name of the rig record.
    conditions
        Conditions of the take.
    readings
        By figure key.
    verdicts
        What analysis said.
    gate_s, valid_from_hz
        Gate used, and the limit it brings.
    microphone_u_db, voltage_u_db
        Standard uncertainty of the rig's scales (dB), shared by all takes on that rig.
    current_u_db, current_shares_voltage
        The same for the current, apart from what it shares with the voltage, and whether it does.
    calibration_dates
        Dates of the calibrations of microphone, voltage and current it used; takes with the same ones share their error.
    valid_hz
        Range the sweep covers reliably (Hz); None when not known.
    excluded
        Reason given in the record for leaving it out; empty when it counts.
    source
        Recorded, or computed from a design.
    kind
        ``take``, or the kind of run it is (``impedance``, ``tones``); a figure counts only readings of its own kind.
    mounting
        Of a run: how the driver was mounted, where that moves its figures.
    """

    take_id: str
    when: str
    rig: str
    conditions: Conditions
    readings: dict[str, Reading]
    verdicts: tuple[Verdict, ...] = ()
    gate_s: float | None = None
    valid_from_hz: float = 0.0
    valid_hz: tuple[float, float] | None = None
    calibrated: bool = True
    microphone_u_db: float = 0.0
    voltage_u_db: float = 0.0
    current_u_db: float = 0.0
    current_shares_voltage: bool = False
    calibration_dates: tuple[str, str, str] = ("", "", "")
    excluded: str = ""
    source: Source = "measured"
    kind: str = "take"
    mounting: str = ""

    @property
    def usable(self) -> bool:
        """Whether it counts in figures."""
        return not self.excluded and worst(self.verdicts) < Severity.BAD

    @cached_property
    def unit_id(self) -> str:
        """``driver/version/unit``."""
        return "/".join(self.take_id.split("/", 3)[:3])


@dataclass(frozen=True, kw_only=True)
class Figure:
    """One number of the trade for one version, with where it came from.

    Parameters
    ----------
    key, label, unit
        Which figure, how it is called, its unit (``dB``, ``Hz``, ``%``, ``ohm``, ``octaves``).
    value
        Mean of the unit means; None when unavailable (`missing` says why).
    u
        Combined standard uncertainty; None when the spread is unknown.
    dof
        Effective degrees of freedom of `u` (Welch-Satterthwaite).
    u_calibration
        The share of `u` that comes from the rig's scales.
    bound
        The value is an upper or a lower bound.
    spread_within
        Standard deviation of repeated takes within a unit (pooled); None with single takes.
    spread_between
        Standard deviation of unit means; None with one unit.
    n_units, n_takes
        How many counted; 0 for what is predicted.
    spread
        ``known`` from this version's own units; ``pooled``: taken from all versions of the comparison; ``one unit``:
        `u` speaks for that unit only; ``one take``: `u` is None, the spread is unknown, not zero; ``assumptions``: predicted,
        `u` is what the assumptions bring; ``none``: no takes.
    at_hz
        Frequency the value belongs to, where that matters.
    rule
        The rule in words with band, weighting and level.
    source
        ``measured``, ``predicted`` or ``published``.
    from_takes
        The takes it came from.
    """

    key: str
    label: str
    unit: str
    value: float | None = None
    u: float | None = None
    dof: float | None = None
    u_calibration: float = 0.0
    bound: Bound | None = None
    spread_within: float | None = None
    spread_between: float | None = None
    n_units: int = 0
    n_takes: int = 0
    spread: Known = "none"
    at_hz: float | None = None
    rule: str = ""
    conditions: dict[str, Any] = field(default_factory=dict)
    source: Source = "measured"
    missing: str = ""
    cautions: tuple[str, ...] = ()
    from_takes: tuple[str, ...] = ()
    unit_means: tuple[tuple[str, float], ...] = ()

    @property
    def expanded(self) -> float | None:
        """Half-width of the 95 % interval of `value`, t(dof) u; None when `u` is."""
        if self.u is None or self.dof is None:
            return None
        return coverage_factor(self.dof) * self.u

    def as_dict(self) -> dict[str, Any]:
        """The machine interface's shape: value, u, unit, conditions, from, and what must be said."""
        raw = asdict(self)
        raw["expanded_95"] = self.expanded
        raw["dof"] = None if self.dof is None or math.isinf(self.dof) else self.dof
        raw["from"] = list(raw.pop("from_takes"))
        raw["unit_means"] = dict(self.unit_means)
        return raw
