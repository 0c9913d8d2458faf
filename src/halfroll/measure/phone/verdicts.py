"""What must be said of a telephone's recording."""

from __future__ import annotations

from collections.abc import Sequence

from halfroll.core.verdicts import Severity, Verdict
from halfroll.measure.phone.markers import GainAndClock
from halfroll.measure.phone.placing import Placing

LEAST_OVER_NOISE_DB = 15.0
NOTED_CLOCK = 20e-6
FAR_M = 0.10
GAIN_DB = 1.0
"""A change of gain that is told: as much, and three times its uncertainty."""

_OWN_WORDS = {"clock-drift", "little-signal"}
"""Verdicts of a take that are said here in another way."""


def turns_its_gain(told: GainAndClock) -> bool:
    """Whether the telephone's gain changed during the recording."""
    change = told.gain_change_db
    return change is not None and change > max(GAIN_DB, 3.0 * told.u_gain_db)


def all_of(
    of_the_take: Sequence[Verdict], told: GainAndClock, placing: Placing, over_noise_db: float, *, missing: int
) -> tuple[Verdict, ...]:  # fmt: skip
    """All verdicts of a recording: those that any take may have, and those of telephones."""
    kept = [verdict for verdict in of_the_take if verdict.code not in _OWN_WORDS]
    found = [_gain(told), _clock(told), _noisy(over_noise_db, missing), _far(placing), _box(placing)]
    return (*kept, *(verdict for verdict in found if verdict is not None))


def _gain(told: GainAndClock) -> Verdict | None:
    if told.gain_change_db is None:
        return Verdict(
            code="phone-gain-unknown", severity=Severity.NOTE,
            text="Whether the telephone turned its gain cannot be told: the tones around the sweep were not heard. A gain control would "
            "lift what is quiet, mostly the bass, by some decibels.",
            remedy="Play the file of the builders' page, and record from before its start until after its end.",
        )  # fmt: skip
    if not turns_its_gain(told):
        return None
    return Verdict(
        code="phone-gain-control", severity=Severity.CAUTION,
        text=f"The telephone turned its gain while it recorded, by {told.gain_change_db:.1f} dB: levels are only known to within that.",
        remedy="Use a recorder that can switch automatic gain off, or play more quietly.",
        data={"gain_change_db": told.gain_change_db, "u_db": told.u_gain_db},
    )  # fmt: skip


def _clock(told: GainAndClock) -> Verdict | None:
    if told.clock is None or abs(told.clock) < max(NOTED_CLOCK, 2.0 * told.u_clock):
        return None
    ppm = f"{1e6 * told.clock:+.0f}".replace("-", "−")
    return Verdict(
        code="phone-clock", severity=Severity.NOTE,
        text=f"The telephone's clock differs from the player's by {ppm} ppm; this was corrected.",
        data={"clock_ppm": 1e6 * told.clock, "u_ppm": 1e6 * told.u_clock},
    )  # fmt: skip


def _noisy(over_noise_db: float, missing: int) -> Verdict | None:
    if over_noise_db >= LEAST_OVER_NOISE_DB and not missing:
        return None
    if over_noise_db >= LEAST_OVER_NOISE_DB:
        return Verdict(
            code="phone-bands-missing", severity=Severity.NOTE,
            text=f"{missing} of the seven bands could not be read: beyond the sweep or the telephone, or under the noise.",
            data={"missing": missing},
        )  # fmt: skip
    return Verdict(
        code="phone-noisy", severity=Severity.CAUTION,
        text=f"In the weakest band the sweep stands only {over_noise_db:.0f} dB over the noise.",
        remedy="Record when it is quiet, or hold the telephone nearer. Do not turn up beyond what you can bear to hear.",
        data={"signal_over_noise_db": over_noise_db},
    )  # fmt: skip


def _far(placing: Placing) -> Verdict | None:
    if placing.distance_m <= FAR_M:
        return None
    return Verdict(
        code="phone-room", severity=Severity.CAUTION,
        text=f"At {100.0 * placing.distance_m:.0f} cm the telephone hears the room as well as the driver.",
        remedy="Hold it 2 to 5 cm before the cone, without touching it.",
        data={"distance_m": placing.distance_m},
    )  # fmt: skip


def _box(placing: Placing) -> Verdict | None:
    if placing.mounting != "box":
        return None
    return Verdict(
        code="phone-in-box", severity=Severity.NOTE,
        text="In a box the box shapes the bass: bands below 200 Hz count only where its volume is stated and it has no port.",
        remedy="Record the driver lying free, or compare with a good unit in the same box.",
    )  # fmt: skip
