"""The version of the demonstration that is only drawn: what Saltmarsh means to build next, so that a prediction is seen."""

from __future__ import annotations

import datetime as dt
from typing import Any

from halfroll.workshop import demo_motors, demo_moving
from halfroll.workshop.motor_record import CoilTable, MotorTable
from halfroll.workshop.records import ChangeTable
from halfroll.workshop.store import Workshop

BEFORE, NAME = "avocet/v8", "v9"


def add_next(workshop: Workshop) -> None:
    """Avocet v9 as drawn: version 8 with a softer roll, a softer spider and more coil in the gap. It has neither unit nor take."""
    if BEFORE not in workshop.version_ids():
        return
    before = workshop.version(BEFORE).record
    motor, coil = demo_motors.designs()[BEFORE]
    tables: dict[str, dict[str, Any]] = demo_moving.designs()[BEFORE]
    surround = {**tables["surround"], "material": demo_moving.SOFT, "thickness_mm": 0.46}
    spider = {**tables["spider"], "thickness_mm": 0.45}
    record = before.changed(
        title="Grey roll, as drawn",
        parent=BEFORE.rpartition("/")[2],
        date=dt.date(2026, 7, 20),
        summary="Drawn, not printed: lower than version 8, but the prediction finds the spider hard where the cone now goes.",
        changes=tuple(ChangeTable(**change) for change in CHANGES),
        motor=MotorTable.model_validate(motor),
        coil=CoilTable.model_validate(coil | {"wire": "wire-020", "turns": 108}),
    )
    made = workshop.create_version(BEFORE.partition("/")[0], NAME, record)
    workshop.save(
        made, demo_moving.with_moving(made.record, {**tables, "surround": surround, "spider": spider})
    )


CHANGES = (
    {"what": "surround filament", "before": "TPU 95A, harder", "after": "TPU 95A, grey spool", "why": "its strips bent more softly"},
    {"what": "surround", "before": "half roll, 7 mm, 0.42 mm thick", "after": "half roll, 7 mm, 0.46 mm thick",
     "why": "a line more of the soft one, against tearing"},
    {"what": "spider", "before": "0.5 mm thick", "after": "0.45 mm thick", "why": "lower resonance"},
    {"what": "coil", "before": "100 turns, thick enamel", "after": "108 turns, thin enamel", "why": "more force in the same height"},
)  # fmt: skip
