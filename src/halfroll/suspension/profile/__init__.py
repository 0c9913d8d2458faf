"""What surround, spider, cone and cap look like before they bend: middle lines, thickness, outlines, and what is refused.

`profile_of` a strip of revolution (`families`), `cone_line` and `cap_line` (`cones`), `arm_place` of a flexure (`arms`,
`flexure`): all in the part's own heights, z = 0 at the inner edge (a cap's rim). `moving_lines` and `moving_outlines` put every
part where it stands over the gap (`placed`). `outlines` are closed polygons; `read_points` reads a free profile from CSV, SVG or DXF (`reading`).
"""

from halfroll.suspension.profile.arms import arm_place
from halfroll.suspension.profile.cones import cap_line, check_cone, cone_line
from halfroll.suspension.profile.families import check_strip, profile_of
from halfroll.suspension.profile.flexure import check_flexure
from halfroll.suspension.profile.outlines import (
    PlaneOutline,
    cap_outline,
    cone_outline,
    flexure_outline,
    former_outline,
    strip_outline,
)
from halfroll.suspension.profile.placed import cap_height, moving_lines, moving_outlines, raised
from halfroll.suspension.profile.reading import read_points
from halfroll.suspension.profile.thickness import snapped

__all__ = [
    "PlaneOutline",
    "arm_place",
    "cap_height",
    "cap_line",
    "cap_outline",
    "check_cone",
    "check_flexure",
    "check_strip",
    "cone_line",
    "cone_outline",
    "flexure_outline",
    "former_outline",
    "moving_lines",
    "moving_outlines",
    "profile_of",
    "raised",
    "read_points",
    "snapped",
    "strip_outline",
]
