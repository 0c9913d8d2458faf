"""How near and far field are joined, and what comes of it."""

from __future__ import annotations

from dataclasses import dataclass

from halfroll.acoustics.baffle import Baffle
from halfroll.core.levels import FloatArray
from halfroll.measure.analysis.response import Response


@dataclass(frozen=True, kw_only=True)
class JoinSettings:
    """How to join.

    Parameters
    ----------
    overlap_hz
        Band in which both halves hold.
    baffle
        Front the driver sat in for the far field; None in half space, where near and far field see the same.
    match_level
        Bring the near field to the level of the far field (True), or leave it as measured (False). The far field is
        what keeps its level, because its distance is known best.
    """

    overlap_hz: tuple[float, float]
    baffle: Baffle | None = None
    match_level: bool = True


@dataclass(frozen=True, kw_only=True)
class JoinReport:
    """How a response was joined, and how well the halves agree.

    Parameters
    ----------
    frequency_hz
        Shape (n_f,), the grid of the joined response.
    near_db, parts_db, far_db, baffle_db, joined_db
        Levels per volt at the far field's distance (dB re 20 µPa), each (n_f,): the near field as it was joined, its
        cones and ports by name, the far field, what the baffle does (dB re half space; None without), the result. NaN
        where there is nothing.
    mismatch_db
        Far over near field (n_f,) after matching, NaN outside the overlap.
    mean_db
        Mean of that before matching: what the near field was raised by if `settings.match_level`.
    rms_db, trend_db_per_octave, phase_rms_deg
        What is left in the overlap: root mean square of the level (before matching if it was not matched, else after),
        its slope, and the phase.
    delay_s
        How much later the far field comes than the near field carried to its distance (s).
    turned
        Whether the near field had to be turned over.
    near_valid_hz, far_valid_from_hz
        Where the near field holds; from where the gate lets the far field hold.
    u_db
        Standard uncertainty (n_f,) that the join brings.
    """

    settings: JoinSettings
    distance_m: float
    frequency_hz: FloatArray
    near_db: FloatArray
    parts_db: tuple[tuple[str, FloatArray], ...]
    far_db: FloatArray
    baffle_db: FloatArray | None
    joined_db: FloatArray
    mismatch_db: FloatArray
    mean_db: float
    rms_db: float
    trend_db_per_octave: float
    phase_rms_deg: float
    delay_s: float
    turned: bool
    near_valid_hz: tuple[float, float]
    far_valid_from_hz: float
    u_db: FloatArray


@dataclass(frozen=True, kw_only=True)
class Joined:
    """The joined response, usable as any other, and the report on the join. Verdicts stand in the response."""

    response: Response
    report: JoinReport
