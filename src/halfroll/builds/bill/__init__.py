"""What a version is made of and costs, and what of an older one carries over to it."""

from halfroll.builds.bill.bill import Bill, bill_of
from halfroll.builds.bill.carry import Carried, CarryOver, carry_over
from halfroll.builds.bill.costing import PricedLine
from halfroll.builds.bill.exchange import Exchange, offers_of, suppliers_of

__all__ = [
    "Bill",
    "Carried",
    "CarryOver",
    "Exchange",
    "PricedLine",
    "bill_of",
    "carry_over",
    "offers_of",
    "suppliers_of",
]
