"""The integer programme behind a shopping list: whole packs, postage once a supplier, free from a value of goods on.

    minimise    sum_o price_o x_o + sum_s postage_s (y_s - z_s)
    such that   sum over the offers of part p of pack_o x_o / need_p >= 1        every need is met
                x_o <= most_o y_s(o)                                             who sells is written to
                sum over the offers of s of value_o x_o >= free_from_s z_s       free only from the value on
                z_s <= y_s,   x whole and 0 or more,   y and z 0 or 1

A need is met when no more than a millionth of it is lacking: no ruler or balance of a workshop tells that. Prices come as whole
numbers of one small unit, so that sums are exact and "lowest" is not a matter of the last bit.

`most_o` is not any large number but the most packs that can be in a cheapest answer: those that meet the need alone and, where a value
of goods saves the postage, as many more as the postage would pay for. It keeps the programme tight and the solver's tolerance harmless.

Solved by HiGHS (branch and cut) through `scipy.optimize.milp`. Of answers that cost the same, further programmes choose: fewest
left-overs (in shares of the needs), then fewest suppliers, then the first names.
"""

from __future__ import annotations

import math
import time
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from numpy.typing import NDArray

LACKING_SHARE = 1e-6
"""So much of a need may be lacking and it still is met."""


@dataclass(frozen=True, kw_only=True)
class Programme:
    """A case in whole numbers of money; offers and suppliers in the order that breaks the last tie.

    Parameters
    ----------
    needs
        By part, all above 0.
    part, seller
        Of each offer, which part and which supplier; shape (offers,).
    pack
        What a pack holds, in the unit of the need.
    price
        Of a pack, in the money of the list.
    value
        Of a pack, in the supplier's money, where a value counts.
    postage
        By supplier, in the money of the list.
    free_from
        By supplier, in the supplier's money; None where postage is never free.
    """

    needs: tuple[float, ...]
    part: tuple[int, ...]
    seller: tuple[int, ...]
    pack: tuple[float, ...]
    price: tuple[int, ...]
    value: tuple[int, ...]
    postage: tuple[int, ...]
    free_from: tuple[int | None, ...]

    def most(self) -> list[int]:
        """The most packs of each offer that can be in a cheapest answer."""
        return [self._most_of(offer) for offer in range(len(self.part))]

    def _most_of(self, offer: int) -> int:
        alone = max(1, math.ceil(self.needs[self.part[offer]] * (1.0 - LACKING_SHARE) / self.pack[offer]))
        seller = self.seller[offer]
        if self.free_from[seller] is None or self.price[offer] <= 0:
            return alone
        return alone + self.postage[seller] // self.price[offer]

    def cost(self, packs: Sequence[int]) -> int:
        """What packs cost with postage."""
        goods = sum(price * n for price, n in zip(self.price, packs, strict=True))
        return goods + sum(self.postage_of(packs))

    def postage_of(self, packs: Sequence[int]) -> list[int]:
        """Postage by supplier: nothing where nothing is bought or the goods are worth enough."""
        value = [0] * len(self.postage)
        bought = [False] * len(self.postage)
        for offer, n in enumerate(packs):
            value[self.seller[offer]] += self.value[offer] * n
            bought[self.seller[offer]] |= n > 0
        return [
            0 if not bought[s] or (free is not None and value[s] >= free) else self.postage[s]
            for s, free in enumerate(self.free_from)
        ]

    def got(self, packs: Sequence[int]) -> list[float]:
        """What packs hold, by part."""
        held = [0.0] * len(self.needs)
        for offer, n in enumerate(packs):
            held[self.part[offer]] += self.pack[offer] * n
        return held


@dataclass(frozen=True)
class Answer:
    """Packs of each offer; `gap` is what a cheaper answer could save at most, 0 when the lowest cost is proved."""

    packs: tuple[int, ...]
    gap: float = 0.0


def solve(case: Programme, *, seconds: float) -> Answer:
    """The packs to buy at the lowest cost, within a time; after it the best answer found with what it may be off at most."""
    if not case.needs:
        return Answer((0,) * len(case.part))
    ends = time.monotonic() + seconds
    model = _Model(case)
    packs, bound = model.least(model.cost, (), seconds)
    best = min([_each_alone(case), *([packs] if packs else [])], key=case.cost)
    cost = case.cost(best)
    gap = max(0.0, cost - max(bound, _shares_alone(case)))
    if gap >= 0.5:  # costs are whole numbers
        return Answer(best, gap)
    capped: tuple[_Cap, ...] = (_Cap(model.cost, cost + 0.25 * model.step),)
    for objective, room in ((model.left, 1e-7), (model.sellers, 0.5), (model.names, 0.0)):
        packs, _ = model.least(objective, capped, max(0.0, ends - time.monotonic()))
        if packs is None or case.cost(packs) > cost:
            break  # out of time: equal in cost is what counts
        best = packs
        capped = (*capped, _Cap(objective, model.at(objective, packs) + room))
    return Answer(best)


@dataclass(frozen=True)
class _Cap:
    """A weighted sum of the unknowns that must not exceed a limit."""

    weights: NDArray[Any]
    limit: float


class _Model:
    """The programme as matrices; unknowns in the order x (offers), y (suppliers), z (suppliers)."""

    def __init__(self, case: Programme) -> None:
        import numpy as np

        self.case = case
        self.offers, self.suppliers = len(case.part), len(case.postage)
        self.most = case.most()
        size = self.offers + 2 * self.suppliers
        self.step = float(math.gcd(*case.price, *case.postage) or 1)
        postage = np.array(case.postage, dtype=float)
        self.cost = np.concatenate([np.array(case.price, dtype=float), postage, -postage])
        self.left = np.zeros(size)
        self.left[: self.offers] = [case.pack[o] / case.needs[case.part[o]] for o in range(self.offers)]
        self.sellers = np.zeros(size)
        self.sellers[self.offers : self.offers + self.suppliers] = 1.0
        self.names = np.zeros(size)
        self.names[: self.offers] = np.arange(1, self.offers + 1)
        self._rules = self._constraint_rows()

    def _constraint_rows(self) -> Any:
        import numpy as np
        from scipy.optimize import LinearConstraint
        from scipy.sparse import coo_array

        case, offers, sellers = self.case, self.offers, self.suppliers
        rows: list[tuple[int, int, float]] = [(case.part[o], o, self.left[o]) for o in range(offers)]
        low = [1.0 - LACKING_SHARE] * len(case.needs)
        for o in range(offers):
            rows += [(len(low), o, -1.0), (len(low), offers + case.seller[o], float(self.most[o]))]
            low.append(0.0)
        for s in range(sellers):
            rows += [(len(low), offers + s, 1.0), (len(low), offers + sellers + s, -1.0)]
            low.append(0.0)
            free = case.free_from[s]
            if free:  # in shares of the value, so that all rows are of one size
                own = [o for o in range(offers) if case.seller[o] == s]
                rows += [(len(low), o, case.value[o] / free) for o in own]
                rows.append((len(low), offers + sellers + s, -1.0))
                low.append(0.0)
        at, of, weight = zip(*rows, strict=True)
        matrix = coo_array((weight, (at, of)), shape=(len(low), offers + 2 * sellers)).tocsr()
        return LinearConstraint(matrix, np.array(low), np.full(len(low), np.inf))

    def least(
        self, objective: NDArray[Any], caps: Sequence[_Cap], seconds: float
    ) -> tuple[tuple[int, ...] | None, float]:
        """The packs of the smallest `objective`, None if none were found in time, and the bound below which none can be."""
        import numpy as np
        from scipy.optimize import Bounds, LinearConstraint, milp

        if seconds <= 0.0:
            return None, -math.inf
        scale = self.step if objective is self.cost else 1.0
        free = [1.0 if limit is not None else 0.0 for limit in self.case.free_from]
        upper = np.array([*self.most, *[1.0] * self.suppliers, *free])
        extra = [
            LinearConstraint(cap.weights[None, :] / self._scale(cap), -np.inf, cap.limit / self._scale(cap))
            for cap in caps
        ]
        found = milp(
            objective / scale, integrality=np.ones(len(objective)), bounds=Bounds(0.0, upper),
            constraints=[self._rules, *extra], options={"mip_rel_gap": 0.0, "time_limit": seconds},
        )  # fmt: skip
        bound = -math.inf if found.mip_dual_bound is None else float(found.mip_dual_bound) * scale
        if found.x is None:
            return None, bound
        packs = tuple(round(float(x)) for x in found.x[: self.offers])
        return (packs if self._met(packs) else None), bound

    def _scale(self, cap: _Cap) -> float:
        return self.step if cap.weights is self.cost else 1.0

    def _met(self, packs: Sequence[int]) -> bool:
        """Whether whole packs meet every need; the solver's own tolerance is as large as `LACKING_SHARE`."""
        return all(
            got >= need * (1.0 - 2.5 * LACKING_SHARE)
            for got, need in zip(self.case.got(packs), self.case.needs, strict=True)
        )

    def at(self, objective: NDArray[Any], packs: Sequence[int]) -> float:
        """The value of an objective for packs, each supplier bought from being written to."""
        sellers = {self.case.seller[o] for o, n in enumerate(packs) if n}
        y = [1.0 if s in sellers else 0.0 for s in range(self.suppliers)]
        return float(sum(w * v for w, v in zip(objective, [*packs, *y], strict=False)))


def _each_alone(case: Programme) -> tuple[int, ...]:
    """Every part from the one offer that is cheapest for it: an answer that always stands, if no better comes in time."""
    packs = [0] * len(case.part)
    for part in range(len(case.needs)):
        own = [o for o in range(len(case.part)) if case.part[o] == part]
        alone = {o: max(1, math.ceil(case.needs[part] * (1.0 - LACKING_SHARE) / case.pack[o])) for o in own}
        chosen = min(own, key=lambda o: (alone[o] * case.price[o], o))
        packs[chosen] = alone[chosen]
    return tuple(packs)


def _shares_alone(case: Programme) -> float:
    """A cost below which no list can be: each need at its cheapest price by share of a pack, without postage."""
    cheapest = [math.inf] * len(case.needs)
    for part, pack, price in zip(case.part, case.pack, case.price, strict=True):
        cheapest[part] = min(cheapest[part], price * case.needs[part] * (1.0 - 2.5 * LACKING_SHARE) / pack)
    return sum(cheapest)
