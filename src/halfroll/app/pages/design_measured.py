"""The force factor that was measured on built units of a version, to stand beside the computed one."""

from __future__ import annotations

from halfroll.app.standing import whole
from halfroll.core.errors import HalfrollError
from halfroll.core.text import count
from halfroll.publish.displacement import NORMAL_95
from halfroll.publish.motor import Measured
from halfroll.workshop import Workshop, derive_runs, overview


def measured_bl(workshop: Workshop, version_id: str) -> Measured | None:
    """Bl at rest from the fits of the version's units; None when there is none."""
    try:
        lines = [(d, v) for d in overview(workshop).drivers for v in d.versions if v.version_id == version_id]
        if not lines or not lines[0][1].units:
            return None
        driver, line = lines[0]
        runs = derive_runs.run_readings(workshop, version_id)
        figure = whole(line, driver.record.title, workshop.settings, runs).figures.get("bl_n_per_a")
    except (
        HalfrollError
    ):  # a fault in a record is said on the version's page; here it only means there is nothing to compare
        return None
    if figure is None or figure.value is None:
        return None
    return Measured(bl=figure.value, u=(figure.expanded or 0.0) / NORMAL_95, of=count(figure.n_units, "unit"))
