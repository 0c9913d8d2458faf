"""What is said about a coil as wound."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from halfroll.core.text import THIN
from halfroll.core.verdicts import Severity, Verdict
from halfroll.materials.types import Conductor
from halfroll.motor.coil.design import CoilDesign


def coil_verdicts(design: CoilDesign, lying: Sequence[int], former_height_m: float) -> tuple[Verdict, ...]:
    """Verdicts on a design whose turns lie like this."""
    return tuple(_found(design, lying, former_height_m))


def _found(design: CoilDesign, lying: Sequence[int], former_height_m: float) -> Iterator[Verdict]:
    if isinstance(design.former, Conductor):
        yield Verdict(
            code="former-shorts", severity=Severity.CAUTION, data={"former": design.former.key},
            text=f"The former is of {design.former.title}: closed around, it is a shorted turn that moves with the coil and damps it.",
            remedy="Leave a slit along the whole former and do not bridge it.",
        )  # fmt: skip
    if design.layers % 2:
        yield Verdict(
            code="lead-at-far-end", severity=Severity.CAUTION, data={"layers": design.layers},
            text=f"With {design.layers} {'layer' if design.layers == 1 else 'layers'} the wire ends at the far end from where it began; "
            "the lead must come back along the winding. Over it that takes a wire's thickness of clearance, which is not reckoned.",
            remedy="Wind an even number of layers, or print a groove for the lead into the former.",
        )  # fmt: skip
    full = full_layers(design.layers, max(lying), design.packing)
    if tuple(lying) != full:
        yield Verdict(
            code="layers-not-full", severity=Severity.NOTE, data={"layer_turns": list(lying)},
            text=f"The layers have {', '.join(map(str, lying))} turns: not all of them are full.",
            remedy=f"{sum(full)} turns would fill them.",
        )  # fmt: skip
    if design.packing == "nested" and design.layers > 1:
        yield Verdict(
            code="nested-crossings", severity=Severity.NOTE,
            text="Nested turns cross the ones below once in every turn, and there the layers are a full wire apart; "
            "the clearance is reckoned with that.",
            remedy="Let all crossings lie under each other in one line.",
        )  # fmt: skip
    if design.former_height_m is None:
        yield Verdict(
            code="former-length-assumed", severity=Severity.NOTE, data={"former_height_mm": 1e3 * former_height_m},
            text=f"No length of the former is given; {1e3 * former_height_m:.1f}{THIN}mm, the winding and 5{THIN}mm, were taken for its mass.",
            remedy="Enter former_height_mm.",
        )  # fmt: skip


def full_layers(layers: int, longest: int, packing: str) -> tuple[int, ...]:
    """Turns of layers that are all full."""
    return tuple(longest - (i % 2 if packing == "nested" else 0) for i in range(layers))
