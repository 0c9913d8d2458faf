"""What the parts of this room hand each other: a line of a bill, what can be bought, a band that is good, a fault that may be."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from halfroll.core.verdicts import Verdict
from halfroll.workshop.part_record import PackUnit

LineKind = Literal["bought", "printed", "wire", "glue"]


@dataclass(frozen=True, kw_only=True)
class BillLine:
    """One thing a driver is made of.

    Parameters
    ----------
    key
        What it is in the version, the same in other versions: ``magnet``, ``pole``, ``cone``, ``coil wire``.
    what
        The same in words for a person.
    kind
        How it comes into the driver.
    part_id
        The record in ``parts/`` it is bought by, of a printed part its spool's; None where there is none.
    amount, unit
        What one driver takes, in the unit the part is sold by.
    shape
        What makes it this and not another: of a bought thing its part, of a printed one a digest of dimensions, filament and print
        settings. Equal shapes can be carried over from one version to another.
    hours
        Hours of printing, of what is printed; None where nobody said.
    hours_source
        Where the hours come from: ``typed`` or ``estimated``.
    pieces
        How many single things the amount is of, where these can be told apart: screws, four spacers of one print.
    u_amount
        Standard uncertainty of `amount`.
    source
        Where the amount comes from: ``design``, ``computed``, ``slicer``, ``weighed``, ``typed``.
    """

    key: str
    what: str
    kind: LineKind
    part_id: str | None
    amount: float
    unit: PackUnit
    shape: str
    hours: float | None = None
    hours_source: str = ""
    pieces: float = 1.0
    u_amount: float = 0.0
    source: str = "design"


@dataclass(frozen=True, kw_only=True)
class Offer:
    """What a supplier sells: packs of `pack_size` `unit` of one part, which people call `title`, at a price of a day."""

    part_id: str
    supplier: str
    price: float
    currency: str
    pack_size: float
    date: dt.date | None = None
    unit: PackUnit = "pieces"
    title: str = ""

    @property
    def called(self) -> str:
        """The part's title, else its id."""
        return self.title or self.part_id


@dataclass(frozen=True, kw_only=True)
class Supplier:
    """What an order from a supplier costs beside the goods; from `free_from` on (goods, in `currency`) nothing."""

    name: str
    postage: float = 0.0
    free_from: float | None = None
    currency: str = ""


@dataclass(frozen=True, kw_only=True)
class Purchase:
    """So many packs of an offer."""

    offer: Offer
    packs: int

    @property
    def amount(self) -> float:
        """What they hold, in the part's unit."""
        return self.packs * self.offer.pack_size


@dataclass(frozen=True, kw_only=True)
class ShoppingList:
    """What to buy where at the lowest total.

    Parameters
    ----------
    purchases
        Packs, by supplier.
    postage
        By supplier, `currency`.
    goods, total
        In `currency`.
    left_over
        What is over afterwards, by part, in its unit.
    unmet
        Parts nobody sells, and what is lacking of each.
    """

    purchases: tuple[Purchase, ...]
    postage: Mapping[str, float]
    currency: str
    goods: float
    total: float
    left_over: Mapping[str, float]
    unmet: Mapping[str, float] = field(default_factory=dict)
    verdicts: tuple[Verdict, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Band:
    """What a good unit of a version reads: the middle, the standard deviation of single good units about it with what is not known of the
    middle, and the 95 % interval in which a good unit's reading lies.

    `key` carries the unit: ``re_ohm``, ``fs_hz``, ``moving_mass_g``, ``qms``, ``qes``, ``qts``, ``impedance_peak_ohm``,
    ``sensitivity_db``, ``rest_height_mm``. `u_unit` is the part of `u` that is another for every unit, `u_shared` the part that is the same for all.
    """

    key: str
    label: str
    unit: str
    value: float
    u_unit: float
    u_shared: float
    low: float
    high: float
    source: str
    n_units: int = 0
    verdicts: tuple[Verdict, ...] = ()

    @property
    def u(self) -> float:
        """Both parts together."""
        return float((self.u_unit**2 + self.u_shared**2) ** 0.5)


@dataclass(frozen=True, kw_only=True)
class Evidence:
    """One thing a builder read from a unit, its standard uncertainty, and how: ``multimeter``, ``scale``, ``phone``, ``ear`` ...

    Numbers carry their unit in the key as in `Band`; what is only seen is a number too: ``polarity`` +1 or -1, ``rub`` 0 to 1.
    `cut` where an unknown telephone heard it, whose bass filter is a part of `u` (`measure.phone.bands.bass_cuts`).
    """

    key: str
    value: float
    u: float
    how: str = ""
    cut: bool = False


@dataclass(frozen=True, kw_only=True)
class Suspect:
    """A fault that may be: how probable, how large (95 % interval in words), what speaks for and against it, what to do about it."""

    fault: str
    label: str
    probability: float
    size: str
    for_it: tuple[str, ...] = ()
    against_it: tuple[str, ...] = ()
    remedy: str = ""
    caution: str = ""


@dataclass(frozen=True, kw_only=True)
class NextReading:
    """A reading not taken yet that would tell suspects apart: how much of the doubt it would take away (0 to 1), and how to take it."""

    key: str
    label: str
    how: str
    gain: float
    apart: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class CheckResult:
    """One reading against its band: ``good``, ``outside``, or ``unsure`` when its own uncertainty reaches over the edge."""

    evidence: Evidence
    band: Band | None
    outcome: Literal["good", "outside", "unsure", "not judged"]
    text: str


@dataclass(frozen=True, kw_only=True)
class Diagnosis:
    """What is said of a builder's unit.

    Parameters
    ----------
    outcome
        ``no fault``, ``fault`` (the first suspects explain the readings), ``unclear`` (no single fault does: several at once, or one not
        known here), ``too little`` (what was read cannot tell).
    """

    outcome: Literal["no fault", "fault", "unclear", "too little"]
    checks: tuple[CheckResult, ...]
    suspects: tuple[Suspect, ...]
    next_readings: tuple[NextReading, ...]
    said: str
    verdicts: tuple[Verdict, ...] = ()
    data: dict[str, Any] = field(default_factory=dict)
