"""Grams a slicer told belong to the shape they were told of: a thicker cone weighs more, whatever was stated of the thinner one."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from halfroll.core.progress import silent
from halfroll.study.dimensions import dimension, with_value
from halfroll.study.grams import with_grams
from halfroll.study.sensitivity import sides_of, start_of
from halfroll.workshop import Workshop
from halfroll.workshop.records import VersionRecord
from tests.study.shop import VERSION, predicted


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory, shared: Path) -> Workshop:
    """A workshop with one whole design."""
    folder = tmp_path_factory.mktemp("grams")
    return predicted(Workshop.init(folder / "shop", "Saltmarsh Workshop", durable=False), shared)


@pytest.fixture(scope="module")
def stated(shop: Workshop) -> tuple[Workshop, VersionRecord]:
    """A whole design; the slicer said 2.5 g of its cone, a scale 1.2 g of its surround."""
    loaded = shop.version(VERSION)
    cone, surround = loaded.record.cone, loaded.record.surround
    assert cone is not None
    assert surround is not None
    record = loaded.record.changed(
        cone=cone.changed(print=cone.print.changed(slicer_g=2.5)),
        surround=surround.changed(print=surround.print.changed(weighed_g=1.2)),
    )
    shop.save(loaded, record)
    return shop, shop.version(VERSION).record


def test_grams_go_with_the_volume(stated: tuple[Workshop, VersionRecord]) -> None:
    """A shell's volume goes with its thickness (Pappus); parts that were not touched keep what was told of them."""
    shop, record = stated
    assert record.cone is not None
    thin = record.cone.thickness_mm
    thick = with_grams(shop, VERSION, record, with_value(record, "cone.thickness_mm", thin + 0.1))
    assert thick.cone is not None
    assert thick.cone.print.slicer_g == pytest.approx(2.5 * (thin + 0.1) / thin, rel=2e-3)
    assert thick.surround == record.surround
    wide = with_grams(
        shop, VERSION, record, with_value(record, "cone.outer_mm", (record.cone.outer_mm or 0.0) + 1.0)
    )
    assert wide.cone is not None
    r, d = 0.5 * (record.cone.outer_mm or 0.0), record.cone.depth_mm or 0.0
    inner = 0.5 * (record.cone.inner_mm or 0.0)

    def frustum(outer: float) -> float:
        return (outer + inner) * math.hypot(outer - inner, d)

    if record.cone.shape == "straight":
        assert wide.cone.print.slicer_g == pytest.approx(2.5 * frustum(r + 0.5) / frustum(r), rel=5e-3)


def test_a_weighed_part_is_no_longer_weighed(stated: tuple[Workshop, VersionRecord]) -> None:
    """What the scale said of another shape is as unsure as a slicer's word; a design without stated grams is left alone."""
    shop, record = stated
    assert record.surround is not None
    thick = with_grams(
        shop, VERSION, record, with_value(record, "surround.thickness_mm", 2.0 * record.surround.thickness_mm)
    )
    assert thick.surround is not None
    assert thick.surround.print.weighed_g is None
    assert thick.surround.print.slicer_g == pytest.approx(2.4, rel=0.02)
    plain = record.changed(
        cone=None, surround=record.surround.changed(print=record.surround.print.changed(weighed_g=None))
    )
    changed = with_value(plain, "surround.thickness_mm", 0.9)
    assert with_grams(shop, VERSION, plain, changed) == changed


@pytest.mark.slow
def test_what_next_knows_that_a_thicker_cone_is_heavier(stated: tuple[Workshop, VersionRecord]) -> None:
    """A tenth of a millimetre of the cone, solved: the moving mass grows by the cone's share, and the level falls."""
    shop, record = stated
    assert record.cone is not None
    start = start_of(shop, VERSION)
    up, _ = sides_of(shop, VERSION, start, dimension(record, "cone.thickness_mm"), silent)
    more = up["model"]["Mms"] - start.model.Mms
    assert more == pytest.approx(2.5e-3 * 0.1 / record.cone.thickness_mm, rel=0.01)
