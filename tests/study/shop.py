"""A version with a whole design: a ring magnet, a coil, a half roll and a spider of corrugations."""

from __future__ import annotations

from pathlib import Path

from halfroll.workshop import Workshop
from tests.app.samples import knot_with_motor
from tests.workshop.taught import lend, taught_once

VERSION = "knot/v1"


def designed(shop: Workshop) -> Workshop:
    """The workshop with ``knot/v1``, ready to be predicted."""
    from halfroll.app.suspension_draft import SuspensionDraft
    from halfroll.app.suspension_start import former_mm, start

    knot_with_motor(shop)
    draft = SuspensionDraft(shop, VERSION)
    draft.change(lambda data: data.update(start("roll", former_mm(draft.record))))
    draft.save()
    return shop


def predicted(shop: Workshop, shared: Path) -> Workshop:
    """The same, and what its prediction needs is in the index: worked out once for all workers, in a workshop with this design."""
    return lend(designed(shop), taught_once(shared)[0])
