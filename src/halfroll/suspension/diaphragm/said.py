"""What is said beside a diaphragm's results."""

from __future__ import annotations

from collections.abc import Sequence

from halfroll.core.verdicts import Severity, Verdict


def bell_modes() -> Verdict:
    """Only motion with symmetry about the axis is computed."""
    return Verdict(
        code="bell-modes-not-covered", severity=Severity.NOTE,
        text="Only shapes that are the same all around the axis are computed. Bell modes, with nodal diameters, often come lower; "
        "they radiate little from an even cone, more from one that is not quite round or evenly printed.",
    )  # fmt: skip


def no_surround() -> Verdict:
    """The cone's edge is free."""
    return Verdict(
        code="cone-edge-free", severity=Severity.CAUTION,
        text="No surround of revolution is designed: the cone's outer edge is taken as free. A surround's mass, stiffness and damping "
        "move the first break-up and its height.",
        remedy="Add a [surround] table to the version.",
    )  # fmt: skip


def no_former() -> Verdict:
    """The force acts on the neck itself."""
    return Verdict(
        code="cone-driven-at-neck", severity=Severity.NOTE,
        text="No former is designed: the force acts on the cone's neck, and the winding's mass is missing.",
        remedy="Design the coil of this version.",
    )  # fmt: skip


def open_neck() -> Verdict:
    """There is no dust cap."""
    return Verdict(
        code="neck-counted-closed", severity=Severity.NOTE,
        text="No dust cap is designed: the opening of the neck counts as a flat disc without mass that moves with it.",
    )  # fmt: skip


def apart(held: str, by: str, apart_m: float) -> Verdict:
    """Two parts do not meet."""
    return Verdict(
        code="moving-parts-apart", severity=Severity.CAUTION,
        text=f"The {held}'s edge lies {1e3 * apart_m:.1f} mm from the {by} it is glued to. It was moved along the axis to meet it, "
        "and a gap across is taken as bridged rigidly.",
        remedy=f"Check diameters and heights (at_mm) of {held} and {by}.",
        data={"apart_mm": round(1e3 * apart_m, 3)},
    )  # fmt: skip


def too_deep(valid_hz: float, depth_m: float) -> Verdict:
    """The far field of a deep cone is approximate."""
    return Verdict(
        code="cone-depth-approximate", severity=Severity.NOTE,
        text=f"The far field takes each ring as lying in the baffle at its own depth. For {1e3 * depth_m:.0f} mm of depth that is good "
        f"to about {valid_hz:.0f} Hz; above, sound scattered inside the cone matters, and levels are an indication.",
        data={"valid_to_hz": round(valid_hz), "depth_mm": round(1e3 * depth_m, 2)},
    )  # fmt: skip


def no_break_up(to_hz: float) -> Verdict:
    """No break-up was found."""
    return Verdict(
        code="break-up-not-found", severity=Severity.NOTE,
        text=f"No bending resonance of the diaphragm that would be heard was found up to {to_hz:.0f} Hz.",
        data={"searched_to_hz": round(to_hz)},
    )  # fmt: skip


def surround_first(usable_hz: float, surround_hz: float) -> Verdict:
    """The surround, not the cone, ends the piston's response."""
    return Verdict(
        code="surround-before-cone",
        severity=Severity.NOTE,
        text=f"It is the surround that takes the response away from the piston's at {usable_hz:.0f} Hz: it resonates by itself at "
        f"{surround_hz:.0f} Hz, and pulls at the cone's edge.",
        remedy="A lighter or stiffer roll moves that resonance up; a plastic with more loss flattens it.",
        data={"usable_hz": round(usable_hz), "surround_hz": round(surround_hz)},
    )


def close_call(at: Sequence[tuple[float, bool]]) -> Verdict:
    """First or second break-up hang on resonances, frequency (Hz) and whether it counted, at the border of what counts as one."""
    words = [f"{hz:.0f} Hz, which {'counted' if counted else 'did not count'}" for hz, counted in at]
    return Verdict(
        code="break-up-close-call", severity=Severity.NOTE,
        text=f"Whether a resonance counts as a break-up is close for {'; '.join(words)}: a small change of the design may turn it, and then the "
        "first or second break-up is another. The response itself hardly changes.",
        remedy="Compare versions by their responses and by the list of resonances, not by the first break-up alone.",
        data={"frequency_hz": [round(hz) for hz, _ in at], "counted": [counted for _, counted in at]},
    )  # fmt: skip


def usable_beyond(to_hz: float, usable_db: float) -> Verdict:
    """The response never leaves the piston's."""
    return Verdict(
        code="piston-throughout", severity=Severity.NOTE,
        text=f"The far field stays within {usable_db:g} dB of the rigid piston's up to {to_hz:.0f} Hz, the end of what was computed.",
        data={"computed_to_hz": round(to_hz)},
    )  # fmt: skip
