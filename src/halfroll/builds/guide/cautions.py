"""The cautions of the guide's steps.

Magnets and implants: ICNIRP (0.5 mT); 0.3 m is common practice for magnets of this size. Hearing: NIOSH recommended exposure limit, 85 dBA for
8 h, 3 dB exchange. Soldering flux: HSE, COSHH. Enamel: isocyanates from polyurethane above some 200 °C. The rest is common practice.
Local rules and the makers' safety sheets come first.
"""

from __future__ import annotations

from halfroll.builds.guide.types import Caution

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
        "hot-plastic": "Nozzle, bed and fresh prints are hot. Ventilate: ASA and ABS give off styrene and fine dust. Do not leave the printer alone.",
        "hearing": "Tones and sweeps near resonance and at 2 to 5 kHz are far louder than music. Start very quietly, stay below 85 dB(A) or wear hearing "
        "protection, keep children and pets out, have a hand on the switch.",
        "mains": "Never open a mains-powered amplifier; change wires with the power off. A bridged amplifier's terminals are not ground. Local electrical "
        "rules come first.",
        "hot-coil": "Coil and pole get hot long before they look it, and printed parts soften. Do not leave a driver playing alone.",
        "cell": "Touch for half a second only: a cell left on heats coil and cell.",
    }.items()
}


def cautions(*keys: str) -> tuple[Caution, ...]:
    """Cautions by key, in order."""
    return tuple(CAUTIONS[key] for key in keys)
