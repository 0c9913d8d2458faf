"""A workshop as small as a release can be: Godwit v1 and v2, two units each, one take each, a part and a rig of its own."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

from halfroll.compare.recipe import compare_versions
from halfroll.core.conditions import Space
from halfroll.workshop import (
    ChangeTable,
    DriverRecord,
    MicrophoneTable,
    NewAudio,
    RigRecord,
    SweepTable,
    TakeSetup,
    UnitRecord,
    VersionRecord,
    VoltageTable,
    Workshop,
)
from halfroll.workshop.releases import checked_record, new_release
from halfroll.workshop.rig_record import DevicesTable
from tests.app.samples import PA, ROLES, SWEEP, VOLTS, recorded

RELEASE = "godwit-v2"
QUICK = ("sheet", "guide", "bill", "models", "comparison", "charts", "sweep")
"""Left out where a test is not about them."""

PART = 'format = 1\ntype = "magnet"\nshape = "disc"\nouter_mm = 30.0\nheight_mm = 5.0\nmaterial = "n42"\nprice = 4.5\ncurrency = "EUR"\nstock = 12.0\n'


def analysed(base: Path) -> Path:
    """The workshop with its takes analysed, made once a process below the tests' own folder; copy it, do not write to it."""
    folder = base / "release-shop"
    if not folder.exists():
        compare_versions(release_workshop(folder), ["godwit"], with_curves=False)
    return folder


def release_workshop(folder: Path) -> Workshop:
    """The workshop, without a release yet."""
    shop = Workshop.init(folder, "Saltmarsh Workshop", durable=False)
    shop.create_rig("bench", RigRecord(
        title="Bench microphone", microphone=MicrophoneTable(pa_per_full_scale=PA, u_db=0.3),
        voltage=VoltageTable(v_per_full_scale=VOLTS, u_db=0.05), devices=DevicesTable(input="Card of the back room"),
    ))  # fmt: skip
    (folder / "parts").mkdir()
    (folder / "parts" / "slug.toml").write_text(PART, encoding="utf-8")
    shop.create_driver("godwit", DriverRecord(title="Godwit", aim="A small bass for hides by the water."))
    for n, (resonance, curvature) in enumerate(((120.0, 0.05), (60.0, 0.01)), start=1):
        _version(shop, n, resonance, curvature)
    return shop


def _version(shop: Workshop, n: int, resonance: float, curvature: float) -> None:
    more: dict[str, Any] = {} if n == 1 else {
        "parent": "v1", "summary": "Softer surround.", "changes": (ChangeTable(what="surround", before="1.2 mm", after="0.8 mm", why="deeper bass"),),
        "cone": {"inner_mm": 30.0, "outer_mm": 69.0, "depth_mm": 9.0, "thickness_mm": 0.8, "material": "pla"}, "bill": {"bought": [{"part": "slug"}]},
    }  # fmt: skip
    version = shop.create_version("godwit", f"v{n}", VersionRecord.model_validate({
        "title": f"Trial {n}", "date": dt.date(2026, 3, n), "rated_impedance_ohm": 8.0, "rated_power_w": 10.0, "effective_area_cm2": 50.0, **more,
    }))  # fmt: skip
    for u in (1, 2):
        unit = shop.create_unit(version.id, f"0{u}", UnitRecord(built_by="R. Turnstone", re_ohm=6.8))
        shop.add_take(
            unit.id, "tuesday",
            TakeSetup(rig="bench", distance_m=1.0, space=Space.HALF, drive_v=2.828, sweep=SweepTable.of(SWEEP)),
            dt.datetime(2026, 3, n, 10 + u),
            [NewAudio.from_samples("take.flac", recorded(resonance_hz=resonance * (1 + 0.01 * u), curvature=curvature, seed=10 * n + u), SWEEP.rate_hz, ROLES)],
        )  # fmt: skip


def add_release(shop: Workshop, release: str = RELEASE, **changes: Any) -> Workshop:
    """The workshop with a release of v2: supporters from July, everyone from September 2026."""
    new_release(shop, release, checked_record({
        "title": "Godwit v2", "versions": ["godwit/v2"], "date": dt.date(2026, 7, 1), "licence": "CERN-OHL-S-2.0", "authors": ["Saltmarsh Workshop"],
        "leave_out": QUICK,
        "audiences": [{"name": "supporters", "date": dt.date(2026, 7, 1)}, {"name": "everyone", "date": dt.date(2026, 9, 1)}], **changes,
    }))  # fmt: skip
    return shop
