"""The predicted driver of a version: put together from its studies, its slopes against designs solved anew, what stands in, what is refused."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from halfroll.acoustics.radiation import air_mass
from halfroll.core.errors import CancelledError, InputError
from halfroll.core.progress import CancelToken, silent
from halfroll.driver.predicted.packing import pack, unpack
from halfroll.driver.predicted.types import PredictedDriver
from halfroll.driver.predicted.uncertainty import first_order, monte_carlo
from halfroll.driver.predicted.worked import values_of
from halfroll.motor.coil.wound import wind
from halfroll.workshop import Workshop, prediction_design
from halfroll.workshop.motor_design import EXAMPLE as MOTOR
from halfroll.workshop.motors import load_design
from halfroll.workshop.parts import lookups
from halfroll.workshop.paths import record_path
from halfroll.workshop.prediction import EXAMPLE as PARAMETERS
from halfroll.workshop.prediction import driver_model, predict_record, predicted_driver
from halfroll.workshop.suspension_example import EXAMPLE
from halfroll.workshop.suspensions import load_moving

QUICK = EXAMPLE[: EXAMPLE.index("[spider]")] + EXAMPLE[EXAMPLE.index("[cone]") :]
"""The example without its spider: one part to bend instead of two."""


def here(task: Callable[..., Any], *arguments: Any, progress: Any) -> Any:
    """Runs a study in this process."""
    return task(*arguments, progress)


def write(workshop: Workshop, text: str, version: str = "dunlin/v1") -> None:
    """Put tables into a version's record."""
    path = record_path(workshop.folder, version)
    path.write_text(path.read_text() + "\n" + text)


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Workshop:
    """A workshop with a version that is all designed but for a spider."""
    from halfroll.workshop import DriverRecord, VersionRecord

    made = Workshop.init(tmp_path_factory.mktemp("bench") / "workshop", "Saltmarsh Workshop")
    made.create_driver("dunlin", DriverRecord(title="Dunlin"))
    made.create_version(
        "dunlin", "v1", VersionRecord(title="First", rated_impedance_ohm=8.0, rated_power_w=5.0)
    )
    write(made, MOTOR + "\n" + QUICK)
    return made


@pytest.fixture(scope="module")
def found(bench: Workshop) -> PredictedDriver:
    """Its prediction."""
    return predicted_driver(bench, "dunlin/v1", run=here)


def moved_design(
    bench: Workshop, monkeypatch: pytest.MonkeyPatch, kind: str, key: str, **factors: float
) -> PredictedDriver:
    """The same record with a material whose values are times factors."""
    known = lookups(bench)
    table = dict(getattr(known, kind))
    old = known.material(key)
    table[key] = dataclasses.replace(
        old, **{name: factor * getattr(old, name) for name, factor in factors.items()}
    )  # type: ignore[type-var]
    changed = dataclasses.replace(known, **{kind: table})
    monkeypatch.setattr(prediction_design, "lookups", lambda _: changed)
    record = bench.version("dunlin/v1").record
    return predict_record(bench, "dunlin/v1", record, slot="moved", slopes=False, run=here)


def test_put_together_from_its_parts(bench: Workshop, found: PredictedDriver) -> None:
    """Re of the coil as wound, the mass of the moving parts with the air of Sd, K of the surround; what is missing is said."""
    coil = load_design(bench, "dunlin/v1").coil
    assert coil is not None
    model = found.model
    assert model.Re == pytest.approx(wind(coil).resistance_ohm)
    assert found.mass is not None
    assert model.Mms == pytest.approx(found.mass.mass_kg + air_mass(model.radius))
    assert found.suspension is not None
    assert model.K[0] == pytest.approx(found.suspension.curve.at_rest(), rel=1e-6)
    assert model.alpha_per_k == pytest.approx(0.00393, rel=0.03)  # IEC 60028, annealed copper
    assert model.x_range == pytest.approx((-4e-3, 4e-3), rel=1e-6)
    assert found.heat is not None
    assert found.break_up is not None
    assert found.missing == ("Only the surround is designed: it holds everything in this prediction.",)
    assert {"air-pumping-left-out"} <= {verdict.code for verdict in found.verdicts}


def test_packed_and_back(found: PredictedDriver) -> None:
    """A model as a row of numbers comes back, and so does one with assumptions moved by nothing."""
    back = unpack(pack(found.model), found.model)
    assert pack(back) == pytest.approx(pack(found.model), rel=1e-12)
    assert values_of(found.moved({})) == pytest.approx(values_of(found.model), rel=1e-9)


@pytest.mark.parametrize("z", [1.0, -1.0])
def test_a_modulus_moved_in_the_material(
    bench: Workshop, found: PredictedDriver, monkeypatch: pytest.MonkeyPatch, z: float
) -> None:
    """Solved anew with the filament's modulus a standard uncertainty off: every value within the second order of the change."""
    filament = load_moving(bench, "dunlin/v1").surround
    assert filament is not None
    key, spread = filament.material.key, filament.material.modulus_u_pa / filament.material.modulus_pa
    again = values_of(
        moved_design(bench, monkeypatch, "filaments", key, modulus_pa=math.exp(z * spread)).model
    )
    by_slope, rest = values_of(found.moved({f"filament.{key}.modulus": z})), values_of(found.model)
    for name in ("fs_hz", "cms_m_per_n", "qms", "qes", "vas_m3", "rms_ns_per_m"):
        assert by_slope[name] == pytest.approx(
            again[name], rel=2e-3, abs=0.1 * abs(again[name] - rest[name]) * spread
        ), name
    assert by_slope["fs_hz"] / rest["fs_hz"] == pytest.approx(math.exp(0.5 * z * spread), rel=1e-3)


def test_a_density_moved_in_the_material(
    bench: Workshop, found: PredictedDriver, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The cone's plastic a standard uncertainty heavier."""
    cone = load_moving(bench, "dunlin/v1").cone
    assert cone is not None
    key, spread = cone.material.key, cone.material.density_u_kg_m3 / cone.material.density_kg_m3
    again = values_of(
        moved_design(bench, monkeypatch, "filaments", key, density_kg_m3=math.exp(spread)).model
    )
    by_slope = values_of(found.moved({f"filament.{key}.density": 1.0}))
    for name in ("mms_kg", "fs_hz", "level_1w_db"):
        assert by_slope[name] == pytest.approx(again[name], rel=2e-4), name


def test_a_remanence_moved_in_the_material(
    bench: Workshop, found: PredictedDriver, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The magnet a standard uncertainty stronger, its field solved anew on the fine mesh: Bl within 3 % of its change."""
    grade = lookups(bench).material("y30")
    spread = grade.br_u_t / grade.br_t  # type: ignore[union-attr]
    again = moved_design(bench, monkeypatch, "magnets", "y30", br_t=math.exp(spread)).model.Bl[0]
    by_slope = found.moved({"magnet.y30.remanence": 1.0}).Bl[0]
    assert again > found.model.Bl[0]
    assert by_slope - found.model.Bl[0] == pytest.approx(again - found.model.Bl[0], rel=0.03)


def test_a_thickness_moved_in_the_design(bench: Workshop, found: PredictedDriver) -> None:
    """The surround a standard uncertainty thicker, bent anew: stiffness and mass within the second order."""
    record = bench.version("dunlin/v1").record
    one = next(a for a in found.assumptions if a.key == "surround.thickness")
    assert record.surround is not None
    thicker = record.surround.changed(thickness_mm=1e3 * one.value * math.exp(one.u / one.value))
    again = predict_record(
        bench, "dunlin/v1", record.changed(surround=thicker), slot="moved", slopes=False, run=here
    )
    by_slope, rest = values_of(found.moved({one.key: 1.0})), values_of(found.model)
    new = values_of(again.model)
    assert by_slope["kms_n_per_m"] - rest["kms_n_per_m"] == pytest.approx(
        new["kms_n_per_m"] - rest["kms_n_per_m"], rel=0.05
    )
    assert by_slope["mms_kg"] - rest["mms_kg"] == pytest.approx(new["mms_kg"] - rest["mms_kg"], rel=0.05)


def test_first_order_and_drawn_drivers_agree(found: PredictedDriver) -> None:
    """JCGM 100 against JCGM 101 for 2000 drivers: within 10 % (of the drawing 1.6 %, the rest second order: a loss factor is known to half)."""
    drawn = monte_carlo(found, 2000, seed=3)
    assert drawn.refused < 20
    for key in (
        "fs_hz",
        "re_ohm",
        "bl_n_per_a",
        "mms_kg",
        "cms_m_per_n",
        "sd_m2",
        "qes",
        "vas_m3",
        "level_1w_db",
        "le_1khz_h",
    ):
        one = next(value for value in found.values if value.key == key)
        assert drawn.u(key) == pytest.approx(one.u, rel=0.1), key
    told = first_order(found)
    for one in found.values:
        assert told[one.key] == pytest.approx((one.value, one.u), rel=1e-9)
        assert one.u == pytest.approx(math.sqrt(sum(share**2 for _, share in one.shares)), rel=1e-6)


def test_kept(bench: Workshop, found: PredictedDriver) -> None:
    """Asked again nothing is worked out; without slopes the model is the same."""

    def never(task: Callable[..., Any], *arguments: Any, progress: Any) -> Any:
        raise AssertionError(task)

    again = predicted_driver(bench, "dunlin/v1", run=never)
    assert again.model == found.model
    assert np.array_equal(again.slopes, found.slopes)
    plain = predict_record(
        bench, "dunlin/v1", bench.version("dunlin/v1").record, slot="dunlin/v1", slopes=False, run=never
    )
    assert plain.model == found.model
    assert plain.assumptions == ()
    assert {one.u for one in plain.values} == {0.0}


@pytest.mark.slow
def test_side_by_side_is_the_same(bench: Workshop, found: PredictedDriver) -> None:
    """Two processes give what one gives."""
    record = bench.version("dunlin/v1").record
    again = predict_record(
        bench, "dunlin/v1", record.changed(rated_power_w=5.001), slot="beside"
    )  # another peak current: one new study
    assert pack(again.model)[:4] == pytest.approx(pack(found.model)[:4], rel=1e-9)
    assert again.model.Bl == found.model.Bl


def test_stopped(bench: Workshop) -> None:
    """Work that is stopped raises what says so."""
    token = CancelToken()
    token.cancel()
    record = bench.version("dunlin/v1").record
    with pytest.raises(CancelledError):
        predict_record(
            bench,
            "dunlin/v1",
            record.changed(rated_power_w=7.0),
            token.wrap(silent),
            slot="stopped",
            run=here,
        )


def test_a_part_is_missing(workshop: Workshop) -> None:
    """Nothing designed; a motor without anything that moves; moving parts without a motor: what is missing, and what to do."""
    with pytest.raises(InputError, match="no design to predict from"):
        predicted_driver(workshop, "dunlin/v1")
    write(workshop, QUICK)
    with pytest.raises(InputError, match="needs all that moves: cone and coil") as fault:
        predicted_driver(workshop, "dunlin/v1", run=here)
    assert fault.value.place.key == "coil"
    assert "mms_g" in str(fault.value)
    with pytest.raises(InputError, match="needs measured parameters"):
        driver_model(workshop, "dunlin/v1", "measured")


def test_entered_values_stand_in(workshop: Workshop) -> None:
    """Moving parts alone, with Bl, Re and Mms entered: they are taken, moved by their own uncertainty, and it is said."""
    write(workshop, QUICK + PARAMETERS[PARAMETERS.index("[parameters]") :])
    found = predicted_driver(workshop, "dunlin/v1", run=here)
    assert (found.model.Re, found.model.Bl[0], found.model.Mms) == pytest.approx((6.0, 4.1, 6.5e-3))
    assert found.suspension is not None
    assert found.model.K[0] == pytest.approx(found.suspension.curve.at_rest(), rel=1e-6)
    assert any("No motor or coil is designed" in words for words in found.missing)
    assert any("the moving mass is entered by hand" in words for words in found.missing)
    keys = {one.key for one in found.assumptions}
    assert {"entered.bl_n_per_a", "entered.mms_kg", "filament.tpu-85a.modulus"} <= keys
    assert not any(key.startswith("cone.") for key in keys)


def test_what_follows_from_entered_values_stands_in(workshop: Workshop) -> None:
    """A data sheet with Qes, fs and Vas instead of Bl and Mms tells these too."""
    sheet = "[parameters]\nre_ohm = 6.0\nqes = 0.6\nqms = 4\nfs_hz = 70\nvas_l = 1.4\n"
    write(workshop, sheet)
    alone = driver_model(workshop, "dunlin/v1")
    write(workshop, QUICK)
    found = predicted_driver(workshop, "dunlin/v1", run=here)
    assert found.model.Bl[0] == pytest.approx(alone.model.Bl[0])
    assert found.mass is not None
    assert {"entered.bl_n_per_a", "entered.mms_kg"} <= {one.key for one in found.assumptions}


def test_entered_alone(workshop: Workshop) -> None:
    """The example of the messages makes a driver; the version's own area is taken."""
    write(workshop, PARAMETERS[PARAMETERS.index("[parameters]") :])
    found = driver_model(workshop, "dunlin/v1")
    assert found.model.Sd == pytest.approx(32e-4)
    assert {one.key: one.value for one in found.values}["fs_hz"] == pytest.approx(75.0)


def test_curves_of_a_file(workshop: Workshop) -> None:
    """A table beside the record; one with a foreign column is refused with file, line and what is allowed."""
    write(workshop, PARAMETERS[PARAMETERS.index("[parameters]") :] + 'curves = "curves.csv"\n')
    path = record_path(workshop.folder, "dunlin/v1").with_name("curves.csv")
    rows = [f"{x / 2},{4.1 * (1 - (x / 20) ** 2):.4f},{1.2 + 0.002 * x * x:.4f}" for x in range(-8, 9)]
    path.write_text("x_mm,bl_n_per_a,kms_n_per_mm\n" + "\n".join(rows) + "\n")
    found = driver_model(workshop, "dunlin/v1", "entered")
    assert np.polynomial.polynomial.polyval(4e-3, found.model.Bl) == pytest.approx(4.1 * (1 - 0.16), rel=1e-3)
    path.write_text("x_mm,force\n" + "\n".join(row.rpartition(",")[0] for row in rows) + "\n")
    with pytest.raises(InputError, match="Columns of the curves") as fault:
        driver_model(workshop, "dunlin/v1", "entered")
    assert fault.value.place.file == str(path)


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("mms_g", "-6.5", "above 0"),
        ("re_ohm", "0", "above 0"),
        ("fs_hz", '"low"', "number"),
        ("mms_gr", "6.5", "mms_g"),
    ],
)
def test_values_that_cannot_be(workshop: Workshop, key: str, value: str, words: str) -> None:
    """A negative mass and the like are refused with file, key and line."""
    write(workshop, f"[parameters]\n{key} = {value}\n")
    with pytest.raises(InputError, match=words) as fault:
        driver_model(workshop, "dunlin/v1", "entered")
    text = str(fault.value)
    assert f"parameters.{key}" in text
    assert "version.toml:" in text


def test_parameters_that_contradict_themselves(workshop: Workshop) -> None:
    """Mass, compliance and resonance that do not belong together: file, key and line."""
    write(workshop, PARAMETERS[PARAMETERS.index("[parameters]") :] + "cms_mm_per_n = 2\n")
    with pytest.raises(InputError, match="Cms must agree") as fault:
        driver_model(workshop, "dunlin/v1")
    assert fault.value.place.key == "parameters.cms_mm_per_n"
    assert fault.value.place.line is not None


def test_an_uncertainty_larger_than_its_value(workshop: Workshop) -> None:
    """It would say that anything goes: refused with its key and line."""
    write(workshop, PARAMETERS[PARAMETERS.index("[parameters]") :] + "re_u_ohm = 1000\n")
    with pytest.raises(InputError, match="must not be larger than its value") as fault:
        driver_model(workshop, "dunlin/v1", "entered")
    assert fault.value.place.key == "parameters.re_u_ohm"
    assert fault.value.place.line is not None


def test_a_coil_longer_than_the_travel_allows(bench: Workshop) -> None:
    """A travel farther than the coil has room inwards: the prediction ends where it meets the back plate, and that is said."""
    record = bench.version("dunlin/v1").record
    assert record.coil is not None
    assert record.surround is not None
    deep = record.changed(
        coil=record.coil.changed(offset_mm=-4.5), moving=record.moving.changed(travel_mm=6.0)
    )  # type: ignore[union-attr]
    found = predict_record(bench, "dunlin/v1", deep, slot="deep", slopes=False, run=here)
    hits = [verdict for verdict in found.verdicts if verdict.code == "coil-hits-motor"]
    assert hits, [verdict.code for verdict in found.verdicts]
    assert found.model.x_range[0] == pytest.approx(-hits[0].data["room_m"])
    assert "back plate" in hits[0].text
