"""What of an older version carries over to a newer one, and what the step costs somebody who has built the older."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass, field, replace
from typing import TYPE_CHECKING, Any, Literal

from halfroll.builds.bill.amounts import Amounts, amounts_of
from halfroll.builds.bill.bill import check_units, title_of
from halfroll.builds.bill.costing import Costing, PricedLine, Spread, needs_of, shop, shopping_dict
from halfroll.builds.bill.matching import APARTS, Apart, Matching, match
from halfroll.builds.bill.rework import check_rings, rework_of, said_of_sources
from halfroll.builds.types import BillLine, ShoppingList
from halfroll.core.errors import choose
from halfroll.core.progress import Progress, part, silent
from halfroll.core.text import join_words
from halfroll.core.verdicts import Severity, Verdict
from halfroll.workshop.faults import fault_at
from halfroll.workshop.paths import parent_id

if TYPE_CHECKING:
    from halfroll.workshop.store import Workshop

Fate = Literal["stays", "reworked", "new", "left over"]


@dataclass(frozen=True, kw_only=True)
class Carried:
    """One line, or so many pieces of it, and what becomes of it in one driver.

    Parameters
    ----------
    fate
        What becomes of it.
    line
        The line of the new version, of what is left over that of the old, with the amount and pieces this is about.
    old
        Key of the line of the old version it comes from; empty for what is new.
    cost
        Share of the usual offer; of what is reworked what the rework costs, of what is left over what it is worth. None where unknown.
    note
        What a person should know: from which part it is made, what it is stuck to.
    """

    fate: Fate
    line: BillLine
    old: str = ""
    cost: float | None = None
    note: str = ""

    def as_dict(self) -> dict[str, Any]:
        """For a machine."""
        return {"fate": self.fate, **asdict(self.line), "old": self.old, "cost": self.cost, "note": self.note}


@dataclass(frozen=True, kw_only=True)
class CarryOver:
    """The step from one version to another for somebody who has built `units` of the old one.

    Parameters
    ----------
    lines
        Of one driver: what stays, what is reworked, what is new, what is left over.
    step, fresh
        Material and printing of one driver: of the step, and of the new version from nothing. Work is in neither.
    buy, buy_fresh
        Whole packs for `units` drivers of the step, and of the new version from nothing.
    to_pay, to_pay_fresh
        Those with printing and rework.
    printed_g, print_hours
        Of the step, for all `units`.
    worth_left
        What is left over of one driver is worth, at its share of usual offers.
    """

    old_id: str
    new_id: str
    titles: tuple[str, str]
    units: int
    apart: Apart
    currency: str | None
    lines: tuple[Carried, ...]
    step: Spread
    fresh: Spread
    buy: ShoppingList | None
    buy_fresh: ShoppingList | None
    to_pay: float | None
    to_pay_fresh: float | None
    printed_g: float
    print_hours: float
    worth_left: float
    verdicts: tuple[Verdict, ...] = field(default=())

    def of(self, fate: Fate) -> tuple[Carried, ...]:
        """The lines of one fate."""
        return tuple(one for one in self.lines if one.fate == fate)

    def as_dict(self) -> dict[str, Any]:
        """For a machine; sums are in `currency`."""
        return {
            "old": self.old_id, "new": self.new_id, "units": self.units, "apart": self.apart, "currency": self.currency,
            "step": asdict(self.step), "from_nothing": asdict(self.fresh), "to_pay": self.to_pay, "to_pay_from_nothing": self.to_pay_fresh,
            "printed_g": self.printed_g, "print_hours": self.print_hours, "worth_left_over": self.worth_left,
            "lines": [one.as_dict() for one in self.lines], "buy": shopping_dict(self.buy),
            "buy_from_nothing": shopping_dict(self.buy_fresh), "verdicts": [one.as_dict() for one in self.verdicts],
        }  # fmt: skip


def carry_over(
    workshop: Workshop, old_id: str, new_id: str, *, units: int = 1, today: dt.date, apart: Apart = "unglued",
    stock: Mapping[str, float] | None = None, progress: Progress = silent,
) -> CarryOver:  # fmt: skip
    """What carries over between any two versions, also of different drivers.

    Parameters
    ----------
    units
        Drivers of the old version that were built and are to become as many of the new one.
    apart
        Whether parts are taken off each other where they are glued.
    stock
        What lies in the drawer, by part, in its unit; it is used before anything is bought.

    Raises
    ------
    InputError
        There is no such version, it has neither a design nor a bill, parents or ``made_from`` run in a ring, or `units` is no number of
        drivers.
    """
    check_units(units)
    choose(apart, APARTS, field="How parts come apart", key="apart")
    for version_id in (old_id, new_id):
        check_parents(workshop, version_id)
    costing = Costing.of(workshop)
    check_rings(costing.owned)
    old = amounts_of(workshop, old_id, owned=costing.owned, progress=part(progress, 0.0, 0.5))
    new = amounts_of(workshop, new_id, owned=costing.owned, progress=part(progress, 0.5, 1.0))
    found = match(old, new, apart)
    lines = tuple(_carried(old, new, found, costing))
    return _summed(lines, old, new, found, costing, units=units, apart=apart, stock=stock or {},
                   titles=(title_of(workshop, old_id), title_of(workshop, new_id)))  # fmt: skip


def check_parents(workshop: Workshop, version_id: str) -> None:
    """Refuse a version whose parents lead back to itself; the files in the ring are named."""
    there = set(workshop.version_ids())
    line: list[str] = []
    at: str | None = workshop.existing(version_id, "version")
    while at in there and at not in line:
        line.append(at)
        at = parent_id(at, workshop.version(at).record.parent)
    if at not in line:
        return
    ring = [workshop.version(one) for one in line[line.index(at) :]]
    first = ring[0]
    raise fault_at(
        first.path, ("parent",), "A version must not come from itself",
        found=" from ".join([*(one.id for one in ring), at]) + f", in {', '.join(str(one.path) for one in ring)}",
        remedy="Correct parent in one of these files",
    )  # fmt: skip


def _carried(old: Amounts, new: Amounts, found: Matching, costing: Costing) -> Iterator[Carried]:
    """Line by line of the new version, then what is left of the old."""
    spare = {one.key: one.pieces for one in old.lines}
    for match_ in found.stays:
        spare[match_.old] -= match_.pieces
    free = {key: pieces for key, pieces in spare.items() if key not in found.stuck}
    rest: list[Carried] = []
    for line in new.lines:
        lacking = line.pieces
        for one in (one for one in found.stays if one.new == line.key):
            lacking -= one.pieces
            moved = "" if one.old == one.new else f"was the {one.old}"
            yield Carried(fate="stays", line=_of(line, one.pieces), old=one.old, cost=0.0, note=moved)
        if lacking <= 0.0:
            continue
        for rework in rework_of(line, lacking, old, free, costing):
            free[rework.old] -= rework.pieces
            spare[rework.old] -= rework.pieces
            lacking -= rework.pieces
            yield Carried(
                fate="reworked",
                line=_of(line, rework.pieces),
                old=rework.old,
                cost=rework.cost,
                note=rework.said,
            )
        if lacking > 0.0:
            made = costing.priced(_of(line, lacking))
            rest.append(Carried(fate="new", line=made.line, cost=made.usual))
    yield from rest
    for line in old.lines:
        if spare[line.key] > 0.0 and line.kind != "glue":
            over = costing.priced(_of(line, spare[line.key]))
            stuck = found.stuck.get(line.key, ())
            yield Carried(
                fate="left over",
                line=over.line,
                old=line.key,
                cost=over.usual,
                note=f"glued to {', '.join(stuck)}" if stuck else "",
            )


def _of(line: BillLine, pieces: float) -> BillLine:
    """So many pieces of a line."""
    share = pieces / line.pieces
    hours = None if line.hours is None else share * line.hours
    return replace(
        line, pieces=pieces, amount=share * line.amount, u_amount=share * line.u_amount, hours=hours
    )


def _summed(
    lines: tuple[Carried, ...], old: Amounts, new: Amounts, found: Matching, costing: Costing, *, units: int, apart: Apart,
    stock: Mapping[str, float], titles: tuple[str, str],
) -> CarryOver:  # fmt: skip
    made = [one.line for one in lines if one.fate == "new"]
    rework = sum(one.cost or 0.0 for one in lines if one.fate == "reworked")
    hours, all_hours = (sum(one.hours or 0.0 for one in some) for some in (made, new.lines))
    printing, all_printing = costing.printer_per_hour * hours, costing.printer_per_hour * all_hours
    buy = shop(_less(needs_of(made, units), stock), costing)
    fresh = shop(_less(needs_of(new.lines, units), stock), costing)
    priced: list[PricedLine] = [costing.priced(one) for one in made]
    return CarryOver(
        old_id=old.version.id, new_id=new.version.id, titles=titles, units=units, apart=apart, currency=costing.currency, lines=lines,
        step=Spread.over(priced, printing + rework), fresh=Spread.over([costing.priced(one) for one in new.lines], all_printing),
        buy=buy, buy_fresh=fresh, to_pay=None if buy is None else buy.total + units * (printing + rework),
        to_pay_fresh=None if fresh is None else fresh.total + units * all_printing,
        printed_g=units * sum(one.amount for one in made if one.kind == "printed" and one.unit == "g"), print_hours=units * hours,
        worth_left=sum(one.cost or 0.0 for one in lines if one.fate == "left over"), verdicts=(*_magnets(old, new, apart, costing), *said_of_sources((one.line for one in lines if one.fate == "new"), costing.owned),
                  *_verdicts(lines, new, found, buy)),
    )  # fmt: skip


def _less(needs: Mapping[str, float], stock: Mapping[str, float]) -> dict[str, float]:
    return {key: max(0.0, amount - max(0.0, stock.get(key, 0.0))) for key, amount in needs.items()}


def _magnets(old: Amounts, new: Amounts, apart: Apart, costing: Costing) -> Iterator[Verdict]:
    """A caution where glued magnets have to be taken off something."""
    if apart != "all":
        return
    motor = old.version.record.motor
    magnetised = set() if motor is None else {one.name for one in motor.parts if one.magnetised is not None}
    typed = {
        one.key
        for one in old.lines
        if one.part_id and costing.owned.parts[one.part_id].record.type == "magnet"
    }
    moved = [key for key in match(old, new, "unglued").stuck if key in magnetised | typed]
    if moved:
        yield Verdict(
            code="magnets-apart", severity=Severity.CAUTION, data={"parts": moved},
            text=f"Glued magnets must be forced off: {join_words(moved)}. They chip into the eyes, pinch, and lose strength when they are heated "
                 "or knocked.",
            remedy="Wear eye protection, slide instead of prying, keep steel and other magnets away, heat no glue; better leave them together",
        )  # fmt: skip


def _verdicts(
    lines: tuple[Carried, ...], new: Amounts, found: Matching, buy: ShoppingList | None
) -> Iterator[Verdict]:
    wanted = {one.line.shape for one in lines if one.fate == "new"}
    lost = [
        one
        for one in lines
        if one.fate == "left over" and one.line.key in found.stuck and one.line.shape in wanted
    ]
    if lost:
        names = ", ".join(one.line.key for one in lost)
        yield Verdict(
            code="glued-together", severity=Severity.NOTE, data={"parts": [one.line.key for one in lost]},
            text=f"{names} would fit, but {'is' if len(lost) == 1 else 'are'} glued to something that does not.",
            remedy="Say opens = true of a seam in [[bill.glued]] that comes apart without harm, or count parts as not glued yet.",
        )  # fmt: skip
    yield from new.verdicts
    yield from () if buy is None else buy.verdicts
