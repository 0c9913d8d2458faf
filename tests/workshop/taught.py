"""A workshop whose version was built otherwise than assumed: its measurements come from the prediction with known moves."""

from __future__ import annotations

import datetime as dt
import json
import sqlite3
from contextlib import closing
from pathlib import Path

import numpy as np

from halfroll.acoustics.air import STANDARD_AIR
from halfroll.acoustics.radiation import air_mass
from halfroll.app.suspension_draft import SuspensionDraft
from halfroll.app.suspension_start import former_mm, start
from halfroll.driver.linear import linear_response
from halfroll.workshop import UnitRecord, Workshop
from halfroll.workshop.impedance_import import import_impedance
from halfroll.workshop.index import Result
from halfroll.workshop.prediction import predicted_driver
from halfroll.workshop.update import version_update
from tests.app.samples import knot_with_motor
from tests.once import made_once

VERSION = "knot/v1"


def taught(shop: Workshop, folder: Path) -> dict[str, float]:
    """Design, build and measure a version whose plastic is stiffer and lossier than assumed; the moves, by key."""
    knot_with_motor(shop)
    draft = SuspensionDraft(shop, VERSION)
    draft.change(lambda data: data.update(start("roll", former_mm(draft.record))))
    draft.save()
    predicted = predicted_driver(shop, VERSION)
    weight = dict(
        zip((one.key for one in predicted.assumptions), np.abs(predicted.slopes).sum(axis=1), strict=True)
    )
    moduli = [key for key in weight if key.startswith("filament.") and key.endswith(".modulus")]
    modulus = max(
        moduli, key=weight.__getitem__
    )  # of the plastic that holds most: the others could hardly stand in for it
    moves = {modulus: 1.9, modulus.replace(".modulus", ".loss"): 1.8}
    truth = predicted.moved(moves)
    at = np.geomspace(12.0, 6000.0, 240)
    rng = np.random.default_rng(12)
    z = linear_response(truth, at).impedance_ohm * (1.0 + 0.003 * rng.normal(size=len(at)))
    table = folder / "alone.csv"
    lines = (f"{f:.5g},{abs(v):.6g},{np.degrees(np.angle(v)):.5g}" for f, v in zip(at, z, strict=True))
    table.write_text("frequency_hz,magnitude_ohm,phase_deg\n" + "\n".join(lines) + "\n", encoding="utf-8")
    grams = 1e3 * (truth.Mms - air_mass(truth.radius, STANDARD_AIR))
    record = UnitRecord(
        built_by="Test", re_ohm=round(truth.Re, 3), re_u_ohm=0.02, moving_mass_g=round(grams, 3), moving_mass_u_g=0.05,
    )  # fmt: skip
    if f"{VERSION}/01" not in shop.unit_ids(VERSION):
        shop.create_unit(VERSION, "01", record)
    else:
        shop.save(shop.unit(f"{VERSION}/01"), record)
    import_impedance(shop, f"{VERSION}/01", table, {"mounting": "baffle"}, when=dt.datetime(2026, 5, 1, 12))
    return moves


def taught_once(shared: Path) -> tuple[Path, dict[str, float]]:
    """The folder of such a workshop with its update found, and the moves; made once for all workers. Copy it, do not write to it."""

    def make(folder: Path) -> None:
        shop = Workshop.init(folder / "shop", "Test")
        moves = taught(shop, folder)
        version_update(shop, VERSION)
        (folder / "moves.json").write_text(json.dumps(moves), encoding="utf-8")

    folder = made_once(shared, "taught", make)
    return folder / "shop", json.loads((folder / "moves.json").read_text(encoding="utf-8"))


def lend(shop: Workshop, other: Path) -> Workshop:
    """Put what another workshop worked out into the index of this one; it is found where the design and the code are the same."""
    with closing(sqlite3.connect(other / ".halfroll" / "index.sqlite")) as db:
        rows = db.execute("SELECT take, key, blob FROM responses").fetchall()
    shop.index.put_results([Result(take=take, response_key=key, response=blob) for take, key, blob in rows])
    return shop
