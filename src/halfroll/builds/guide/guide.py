"""The assembly guide of a version: steps from its design, rewritten and added to by its ``guide.toml``."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from halfroll.builds.guide.cautions import told_once
from halfroll.builds.guide.plan import Plan, plan_of
from halfroll.builds.guide.steps_motor import motor_steps
from halfroll.builds.guide.steps_moving import moving_steps
from halfroll.builds.guide.types import Caution, Check, Guide, Step
from halfroll.builds.types import Band
from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, silent
from halfroll.core.verdicts import Severity, Verdict
from halfroll.workshop.faults import fault_at
from halfroll.workshop.guide_record import GuideRecord, GuideStepTable, guide_record
from halfroll.workshop.paths import slug

if TYPE_CHECKING:
    from halfroll.workshop.loaded import Loaded
    from halfroll.workshop.store import Workshop


def guide_of(workshop: Workshop, version_id: str, progress: Progress = silent) -> Guide:
    """The assembly guide of a version, with its acceptance checks.

    Steps follow the design: what is not designed has none. ``guide.toml`` beside the version's record may rewrite a step, add one or leave one
    out; cautions of a rewritten step stay.

    Raises
    ------
    InputError
        There is no such version, nothing is known of it, or its ``guide.toml`` names a step that is not there; with file and line.
    CancelledError
        `progress` asked to stop.
    """
    written = guide_record(workshop, version_id)  # a slip of the pen is said before anything is computed
    plan = plan_of(workshop, version_id, progress)
    steps = [*motor_steps(plan), *moving_steps(plan)]
    if written is not None:
        steps = with_written(steps, written)
    driver_id, _, name = version_id.partition("/")
    return Guide(
        version_id=version_id, title=f"{workshop.driver(driver_id).record.title} {name}", steps=told_once(steps), bands=plan.bands,
        note="" if written is None else written.record.note, verdicts=(*plan.verdicts, *_said(plan)),
        assembly=plan.assembly, coil=plan.coil, moving=plan.moving,
    )  # fmt: skip


def with_written(steps: list[Step], written: Loaded[GuideRecord]) -> list[Step]:
    """The steps with what ``guide.toml`` says, in its order; a step of one's own can be named by the plain form of its title."""
    steps = list(steps)
    for number, one in enumerate(written.record.steps):
        name = one.step or one.after
        at = next((n for n, step in enumerate(steps) if step.key == name), None)
        if at is None:
            raise _unknown(written, number, name, [step.key for step in steps])
        if one.after:
            steps.insert(at + 1, _own(one, {step.key for step in steps}))
        elif one.leave_out:
            steps.pop(at)
        else:
            steps[at] = _rewritten(steps[at], one)
    return steps


def _own(one: GuideStepTable, taken: set[str]) -> Step:
    key = slug(one.title)
    while key in taken:
        key += "-more"
    return Step(
        key=key,
        title=one.title,
        parts=one.parts,
        tools=one.tools,
        text=one.text,
        cautions=_by_hand(one),
        by_hand=True,
    )


def _rewritten(step: Step, one: GuideStepTable) -> Step:
    return replace(
        step, title=one.title or step.title, text=one.text or step.text, parts=one.parts or step.parts, tools=one.tools or step.tools,
        cautions=(*step.cautions, *_by_hand(one)), by_hand=True,
    )  # fmt: skip


def _by_hand(one: GuideStepTable) -> tuple[Caution, ...]:
    return tuple(Caution(key="own", text=text) for text in one.cautions)


def _unknown(written: Loaded[GuideRecord], number: int, name: str, there: list[str]) -> InputError:
    key = "step" if written.record.steps[number].step else "after"
    return fault_at(
        written.path, ("steps", number, key), "A step of the guide must be there to be rewritten or followed", found=name, allowed=there
    )  # fmt: skip


def _said(plan: Plan) -> tuple[Verdict, ...]:
    lacks = [
        word
        for word, one in (("motor", plan.assembly), ("coil", plan.coil), ("moving parts", plan.moving))
        if one is None
    ]
    if not lacks:
        return ()
    return (Verdict(
        code="guide-not-designed", severity=Severity.NOTE, text=f"Not designed in this version, so without steps: {', '.join(lacks)}.",
        remedy="Design it, or write the steps into guide.toml.", data={"lacks": lacks},
    ),)  # fmt: skip


def as_dict(guide: Guide) -> dict[str, Any]:
    """A guide as plain values for JSON."""
    return {
        "version": guide.version_id,
        "title": guide.title,
        "note": guide.note,
        "steps": [_step(n, step) for n, step in enumerate(guide.steps, 1)],
        "bands": {key: band_dict(band) for key, band in guide.bands.items()},
        "verdicts": [one.as_dict() for one in guide.verdicts],
    }


def band_dict(band: Band) -> dict[str, Any]:
    """A band as plain values for JSON."""
    return {
        "label": band.label, "unit": band.unit, "value": band.value, "low": band.low, "high": band.high, "u": band.u, "u_unit": band.u_unit,
        "u_shared": band.u_shared, "source": band.source, "units": band.n_units,
    }  # fmt: skip


def _step(number: int, step: Step) -> dict[str, Any]:
    return {
        "number": number, "key": step.key, "title": step.title, "parts": list(step.parts), "tools": list(step.tools), "text": list(step.text),
        "checks": [_check(one) for one in step.checks], "cautions": [one.text for one in step.cautions], "last_chance": step.last_chance,
        "by_hand": step.by_hand,
    }  # fmt: skip


def _check(one: Check) -> dict[str, Any]:
    band = one.band
    return {"key": one.key, "label": one.label, "how": one.how, "good": one.good, "if_not": one.if_not, "unit": one.unit,
            "low": None if band is None else band.low, "high": None if band is None else band.high}  # fmt: skip
