"""Estimates against functions of which the answer is known, and against what was solved properly."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from halfroll.core.errors import InputError
from halfroll.driver.lumped import DriverModel
from halfroll.figures.types import FigureSettings
from halfroll.publish.what_if import effect_rows
from halfroll.study.dimensions import Dimension
from halfroll.study.reading import Reader
from halfroll.study.sensitivity import Start, solve_properly, surrogate_of, what_next
from halfroll.study.sentences import effects, sentences, what_helps
from halfroll.study.surrogate import Surrogate
from halfroll.workshop import Workshop
from halfroll.workshop.records import VersionRecord
from tests.study.shop import VERSION, predicted

W1 = DriverModel(
    Re=6.0, Mms=12e-3, Rms=1.0, Sd=133e-4, Bl=(6.0, 0.0, -3e4), K=(1111.0, 0.0, 3e7), Le=(0.2e-3,), x_range=(-8e-3, 8e-3)
)  # fmt: skip


def _dimension(key: str, value: float, step: float) -> Dimension:
    return Dimension(
        key=key,
        label=key,
        unit="g",
        value=value,
        step=step,
        low=0.0,
        high=99.0,
        whole=False,
        more="more",
        less="less",
        part=key,
    )


def _driver(glue_g: float, stiff: float) -> DriverModel:
    """Mass grows with the glue, stiffness with the cube of a thickness, and its bend with it."""
    return DriverModel(
        Re=6.0, Mms=11e-3 + 1e-3 * glue_g, Rms=1.0, Sd=133e-4, Bl=W1.Bl, K=(1111.0 * stiff**3, 0.0, 3e7 * stiff**5), Le=(0.2e-3,),
        x_range=(-8e-3, 8e-3),
    )  # fmt: skip


def _known(scale: float = 1.0) -> tuple[Surrogate, Reader]:
    """The estimates from steps of 0.5 g of glue and a tenth of the thickness, or a share of them."""
    reader = Reader.of(VersionRecord(rated_impedance_ohm=8.0), W1, FigureSettings(level_w=1.0))
    base = _driver(1.0, 1.0)
    start = Start(model=base, reader=reader, modes=(), figures=reader.figures(base), u={})
    from dataclasses import asdict

    def side(glue: float, stiff: float) -> dict[str, object]:
        model = _driver(glue, stiff)
        figures = reader.figures(model)
        return {"model": asdict(model), "figures": figures, "read": figures, "fault": ""}

    more, stiffer = 0.5 * scale, 0.1 * scale
    sides = {
        "glue": (side(1.0 + more, 1.0), side(1.0 - more, 1.0)),
        "stiff": (side(1.0, 1.0 + stiffer), side(1.0, 1.0 - stiffer)),
    }
    return surrogate_of(
        start, (_dimension("glue", 1.0, more), _dimension("stiff", 1.0, stiffer)), sides
    ), reader


def test_exact_where_it_was_solved() -> None:
    """At the design and at each solved step the estimate is the solution."""
    surrogate, reader = _known()
    for glue, stiff in ((1.0, 1.0), (1.5, 1.0), (0.5, 1.0), (1.0, 1.1), (1.0, 0.9)):
        found = surrogate.estimate({"glue": glue, "stiff": stiff})
        assert found.figures == pytest.approx(reader.figures(_driver(glue, stiff)), rel=1e-6)
        assert found.within
    assert not surrogate.estimate({"glue": 1.6}).within


def test_added_mass() -> None:
    """Between the steps the resonance falls as 1/√(M + m) (added mass, Thiele 1961): 0.2 g more glue on 12 g."""
    surrogate, reader = _known()
    at_rest = reader.figures(_driver(1.0, 1.0))["fs_hz"]
    found = surrogate.estimate({"glue": 1.2}).figures["fs_hz"]
    assert found == pytest.approx(at_rest * math.sqrt(12.0 / 12.2), rel=1e-5)


def test_second_order_along_one_dimension() -> None:
    """With steps half as large the error half a step away is about eight times smaller: the parabola misses only the third order."""
    keys = ("fs_hz", "qts", "thd_mean_percent")
    errors = []
    for scale in (1.0, 0.5):
        surrogate, reader = _known(scale)
        truth = reader.figures(_driver(1.0, 1.0 + 0.05 * scale))
        found = surrogate.estimate({"stiff": 1.0 + 0.05 * scale}).figures
        errors.append([abs(found[key] / truth[key] - 1.0) for key in keys])
    assert np.max(errors[0]) < 1e-3
    assert np.all(np.array(errors[1]) < np.array(errors[0]) / 6.0)


def test_effects_in_sentences() -> None:
    """The stiffer surround raises the resonance by 1.5 times its relative change of stiffness, and the sentences are ranked."""
    surrogate, _ = _known()
    slope, _bend = surrogate.solved.per_step()
    fs = surrogate.solved.figures.index("fs_hz")
    base = surrogate.solved.values[fs]
    assert slope[1, fs] == pytest.approx(base * 0.5 * (1.1**1.5 - 0.9**1.5), rel=1e-6)
    found = effects(surrogate.solved)
    assert [one.weight for one in found] == sorted((one.weight for one in found), reverse=True)
    said = sentences(surrogate.solved)
    assert len(said) == 2
    assert said[0].startswith("Stiff")
    helps = what_helps(surrogate.solved, "thd_worst_percent")
    assert helps
    assert "−" in helps[0].rpartition("worst distortion")[2]


@pytest.mark.parametrize("way", [1.0, -1.0])
def test_a_step_that_cannot_be_is_not_told(way: float) -> None:
    """Where only one way could be solved, sentences, advice and table speak of that way alone, with the sign of that way."""
    surrogate, _ = _known()
    solved = surrogate.solved
    gone = {"values_down" if way > 0 else "values_up": np.full_like(solved.values_up, np.nan)}
    one_way = replace(solved, **gone)
    sign = "+" if way > 0 else "−"
    assert all(f" {sign}" in sentence.partition(":")[0] for sentence in sentences(one_way))
    assert all(
        f" {sign}" in sentence.partition(":")[0] for sentence in what_helps(one_way, "thd_worst_percent")
    )
    rows = {row[0].partition(" ")[0]: row for row in effect_rows(one_way).rows}
    fs = effect_rows(one_way).head.index("Resonance fs")
    assert rows["Stiff"][0].partition(" ")[2].startswith(sign)
    assert rows["Stiff"][fs].startswith(sign)  # stiffer is higher


def test_too_far_out() -> None:
    """Where no driver is like that it is said, not estimated."""
    surrogate, _ = _known()
    with pytest.raises(InputError):
        surrogate.estimate({"stiff": -60.0})


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory, shared: Path) -> Workshop:
    """A workshop with one whole design."""
    folder: Path = tmp_path_factory.mktemp("study")
    return predicted(Workshop.init(folder / "shop", "Saltmarsh Workshop", durable=False), shared)


@pytest.mark.slow
def test_estimates_of_a_design(shop: Workshop) -> None:
    """A real design: half a step away the estimate meets the proper solution within a tenth of the change; what was solved is kept; glue adds
    its mass, and the resonance falls by it.
    """
    keys = ["surround.thickness_mm", "moving.glue_g"]
    found = what_next(shop, VERSION, keys=keys)
    solved = found.solved
    assert not any(solved.faults)
    mms = solved.figures.index("mms_g")
    assert solved.values_up[1, mms] - solved.values[mms] == pytest.approx(0.1, rel=1e-3)
    fs = solved.figures.index("fs_hz")
    ratio = math.sqrt(solved.values[mms] / solved.values_up[1, mms])
    assert solved.values_up[1, fs] / solved.values[fs] == pytest.approx(
        ratio, rel=2e-4
    )  # creep moves it a little
    thickness = solved.dimensions[0]
    half = {"surround.thickness_mm": thickness.value + 0.5 * thickness.step}
    from halfroll.study.dimensions import with_values

    _, proper = solve_properly(shop, VERSION, with_values(shop.version(VERSION).record, half), found.reader)
    estimate = found.estimate(half).figures
    for key in ("fs_hz", "qts", "cms_mm_per_n"):
        change = abs(proper[key] - solved.values[solved.figures.index(key)])
        assert abs(estimate[key] - proper[key]) < 0.1 * change + 1e-4 * abs(proper[key])

    def refused(*_: object, **__: object) -> object:
        raise AssertionError("nothing may be solved twice")

    again = what_next(shop, VERSION, keys=keys, run=refused)
    assert np.array_equal(again.solved.packed_up, solved.packed_up, equal_nan=True)
