"""A batch of kits as tables of words, the same on screen and terminal."""

from __future__ import annotations

from dataclasses import replace

from halfroll.builds.kits.types import KitPart, KitPlan, KitPrice
from halfroll.core.money import format_money
from halfroll.core.text import count, join_words
from halfroll.publish import bill_rows
from halfroll.publish.parameter_rows import Rows
from halfroll.workshop.standing import about_text, amount_text


def stock_words(planned: KitPlan) -> str:
    """How many kits the stock allows, and what limits that, in a sentence."""
    if not planned.parts:
        return "nothing goes into the bag."
    titles = {part.need.part_id: part.need.title for part in planned.parts}
    limit = join_words([titles[part] for part in planned.limiting])
    if planned.allowed >= planned.n:
        return (
            f"the stock is enough for {count(planned.allowed, 'kit')}; {limit} would be the first to run out."
        )
    return f"the stock allows {count(planned.allowed, 'kit')} of {planned.n}; {limit} {'limits' if len(planned.limiting) == 1 else 'limit'} it."


def part_rows(planned: KitPlan) -> Rows:
    """Each part: in one bag, for the batch, in stock, how many kits that allows, lacking."""
    head = ("Part", "Id", "In each bag", f"For {count(planned.n, 'kit')}", "In stock", "Allows", "Lacking")
    return Rows(head=head, rows=tuple(_part(part) for part in planned.parts), notes=_printed(planned))


def price_rows(price: KitPrice) -> Rows:
    """The lines of a price."""
    rows = tuple((line.what, format_money(line.amount, price.currency)) for line in price.lines)
    return Rows(head=("Of one kit", "Amount"), rows=rows, notes=())


def shopping_rows(planned: KitPlan) -> Rows:
    """What to buy where for the batch."""
    found = bill_rows.shopping_rows(
        planned.shopping, {part.need.part_id: part.need.title for part in planned.parts}
    )
    return found if found.rows or found.notes else replace(found, notes=("Nothing has to be bought.",))


def left_words(planned: KitPlan) -> str:
    """What is in stock after the batch, in a sentence."""
    needs = {part.need.part_id: part.need for part in planned.parts}
    left = [
        f"{about_text(amount, needs[part].unit)} of {needs[part].title}"
        for part, amount in planned.left_over.items()
    ]
    return f"Left over afterwards: {join_words(left)}." if left else "Nothing is left over."


def _part(part: KitPart) -> tuple[str, ...]:
    need = part.need
    return (
        need.title, need.part_id, about_text(need.per_kit, need.unit), about_text(part.needed, need.unit),
        "not counted" if part.stock is None else amount_text(part.stock, need.unit), count(part.allows, "kit"),
        about_text(part.lacking, need.unit) if part.lacking > 0 else "",
    )  # fmt: skip


def _printed(planned: KitPlan) -> tuple[str, ...]:
    if not planned.by_builder:
        return ()
    words = [f"{line.what} ({about_text(number * line.amount, 'g')})" for number, line in planned.by_builder]
    return (f"The builder prints {join_words(words)}.",)
