"""Crossovers in the workshop: round trip, drivers measured and modelled alike, and every fault said with file, key and line."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy import signal

from halfroll.acoustics.air import STANDARD_AIR
from halfroll.core.errors import ConflictError, InputError
from halfroll.driver.crossover.responses import grid
from halfroll.driver.linear import linear_response
from halfroll.driver.lumped import DriverModel
from halfroll.driver.predicted.types import PredictedDriver
from halfroll.workshop import Workshop
from halfroll.workshop.crossover_record import WayTable
from halfroll.workshop.crossover_start import start_record
from halfroll.workshop.crossover_ways import way_data
from halfroll.workshop.crossovers import (
    checked_record,
    crossover_ids,
    crossover_of,
    crossover_record,
    in_record,
    load_ways,
    new_crossover,
    save_crossover,
    tuned,
    with_crossover,
    work_out,
)
from halfroll.workshop.faults import FaultsError
from halfroll.workshop.impedance_record import ImpedanceRecord
from halfroll.workshop.runs import add_run
from tests import crossover_shop
from tests.app.samples import small_workshop
from tests.crossover_shop import HIGH, LOW, two_ways
from tests.driver.crossover.conftest import driver_z


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Workshop:
    """One workshop for the tests that do not change it."""
    return crossover_shop.with_crossover(small_workshop(tmp_path_factory.mktemp("crossovers") / "shop"))


@pytest.fixture
def bare(tmp_path: Path) -> Workshop:
    """A workshop whose drivers have no takes."""
    made = Workshop.init(tmp_path / "bare", "Bare", durable=False)
    from halfroll.workshop import DriverRecord, VersionRecord

    made.create_driver("dunlin", DriverRecord(title="Dunlin"))
    made.create_version("dunlin", "v1", VersionRecord(rated_impedance_ohm=4.0))
    return made


def test_round_trip(shop: Workshop) -> None:
    """What is saved is read again, SI and back, and stands in crossovers/."""
    assert crossover_ids(shop) == ["pair"]
    loaded = crossover_record(shop, "pair")
    assert loaded.path == shop.folder / "crossovers" / "pair.toml"
    assert not loaded.notes
    crossover = crossover_of(loaded.record)
    assert crossover.elements[0].value == pytest.approx(6.8e-6, rel=1e-12)
    assert crossover.ways[1].place_m == pytest.approx((0.0, 0.12, 0.0))
    assert with_crossover(loaded.record, crossover) == loaded.record


def test_comments_survive_a_save(tmp_path: Path) -> None:
    """A comment beside an element stays when another value is saved; a file changed meanwhile is not overwritten."""
    shop = crossover_shop.with_crossover(small_workshop(tmp_path / "shop"))
    path = shop.folder / "crossovers" / "pair.toml"
    path.write_text(
        path.read_text().replace("capacitance_uf = 6.8", "capacitance_uf = 6.8 # from the drawer")
    )
    loaded = crossover_record(shop, "pair")
    crossover = crossover_of(loaded.record)
    way = crossover.ways[1]
    changed = replace(
        crossover,
        ways=(
            crossover.ways[0],
            replace(way, inverted=True, elements=(replace(way.elements[0], value=8.2e-6),)),
        ),
    )
    saved = save_crossover(shop, loaded, with_crossover(loaded.record, changed))
    text = path.read_text()
    assert "capacitance_uf = 8.2 # from the drawer" in text
    assert saved.record.ways[1].inverted
    with pytest.raises(ConflictError):
        save_crossover(shop, loaded, loaded.record)


def test_a_measured_way(shop: Workshop) -> None:
    """The recording is 0.2 Pa/V through a second-order high-pass, 70 samples at 24 kHz late and 1 m away: that filter comes back.

    Its cubic curvature takes 3/4 of 0.05 times 2 off the fundamental (describing function); what the 70 samples are longer than 1 m of travel stays.
    """
    data = way_data(shop, WayTable(name="a", driver=HIGH))
    assert (data.source, data.phase) == ("measured", "measured")
    assert data.radius_m == pytest.approx(math.sqrt(50e-4 / math.pi))
    f = data.frequency_hz
    inside = (f > 300) & (f < 5000)
    sos = signal.butter(2, 80.0 * 1.01, "highpass", fs=24_000, output="sos")
    truth = 0.2 * (1 - 0.75 * 0.05 * 2) * signal.sosfreqz(sos, f, fs=24_000)[1]
    late = 70 / 24_000 - 1.0 / STANDARD_AIR.speed_of_sound
    ratio = (data.pressure_pa_per_v * np.exp(2j * np.pi * f * late) / truth)[inside]
    assert np.abs(20 * np.log10(np.abs(ratio))).max() < 0.3
    assert np.abs(np.degrees(np.angle(ratio)) / (f[inside] / 1000.0)).max() < 1.5
    z = driver_z(2j * np.pi * f, 6.8, 0.3e-3, (30.0, 10e-3, 396e-6))
    np.testing.assert_allclose(data.impedance_ohm, z, rtol=5e-3)


def test_an_impedance_without_phase(tmp_path: Path) -> None:
    """A table of magnitudes only: what is built of R, L and C is of minimum phase (Bode), so the phase comes back within 2 degrees."""
    shop = small_workshop(tmp_path / "shop")
    f = np.geomspace(5.0, 20_000.0, 1500)
    z = driver_z(2j * np.pi * f, 6.8, 0.3e-3, (30.0, 10e-3, 396e-6))
    rows = "".join(f"{x:.6g},{abs(v):.6g}\n" for x, v in zip(f, z, strict=True))
    record = ImpedanceRecord(method="table", when=dt.datetime(2026, 3, 5, 12))
    add_run(
        shop, f"{HIGH}/01", "free", record, files={"z.csv": f"frequency_hz,impedance_ohm\n{rows}".encode()}
    )
    data = way_data(shop, WayTable(name="a", driver=HIGH))
    truth = driver_z(2j * np.pi * data.frequency_hz, 6.8, 0.3e-3, (30.0, 10e-3, 396e-6))
    inside = data.frequency_hz < 8000.0
    assert np.abs(np.degrees(np.angle(data.impedance_ohm / truth)))[inside].max() < 2.0


def test_minimum_phase_where_the_voltage_was_not_recorded(
    shop: Workshop, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without a common start only the level is known: the phase is the high-pass's own, within 8 degrees inside, and it is said."""
    from halfroll.workshop import derive

    whole = derive.response
    monkeypatch.setattr(derive, "response", lambda *how: replace(whole(*how), voltage_recorded=False))
    data = way_data(shop, WayTable(name="a", driver=HIGH))
    assert data.phase == "minimum"
    f = data.frequency_hz
    inside = (f > 300) & (f < 3000)
    h = 1 / (1 - 1j * math.sqrt(2) * 80.8 / f - (80.8 / f) ** 2)  # analogue Butterworth high-pass
    assert np.abs(np.degrees(np.angle(data.pressure_pa_per_v / h)))[inside].max() < 8.0
    monkeypatch.undo()


MODEL = DriverModel(
    Re=3.4, Mms=2.4e-3, Rms=0.4, Sd=21e-4, Bl=(2.6,), K=(1200.0,), Le=(0.08e-3,), x_range=(-3e-3, 3e-3)
)


def predicted(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let every version have the same model."""
    found = PredictedDriver(model=MODEL, assumptions=(), slopes=np.zeros((0, 0)), values=())
    monkeypatch.setattr("halfroll.workshop.prediction.driver_model", lambda *_: found)


def test_a_modelled_way(bare: Workshop, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without takes the model speaks: the small-signal response at 1 m, valid up to ka = 2."""
    predicted(monkeypatch)
    data = way_data(bare, WayTable(name="a", driver="dunlin/v1"))
    truth = linear_response(MODEL, grid())
    np.testing.assert_allclose(data.pressure_pa_per_v, truth.pressure_pa_per_v)
    np.testing.assert_allclose(data.impedance_ohm, truth.impedance_ohm)
    assert (data.source, data.phase) == ("predicted", "computed")
    assert data.valid_hz[1] == pytest.approx(2 * STANDARD_AIR.speed_of_sound / (2 * math.pi * MODEL.radius))


def test_measured_and_modelled_together(shop: Workshop, monkeypatch: pytest.MonkeyPatch) -> None:
    """A crossover may join both; each says what it is."""
    predicted(monkeypatch)
    record = checked_record(two_ways())
    mixed = record.changed(ways=(record.ways[0], record.ways[1].changed(source="predicted")))
    result = work_out(shop, mixed)
    assert [data.source for data in result.data.values()] == ["measured", "predicted"]
    assert np.all(np.isfinite(result.total))


def test_a_cabinet_behind_a_way(shop: Workshop, monkeypatch: pytest.MonkeyPatch) -> None:
    """In a closed box of 1 litre the resonance rises by the root of 1 + Vas/V (Small 1972)."""
    from halfroll.driver.lumped import small_signal
    from halfroll.workshop.cabinets import checked_record as checked_cabinet
    from halfroll.workshop.cabinets import new_cabinet

    predicted(monkeypatch)
    if not (shop.folder / "enclosures" / "litre.toml").exists():
        new_cabinet(shop, "litre", checked_cabinet({"type": "closed", "volume_l": 1.0}))
    data = way_data(shop, WayTable(name="a", driver=HIGH, cabinet="litre"))
    small = small_signal(MODEL)
    peak = data.frequency_hz[int(np.argmax(np.abs(data.impedance_ohm)))]
    assert peak == pytest.approx(small.fs * math.sqrt(1 + small.Vas / 1e-3), rel=0.03)


def test_worked_out_whole(shop: Workshop) -> None:
    """Both ways, a band, off axis, impedance of both in parallel above the capacitor's corner, cautions."""
    result = work_out(shop, crossover_record(shop, "pair").record)
    assert result.asked.drive_v == pytest.approx(math.sqrt(20.0))
    assert list(result.parts) == ["full", "small"]
    assert "crossover-capacitor-ages" in {v.code for v in result.verdicts}
    assert result.minimum_ohm < 6.8
    low, high = result.band_db
    assert np.all(low <= high)


def test_tuning_saves_nothing_by_itself(shop: Workshop) -> None:
    """The record that would save it comes back; the file stays."""
    loaded = crossover_record(shop, "pair")
    found, record = tuned(shop, loaded.record, (200.0, 5000.0))
    assert found.flat_after.rms_db <= found.flat_before.rms_db
    assert record.ways[1].elements[0].rated_v == 35.0
    assert crossover_record(shop, "pair").revision == loaded.revision


def test_starting_values(shop: Workshop) -> None:
    """For rated impedances of 8 ohm, as in any handbook; names of ways and drivers kept; a pad where asked."""
    record = start_record(
        shop, [("low", LOW), ("high", HIGH)], [2000.0], alignment="butterworth", order=2, lower_db=3.0
    )
    values = {e.name: e.value for way in record.ways for e in way.elements}
    assert values["L1"] == pytest.approx(8 * math.sqrt(2) / (2 * math.pi * 2000), rel=5e-3)
    assert values["C1"] == pytest.approx(1 / (2 * math.pi * 2000 * 8 * math.sqrt(2)), rel=5e-3)
    assert values["R1"] == pytest.approx(8 * (1 - 10**-0.15), rel=5e-3)
    assert record.ways[1].inverted
    levelled = start_record(
        shop, [("low", LOW), ("high", HIGH)], [1500.0], level=[("low", "inductance"), ("high", "resonance")]
    )
    values = {e.name: e.value for way in levelled.ways for e in way.elements[2:]}
    lces, cmes, res = 10e-3, 396e-6, 30.0  # of the impedance in crossover_shop; duals re Re = 6.8 ohm by hand
    expected = {
        "R1": 6.8,
        "C3": 0.3e-3 / 6.8**2,
        "R2": 6.8 + 6.8**2 / res,
        "L3": 6.8**2 * cmes,
        "C4": lces / 6.8**2,
    }
    assert values == pytest.approx(expected, rel=0.03)
    with pytest.raises(InputError, match="Allowed: inductance, resonance"):
        start_record(shop, [("low", LOW), ("high", HIGH)], [1500.0], level=[("low", "colour")])
    one = start_record(shop, [("full", LOW), ("small", HIGH)], [4000.0], start="one-capacitor")
    assert [len(way.elements) for way in one.ways] == [0, 1]
    three = start_record(
        shop,
        [("low", LOW), ("mid", HIGH), ("high", "godwit/v1")],
        [400.0, 3000.0],
        alignment="bessel",
        order=3,
    )
    assert len(three.ways[1].elements) == 6


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"capacitance_uf": 0.0}, "above 0"), ({"capacitance_uf": -4.7}, "above 0"), ({"capacitance_uf": None}, "must be stated for a capacitor"),
        ({"inductance_mh": 1.0}, "must not be stated for a capacitor"), ({"construction": "air-core"}, "bipolar or film"),
        ({"type": "valve"}, "allowed words"), ({"series_ohm": -1.0}, "at least 0"), ({"capacitance_mf": 4.7}, "capacitance_uf"),
    ],
)  # fmt: skip
def test_faults_of_an_element(change: dict[str, Any], said: str) -> None:
    """Each names its key."""
    values = two_ways()
    element = values["ways"][1]["elements"][0]
    element.update(change)
    values["ways"][1]["elements"][0] = {key: value for key, value in element.items() if value is not None}
    with pytest.raises(InputError, match=said) as caught:
        checked_record(values)
    assert "ways[2].elements[1]" in str(caught.value)


def test_cyclic_crossover_is_said_with_its_line(tmp_path: Path) -> None:
    """Ways that feed each other, in a file: names, file, key and line."""
    shop = crossover_shop.with_crossover(small_workshop(tmp_path / "shop"))
    path = shop.folder / "crossovers" / "pair.toml"
    text = path.read_text().replace('fed_by = "in"', 'fed_by = "small"', 1)
    head, _, tail = text.partition('name = "small"')
    path.write_text(head + 'name = "small"' + tail.replace('fed_by = "in"', 'fed_by = "full"', 1))
    with pytest.raises(InputError, match="full is fed by small is fed by full") as caught:
        crossover_record(shop, "pair")
    place = caught.value.place
    assert (place.file, place.key) == (str(path), "full.fed_by")
    assert place.line is not None
    assert path.read_text().splitlines()[place.line - 1] == 'fed_by = "small"'


@pytest.mark.parametrize(
    ("old", "new", "said", "line"),
    [
        ('between = ["in", "out"]', 'between = ["in", "ouf"]', "not connected", 'name = "small"'),
        (
            'between = ["in", "out"]',
            'between = ["out", "x"]',
            "Only C1 ends at the node small.x",
            'name = "C1"',
        ),
        ('between = ["in", "out"]', 'between = ["owl.1", "out"]', "a way that is not there", 'name = "C1"'),
        ("capacitance_uf = 6.8", "capacitance_uf = -6.8", "above 0", "capacitance_uf = -6.8"),
    ],
)
def test_faults_in_a_file(tmp_path: Path, old: str, new: str, said: str, line: str) -> None:
    """Each with its line; the table's where the whole table is meant."""
    shop = crossover_shop.with_crossover(small_workshop(tmp_path / "shop"))
    path = shop.folder / "crossovers" / "pair.toml"
    path.write_text(path.read_text().replace(old, new))
    with pytest.raises(InputError, match=said) as caught:
        crossover_record(shop, "pair")
    lines = path.read_text().splitlines()
    number = caught.value.place.line
    assert number is not None
    assert line in lines[number - 1 : number + 1]


def test_other_refusals(shop: Workshop, bare: Workshop) -> None:
    """Drivers, takes, runs and crossovers that are not there; nothing known of a driver; too few ways."""
    with pytest.raises(InputError, match="There is no crossover nowhere"):
        crossover_record(shop, "nowhere")
    with pytest.raises(InputError, match="There is a crossover pair already"):
        new_crossover(shop, "pair", checked_record(two_ways()))
    values = two_ways()
    values["ways"][0]["driver"] = "godwit/v9"
    with pytest.raises(InputError, match="There is no version godwit/v9"):
        new_crossover(shop, "other", checked_record(values))
    with pytest.raises(InputError, match="no take or joined response of godwit/v3 with this name"):
        way_data(shop, WayTable(name="a", driver=LOW, take="nosuch"))
    with pytest.raises(InputError, match="No impedance of godwit/v1/01 is known"):
        way_data(shop, WayTable(name="a", driver="godwit/v1"))
    with pytest.raises(InputError, match="no take of dunlin/v1 from a distance"):
        way_data(bare, WayTable(name="a", driver="dunlin/v1", source="measured"))
    with pytest.raises(InputError, match="must be stated with a power"):
        _without_rated()
    with pytest.raises(InputError, match="two drivers at least"):
        start_record(shop, [("low", LOW)], [2000.0])
    with pytest.raises(InputError, match="One capacitor joins two"):
        start_record(shop, [("low", LOW), ("high", HIGH)], [200.0, 2000.0], start="one-capacitor")


def test_what_a_way_names_is_missing(tmp_path: Path) -> None:
    """A driver and a cabinet that are not there: file, key and line of the way that names them; what is asked beside the file has no place in it."""
    shop = crossover_shop.with_crossover(small_workshop(tmp_path / "shop"))
    path = shop.folder / "crossovers" / "pair.toml"
    lines = path.read_text().splitlines()
    at = next(i for i, line in enumerate(lines) if line.startswith("driver = "))
    for line, key in (('driver = "owl/v1"', "driver"), (f'{lines[at]}\ncabinet = "nest"', "cabinet")):
        path.write_text("\n".join([*lines[:at], line, *lines[at + 1 :]]) + "\n")
        loaded = crossover_record(shop, "pair")
        with pytest.raises(InputError, match="There is no") as caught, in_record(loaded.path, loaded.record):
            work_out(shop, loaded.record)
        place = caught.value.place
        assert (place.file, place.key) == (str(path), f"{loaded.record.ways[0].name}.{key}")
        assert place.line is not None
        assert path.read_text().splitlines()[place.line - 1].startswith(f"{key} = ")
    path.write_text("\n".join(lines) + "\n")
    loaded = crossover_record(shop, "pair")
    with (
        pytest.raises(InputError, match="band to be made flat") as caught,
        in_record(loaded.path, loaded.record),
    ):
        tuned(shop, loaded.record, (8000.0, 200.0))
    assert caught.value.place.file is None
    with pytest.raises(InputError, match="cross where one hears"):
        start_record(shop, [("low", LOW), ("high", HIGH)], [1e9])


def _without_rated() -> None:
    values = two_ways()
    del values["rated_impedance_ohm"]
    checked_record(values)


def test_several_faults_at_once() -> None:
    """All of them are said."""
    values = two_ways()
    values["distance_m"] = 0.0
    values["ways"][1]["elements"][0]["capacitance_uf"] = -1.0
    with pytest.raises(FaultsError) as caught:
        checked_record(values)
    assert len(caught.value.faults) == 2


def test_progress_is_told(shop: Workshop) -> None:
    """Each driver that is looked up is named."""
    told: list[str] = []
    load_ways(shop, checked_record(two_ways()), lambda _, what: told.append(what))
    assert {f"looking up {LOW}", f"looking up {HIGH}"} <= set(told)
