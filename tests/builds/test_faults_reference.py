"""The reference of a version in a workshop: from entered parameters, from measured units alone, and what its units' bands change."""

from __future__ import annotations

import datetime as dt
import math
from pathlib import Path

import numpy as np
import pytest

from halfroll.acoustics.air import STANDARD_AIR
from halfroll.acoustics.radiation import air_mass
from halfroll.builds.faults import find_faults, reference_of
from halfroll.builds.faults.ensemble import MODEL_U, suppositions
from halfroll.builds.faults.meet import MET, met
from halfroll.builds.faults.observe import KEYS
from halfroll.builds.faults.reference import METAL, reference_from
from halfroll.builds.types import Band, Evidence
from halfroll.core.errors import InputError
from halfroll.driver.linear import linear_response
from halfroll.driver.lumped import DriverModel
from halfroll.workshop import DriverRecord, UnitRecord, VersionRecord, Workshop
from halfroll.workshop.impedance_import import import_impedance
from halfroll.workshop.paths import record_path
from halfroll.workshop.prediction import EXAMPLE
from tests.builds.faulty import predicted


@pytest.fixture
def shop(tmp_path: Path) -> Workshop:
    """A workshop with a version nothing is known of."""
    made = Workshop.init(tmp_path / "workshop", "Saltmarsh Workshop")
    made.create_driver("dunlin", DriverRecord(title="Dunlin"))
    made.create_version(
        "dunlin", "v1", VersionRecord(title="First", rated_impedance_ohm=8.0, rated_power_w=5.0)
    )
    return made


def write(shop: Workshop, text: str) -> None:
    """Add to the version's record."""
    path = record_path(shop.folder, "dunlin/v1")
    path.write_text(path.read_text(encoding="utf-8") + "\n" + text, encoding="utf-8")


def test_entered_parameters_make_a_reference(shop: Workshop) -> None:
    """Re and Bl as typed; a unit with a resistance a quarter low is told."""
    write(shop, EXAMPLE)
    found = reference_of(shop, "dunlin/v1")
    assert found.model.Re == pytest.approx(6.0)
    assert found.magnets == 1
    assert found.drive_v == pytest.approx(math.sqrt(8.0))
    told = find_faults(
        found, [Evidence(key="re_ohm", value=4.5, u=0.05), Evidence(key="polarity", value=1.0, u=0.0)]
    )
    assert {one.fault for one in told.suspects[:2]} == {"fewer-turns", "shorted-turns"}
    re = next(one for one in told.checks if one.evidence.key == "re_ohm")
    assert re.band is not None
    assert re.band.low < 6.0 < re.band.high
    assert re.outcome == "outside"


def test_measured_units_alone_make_one(shop: Workshop, tmp_path: Path) -> None:
    """A version without design or parameters: impedance and weight of a unit that was measured."""
    truth = DriverModel(
        Re=6.2,
        Mms=7.1e-3,
        Rms=0.7,
        Sd=54e-4,
        Bl=(4.2,),
        K=(1800.0,),
        Le=(3e-4,),
        x_range=(-4e-3, 4e-3),
        L2=2e-4,
        R2=3.0,
    )
    loaded = shop.version("dunlin/v1")
    shop.save(loaded, loaded.record.changed(effective_area_cm2=54.0))
    at = np.geomspace(12.0, 6000.0, 240)
    z = linear_response(truth, at).impedance_ohm
    table = tmp_path / "alone.csv"
    rows = (f"{f:.5g},{abs(v):.6g},{np.degrees(np.angle(v)):.5g}" for f, v in zip(at, z, strict=True))
    table.write_text("frequency_hz,magnitude_ohm,phase_deg\n" + "\n".join(rows) + "\n", encoding="utf-8")
    grams = 1e3 * (truth.Mms - air_mass(truth.radius, STANDARD_AIR))
    shop.create_unit(
        "dunlin/v1",
        "01",
        UnitRecord(
            built_by="Test", re_ohm=6.2, re_u_ohm=0.02, moving_mass_g=round(grams, 3), moving_mass_u_g=0.05
        ),
    )
    import_impedance(shop, "dunlin/v1/01", table, {"mounting": "baffle"}, when=dt.datetime(2026, 5, 1, 12))
    found = reference_of(shop, "dunlin/v1")
    assert found.model.Bl[0] == pytest.approx(4.2, rel=0.05)
    assert found.model.Mms == pytest.approx(7.1e-3, rel=0.05)
    told = find_faults(
        found, [Evidence(key="re_ohm", value=6.2, u=0.05), Evidence(key="fs_hz", value=140.0, u=2.0)]
    )
    assert {one.fault for one in told.suspects[:2]} == {"stiff-print", "glued-spider"}


def test_nothing_known_is_said(shop: Workshop) -> None:
    """Neither design nor parameters nor units: what to add."""
    with pytest.raises(InputError, match="needs"):
        reference_of(shop, "dunlin/v1")


def band(key: str, value: float, u: float, units: int) -> Band:
    """A band of units measured."""
    return Band(
        key=key,
        label=key,
        unit="",
        value=value,
        u_unit=0.8 * u,
        u_shared=0.6 * u,
        low=value - 2 * u,
        high=value + 2 * u,
        source="units",
        n_units=units,
    )


def test_measured_bands_move_and_narrow_the_reference() -> None:
    """Conditioning by hand: good units then read as the bands say, and what is not in them follows by its correlation."""
    plain = reference_from(predicted(), "avocet/v9", source="the design", designed=True)
    before = suppositions(plain)[0]
    fs = KEYS.index("fs_hz")
    value = 1.06 * math.exp(before.expected[0, fs])
    moved = met(plain, {"fs_hz": band("fs_hz", value, 0.03 * value, 4)})
    after = suppositions(moved)[0]
    spread = math.sqrt(after.covariance[fs, fs] - MODEL_U["fs_hz"] ** 2)
    # good units now read 6 % more; what the model leaves out keeps its share of both
    own = before.covariance[fs, fs]
    share = 1.0 - MODEL_U["fs_hz"] ** 2 / own
    assert after.expected[0, fs] - before.expected[0, fs] == pytest.approx(share * math.log(1.06), abs=0.002)
    by_hand = (own - MODEL_U["fs_hz"] ** 2) - share**2 * own + share**2 * 0.03**2
    assert spread == pytest.approx(math.sqrt(by_hand), rel=0.03)
    stiff, other = KEYS.index("stiffness_n_per_mm"), KEYS.index("re_ohm")
    assert (
        after.expected[0, stiff] > before.expected[0, stiff] + 0.05
    )  # fs is high mostly because it is stiff
    assert after.expected[0, other] == pytest.approx(before.expected[0, other], abs=1e-3)


def test_bands_of_no_unit_change_nothing() -> None:
    """The prediction's own bands say nothing new."""
    plain = reference_from(predicted(), "avocet/v9", source="the design", designed=True)
    same = met(plain, {key: band(key, 1.0, 0.1, 0) for key in MET})
    assert same.model is plain.model
    assert same.steps is plain.steps
    assert set(same.bands) == set(MET)


def test_the_metal_of_a_wire() -> None:
    """Mass by length and resistance: 10 m of 0.2 mm copper wire are 5.488 ohm (IEC 60028, annealed) and 2.815 g by 8.96 g/cm³."""
    assert pytest.approx(2.815e-3, rel=0.001) == METAL * 10.0**2 / 5.488
