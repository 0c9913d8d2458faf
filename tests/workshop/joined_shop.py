"""A workshop that holds the demonstration's vented unit and nothing else."""

from pathlib import Path

from halfroll.driver.demo.scenario import SECOND_RIG
from halfroll.workshop import Workshop
from halfroll.workshop.demo import _rig_record
from halfroll.workshop.demo_joined import add_joined


def vented_workshop(folder: Path) -> Workshop:
    """Three takes and a joined response of one unit, by the demonstration's own means."""
    workshop = Workshop.init(folder, "Saltmarsh Workshop", durable=False)
    workshop.create_rig(SECOND_RIG.name, _rig_record(SECOND_RIG))
    add_joined(workshop, 2026)
    return workshop
