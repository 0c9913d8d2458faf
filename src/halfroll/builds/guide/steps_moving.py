"""The guide's steps from the coil to the finished driver: what moves is joined, tried, mounted, connected, run in and accepted."""

from __future__ import annotations

from halfroll.builds.guide.cautions import cautions
from halfroll.builds.guide.checks import HOW, IF_NOT, measured, seen
from halfroll.builds.guide.plan import Plan
from halfroll.builds.guide.steps_motor import jig_lines, millimetres
from halfroll.builds.guide.types import Check, Step
from halfroll.core.text import format_plain, join_words
from halfroll.suspension.design import FlexureDesign

CELL_V, SERIES_OHM = 1.5, 4.7
"""A round cell, and the resistor in series with it that keeps the current harmless (common practice)."""


def moving_steps(plan: Plan) -> list[Step]:
    """All of them, those the design has; leads, run-in and acceptance always."""
    moving = plan.moving
    steps = []
    if moving is not None:
        steps += [
            make(plan)
            for name, make in (("cone", _cone), ("surround", _surround), ("spider", _spider))
            if getattr(moving, name) is not None
        ]
        if any(getattr(moving, name) is not None for name in ("cone", "surround", "spider")):
            steps += [_dry_fit(plan), _mount(plan)]
    steps.append(_leads(plan))
    if moving is not None and moving.cap is not None:
        steps.append(_cap(plan))
    return [*steps, _run_in(plan), _acceptance(plan)]


def _cone(plan: Plan) -> Step:
    assert plan.moving is not None
    assert plan.moving.cone is not None
    dome = plan.moving.cone.shape == "dome"
    on = "former" if plan.moving.former is not None else "coil"
    return Step(
        key="cone", title="Dome to former" if dome else "Cone to former", parts=("dome" if dome else "cone", on), tools=("glue", "square or turned mandrel"),
        text=(
            f"Set the {'dome' if dome else 'cone'} on the {on}, square to it: turn it on the mandrel, the rim must not wobble.",
            "Run a thin fillet of glue around the neck. Weigh before and after: the difference is the glue, and it moves.",
        ),
        cautions=cautions("glue"), last_chance="Only with a coil whose resistance and mass are good.", drawn=("cone", "former"),
    )  # fmt: skip


def _surround(plan: Plan) -> Step:
    assert plan.moving is not None
    one = plan.moving.surround
    assert one is not None
    lip = f" on its inner lip, {millimetres(one.lip_inner_m)} wide" if one.lip_inner_m else ""
    return Step(
        key="surround", title="Surround to cone", parts=("surround", "cone"), tools=("glue", "flat plate"),
        text=(
            f"Glue the surround to the cone's edge{lip}, both lying flat on a plate so that nothing is twisted.",
            "Keep glue off the part that bends: there it makes it stiffer and raises the resonance.",
        ),
        cautions=cautions("glue"), drawn=("surround",),
    )  # fmt: skip


def _spider(plan: Plan) -> Step:
    assert plan.moving is not None
    one = plan.moving.spider
    assert one is not None
    arms = (
        f" Its {one.arms} arms must lie free all along."
        if isinstance(one, FlexureDesign)
        else " Its waves must stay free of glue."
    )
    return Step(
        key="spider", title="Spider to former", parts=("spider", "former"), tools=("glue", "height gauge"),
        text=(f"Glue the spider to the former, its middle {millimetres(one.height_over_gap_m, 3)} over the middle of the gap once the coil stands as drawn.{arms}",),
        cautions=cautions("glue"), drawn=("spider",),
    )  # fmt: skip


def _dry_fit(plan: Plan) -> Step:
    checks: list[Check] = []
    if plan.predicted is not None and plan.predicted.mass is not None:
        checks.append(
            measured("moving_mass_g", plan.bands, how=HOW["moving_mass_g"].format(shares=_shares(plan)))
        )
    checks += [measured("re_ohm", plan.bands, how=HOW["coil_re"], if_not=IF_NOT["re_terminals"], label="DC resistance once more"),
               seen("rub", how=HOW["rub_hand"], if_not=IF_NOT["rub_hand"])]  # fmt: skip
    return Step(
        key="dry-fit", title="Trying it without glue", parts=("all that moves", "motor and frame"), tools=("centring jig", "scale to 0.01 g", "multimeter"),
        text=(
            "Weigh what moves. Then hang it into the gap with the jig in place, surround and spider on their seats, no glue.",
            *jig_lines(plan),
            "Take the jig out for a moment and move the cone: this is the last time everything can be undone.",
        ),
        checks=tuple(checks), cautions=cautions("magnets-implants"),
        last_chance="Weighing and trying come before the glue: afterwards nothing comes apart whole.",
    )  # fmt: skip


def _shares(plan: Plan) -> str:
    """Which shares of surround and spider count as moving, from their studies."""
    assert plan.predicted is not None
    mass, suspension = plan.predicted.mass, plan.predicted.suspension
    found = []
    for name in ("surround", "spider"):
        moving = None if mass is None else next((one.mass_kg for one in mass.parts if one.name == name), None)
        band = plan.bands.get(f"{name}_g")
        if moving is not None and band is not None and suspension is not None:
            found.append(f"{format_plain(1e3 * moving / band.value, '', 2)} of the {name}")
    return join_words(found) if found else "half of surround and spider"


def _rest(plan: Plan) -> Check:
    drawn = (
        f"As drawn the former's end stands {millimetres(plan.jig.reach_m, 3)} out over the top plate. "
        if plan.jig is not None
        else ""
    )
    return measured("rest_height_mm", plan.bands, how=HOW["rest_height_mm"].format(drawn=drawn))


def _mount(plan: Plan) -> Step:
    return Step(
        key="mount", title="Into the frame", parts=("all that moves", "motor and frame"), tools=("centring jig", "glue", "weight", "ruler or depth gauge"),
        text=(
            "Jig in, glue on the spider's seat, the moving parts down to the drawn height; then the surround's outer lip, evenly, no pull anywhere.",
            "Check the height while the glue is soft. Let it set with the axis upright and a weight on a ring around the surround.",
            "Take the jig out only once everything is hard.",
        ),
        checks=(_rest(plan), seen("rub", how=HOW["rub_hand"], if_not=IF_NOT["rub_hand"])), cautions=cautions("glue", "magnets-pinch"),
        last_chance="Height and centring are fixed for good when this glue sets.", drawn=("surround", "spider"),
    )  # fmt: skip


def _leads(plan: Plan) -> Step:
    moves = plan.cell_travel_mm(CELL_V, SERIES_OHM)
    far = (
        ""
        if moves is None
        else f" The cone moves some {format_plain(moves, 'mm', 1)}: look from the side, a fingertip on it."
    )
    how = f"A {CELL_V:g} V cell through a resistor of {SERIES_OHM:g} ohm, + on the terminal marked +, half a second.{far}"
    return Step(
        key="leads", title="Leads and terminals", parts=("flexible leads", "terminals"), tools=("soldering iron", "multimeter", "1.5 V cell, 4.7 ohm resistor"),
        text=(
            "Solder the flexible leads to the coil's ends with a loop that neither pulls nor touches the cone at full travel; glue the joints to the cone.",
            "Printed parts soften under the iron: a strip of card beneath the joint, and no longer than the solder needs.",
            "Mark as + the terminal that moves the cone out.",
        ),
        checks=(measured("re_ohm", plan.bands, if_not=IF_NOT["re_terminals"], label="DC resistance at the terminals"), seen("polarity", how=how)),
        cautions=cautions("solder", "enamel", "cell"),
    )  # fmt: skip


def _cap(plan: Plan) -> Step:
    return Step(
        key="cap", title="Dust cap", parts=("dust cap",), tools=("glue", "torch"),
        text=("Look into the gap once more with a torch: no crumb, no glue, the same width around the coil.", "Glue the cap, thin and all around."),
        cautions=cautions("glue"), last_chance="Under the cap the gap cannot be reached any more.", drawn=("cap",),
    )  # fmt: skip


def _run_in(plan: Plan) -> Step:
    found = plan.run_in()
    tone = (
        "a tone a little below resonance"
        if found is None
        else f"a tone of {found[0]:g} Hz, up to {format_plain(found[1], 'V', 2)} r.m.s."
    )
    return Step(
        key="run-in", title="Running in", parts=("finished driver",), tools=("amplifier", "tone generator", "hearing protection"),
        text=(
            f"Driver in free air, magnet down on something that is not steel: {tone}, which is about half its travel, for an hour, louder step by step.",
            "Printed suspensions settle: resonance falls a little. Let it rest for an hour before it is measured.",
        ),
        cautions=cautions("hearing", "mains", "hot-coil"),
    )  # fmt: skip


def _acceptance(plan: Plan) -> Step:
    keys = [key for key in ("fs_hz", "qts", "impedance_peak_ohm") if key in plan.bands]
    checks = [
        measured("re_ohm", plan.bands, if_not=IF_NOT["re_terminals"]), *(measured(key, plan.bands) for key in keys), _rest(plan), seen("polarity"),
        seen("rub", how=HOW["rub_tone"], if_not=IF_NOT["rub_tone"]), seen("leak"),
    ]  # fmt: skip
    return Step(
        key="acceptance", title="Acceptance", parts=("finished driver",), tools=("multimeter", "tone generator and amplifier", "resistor of some 100 ohm", "closed box"),
        text=(
            "Measure at room temperature, an hour after running in. Note every reading with what it was read with, and keep them with the unit.",
            "One reading outside its band: read it again, then ask for a builder's check with all of them.",
        ),
        checks=tuple(checks), cautions=cautions("hearing", "mains", "cell"),
    )  # fmt: skip
