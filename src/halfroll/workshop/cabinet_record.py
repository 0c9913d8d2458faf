"""``enclosures/<id>.toml``: a cabinet, its port or passive radiator, its walls and losses."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal, Self

from pydantic import Field, model_validator

from halfroll.workshop.fields import Record, SquareCentimetres, Table, refuse

Millimetres = Annotated[float, Field(ge=0.1, le=5000)]
Volume = Annotated[float, Field(ge=0.01, le=10_000)]
Part = Annotated[float, Field(ge=0, le=10_000)]
Quality = Annotated[float, Field(ge=0.5, le=10_000)]
Count = Annotated[int, Field(ge=1, le=20)]


class InsideTable(Table):
    """``[inside]``: inside sizes, of a box or (with a diameter) of a cylinder with the driver in its end."""

    width_mm: Millimetres | None = None
    height_mm: Millimetres | None = None
    diameter_mm: Millimetres | None = None
    depth_mm: Millimetres

    @model_validator(mode="after")
    def _whole(self) -> Self:
        box = (self.width_mm, self.height_mm)
        stated = box != (None, None)
        if (self.diameter_mm is not None and stated) or (self.diameter_mm is None and None in box):
            refuse(
                "width_mm",
                "must be stated with height_mm, or diameter_mm alone",
                "some of them" if stated else "nothing",
            )
        return self


class PortTable(Table):
    """``[port]``: a round or rectangular port; its length, or the tuning it is to give."""

    diameter_mm: Millimetres | None = None
    width_mm: Millimetres | None = None
    height_mm: Millimetres | None = None
    length_mm: Millimetres | None = None
    tuning_hz: Annotated[float, Field(ge=5, le=1000)] | None = None
    count: Count = 1
    end_correction_radii: Annotated[float, Field(ge=0, le=4)] = 1.462
    wall_mm: Annotated[float, Field(ge=0, le=100)] = 0.0

    @model_validator(mode="after")
    def _whole(self) -> Self:
        slot = (self.width_mm, self.height_mm)
        if (self.diameter_mm is None) != (None not in slot) or (
            self.diameter_mm is not None and slot != (None, None)
        ):
            refuse("diameter_mm", "must be stated, or width_mm and height_mm of a slot; one of the two",
                    "nothing" if self.diameter_mm is None else "both")  # fmt: skip
        if (self.length_mm is None) == (self.tuning_hz is None):
            refuse("length_mm", "must be stated, or tuning_hz instead; one of the two",
                    "nothing" if self.length_mm is None else "both")  # fmt: skip
        return self


class RadiatorTable(Table):
    """``[radiator]``: a passive radiator, moving mass with its air load."""

    mass_g: Annotated[float, Field(gt=0, le=10_000)]
    cms_mm_per_n: Annotated[float, Field(gt=0, le=1000)]
    rms_ns_per_m: Annotated[float, Field(gt=0, le=1000)]
    area_cm2: SquareCentimetres
    travel_mm: Annotated[float, Field(gt=0, le=500)] | None = None
    count: Count = 1


class WallsTable(Table):
    """``[walls]``: thickness and what they are printed of."""

    thickness_mm: Annotated[float, Field(ge=0.2, le=200)]
    material: Annotated[str, Field(min_length=1)] | None = None
    stiffer: Annotated[float, Field(ge=1, le=1000)] = 1.0


class StuffingTable(Table):
    """``[stuffing]``: fibre in the cabinet."""

    packing_g_l: Annotated[float, Field(ge=0.5, le=200)]
    fibre_um: Annotated[float, Field(ge=1, le=2000)] = 24.0
    fibre_density_kg_m3: Annotated[float, Field(ge=100, le=9000)] = 1380.0
    share: Annotated[float, Field(ge=0, le=1)] = 1.0


class LossesTable(Table):
    """``[losses]``: Q of leaks, absorption and port at the tuning; none where not stated."""

    ql: Quality | None = None
    qa: Quality | None = None
    qp: Quality | None = None
    at_hz: Annotated[float, Field(ge=5, le=2000)] | None = None


class LeakTable(Table):
    """``[leak]``: an opening one knows of: a round hole, or a slit and how long it is."""

    hole_mm: Annotated[float, Field(gt=0, le=10)] | None = None
    slit_mm: Annotated[float, Field(gt=0, le=5)] | None = None
    slit_length_mm: Millimetres | None = None
    through_mm: Millimetres | None = None

    @model_validator(mode="after")
    def _whole(self) -> Self:
        if (self.hole_mm is None) == (self.slit_mm is None) or (self.slit_mm is None) != (
            self.slit_length_mm is None
        ):
            refuse("hole_mm", "must be stated, or slit_mm with slit_length_mm; one of the two",
                    "both" if self.hole_mm is not None else "not both of the slit's")  # fmt: skip
        return self


class FrontTable(Table):
    """``[front]``: outside of the front and the driver's centre in it, from the left and from below."""

    width_mm: Annotated[float, Field(ge=20, le=10_000)] | None = None
    height_mm: Annotated[float, Field(ge=20, le=10_000)] | None = None
    driver_x_mm: Millimetres | None = None
    driver_y_mm: Millimetres | None = None


class CabinetRecord(Record):
    """``enclosures/<id>.toml``: one cabinet."""

    kind: ClassVar[str] = "cabinet"

    type: Literal["closed", "vented", "passive-radiator"]
    title: str = ""
    notes: str = ""
    driver: Annotated[str, Field(min_length=1)] | None = None
    volume_l: Volume | None = None
    driver_l: Part | None = None
    bracing_l: Part = 0.0
    used_to_hz: Annotated[float, Field(ge=20, le=20_000)] | None = None
    inside: InsideTable | None = None
    front: FrontTable | None = None
    port: PortTable | None = None
    radiator: RadiatorTable | None = None
    walls: WallsTable | None = None
    stuffing: StuffingTable | None = None
    losses: LossesTable = LossesTable()
    leak: LeakTable | None = None

    @model_validator(mode="after")
    def _whole(self) -> Self:
        if (self.volume_l is None) == (self.inside is None):
            refuse("volume_l", "must be stated, or the sizes in [inside]; one of the two",
                    "nothing" if self.volume_l is None else "both")  # fmt: skip
        needs = {"vented": "port", "passive-radiator": "radiator"}.get(self.type)
        for name in ("port", "radiator"):
            if (getattr(self, name) is not None) != (name == needs):
                refuse(name, f"must be stated as a table: a {self.type} cabinet has one" if name == needs else f"has no place in a {self.type} cabinet",
                        "nothing" if name == needs else f"a table [{name}]")  # fmt: skip
        return self
