"""``[parameters]`` of ``version.toml``: a driver's parameters entered by hand, for a driver without a design.

Types and single values are checked here; what contradicts itself is refused by `driver.predicted.entered`.
"""

from __future__ import annotations

from typing import Annotated, ClassVar

from pydantic import Field

from halfroll.workshop.fields import FileName, Table

Above = Annotated[float, Field(gt=0, le=1e6)]
Spread = Annotated[float, Field(ge=0, le=1e6)]


class ParametersTable(Table):
    """``[parameters]``: as a data sheet or a measurement elsewhere says them; ``<key>_u`` are standard uncertainties."""

    kind: ClassVar[str] = "parameters"

    source: str = ""
    re_ohm: Above | None = None
    re_u_ohm: Spread | None = None
    bl_n_per_a: Above | None = None
    bl_u_n_per_a: Spread | None = None
    qes: Above | None = None
    qes_u: Spread | None = None
    mms_g: Above | None = None
    mms_u_g: Spread | None = None
    cms_mm_per_n: Above | None = None
    cms_u_mm_per_n: Spread | None = None
    vas_l: Above | None = None
    vas_u_l: Spread | None = None
    fs_hz: Above | None = None
    fs_u_hz: Spread | None = None
    rms_ns_per_m: Above | None = None
    rms_u_ns_per_m: Spread | None = None
    qms: Above | None = None
    qms_u: Spread | None = None
    le_mh: Annotated[float, Field(ge=0, le=1000)] | None = None
    le_u_mh: Spread | None = None
    l2_mh: Above | None = None
    r2_ohm: Above | None = None
    creep: Annotated[float, Field(ge=0, le=0.5)] | None = None
    travel_mm: Annotated[float, Field(gt=0, le=100)] | None = None
    curves: FileName | None = None
