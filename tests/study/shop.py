"""A version with a whole design: a ring magnet, a coil, a half roll and a spider of corrugations."""

from __future__ import annotations

from halfroll.workshop import Workshop
from tests.app.samples import knot_with_motor

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
