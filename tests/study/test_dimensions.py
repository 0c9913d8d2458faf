"""The dimensions of a design: found, changed with what is glued to them, refused."""

import pytest

from halfroll.core.errors import InputError
from halfroll.study.dimensions import dimension, dimensions_of, with_value, with_values
from halfroll.workshop.records import (
    CoilTable,
    ConeTable,
    MotorTable,
    PartTable,
    SuspensionTable,
    VersionRecord,
)


def record() -> VersionRecord:
    """A surround on a cone, a coil, a motor of one part of one's own and one bought."""
    return VersionRecord(
        surround=SuspensionTable(family="half-roll", inner_mm=89.0, outer_mm=107.0, thickness_mm=0.42, material="tpu-85a"),
        cone=ConeTable(inner_mm=27.5, outer_mm=89.0, depth_mm=17.0, thickness_mm=0.6, material="petg"),
        spider=SuspensionTable(
            family="spiral-arms", inner_mm=27.5, outer_mm=62.0, thickness_mm=0.6, width_mm=3.0, arms=3, sweep_deg=180.0, material="petg"
        ),
        coil=CoilTable(wire="wire-016", layers=2, turns=60, former_inner_mm=27.2, former_wall_mm=0.15, former_material="card"),
        motor=MotorTable(
            gap=("pole", "plate"),
            parts=(
                PartTable(name="pole", shape="disc", outer_mm=25.0, height_mm=12.0, material="steel"),
                PartTable(name="plate", part="top-plate-60", glue_mm=0.05),
            ),
        ),
    )  # fmt: skip


def test_every_dimension_once() -> None:
    """Bought sizes are none; a coil's offset and the glue can be changed although they are not said."""
    keys = [one.key for one in dimensions_of(record())]
    assert len(keys) == len(set(keys))
    assert {
        "surround.thickness_mm",
        "spider.width_mm",
        "coil.turns",
        "coil.offset_mm",
        "moving.glue_g",
        "motor.parts[1].outer_mm",
    } <= set(keys)
    assert "motor.parts[2].glue_mm" in keys
    assert not any(key.startswith("motor.parts[2].") and "glue" not in key for key in keys)
    assert not any(key.startswith("cap") for key in keys)


def test_a_change_keeps_the_rest() -> None:
    """One key differs, and the record is checked again."""
    changed = with_value(record(), "motor.parts[1].height_mm", 12.5)
    assert changed.motor is not None
    assert changed.motor.parts[0].height_mm == 12.5
    assert changed.changed(motor=record().motor) == record()
    assert with_value(record(), "coil.turns", 61.0).coil == record().coil.changed(turns=61)  # type: ignore[union-attr]
    glued = with_value(record(), "moving.glue_g", 0.3)
    assert glued.moving is not None
    assert glued.moving.glue_g == 0.3


def test_what_is_glued_follows() -> None:
    """A wider cone takes the surround along, which keeps its width; the spider follows the cone's inner edge."""
    changed = with_value(record(), "cone.outer_mm", 91.0)
    assert changed.surround is not None
    assert (changed.surround.inner_mm, changed.surround.outer_mm) == (91.0, 109.0)
    inner = with_value(record(), "cone.inner_mm", 28.5)
    assert inner.spider is not None
    assert inner.spider.inner_mm == 28.5
    both = with_values(record(), {"cone.outer_mm": 91.0, "surround.thickness_mm": 0.5})
    assert both.surround is not None
    assert (both.surround.thickness_mm, both.surround.outer_mm) == (0.5, 109.0)


def test_ranges() -> None:
    """A thickness stays above nothing, a count is whole, a share is at most all."""
    thickness = dimension(record(), "surround.thickness_mm")
    assert 0.0 < thickness.low < 0.42 < thickness.high
    assert dimension(record(), "coil.turns").clipped(60.4) == 60.0
    assert dimension(record(), "surround.print.infill").high == 1.0
    with pytest.raises(InputError, match="no such dimension"):
        dimension(record(), "cap.height_mm")
