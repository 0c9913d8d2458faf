"""The cautions of the guide's steps.

Magnets and implants: ICNIRP (0.5 mT); 0.3 m is common practice for magnets of this size. Hearing: NIOSH recommended exposure limit, 85 dBA for
8 h, 3 dB exchange. Soldering flux: HSE, COSHH. Enamel: isocyanates from polyurethane above some 200 °C. The rest is common practice.
Local rules and the makers' safety sheets come first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from halfroll.builds.guide.types import Caution, Step

CAUTIONS: dict[str, Caution] = {
    key: Caution(key=key, text=text)
    for key, text in {
        "magnets-pinch": "Magnets snap together and onto steel, pinch skin and splinter. Wear goggles, slide them on from the side over a wooden "
        "wedge, one at a time, and keep steel tools and other magnets an arm's length away.",
        "magnets-implants": "Keep magnets 0.3 m or more away from pacemakers, implants, cards and disks. Who wears an implant does not do this step.",
        "magnets-children": "Swallowed magnets are an emergency: see a doctor at once. Keep them away from children, count them before and after.",
        "enamel": "Hot enamel gives off isocyanates: strip the wire by scraping or under extraction, with the face away from it.",
        "solder": "Flux fumes harm lungs: solder under extraction or in moving air. Wash your hands; the iron burns.",
        "glue": "Glue bonds skin, its vapour stings eyes, hardeners can make allergic: gloves, goggles, open window. Contact cement burns: no flame. "
        "Read its safety sheet.",
        "alcohol": "Alcohol burns and its vapour catches fire: no flame, no iron and no spark near it, an open window.",
        "hot-plastic": "Nozzle, bed and fresh prints are hot. Ventilate: ASA and ABS give off styrene and fine dust. Do not leave the printer alone.",
        "hearing": "Tones and sweeps near resonance and at 2 to 5 kHz are far louder than music. Start very quietly, stay below 85 dB(A) or wear hearing "
        "protection, keep children and pets out, have a hand on the switch.",
        "mains": "Never open a mains-powered amplifier; change wires with the power off. A bridged amplifier's terminals are not ground. Local electrical "
        "rules come first.",
        "hot-coil": "Coil and pole get hot long before they look it, and printed parts soften. Do not leave a driver playing alone.",
        "cell": "Touch for half a second only: a cell left on heats coil and cell.",
    }.items()
}

AGAIN: dict[str, str] = {
    "magnets-pinch": "Magnets snap together: goggles on, slide them from the side, keep steel tools away.",
    "magnets-implants": "Magnets 0.3 m or more from pacemakers, implants, cards and disks.",
    "magnets-children": "Keep magnets from children; count them. A swallowed one: to a doctor at once.",
    "hot-plastic": "Nozzle, bed and fresh prints are hot. Ventilate; do not leave the printer alone.",
    "enamel": "Scrape the wire or strip it under extraction: hot enamel gives off isocyanates.",
    "solder": "Solder under extraction or in moving air.",
    "glue": "Glue: gloves, goggles, open window, no flame.",
    "hearing": "Start very quietly, stay below 85 dB(A) or wear hearing protection, a hand on the switch.",
    "mains": "Never open a mains-powered amplifier; change wires with the power off.",
    "hot-coil": "Coil and pole get hot: do not leave a driver playing alone.",
    "cell": "Touch for half a second only.",
}
"""What a later step says of a hazard that an earlier one told in full: what to do, in one line."""


def cautions(*keys: str) -> tuple[Caution, ...]:
    """Cautions by key, in order."""
    return tuple(CAUTIONS[key] for key in keys)


def told_once(steps: Sequence[Step]) -> tuple[Step, ...]:
    """The steps with each hazard told in full where it comes first, and in one line where it comes again."""
    seen: set[str] = set()
    found = []
    for step in steps:
        here = tuple(
            replace(one, text=AGAIN[one.key]) if one.key in seen and one.key in AGAIN else one
            for one in step.cautions
        )
        seen |= {one.key for one in here}
        found.append(replace(step, cautions=here))
    return tuple(found)
