"""``/design``: which version is to be designed? In an empty workshop: how there comes to be one."""

from __future__ import annotations

from markupsafe import Markup
from nicegui import ui

from halfroll.app import address, frame
from halfroll.app.dom import el
from halfroll.app.field import Field, button
from halfroll.app.typed import Errors, new_name
from halfroll.app.view import show
from halfroll.publish.version_drawing import motor_drawings
from halfroll.workshop import DriverRecord, VersionRecord, Workshop, overview


def index_page(workshop: Workshop) -> None:
    """The page of all designs."""
    frame.title("Designs")
    seen = overview(workshop)
    motors = motor_drawings(
        workshop,
        {version.version_id: version.record for driver in seen.drivers for version in driver.versions},
    )
    lines = [
        (driver, [(version.version_id.rpartition("/")[2], version.record.title, address.of_design(version.version_id),
                   Markup(motors.get(version.version_id, "")))
                  for version in driver.versions])
        for driver in seen.drivers
    ]  # fmt: skip
    show("design_index.html", lines=lines, faults=seen.faults.values())
    _new(workshop)


def _new(workshop: Workshop) -> None:
    """A form for a driver that is not there yet."""
    with el("section", cls="block no-print", aria_labelledby="new-driver"):
        el("h2", "A new driver", id="new-driver")
        with el("div", cls="fields"):
            driver = Field("driver", "Name of the driver")
            version = Field("version", "Name of its first version", value="v1")

        def make() -> None:
            errors: Errors = {}
            name = new_name(driver.value, "driver", "driver", workshop.driver_ids(), errors)
            first = new_name(version.value, "version", "version", [], errors)
            driver.error(errors.get("driver", ""))
            version.error(errors.get("version", ""))
            if not errors:
                workshop.create_driver(name, DriverRecord(title=driver.value))
                workshop.create_version(name, first, VersionRecord())
                ui.navigate.to(address.of_design(f"{name}/{first}"))

        with el("div", cls="actions"):
            button("Make it and design its motor", make, main=True).mark("make-driver")
