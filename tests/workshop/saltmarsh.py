"""The versions of the demonstration, bare: what its designs are to agree with, and records to put them into."""

from __future__ import annotations

from pathlib import Path

from halfroll.driver.demo.scenario import DRIVERS
from halfroll.workshop import DriverRecord, VersionRecord, Workshop
from halfroll.workshop.demo_joined import DRIVER as GODWIT

MODELS = {f"{d.name}/{v.name}": v.model for d in DRIVERS for v in d.versions} | {"godwit/v1": GODWIT}
"""What the demonstration measures, by the version's id."""


def bare_saltmarsh(folder: Path) -> Workshop:
    """A workshop with its drivers and versions, without designs and takes."""
    workshop = Workshop.init(folder, "Saltmarsh", durable=False)
    for driver in {version.split("/")[0]: None for version in MODELS}:
        workshop.create_driver(driver, DriverRecord(title=driver))
    for version in MODELS:
        workshop.create_version(*version.split("/"), VersionRecord(title=version))
    return workshop
