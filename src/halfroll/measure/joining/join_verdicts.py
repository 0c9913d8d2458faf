"""What must be said about a joined response."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from halfroll.core.text import format_band, format_stated
from halfroll.core.verdicts import Severity, Verdict
from halfroll.measure.analysis.response import Response
from halfroll.measure.joining.join_types import JoinReport

BAD_MISMATCH_DB, DOUBTFUL_MISMATCH_DB = 3.0, 1.0
"""Halves that lie farther apart (dB r.m.s.) do not belong together; those that lie so far apart are doubtful."""

DOUBTFUL_GAIN_DB = 2.0
"""A near field that must be moved by more (dB) was scaled by a wrong radius, distance or calibration."""

DOUBTFUL_TREND_DB = 2.0
"""Halves that run apart by more (dB an octave) see different baffles, or one holds no longer."""

DOUBTFUL_PHASE_DEG = 45.0

_NOT_OF_FAR = frozenset({"reflection"})
"""What a far take says of its bass, which is not used."""

_NOT_OF_NEAR = frozenset({"reflection", "little-signal"})
"""What a near take says of its treble, which is not used; its noise in the bass stands in the uncertainty."""


def join_verdicts(
    report: JoinReport,
    near: Iterable[Verdict],
    far: Response,
    near_takes: Sequence[Response],
    *,
    same_drive: bool,
) -> tuple[Verdict, ...]:
    """Verdicts of a join, with those of its takes that still hold."""
    found = [*_range(report), *_agreement(report), *near]
    if not same_drive:
        found.append(Verdict(
            code="join-drive-differs", severity=Severity.NOTE,
            text="The near field was driven otherwise than the far field. The level is linear enough to be joined; "
            "harmonics are not, so there are none below the join.",
            remedy="For distortion in the bass take the near field at the far field's drive.",
        ))  # fmt: skip
    taken = [v for v in far.verdicts if v.code not in _NOT_OF_FAR]
    taken += [v for take in near_takes for v in take.verdicts if v.code not in _NOT_OF_NEAR]
    found += [v for v in taken if v.severity >= Severity.CAUTION]
    return tuple({(v.code, v.text): v for v in found}.values())


def _range(report: JoinReport) -> Iterable[Verdict]:
    low, high = report.settings.overlap_hz
    band = format_band(report.settings.overlap_hz)
    if low < report.far_valid_from_hz * (1.0 - 1e-3):
        yield Verdict(
            code="join-in-room", severity=Severity.BAD,
            text=f"The overlap {band} reaches below {report.far_valid_from_hz:.0f} Hz, where the far field holds the room "
            "or nothing.",
            remedy="Raise the overlap, or measure farther from floor and walls for a longer gate.",
            data={"far_valid_from_hz": report.far_valid_from_hz},
        )  # fmt: skip
    if high > report.near_valid_hz[1] * (1.0 + 1e-3):
        yield Verdict(
            code="join-beyond-near-field", severity=Severity.BAD,
            text=f"The overlap {band} reaches above {report.near_valid_hz[1]:.0f} Hz, where a cone of this radius is no "
            "longer one source for the near microphone.",
            remedy="Lower the overlap. Where that leaves nothing, the gate must be longer.",
            data={"near_valid_to_hz": report.near_valid_hz[1]},
        )  # fmt: skip


def _agreement(report: JoinReport) -> Iterable[Verdict]:
    rms, matched = report.rms_db, report.settings.match_level
    if rms > DOUBTFUL_MISMATCH_DB:
        bad = rms > BAD_MISMATCH_DB
        yield Verdict(
            code="join-mismatch", severity=Severity.BAD if bad else Severity.CAUTION,
            text=f"In the overlap near and far field lie {format_stated(round(rms, 1), 'dB')} r.m.s. apart"
            f"{' after their levels were matched' if matched else ''}.",
            remedy="See where they run apart: a reflection in the gate, another place of the driver, a port that was "
            "forgotten, or a wrong baffle.",
            data={"rms_db": rms},
        )  # fmt: skip
    if abs(report.trend_db_per_octave) > DOUBTFUL_TREND_DB:
        yield Verdict(
            code="join-trend", severity=Severity.CAUTION,
            text=f"Over the overlap the far field runs away from the near field by {report.trend_db_per_octave:+.1f} dB an "
            "octave.",
            remedy="Check the baffle's size and the space of the far take.",
            data={"trend_db_per_octave": report.trend_db_per_octave},
        )  # fmt: skip
    if abs(report.mean_db) > DOUBTFUL_GAIN_DB:
        moved = "was moved by" if matched else "lies off by"
        yield Verdict(
            code="join-level", severity=Severity.CAUTION,
            text=f"The near field {moved} {report.mean_db:+.1f} dB to meet the far field.",
            remedy="Check effective area, both distances, the drives and the microphone's scale.",
            data={"mean_db": report.mean_db},
        )  # fmt: skip
    if report.turned:
        yield Verdict(
            code="join-polarity", severity=Severity.CAUTION,
            text="Near and far field are of opposite polarity; the near field was turned over.",
            remedy="Check the leads: one of the takes was made with the driver connected the other way round.",
        )  # fmt: skip
    if report.phase_rms_deg > DOUBTFUL_PHASE_DEG:
        yield Verdict(
            code="join-phase", severity=Severity.CAUTION,
            text=f"The phases of near and far field differ by {report.phase_rms_deg:.0f} degrees r.m.s. in the overlap "
            "beyond a plain delay.",
            remedy="Widen the overlap, and record the terminal voltage with both takes.",
            data={"phase_rms_deg": report.phase_rms_deg},
        )  # fmt: skip
