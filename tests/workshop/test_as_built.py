"""A unit's driver as built: against the conditional normal worked out another way, a prediction of the weighed parts, and what is said."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from scipy import stats

from halfroll.acoustics.radiation import air_mass
from halfroll.driver.predicted.conditioned import LinearReading, conditioned
from halfroll.driver.predicted.packing import pack
from halfroll.driver.predicted.types import PredictedDriver
from halfroll.workshop import Workshop
from halfroll.workshop.as_built import SCALE_U_G, as_built, as_built_driver, given
from halfroll.workshop.built_record import WeighedTable
from halfroll.workshop.motor_design import EXAMPLE as DESIGNED
from halfroll.workshop.parts import lookups
from halfroll.workshop.prediction import EXAMPLE as PARAMETERS
from halfroll.workshop.prediction import driver_model, predict_record
from halfroll.workshop.records import UnitRecord
from halfroll.workshop.suspension_design import moving_of
from halfroll.workshop.suspension_example import EXAMPLE
from tests.workshop.knot import knot_shop
from tests.workshop.predictions import worked_out

MOVING = EXAMPLE[: EXAMPLE.index("[spider]")] + EXAMPLE[EXAMPLE.index("[cone]") :]
MOTOR = (
    "[parameters]\nre_ohm = 6.0\nbl_n_per_a = 4.1\nle_mh = 0.3\ntravel_mm = 4\n"
    + DESIGNED[DESIGNED.index("[coil]") :]
)


def here(task: Any, *arguments: Any, progress: Any) -> Any:
    """Runs a study in this process."""
    return task(*arguments, progress)


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Workshop:
    """Moving parts designed, the motor's values entered."""
    return knot_shop(tmp_path_factory.mktemp("built") / "shop", MOTOR + "\n" + MOVING)


@pytest.fixture(scope="module")
def before(shop: Workshop) -> PredictedDriver:
    """The version's prediction."""
    return predict_record(shop, "knot/v1", shop.version("knot/v1").record, run=here)


def test_given_readings_as_a_joint_normal_says() -> None:
    """The joint normal of assumptions and readings, conditioned through its precision matrix, and its marginal density by SciPy."""
    rng, predicted = np.random.default_rng(5), worked_out()
    slopes = rng.normal(0.0, 0.03, (3, 2))
    readings = [
        LinearReading(key=str(n), log_ratio=y, u=0.01, slopes=slopes[n])
        for n, y in enumerate((0.04, -0.02, 0.01))
    ]
    found = conditioned(predicted, readings)
    joint = np.block([[np.eye(2), slopes.T], [slopes, slopes @ slopes.T + 1e-4 * np.eye(3)]])
    precision = np.linalg.inv(joint)
    y = np.array([0.04, -0.02, 0.01])
    assert found.covariance == pytest.approx(np.linalg.inv(precision[:2, :2]), abs=1e-9)
    assert found.z == pytest.approx(-np.linalg.inv(precision[:2, :2]) @ precision[:2, 2:] @ y, abs=1e-9)
    density = stats.multivariate_normal(np.zeros(3), joint[2:, 2:])
    assert found.chi_squared == pytest.approx(
        2.0 * (density.logpdf(np.zeros(3)) - density.logpdf(y)), rel=1e-9
    )
    packed = predicted.slopes.T @ found.covariance @ predicted.slopes
    assert found.driver.slopes.T @ found.driver.slopes == pytest.approx(packed, abs=1e-12)
    assert pack(found.driver.model) == pytest.approx(
        pack(predicted.model) + found.z @ predicted.slopes, rel=1e-9
    )


def test_drawn_drivers_that_read_alike(before: PredictedDriver) -> None:
    """Of 200 000 drivers drawn from the prediction those whose moving mass reads 4 % high: their mean resonance by plain weights."""
    unit = given(
        "knot/v1/01", before, UnitRecord(moving_mass_g=_bare(before) * 1.04, moving_mass_u_g=0.1), None
    )
    z = np.random.default_rng(1).standard_normal((200_000, len(before.assumptions)))
    logs = z @ before.slopes
    still = np.array([one.key not in ("air.density", "diaphragm.area") for one in before.assumptions])
    read = _bare(before) + 1e3 * before.model.Mms * (z * still) @ before.slopes[:, 1]
    weight = stats.norm.pdf(_bare(before) * 1.04, read, 0.1)
    fs = np.exp(0.5 * (logs[:, _stiffness(before)] - logs[:, 1]))
    mean = float(weight @ fs / weight.sum())
    spread = float(np.sqrt(weight @ (fs - mean) ** 2 / weight.sum()))
    value = {one.key: one for one in unit.driver.values}["fs_hz"]
    old = {one.key: one for one in before.values}["fs_hz"]
    assert value.value / old.value == pytest.approx(mean, abs=0.1 * spread)
    assert value.u / old.value == pytest.approx(spread, rel=0.04)


def _bare(before: PredictedDriver) -> float:
    return 1e3 * float(before.model.Mms - air_mass(before.model.radius))


def _stiffness(before: PredictedDriver) -> int:
    """Where the logarithm of K(0) lies: after four scalars, the branches and Bl."""
    model = before.model
    return 4 + 2 * (len(model.branches) + (model.L2 > 0.0)) + 1


def test_weighed_parts_as_the_design_with_them_says(shop: Workshop, before: PredictedDriver) -> None:
    """The same parts weighed: the moving mass of a prediction whose record holds the grams, within half of what the scale leaves open."""
    record = shop.version("knot/v1").record
    assert record.surround is not None
    assert record.cone is not None
    design = moving_of(record, lookups(shop), shop.version("knot/v1").path.parent)
    first = given("knot/v1/01", before, UnitRecord(weighed=WeighedTable(cone_g=5.0, surround_g=5.0)), design)
    expected = {one.key: one.expected for one in first.readings}
    grams = {"cone": round(1.03 * expected["cone_g"], 3), "surround": round(1.02 * expected["surround_g"], 3)}
    unit = given(
        "knot/v1/01",
        before,
        UnitRecord(weighed=WeighedTable(cone_g=grams["cone"], surround_g=grams["surround"], u_g=0.001)),
        design,
    )
    heavy = record.changed(**{
        name: table.changed(print=table.print.changed(weighed_g=grams[name])) for name, table in (("cone", record.cone), ("surround", record.surround))
    })  # fmt: skip
    again = predict_record(shop, "knot/v1", heavy, slot="weighed", slopes=False, run=here)
    added = again.model.Mms - before.model.Mms
    assert added > 5e-5
    assert unit.driver.model.Mms - before.model.Mms == pytest.approx(added, rel=0.03)
    assert not unit.verdicts


def test_a_heavier_surround_is_partly_a_thicker_and_stiffer_one(
    shop: Workshop, before: PredictedDriver
) -> None:
    """One standard uncertainty heavier: stiffer, surer, and the share that moved is the whole of it."""
    record = shop.version("knot/v1").record
    design = moving_of(record, lookups(shop), shop.version("knot/v1").path.parent)
    expected = given("x", before, UnitRecord(weighed=WeighedTable(surround_g=5.0)), design).readings[0]
    unit = given(
        "x",
        before,
        UnitRecord(weighed=WeighedTable(surround_g=expected.expected + expected.expected_u)),
        design,
    )
    (reading,) = unit.readings
    assert unit.driver.model.K[0] > before.model.K[0]
    fs, fs_before = ({one.key: one for one in driver.values}["fs_hz"] for driver in (unit.driver, before))
    assert fs.u < fs_before.u
    assert reading.moved["fs_hz"] == pytest.approx(fs.value - fs_before.value, rel=0.05)
    assert 0.9 < reading.pull <= 1.0


def test_each_reading_moves_its_share(before: PredictedDriver) -> None:
    """What the readings moved adds up to what moved, and the resistance is the meter's where the meter is far surer."""
    ohm = 1.02 * before.model.Re
    unit = given(
        "x",
        before,
        UnitRecord(re_ohm=ohm, re_u_ohm=0.001, moving_mass_g=_bare(before) * 1.01, moving_mass_u_g=0.05),
        None,
    )
    assert unit.driver.model.Re == pytest.approx(ohm, rel=1e-3)
    after, old = ({one.key: one.value for one in driver.values} for driver in (unit.driver, before))
    for key in ("re_ohm", "mms_kg", "fs_hz", "qes"):
        assert sum(one.moved[key] for one in unit.readings) == pytest.approx(
            after[key] - old[key], rel=0.03, abs=1e-6
        )


def test_readings_far_outside_are_said_and_parts_not_designed_are_named(
    shop: Workshop, before: PredictedDriver
) -> None:
    """A resistance 40 % off is said of that reading; a spider that is not designed is named as not used."""
    record = shop.version("knot/v1").record
    design = moving_of(record, lookups(shop), shop.version("knot/v1").path.parent)
    unit = given(
        "x", before, UnitRecord(re_ohm=1.4 * before.model.Re, weighed=WeighedTable(spider_g=1.0)), design
    )
    (verdict,) = unit.verdicts
    assert verdict.code == "as-built-far-off"
    assert verdict.data["far"] == ["re_ohm"]
    assert unit.unused == (
        "Spider with its lips: weighed, but the prediction of the version does not rest on it",
    )
    assert verdict in unit.driver.verdicts
    assert SCALE_U_G == 0.02


def test_a_unit_of_the_workshop(tmp_path: Any) -> None:
    """Without readings it is the prediction; with a reading it follows; of entered parameters too."""
    shop = knot_shop(tmp_path / "shop", PARAMETERS)
    shop.create_unit("knot/v1", "01", UnitRecord())
    plain = driver_model(shop, "knot/v1")
    assert as_built_driver(shop, "knot/v1/01").model == plain.model
    loaded = shop.unit("knot/v1/01")
    shop.save(loaded, loaded.record.changed(re_ohm=6.1, re_u_ohm=0.001, weighed=WeighedTable(cone_g=3.0)))
    found = as_built(shop, "knot/v1/01")
    assert found.driver.model.Re == pytest.approx(6.1, rel=1e-3)
    assert found.unused == ("Cone: weighed, but the prediction of the version does not rest on it",)
