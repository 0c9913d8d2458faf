"""What the demonstration says was built: readings in the records, a drawing that shows the motor, a guide with a step of its own."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from halfroll.builds.guide import guide_of
from halfroll.workshop import DriverRecord, UnitRecord, VersionRecord, Workshop
from halfroll.workshop.demo_built import VERSION, add_built
from halfroll.workshop.motors import load_motor
from halfroll.workshop.photographs import photographs_of, read_photograph
from tests.workshop.predictions import design, stand_in


@pytest.fixture
def shop(tmp_path: Path) -> Workshop:
    """The demonstration's latest Avocet, designed, with three units."""
    made = Workshop.init(tmp_path / "shop", "Saltmarsh", durable=False)
    made.create_driver("avocet", DriverRecord(title="Avocet"))
    made.create_version("avocet", "v8", VersionRecord(title="Wide thin roll"))
    design(made, VERSION)
    for name in ("01", "02", "03"):
        made.create_unit(VERSION, name, UnitRecord(re_ohm=6.6))
    add_built(made)
    return made


def test_readings_and_notes_are_in_the_records(shop: Workshop) -> None:
    """What was there stays; the third unit has a deviation and no weights."""
    first, third = (shop.unit(f"{VERSION}/{name}").record for name in ("01", "03"))
    assert first.weighed is not None
    assert (first.re_ohm, first.weighed.cone_g, len(first.glued)) == (6.6, 3.09, 4)
    assert third.weighed is None
    assert third.deviations[0].built == "flexible epoxy"


def test_the_drawing_shows_the_motor_and_says_that_it_is_one(shop: Workshop) -> None:
    """As Pillow reads it: dark in the middle of the pole, paler in a magnet, white in the gap beside the coil."""
    (one,) = photographs_of(shop, f"{VERSION}/01")
    assert one.shows.startswith("A drawing in the place of a photograph")
    grey = np.asarray(Image.open(io.BytesIO(read_photograph(shop, f"{VERSION}/01", one.file).data)))
    assembly = load_motor(shop, VERSION).assembly
    top = max(body.bounds[3] for body in assembly.bodies) + 2e-3

    def at(r: float, z: float) -> int:
        return int(grey[round((top - z) * 8e3), round(r * 8e3)])

    bounds = {body.name: body.bounds for body in assembly.bodies}
    middle = {name: (0.5 * (b[0] + b[1]), 0.5 * (b[2] + b[3])) for name, b in bounds.items()}
    assert at(*middle["pole"]) < at(*middle["magnet"]) < 255
    assert at(0.5 * (assembly.gap.r_outer + bounds["magnet"][0]), middle["magnet"][1]) == 255


def test_the_guide_has_a_step_of_its_own(shop: Workshop, monkeypatch: pytest.MonkeyPatch) -> None:
    """Behind the cap, with its caution."""
    stand_in(monkeypatch)
    guide = guide_of(shop, VERSION)
    keys = [step.key for step in guide.steps]
    assert keys[keys.index("cap") + 1] == "against-the-weather"
    assert "varnish burns" in guide.steps[keys.index("cap") + 1].cautions[0].text
