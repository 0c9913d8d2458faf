"""From the folder to the input of a comparison: records, readings, parents, printed figures and curves."""

import pytest

from halfroll.compare.gather import curves_of, gather
from halfroll.core.errors import InputError
from halfroll.workshop import PublishedTable, VersionRecord, Workshop
from tests.workshop.conftest import SETUP, WHEN, new_audio


@pytest.fixture
def with_takes(workshop: Workshop) -> Workshop:
    """The workshop with a take of each version."""
    for number, version in enumerate(("v1", "v2")):
        workshop.add_take(f"dunlin/{version}/a", "t1", SETUP, WHEN, [new_audio(number)])
    return workshop


def test_versions_come_with_their_takes_and_changes(with_takes: Workshop) -> None:
    """In the order asked for; the others lend their records for the line of parents."""
    with_takes.create_version("dunlin", "v3", VersionRecord(parent="v2"))
    found = gather(with_takes, ["dunlin/v2", "dunlin/v1"])
    second, first = found.inputs
    assert (second.version_id, second.title, second.driver_title) == ("dunlin/v2", "Second", "Dunlin")
    assert second.parent == "dunlin/v1"
    assert [(c.what, c.before, c.after, c.why) for c in second.changes] == [
        ("spider", "flat", "three rolls", "the coil rubbed")
    ]
    assert [take.take_id for take in first.takes] == ["dunlin/v1/a/t1"]
    assert first.takes[0].readings["sensitivity_db"].value is not None
    assert [(other.version_id, other.parent) for other in found.others] == [("dunlin/v3", "dunlin/v2")]


def test_curves_come_from_the_takes_that_count(with_takes: Workshop) -> None:
    """A driver that only passes the sweep on has a flat level: 0.3 of 20 V heard as 0.3 of 4 Pa, at 2 V (1 W).

    The sweep's full scale is 20 V and a gain of 0.3 gives 0.06 Pa per volt: 2 V make 0.12 Pa, 75.6 dB.
    """
    curves = curves_of(with_takes)("dunlin/v1", ("dunlin/v1/a/t1",))
    level = curves["level"]
    middle = (level.frequency_hz > 100) & (level.frequency_hz < 5000)
    assert level.value[middle] == pytest.approx(75.56, abs=0.05)


def test_a_printed_table_and_curve(workshop: Workshop) -> None:
    """Figures with their uncertainty; the curve brought from 2.83 V and 2 m to 1 W into 8 ohm and 1 m: plus 6.02 dB."""
    published = PublishedTable(
        source="leaflet of 1987",
        figures={
            "sensitivity_db": 84.5,
            "sensitivity_db_u": 1.0,
            "lower_limit_hz": 60.0,
            "qts": 0.4,
            "voice_coil_mm": 25.0,
        },
        curve="response.csv",
        distance_m=2.0,
        drive_v=8**0.5,
    )
    loaded = workshop.create_version(
        "dunlin", "sold", VersionRecord(rated_impedance_ohm=8.0, published=published)
    )
    loaded.path.with_name("response.csv").write_text("frequency_hz,spl_db,thd_percent\n100,80,1\n200,82,2\n")
    (sold,) = gather(workshop, ["dunlin/sold"]).inputs
    assert sold.published == {
        "sensitivity_db": (84.5, 1.0),
        "lower_limit_hz": (60.0, None),
        "qts": (0.4, None),
    }
    assert sold.published_source == "leaflet of 1987"
    curves = curves_of(workshop)("dunlin/sold", ())
    assert curves["level"].value == pytest.approx([86.02, 88.02], abs=0.01)
    assert curves["thd"].value == pytest.approx([1, 2])


@pytest.mark.parametrize("lacking", ["drive_v", "distance_m", "near"])
def test_a_printed_level_without_its_conditions_is_left_out(workshop: Workshop, lacking: str) -> None:
    """A level at an unknown drive or distance, or near the cone, says nothing at 1 W and 1 m."""
    conditions: dict[str, object] = {"drive_v": 2.0, "distance_m": 1.0, "space": "half-space"}
    if lacking == "near":
        conditions["space"] = "near-field"
    else:
        del conditions[lacking]
    published = PublishedTable(source="leaflet", curve="response.csv", **conditions)  # type: ignore[arg-type]
    loaded = workshop.create_version(
        "dunlin", "sold", VersionRecord(rated_impedance_ohm=8.0, published=published)
    )
    loaded.path.with_name("response.csv").write_text(
        "frequency_hz,spl_db,impedance_ohm\n100,80,7\n200,82,8\n"
    )
    assert set(curves_of(workshop)("dunlin/sold", ())) == {"impedance"}


def test_a_fault_in_a_record_below_a_version_stops_its_comparison_only(with_takes: Workshop) -> None:
    """Nothing is left out silently; versions without the fault can be compared."""
    path = with_takes.take("dunlin/v1/a/t1").path
    path.write_text(path.read_text().replace("distance_m", "distanse_m"))
    with pytest.raises(InputError, match=r"take\.toml:\d+, distanse_m"):
        gather(with_takes, ["dunlin/v1", "dunlin/v2"])
    assert len(gather(with_takes, ["dunlin/v2"]).inputs) == 1


def test_a_version_that_is_not_there(with_takes: Workshop) -> None:
    """Named with those there are."""
    with pytest.raises(InputError, match=r"There is no version dunlin/v9\. Allowed: dunlin/v1, dunlin/v2"):
        gather(with_takes, ["dunlin/v9"])
