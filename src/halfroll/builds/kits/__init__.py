"""Kits: what a batch takes from stock and shops, what one costs, and booking what was packed."""

from halfroll.builds.kits.packing import movements_of, pack
from halfroll.builds.kits.plan import check_number, plan
from halfroll.builds.kits.types import KitNeed, KitPart, KitPlan, KitPrice, PriceLine

__all__ = [
    "KitNeed",
    "KitPart",
    "KitPlan",
    "KitPrice",
    "PriceLine",
    "check_number",
    "movements_of",
    "pack",
    "plan",
]
