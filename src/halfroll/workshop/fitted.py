"""An impedance run with its fit, and all runs of a unit with what they tell together, as values."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from halfroll.core.errors import InputError
from halfroll.core.verdicts import Severity, Verdict, worst
from halfroll.measure.impedances.impedance import ImpedanceCurve
from halfroll.measure.lumped.parameter_types import Fit, FitSettings, Parameters
from halfroll.workshop.impedance_record import ImpedanceRecord

DEFAULT = FitSettings()


@dataclass(frozen=True, kw_only=True)
class FittedRun:
    """An impedance run with its curve and its fit; both None when `fault` says why there is none. `unread`: its record is the
    fault, and `record` is an empty one.
    """

    run_id: str
    record: ImpedanceRecord
    curve: ImpedanceCurve | None = None
    fit: Fit | None = None
    fault: InputError | None = None
    unread: bool = False

    @property
    def when(self) -> dt.datetime | None:
        """When it was measured; None when its record could not be read."""
        return None if self.unread else self.record.when

    @property
    def verdicts(self) -> tuple[Verdict, ...]:
        """What is said of recording, curve and fit."""
        if self.fault is not None:
            text = f"The impedance could not be worked out. {self.fault}"
            return (
                Verdict(code="not-fitted", severity=Severity.BAD, text=text, data=dict(self.fault.as_dict())),
            )
        return (*(self.curve.verdicts if self.curve else ()), *(self.fit.verdicts if self.fit else ()))

    @property
    def scale_u(self) -> float:
        """Relative standard uncertainty (1) that all its ohms share with other runs of the rig; 0 without a fit."""
        return 0.0 if self.fit is None else self.fit.scale_u

    @property
    def usable(self) -> bool:
        """Whether it counts."""
        return not self.record.leave_out and self.fit is not None and worst(self.verdicts) < Severity.BAD

    @property
    def resonant(self) -> bool:
        """Whether it counts and shows a resonance."""
        return self.usable and self.fit is not None and "fs_hz" in self.fit.estimates

    @property
    def name(self) -> str:
        """The run's own name."""
        return self.run_id.rpartition("/")[2]


@dataclass(frozen=True, kw_only=True)
class UnitParameters:
    """What is known of the lumped parameters of a unit.

    Parameters
    ----------
    runs
        All impedance runs of the unit, the newest last.
    free
        The run the absolute parameters start from; None when there is none without mass and box.
    parameters
        Absolute parameters; None when `missing` says why.
    missing
        What lacks, and what to do next.
    settings
        How the curves were fitted.
    """

    unit_id: str
    runs: tuple[FittedRun, ...]
    free: FittedRun | None = None
    parameters: Parameters | None = None
    missing: str = ""
    settings: FitSettings = DEFAULT

    def run(self, run_id: str) -> FittedRun | None:
        """One of the runs."""
        return next((run for run in self.runs if run.run_id == run_id), None)
