"""The price of a kit from what it costs: margin, tax, postage, rounded so that the lines add up to the coin.

::

    cost     = materials + printing + packing
    net      = cost (1 + m)          margin m of the cost
             = cost / (1 - m)        margin m of the price
    tax      = t (net + postage)     where postage is taxed, else t net
    total    = net + postage + tax   rounded to the step

What rounding adds or takes lies in the margin: tax is reckoned back from the rounded total, so that it is right for what is paid.
Whether and how postage is taxed is for the law of the place; the record says it.
"""

from __future__ import annotations

import math

from halfroll.builds.kits.types import KitPrice, PriceLine
from halfroll.core.money import DECIMALS, rounded
from halfroll.workshop.kit_record import KitPriceTable


def price_of(table: KitPriceTable, *, materials: float, printing: float = 0.0, work: float = 0.0) -> KitPrice:
    """The price of one kit.

    Parameters
    ----------
    materials, printing, work
        Of one kit, in the currency of the table; `work` is that of packing.
    """
    money = table.currency
    costs = {
        "materials": rounded(materials, money),
        "printing": rounded(printing, money),
        "packing": rounded(table.packing + work, money),
    }
    cost = rounded(sum(costs.values()), money)
    m, t = table.margin_percent / 100.0, table.tax_percent / 100.0
    net = cost * (1.0 + m) if table.margin_of == "cost" else cost / (1.0 - m)
    postage = rounded(table.postage, money)
    taxed, untaxed = (postage, 0.0) if table.tax_on_postage else (0.0, postage)
    total = _to_step((net + taxed) * (1.0 + t) + untaxed, table)
    bare = rounded((total - untaxed) / (1.0 + t), money)
    tax = rounded(total - untaxed - bare, money)
    net = rounded(bare - taxed, money)
    margin = rounded(net - cost, money)
    words = {"materials": "parts and material", "printing": "printing", "packing": "packing"}
    lines = [PriceLine(key=key, what=words[key], amount=amount) for key, amount in costs.items() if amount]
    lines += [
        PriceLine(key="cost", what="cost", amount=cost, sum=True),
        PriceLine(key="margin", what=_margin_words(table), amount=margin),
        PriceLine(key="net", what="price before tax", amount=net, sum=True),
        PriceLine(key="postage", what="postage", amount=postage),
        PriceLine(key="tax", what=_tax_words(table), amount=tax),
        PriceLine(key="total", what="to pay", amount=total, sum=True),
    ]
    return KitPrice(
        currency=money, lines=tuple(lines), cost=cost, net=net, total=total,
        margin_of_cost_percent=100.0 * margin / cost if cost else None,
        margin_of_price_percent=100.0 * margin / net if net else None,
    )  # fmt: skip


def _to_step(amount: float, table: KitPriceTable) -> float:
    """The nearest step of the rounding, halves up; the smallest coin without one."""
    coin = 10.0 ** -DECIMALS[table.currency]
    step = max(table.rounding or coin, coin)
    return rounded(math.floor(amount / step + 0.5 + 1e-9) * step, table.currency)


def _margin_words(table: KitPriceTable) -> str:
    return f"margin, {table.margin_percent:g} % of the {table.margin_of} and rounding"


def _tax_words(table: KitPriceTable) -> str:
    on = " and postage" if table.tax_on_postage and table.postage else ""
    return f"{table.tax}, {table.tax_percent:g} % of the price{on}"
