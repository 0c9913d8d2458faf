"""Where a comparison would be unfair: each unlike condition brings its caution, like conditions bring none."""

import dataclasses

import pytest

from halfroll.compare.compare import compare
from halfroll.core.conditions import Space
from tests.compare.make import make_takes, make_version

BASE = make_version("knot/v1")


def codes(*versions) -> set[str]:
    """Codes of the cautions between versions."""
    return {c.code for c in compare(list(versions)).cautions}


def own(version) -> dict[str, str]:
    """Cautions of one version by code."""
    return {c.code: c.text.replace("\u202f", " ") for c in compare([version]).columns[0].cautions}


def test_like_is_like() -> None:
    """Nothing to say about two versions measured alike."""
    assert codes(BASE, make_version("knot/v2")) == set()
    assert own(BASE) == {}


@pytest.mark.parametrize(
    ("unlike", "code"),
    [
        ({"space": Space.FREE}, "space-differs"),
        ({"distance_m": 0.5}, "distance-differs"),
        ({"drive_w": 2.0}, "level-differs"),
        ({"rig": "shed"}, "rig-differs"),
        ({"calibration_dates": ("2026-03-20", "", "")}, "rig-differs"),
        ({"valid_from_hz": 250.0}, "gate-differs"),
        ({"temperature_c": 5.0}, "temperature-differs"),
        ({"valid_hz": (100.0, 20000.0)}, "sweep-differs"),
        ({"valid_hz": (20.0, 800.0)}, "sweep-differs"),
    ],
)
def test_unlike_conditions(unlike: dict, code: str) -> None:
    """Each by itself."""
    like = {"temperature_c": 20.0, "valid_hz": (20.0, 20000.0)}
    one = make_version("knot/v1", **like)
    assert codes(one, make_version("knot/v2", **{**like, **unlike})) == {code}


def test_sweeps_that_differ_outside_the_bands_are_alike() -> None:
    """A sweep to 20 kHz and one to 10 kHz cover the bands alike."""
    one, two = (
        make_version(f"knot/v{i}", valid_hz=v) for i, v in enumerate([(20.0, 20000.0), (15.0, 10000.0)])
    )
    assert codes(one, two) == set()


def test_texts_name_versions_and_values() -> None:
    """Versions with the same value stand together."""
    versions = [BASE, make_version("knot/v2"), make_version("knot/v3", drive_w=2.0)]
    (caution,) = compare(versions).cautions
    assert caution.text.replace("\u202f", " ") == (
        "Drive levels differ, so distortion is not compared: v1 and v2 1.00 W; v3 2.00 W."
    )


@pytest.mark.parametrize(
    ("n_units", "n_takes", "text"),
    [
        (1, 1, "one take; its spread is unknown, not zero"),
        (1, 3, "1 unit; the spread between units is unknown"),
        (2, 3, "2 units; its intervals are wide"),
    ],
)
def test_few_units(n_units: int, n_takes: int, text: str) -> None:
    """Less than three units is said."""
    assert text in own(make_version("knot/v2", n_units=n_units, n_takes=n_takes))["few-units"]


def test_takes_left_out() -> None:
    """How many, and which in the data."""
    takes = make_takes("knot/v2", {"sensitivity_db": 86.0})
    odd = dataclasses.replace(takes[0], excluded="Door slammed.")
    found = compare([make_version("knot/v2", takes=(odd, *takes[1:]))]).columns[0]
    (caution,) = found.cautions
    assert caution.text == "v2: 1 of 6 takes does not count. Door slammed."
    assert caution.data["takes"] == {"knot/v2/u0/0": "Door slammed."}
    assert found.takes_left_out == (("knot/v2/u0/0", "Door slammed."),)
    assert found.takes_refused == ("knot/v2/u0/0",)


def test_a_version_without_takes_says_so() -> None:
    """Nothing measured and nothing published: it is not taken for a published one."""
    (caution,) = compare([make_version("knot/v9", takes=())]).columns[0].cautions
    assert (caution.code, caution.text) == ("no-takes", "v9 has no take yet.")


def test_other_levels_are_no_fault() -> None:
    """Takes at 3 W beside those at 1 W stand aside without a word."""
    loud = make_takes("knot/v2", {"sensitivity_db": 86.0}, drive_w=3.0, n_takes=3)
    quiet = tuple(dataclasses.replace(t, take_id=f"{t.take_id}-1w") for t in BASE.takes)
    found = compare([make_version("knot/v1", takes=(*quiet, *loud))]).columns[0]
    assert found.takes_used == tuple(t.take_id for t in quiet)
    assert "takes-left-out" not in {c.code for c in found.cautions}
    assert len(found.takes_left_out) == 9
    assert found.takes_refused == ()


def test_mixed_rigs() -> None:
    """Takes of one version on two rigs."""
    takes = make_takes("knot/v2", {"sensitivity_db": 86.0})
    mixed = (*takes[:3], *(dataclasses.replace(t, rig="shed") for t in takes[3:]))
    assert "bench and shed" in own(make_version("knot/v2", takes=mixed))["rigs-mixed"]


def shifted(take, step_db: float):
    """A take whose level is off."""
    reading = take.readings["sensitivity_db"]
    moved = dataclasses.replace(reading, value=reading.value + step_db)
    return dataclasses.replace(take, readings={**take.readings, "sensitivity_db": moved})


def test_outlier_take_hints_at_a_wrong_rig() -> None:
    """One of three takes of a unit 6 dB off is named with its rig; the unit's other takes are not."""
    takes = make_takes("knot/v2", {"sensitivity_db": 86.0}, n_takes=3)
    odd = (shifted(takes[0], 6.0), *takes[1:])
    found = own(make_version("knot/v2", takes=odd))
    assert found["outlier-take"] == (
        "v2: the take 0 of unit u0 lies 6.0 dB above its unit's other takes. Its rig (bench) may be the wrong one."
    )


def test_of_two_takes_the_one_far_from_the_other_units_is_named() -> None:
    """Two takes 6 dB apart: the other units tell which of them is odd."""
    takes = make_takes("knot/v2", {"sensitivity_db": 86.0})
    found = compare([make_version("knot/v2", takes=(shifted(takes[0], 6.0), *takes[1:]))]).columns[0].cautions
    assert [c.data["takes"] for c in found if c.code == "outlier-take"] == [["knot/v2/u0/0"]]


def test_a_whole_unit_off_by_gain_is_named() -> None:
    """Both takes of one unit 10 dB below the other units: the unit is named, once."""
    takes = make_takes("knot/v2", {"sensitivity_db": 86.0})
    odd = (shifted(takes[0], -10.0), shifted(takes[1], -10.0), *takes[2:])
    found = own(make_version("knot/v2", takes=odd))
    assert found["outlier-take"].startswith("v2: the unit u0 lies 10.2 dB below the other units.")


def test_ordinary_scatter_is_no_outlier() -> None:
    """Units half a decibel apart and takes a tenth apart."""
    takes = make_takes("knot/v2", {"sensitivity_db": 86.0}, n_takes=3, spread={"sensitivity_db": 0.5})
    wobbly = tuple(shifted(t, 0.1 * (i % 3)) for i, t in enumerate(takes))
    assert "outlier-take" not in own(make_version("knot/v2", takes=wobbly))
