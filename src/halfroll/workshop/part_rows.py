"""Parts of one's own in words: the rows of lists on screen and terminal."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from halfroll.core.text import THIN
from halfroll.core.verdicts import Verdict
from halfroll.materials.types import StockPart
from halfroll.workshop.part_cost import Cost, price_verdicts
from halfroll.workshop.part_record import PartRecord
from halfroll.workshop.parts import OwnParts
from halfroll.workshop.standing import Standing, amount_text
from halfroll.workshop.toml_write import plain


@dataclass(frozen=True, kw_only=True)
class PartLine:
    """One part in words; `amount` is what is in stock in the unit of the pack, `facts` are pairs of what and words, `verdicts` what should be
    known of price and stock.
    """

    id: str
    record: PartRecord
    part: StockPart
    what: str
    size: str
    material: str
    price: str
    stock: str
    amount: float | None
    date: str
    verdicts: tuple[Verdict, ...]

    @property
    def facts(self) -> list[tuple[str, str]]:
        """What there is to say, nothing empty."""
        pairs = [
            ("what", "" if self.what == self.part.title else self.what), ("size", self.size), ("material", self.material), ("price", self.price), ("stock", self.stock),
            ("supplier", self.record.supplier), ("priced", self.date), *(("also offered", words) for words in offer_words(self.record)),
            ("formerly", ", ".join(self.record.formerly)), ("made from", self.record.made_from or ""), ("notes", self.record.notes),
        ]  # fmt: skip
        return [(what, words) for what, words in pairs if words]

    def as_dict(self) -> dict[str, Any]:
        """For a machine; keys carry units."""
        part, record = self.part, self.record
        return {
            "id": self.id, "title": part.title, "type": record.type, "catalogue": record.catalogue, "shape": part.shape,
            "outer_mm": _mm(part.outer_m), "inner_mm": _mm(part.inner_m), "height_mm": _mm(part.height_m),
            "material": part.material, "wire": part.wire, "price": record.price, "currency": record.currency,
            "pack_size": record.pack_size, "pack_unit": record.pack_unit, "stock": self.amount, "supplier": record.supplier,
            "date": record.date, "offers": [plain(one) for one in record.offers], "formerly": list(record.formerly),
            "made_from": record.made_from, "made_from_cost": record.made_from_cost, "verdicts": [verdict.as_dict() for verdict in self.verdicts],
        }  # fmt: skip


def part_rows(own: OwnParts, today: dt.date, standings: Mapping[str, Standing]) -> list[PartLine]:
    """Every part that can be read with where it stands, in the order in which a person counts."""
    return [
        line_of(id_, loaded.record, own.catalogue.parts[id_], today, standings[id_])
        for id_, loaded in own.parts.items()
    ]


def line_of(id_: str, record: PartRecord, part: StockPart, today: dt.date, standing: Standing) -> PartLine:
    """One part in words."""
    what = part.title if part.title != id_ else record.type
    return PartLine(
        id=id_, record=record, part=part, what=what, size=size_words(part), material=part.wire or part.material or "",
        price=price_words(record), stock=stock_words(standing), amount=standing.amount,
        date="" if record.date is None else record.date.isoformat(), verdicts=(*price_verdicts(record, today, id_), *standing.verdicts),
    )  # fmt: skip


def material_rows(own: OwnParts) -> list[dict[str, str]]:
    """Every material that can be read: id, what it is, title, source."""
    return [
        {
            "id": id_,
            "what": loaded.record.what,
            "title": loaded.record.title or id_,
            "source": loaded.record.source,
        }
        for id_, loaded in own.materials.items()
    ]


def size_words(part: StockPart) -> str:
    """Diameters and height, ``20 × 5 mm``; empty where there is no shape."""
    if part.shape == "turned":
        height = max(z for _, z in part.profile_m) - min(z for _, z in part.profile_m)
        return f"turned, {2e3 * max(r for r, _ in part.profile_m):g} × {1e3 * height:g}{THIN}mm"
    if part.outer_m is None or part.height_m is None:
        return ""
    lengths = [part.outer_m, *([part.inner_m] if part.inner_m else []), part.height_m]
    return " × ".join(f"{1e3 * length:.4g}" for length in lengths) + f"{THIN}mm"


def price_words(record: PartRecord) -> str:
    """``8.40 EUR for 4``; empty without a price."""
    if record.price is None:
        return ""
    money = money_words(record.price, record.currency)
    one = record.pack_unit == "pieces" and record.pack_size == 1.0
    return money if one else f"{money} for {amount_words(record.pack_size, record.pack_unit)}"


def offer_words(record: PartRecord) -> list[str]:
    """What others ask, each in words."""
    return [
        f"{money_words(one.price, one.currency)} for {amount_words(one.pack_size, record.pack_unit)} from {one.supplier}"
        + (f" ({one.date.isoformat()})" if one.date else "")
        for one in record.offers
    ]


def money_words(value: float, currency: str | None) -> str:
    """A sum with its currency."""
    return f"{value:.2f}{THIN}{currency or ''}".rstrip()


def stock_words(standing: Standing) -> str:
    """What is in stock, ``12``, ``80 g``; empty where nobody ever said."""
    words = "" if standing.amount is None else amount_text(standing.amount, standing.unit)
    return words.removesuffix(" pieces").removesuffix(" piece")


def amount_words(amount: float | None, unit: str) -> str:
    """An amount with its unit, ``12``, ``80 g``."""
    if amount is None:
        return ""
    return f"{amount:.4g}" if unit == "pieces" else f"{amount:.4g}{THIN}{unit}"


def cost_words(cost: Cost) -> list[str]:
    """What an amount costs, in sentences."""
    amount = amount_words(cost.amount, cost.unit)
    words = []
    if cost.used is not None:
        words.append(f"{amount} is worth {money_words(cost.used, cost.currency)} of the pack's price.")
    if cost.packs == 0:
        words.append(f"Stock is enough; {amount_words(cost.left_over, cost.unit)} will be left.")
        return words
    price = "" if cost.to_pay is None else f" for {money_words(cost.to_pay, cost.currency)}"
    words.append(f"To buy: {cost.packs} {'pack' if cost.packs == 1 else 'packs'}{price}; "
                 f"{amount_words(cost.left_over, cost.unit)} will be left.")  # fmt: skip
    if cost.rounding:
        words.append(
            f"Of that {money_words(cost.rounding, cost.currency)} is for what lies over in the last pack."
        )
    return words


def _mm(metres: float | None) -> float | None:
    return None if metres is None else round(1e3 * metres, 6)
