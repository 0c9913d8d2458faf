"""The guide's steps up to the finished coil: parts, magnets and steel, the gap, former and winding."""

from __future__ import annotations

from typing import TYPE_CHECKING

from halfroll.builds.guide.cautions import cautions
from halfroll.builds.guide.checks import HOW, measured
from halfroll.builds.guide.plan import Plan
from halfroll.builds.guide.types import Step
from halfroll.core.text import count, format_plain, join_words
from halfroll.motor.types import Magnet

if TYPE_CHECKING:
    from halfroll.workshop.motor_record import PartTable

TURNED = "Once the glue has set a magnet that lies the wrong way round stays so: check that they pull before you glue."

_ARROWS = {
    "up": "towards the cone",
    "down": "away from the cone",
    "outwards": "outwards",
    "inwards": "inwards",
}


def motor_steps(plan: Plan) -> list[Step]:
    """All of them, those the design has."""
    steps = [_parts(plan)]
    if plan.assembly is not None:
        steps += [_magnets(plan), _gap(plan)]
    if plan.coil is not None:
        steps += [_former(plan), _coil(plan)]
    return steps


def millimetres(metres: float, digits: int = 2) -> str:
    """A length as it is read from a caliper."""
    return format_plain(1e3 * metres, "mm", digits)


def _parts(plan: Plan) -> Step:
    printed = [name for name in plan.printed if not name.startswith("jig-")]
    bodies = [] if plan.assembly is None else [body.name for body in plan.assembly.bodies]
    weigh = [
        measured(f"{name}_g", plan.bands)
        for name in printed
        if f"{name}_g" in plan.bands and name != "former"
    ]
    jigs = [f"jig-{fit.where}" for fit in plan.fits if fit.count]
    text = [
        "Lay out everything. Clean steel and magnets with alcohol; tape takes crumbs of iron off magnets."
    ]
    hurts = ["alcohol", "hot-plastic"]
    if plan.assembly is not None and any(isinstance(body.matter, Magnet) for body in plan.assembly.bodies):
        hurts = ["magnets-pinch", "magnets-implants", "magnets-children", *hurts]  # here they are unpacked
    if printed:
        text.append(f"Print {join_words(printed)}{' and the centring jig (' + join_words(jigs) + ')' if jigs else ''} from the version's models. "
                    "Take off strings and seams where parts are glued, and weigh each part.")  # fmt: skip
    return Step(
        key="parts", title="Parts, frame and prints", parts=(*bodies, *printed, *jigs, "frame with terminals"),
        tools=("scale to 0.01 g", "caliper", "alcohol, tape"), text=tuple(text), checks=tuple(weigh), cautions=cautions(*hurts),
    )  # fmt: skip


def _magnets(plan: Plan) -> Step:
    assert plan.assembly is not None
    assert plan.record.motor is not None
    parts = [one for one in plan.record.motor.parts if one.name not in _later(plan)]
    magnets = [body for body in plan.assembly.bodies if isinstance(body.matter, Magnet)]
    text = [_placed(one) for one in parts]
    same = {one.magnetised for one in parts if one.magnetised}
    if len(magnets) > 1 and len(same) == 1:
        text.append(
            "All magnets point the same way: set one on the other they must pull. If they push apart, turn one over."
        )
    elif len(magnets) > 1:
        text.append(
            "The magnets do not all point the same way. Mark the north side of each with a pen before you begin."
        )
    elif magnets:
        text.append(
            "Which way round a single magnet lies does not matter: the check at the leads says which terminal is +."
        )
    text.append("Let the glue set under a weight before the gap is closed.")
    return Step(
        key="magnets", title="Magnets and steel", parts=tuple(one.name for one in parts), tools=("goggles", "wooden wedges", "glue", "weight or clamp"),
        text=tuple(text), cautions=cautions("magnets-pinch", "magnets-implants", "magnets-children", "glue"),
        last_chance=TURNED if len(magnets) > 1 else "",
        drawn=tuple(one.name for one in parts),
    )  # fmt: skip


def _later(plan: Plan) -> set[str]:
    """Parts that come with the gap: its two walls, and what stands on, under or beside one of them."""
    assert plan.assembly is not None
    assert plan.record.motor is not None
    found = {plan.assembly.gap.inner, plan.assembly.gap.outer}
    for one in plan.record.motor.parts:
        if {one.on, one.under, one.beside} & found:
            found.add(one.name)
    return found


def jig_lines(plan: Plan) -> list[str]:
    """How the jig fills both clearances of the coil in the gap."""
    if plan.assembly is None:
        return []
    walls = {
        "inner": f"between the {plan.assembly.gap.inner} and the former",
        "outer": f"between the winding and the {plan.assembly.gap.outer}",
    }
    found = []
    for fit in plan.fits:
        where = walls[fit.where]
        if fit.count and fit.by == "lines":
            found.append(
                f"The jig's {fit.where} sleeve goes {where}: a wall of {count(fit.count, 'line')}, {millimetres(fit.wall_m)}."
            )
        elif fit.count:
            found.append(
                f"The jig's three {fit.where} shims of {count(fit.count, 'layer')}, {millimetres(fit.wall_m)}, are bent round and go {where}."
            )
        else:
            found.append(
                f"Strips of film or paper, {millimetres(fit.clearance_m)}, fill the clearance {where}: no printed wall does."
            )
    return found


def _placed(one: PartTable) -> str:
    """One part's joint as a sentence."""
    where = (
        f"on the {one.on}"
        if one.on
        else f"under the {one.under}"
        if one.under
        else f"beside the {one.beside}"
        if one.beside
        else ""
    )
    if not where:
        return f"Begin with the {one.name}, flat on wood."
    glued = f" with {format_plain(one.glue_mm, 'mm', 1)} of glue" if one.glue_mm else ""
    way = f", its arrow (south to north) {_ARROWS[one.magnetised]}" if one.magnetised else ""
    level = f", {one.align} edges level" if one.align else ""
    return f"Set the {one.name} {where}{glued}{way}{level}."


def _gap(plan: Plan) -> Step:
    assert plan.assembly is not None
    assert plan.record.motor is not None
    gap = plan.assembly.gap
    parts = [one for one in plan.record.motor.parts if one.name in _later(plan)]
    placed = [_placed(one) for one in parts]
    text = [
        f"The gap between {gap.inner} and {gap.outer} is {millimetres(gap.r_outer - gap.r_inner, 3)} wide all around.",
        *placed,
    ]
    text.append(
        "Hold it centred while the glue sets: three strips of card or film, each as thick as the gap, a third of a turn apart. "
        "Look again all around before it sets; a caliper's inner jaws read the same everywhere."
    )
    text.append("Take crumbs out of the gap with tape, and keep it taped over until the coil goes in.")
    return Step(
        key="gap", title="Centring the gap", parts=tuple(one.name for one in parts), tools=("three strips as thick as the gap", "caliper", "tape", "glue"), text=tuple(text),
        cautions=cautions("magnets-pinch", "magnets-implants", "glue"),
        last_chance="A gap that is glued off centre cannot be mended. Look at it all around while the glue is soft.", drawn=tuple(one.name for one in parts),
    )  # fmt: skip


def _former(plan: Plan) -> Step:
    assert plan.coil is not None
    design = plan.coil.design
    checks = [measured("former_g", plan.bands)] if "former_g" in plan.bands else []
    return Step(
        key="former", title="The former", parts=(f"former of {design.former.title}",), tools=("caliper", "scale to 0.01 g", "mandrel of the same diameter"),
        text=(
            f"Inside {millimetres(2.0 * plan.coil.former_inner_m, 3)} across, wall {millimetres(design.former_wall_m)}, "
            f"{millimetres(plan.coil.former_height_m, 3)} long.",
            "It must slide freely over the inner jig. " + ("Sand its seam" if "former" in plan.printed else "Lay its seam flat")
            + "; a former that is not round rubs.",
        ),
        checks=tuple(checks), cautions=cautions("hot-plastic") if "former" in plan.printed else (),
    )  # fmt: skip


def _coil(plan: Plan) -> Step:
    assert plan.coil is not None
    coil = plan.coil
    design = coil.design
    layers = ", ".join(str(turns) for turns in coil.layer_turns)
    text = [
        f"Wind {count(coil.turns, 'turn')} of {design.wire.title} in {count(len(coil.layer_turns), 'layer')} ({layers} from inside), "
        f"{format_plain(coil.winding_length_m, 'm', 2)} of wire; keep {format_plain(coil.wire_to_buy_m, 'm', 2)} at hand.",
        f"The winding begins flush with the former's inner end and is {millimetres(coil.height_m, 3)} high. Outside it is no more than {millimetres(2.0 * coil.outermost_m, 3)} across.",
        "Wet each layer thinly with the winding's glue, count aloud, mark every tenth turn.",
        "Lead both ends along the former, fix them with a drop of glue, and leave them long.",
        "Do both checks before the coil goes into anything: now it can still be wound again.",
    ]
    checks = [measured("re_ohm", plan.bands, how=HOW["coil_re"])]
    if "coil_g" in plan.bands:
        checks.append(measured("coil_g", plan.bands))
    return Step(
        key="coil", title="Winding the coil", parts=(f"former, {design.wire.title}",), tools=("winder with counter", "multimeter", "scale to 0.01 g", "glue"),
        text=tuple(text), checks=tuple(checks), cautions=cautions("enamel", "glue"),
        last_chance="Once it is glued to the cone a wrong coil costs cone and spider: resistance and mass first.", drawn=("coil",),
    )  # fmt: skip
