"""Value objects of the lumped-parameter fit: what is asked, what is found, how methods agree.

Symbols are the trade's: Re, fs, Qms, Qes, Qts, Le, Mms, Cms, Rms, Bl, Vas, eta0. Values are SI.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np

from halfroll.core.levels import ComplexArray, FloatArray
from halfroll.core.verdicts import Verdict

CoilModel = Literal["ideal", "lr2", "semi"]
"""Blocked coil: ideal inductance jwLe; jwLe plus L2 parallel R2 (IEC 62458 practice); semi-inductance K(jw)^n
(Vanderkooy 1989 with n = 1/2, Leach 2002 with n free)."""

Method = Literal["added mass", "known volume", "weighed mass"]

FIT_NAMES = (
    "re_ohm",
    "fs_hz",
    "qms",
    "qes",
    "qts",
    "le_h",
    "l2_h",
    "r2_ohm",
    "semi_k",
    "semi_n",
    "creep_lambda",
)
"""Names a fit's values may have; which are there depends on the model. `qts` follows from `qms` and `qes`."""

ABSOLUTE_NAMES = (
    "mms_kg", "cms_m_per_n", "rms_ns_per_m", "bl_n_per_a", "vas_m3", "eta0", "sensitivity_1w_db", "sensitivity_2v83_db",
)  # fmt: skip
"""Names of absolute parameters. The levels are those of the half space at 1 m that follow from eta0."""


@dataclass(frozen=True, kw_only=True)
class FitSettings:
    """What a fit may do.

    Parameters
    ----------
    coil, creep
        A model and whether the suspension creeps (Knudsen and Jensen 1993); ``auto`` lets an information criterion choose.
    band_hz
        Range that is fitted; None: the whole curve. Stretches that no model describes get less weight and are said.
    re_ohm, re_u_ohm
        DC resistance known from a meter, and its standard uncertainty; None: it is fitted alone.
    """

    coil: CoilModel | Literal["auto"] = "auto"
    creep: bool | Literal["auto"] = "auto"
    band_hz: tuple[float, float] | None = None
    re_ohm: float | None = None
    re_u_ohm: float | None = None


@dataclass(frozen=True, kw_only=True)
class Candidate:
    """A model that was tried: its criterion (smaller is better) and the r.m.s. of its relative residual.

    `determined` says whether the points say what each of its parameters is; only such a model is chosen.
    """

    coil: CoilModel
    creep: bool
    criterion: float
    rms_residual: float
    chosen: bool = False
    determined: bool = True


@dataclass(frozen=True, kw_only=True)
class Estimates:
    """Named values with their covariance.

    Parameters
    ----------
    names
        Of the values, shape (n,).
    values
        SI, shape (n,).
    covariance
        Shape (n, n), from everything: noise, misfit, and what the whole curve shares.
    dof
        Effective degrees of freedom behind it.
    """

    names: tuple[str, ...]
    values: FloatArray
    covariance: FloatArray
    dof: float = math.inf

    def __contains__(self, name: str) -> bool:
        return name in self.names

    def value(self, name: str) -> float:
        """One value."""
        return float(self.values[self.names.index(name)])

    def u(self, name: str) -> float:
        """Its standard uncertainty."""
        at = self.names.index(name)
        return math.sqrt(max(float(self.covariance[at, at]), 0.0))

    def pair(self, first: str, second: str) -> FloatArray:
        """Covariance (2, 2) of two values, for an ellipse of confidence."""
        at = [self.names.index(first), self.names.index(second)]
        return np.asarray(self.covariance[np.ix_(at, at)])

    def as_dict(self) -> dict[str, Any]:
        """Plain values for JSON: value and u by name, and the covariance."""
        return {
            "values": {n: {"value": self.value(n), "u": self.u(n)} for n in self.names},
            "covariance": {"names": list(self.names), "matrix": self.covariance.tolist()},
            "dof": None if math.isinf(self.dof) else self.dof,
        }


@dataclass(frozen=True, kw_only=True)
class Fit:
    """A lumped model fitted to one impedance curve.

    Parameters
    ----------
    coil, creep
        The model chosen.
    estimates
        Its values (`FIT_NAMES`).
    frequency_hz, measured_ohm, fitted_ohm
        The points fitted, the measured and the fitted impedance there, shape (n,).
    weights
        Weight each point ended with, 0 to 1, shape (n,); outliers are near 0.
    candidates
        All models tried.
    verdicts
        What must be said: no resonance, second resonance, leak, rubbing, range too short, ...
    scale_u
        Relative standard uncertainty of the scale that the fit's values share with other curves of the same rig, and of the
        same typed resistance where one was taken in; it is part of the covariance.
    """

    coil: CoilModel
    creep: bool
    estimates: Estimates
    frequency_hz: FloatArray
    measured_ohm: ComplexArray
    fitted_ohm: ComplexArray
    weights: FloatArray
    phase_known: bool = True
    candidates: tuple[Candidate, ...] = ()
    verdicts: tuple[Verdict, ...] = field(default=())
    scale_u: float = 0.0

    @property
    def residual(self) -> ComplexArray:
        """Relative residual (n,), (measured - fitted)/|fitted|; of moduli, real, without a measured phase."""
        size = np.abs(self.fitted_ohm)
        if self.phase_known:
            return np.asarray((self.measured_ohm - self.fitted_ohm) / size)
        return np.asarray((np.abs(self.measured_ohm) - size) / size + 0j)


@dataclass(frozen=True, kw_only=True)
class AddedMass:
    """A fit of the same driver with a known mass on its cone (kg, with its standard uncertainty)."""

    mass_kg: float
    fit: Fit
    u_kg: float = 0.0


@dataclass(frozen=True, kw_only=True)
class KnownVolume:
    """A fit of the same driver on a closed box of known volume (m³, with its standard uncertainty)."""

    volume_m3: float
    fit: Fit
    u_m3: float = 0.0


@dataclass(frozen=True, kw_only=True)
class WeighedMass:
    """Moving parts on the scales, without air (kg, with standard uncertainty); the air load is added by computation."""

    mass_kg: float
    u_kg: float = 0.0


@dataclass(frozen=True, kw_only=True)
class MethodResult:
    """Absolute parameters by one method; `remarks` state the corrections that were made (air load, box)."""

    method: Method
    estimates: Estimates
    remarks: tuple[str, ...] = ()
    verdicts: tuple[Verdict, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Agreement:
    """Whether two methods agree on the moving mass.

    Parameters
    ----------
    relative
        Difference second minus first over their mean (1).
    u
        Standard uncertainty of it; what the two share (area, free-air fit) cancels as far as it does.
    agrees
        Whether the difference is inside its 95 % interval.
    """

    first: Method
    second: Method
    relative: float
    u: float
    agrees: bool


@dataclass(frozen=True, kw_only=True)
class Parameters:
    """Absolute parameters of one unit.

    Parameters
    ----------
    estimates
        Combined over the methods that agree, `FIT_NAMES` of the free-air fit and `ABSOLUTE_NAMES` together.
    methods
        Each method by itself.
    agreement
        Every pair of methods.
    verdicts
        What must be said.
    """

    estimates: Estimates
    methods: tuple[MethodResult, ...] = ()
    agreement: tuple[Agreement, ...] = ()
    verdicts: tuple[Verdict, ...] = ()
