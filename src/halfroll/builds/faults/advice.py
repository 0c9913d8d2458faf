"""What to do about each fault, and what can hurt while doing it (common practice of the bench)."""

from __future__ import annotations

_HOT = "Solder and iron burn, and their fumes want a draught away from your face."
_MAGNET = "Magnets snap together and break: keep fingers and steel tools away, wear glasses, keep them from pacemakers and cards."
_SOLVENT = "Glue and its solvent give off fumes: open a window, wear gloves."
_LOUD = "Start at a low level and do not sit in front of it: a tone that sounds soft in the bass can be loud to your ears a little higher."

REMEDIES: dict[str, str] = {
    "fewer-turns": "Count the turns on what is left of the spool or by weight; wind a new coil with the number of turns and layers as drawn.",
    "shorted-turns": "Look for scraped enamel where the leads leave and where the layers cross; wind a new coil, insulate the lead where it passes the winding.",
    "stiff-print": "Weigh surround and spider against the guide, check filament and wall with a calliper; print the one that is too heavy again.",
    "soft-print": "Weigh surround and spider against the guide, look for lines that did not join or a wall too thin; print again with more flow or the right filament.",
    "weak-magnet": "Hold the magnet beside a good one: same grade, same pull? Warmth over its limit weakens it for good; put in another.",
    "reversed-magnet": "Check each magnet with a compass before it is glued: in a stack all must point the same way. Turn the one that does not.",
    "reversed-leads": "Swap the leads at the terminals, mark plus, and check with a cell again.",
    "off-centre": "Measure the coil's height from the top plate against the drawing; glue it again with the jig, or shim under the frame.",
    "rubbing": "Look for glue or a burr in the gap, blow it out; centre the coil with shims and glue the spider again.",
    "leak": "Run a bead of glue round cone, cap and flange, a gasket under the frame; press and listen along the seams.",
    "glued-spider": "Cut or scrape the glue out of the arms and the roll; else print a new spider and use less glue at its inner edge.",
    "heavy-parts": "Weigh cone, cap and coil one by one against the guide; print the heavy one again, use less glue.",
    "loose-part": "Touch frame, cap, leads and box while a soft sweep plays: where it falls silent something is loose. Glue or tighten it; keep leads off the cone.",
    "bad-joint": "Measure from the coil's own wire to the terminals piece by piece; solder the joint again, take a thicker lead.",
}  # fmt: skip

CAUTIONS: dict[str, str] = {
    "fewer-turns": _HOT, "shorted-turns": f"{_HOT} Do not drive it hard meanwhile: the short heats.", "stiff-print": "", "soft-print": "", "weak-magnet": _MAGNET,
    "reversed-magnet": _MAGNET, "reversed-leads": _HOT, "off-centre": f"{_SOLVENT} {_MAGNET}", "rubbing": f"{_MAGNET} {_LOUD}", "leak": _SOLVENT,
    "glued-spider": f"{_SOLVENT} Cut away from your hand.", "heavy-parts": _SOLVENT, "loose-part": _LOUD, "bad-joint": _HOT,
}  # fmt: skip
