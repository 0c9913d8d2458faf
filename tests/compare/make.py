"""Versions made of units and takes with given figures."""

import numpy as np

from halfroll.compare.types import Change, VersionInput
from halfroll.figures.types import Reading, TakeReadings
from tests.figures.make import make_take

USUAL = {"sensitivity_db": 86.0, "lower_limit_hz": 100.0, "thd_mean_percent": 2.5, "max_level_db": 93.0}
SPREAD = {"sensitivity_db": 0.2, "lower_limit_hz": 1.0, "thd_mean_percent": 0.05, "max_level_db": 0.2}


def make_takes(
    version_id: str,
    values: dict[str, float | Reading],
    *,
    n_units: int = 3,
    n_takes: int = 2,
    spread: dict[str, float] | None = None,
    **more: object,
) -> tuple[TakeReadings, ...]:
    """Takes whose unit means lie evenly about the given values with the given standard deviation."""
    steps = np.linspace(-1.0, 1.0, n_units) if n_units > 1 else np.zeros(1)
    steps = steps / steps.std(ddof=1) if n_units > 1 else steps
    deviation = SPREAD if spread is None else spread
    return tuple(
        make_take(
            f"u{unit}",
            take,
            {
                k: v if isinstance(v, Reading) else v + steps[unit] * deviation.get(k, 0.0)
                for k, v in values.items()
            },
            version=version_id,
            **more,
        )
        for unit in range(n_units)
        for take in range(n_takes)
    )


def make_version(
    version_id: str,
    values: dict[str, float | Reading] | None = None,
    *,
    parent: str | None = None,
    changes: tuple[Change, ...] = (),
    takes: tuple[TakeReadings, ...] | None = None,
    **more: object,
) -> VersionInput:
    """A version with takes, called by what follows the slash."""
    driver, name = version_id.split("/")
    return VersionInput(
        version_id=version_id,
        title=name.capitalize(),
        driver_title=driver.capitalize(),
        parent=parent,
        changes=changes,
        takes=make_takes(version_id, {**USUAL, **(values or {})}, **more) if takes is None else takes,  # type: ignore[arg-type]
    )
