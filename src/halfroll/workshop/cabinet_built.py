"""From a cabinet's record to a cabinet: millimetres to metres, a tuning to a length, the front around the inside, the driver's room taken."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from halfroll.acoustics.baffle import Baffle
from halfroll.acoustics.cabinet.port import Port, length_for
from halfroll.acoustics.cabinet.stuffing import Stuffing
from halfroll.acoustics.cabinet.types import Box, Cabinet, Cylinder, Gap, Hole, Inside, Leak, Losses, Radiator
from halfroll.acoustics.cabinet.walls import Walls
from halfroll.core.errors import InputError
from halfroll.materials.catalogue import Catalogue, found_in
from halfroll.workshop.cabinet_record import CabinetRecord, LeakTable, PortTable

if TYPE_CHECKING:
    from halfroll.driver.displaced import DriverBody

_ROUNDS = 60
_THIN_M = 3e-3


def cabinet_of(record: CabinetRecord, catalogue: Catalogue, body: DriverBody | None = None) -> Cabinet:
    """The cabinet of a record.

    The driver takes what the record states under ``driver_l``, else what its design does.

    Raises
    ------
    InputError
        What it says cannot be, or the walls' material is not known.
    """
    inside = _inside(record)
    driver = 1e-3 * record.driver_l if record.driver_l is not None else 0.0 if body is None else body.taken_m3
    taken = driver + 1e-3 * record.bracing_l
    gross = inside.volume_m3 if inside is not None else 1e-3 * (record.volume_l or 0.0)
    losses = record.losses
    bare = Cabinet(
        kind="closed", gross_m3=gross, taken_m3=taken, inside=inside, walls=_walls(record, catalogue), front=_front(record, inside),
        stuffing=_stuffing(record), leak=None if record.leak is None else _leak(record.leak, record), name=record.title,
        losses=Losses(leak_q=losses.ql or math.inf, absorption_q=losses.qa or math.inf, port_q=losses.qp or math.inf, at_hz=losses.at_hz),
    )  # fmt: skip
    if record.port is not None:
        return replace(bare, kind="vented", port=_port(record.port, gross - taken))
    if record.radiator is not None:
        one = record.radiator
        radiator = Radiator(
            mass_kg=1e-3 * one.mass_g, compliance_m_n=1e-3 * one.cms_mm_per_n, resistance=one.rms_ns_per_m, area_m2=1e-4 * one.area_cm2,
            travel_m=math.inf if one.travel_mm is None else 1e-3 * one.travel_mm, count=one.count,
        )  # fmt: skip
        return replace(bare, kind="passive-radiator", radiator=radiator)
    return bare


def _inside(record: CabinetRecord) -> Inside | None:
    table = record.inside
    if table is None:
        return None
    if table.diameter_mm is not None:
        return Cylinder(diameter_m=1e-3 * table.diameter_mm, depth_m=1e-3 * table.depth_mm)
    assert table.width_mm is not None
    assert table.height_mm is not None
    return Box(width_m=1e-3 * table.width_mm, height_m=1e-3 * table.height_mm, depth_m=1e-3 * table.depth_mm)


def _port(table: PortTable, room_m3: float) -> Port:
    """A port; where a tuning is stated, as long as it takes, its own volume left to it."""
    length = 1e-3 if table.length_mm is None else 1e-3 * table.length_mm

    def made(long: float) -> Port:
        wall, ends = 1e-3 * table.wall_mm, table.end_correction_radii
        if table.diameter_mm is not None:
            return Port.round(
                1e-3 * table.diameter_mm, long, count=table.count, end_sum=ends, tube_wall_m=wall
            )
        assert table.width_mm is not None
        assert table.height_mm is not None
        return Port.slot(
            1e-3 * table.width_mm,
            1e-3 * table.height_mm,
            long,
            count=table.count,
            end_sum=ends,
            tube_wall_m=wall,
        )

    port = made(length)
    if table.tuning_hz is None:
        return port
    for _ in range(_ROUNDS):
        net = room_m3 - port.volume_m3
        longer = length_for(max(net, 0.05 * room_m3), table.tuning_hz, port.area_m2, count=port.count, end_sum=port.end_sum)  # fmt: skip
        if net <= 0.05 * room_m3 or longer * port.all_area_m2 >= 0.95 * room_m3:
            raise InputError("The port this tuning needs would fill the cabinet", key="port.tuning_hz", found=f"{table.tuning_hz:g} Hz",
                             remedy="Use a narrower port, a larger cabinet, or tune higher")  # fmt: skip
        if abs(longer - port.length_m) < 1e-9:
            break
        port = made(longer)
    return port


def _walls(record: CabinetRecord, catalogue: Catalogue) -> Walls | None:
    table = record.walls
    if table is None or table.material is None:
        return None
    filament = found_in(catalogue.filaments, table.material, "filament", key="walls.material")
    return Walls(thickness_m=1e-3 * table.thickness_mm, modulus_pa=filament.modulus_pa, poisson=filament.poisson,
                 density_kg_m3=filament.density_kg_m3, material=filament.title, ribs=table.stiffer)  # fmt: skip


def _stuffing(record: CabinetRecord) -> Stuffing | None:
    table = record.stuffing
    if table is None:
        return None
    return Stuffing(packing_kg_m3=table.packing_g_l, fibre_radius_m=0.5e-6 * table.fibre_um, fibre_density_kg_m3=table.fibre_density_kg_m3,
                    share=table.share)  # fmt: skip


def _leak(table: LeakTable, record: CabinetRecord) -> Leak:
    wall = _THIN_M if record.walls is None else 1e-3 * record.walls.thickness_mm
    through = wall if table.through_mm is None else 1e-3 * table.through_mm
    if table.hole_mm is not None:
        return Hole(diameter_m=1e-3 * table.hole_mm, through_m=through)
    assert table.slit_mm is not None
    assert table.slit_length_mm is not None
    return Gap(long_m=1e-3 * table.slit_length_mm, open_m=1e-3 * table.slit_mm, through_m=through)


def _front(record: CabinetRecord, inside: Inside | None) -> Baffle | None:
    """Outside of the front: stated, else the inside with its walls; the driver in its middle unless stated. None where neither is known."""
    table, wall = record.front, 0.0 if record.walls is None else 1e-3 * record.walls.thickness_mm
    sizes = [
        None if inside is None else one + 2.0 * wall
        for one in (inside.face_m if inside is not None else (0.0, 0.0))
    ]
    if table is not None:
        sizes = [
            old if new is None else 1e-3 * new
            for old, new in zip(sizes, (table.width_mm, table.height_mm), strict=True)
        ]
    width, height = sizes
    if width is None or height is None:
        return None
    x = width / 2.0 if table is None or table.driver_x_mm is None else 1e-3 * table.driver_x_mm
    y = height / 2.0 if table is None or table.driver_y_mm is None else 1e-3 * table.driver_y_mm
    try:
        return Baffle(width_m=width, height_m=height, x_m=x, y_m=y)
    except InputError as fault:
        raise InputError(fault.message, key="front", found=fault.found) from fault
