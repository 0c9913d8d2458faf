"""Predicted versions in a comparison: beside measured ones, and beside each other."""

from __future__ import annotations

import math

import pytest

from halfroll.compare.compare import compare
from halfroll.compare.statistics import speaks_for_version
from halfroll.compare.types import Comparison, Difference, VersionInput
from halfroll.core.text import THIN
from halfroll.core.verdicts import Severity, Verdict
from halfroll.figures.types import Reading, TakeReadings
from tests.compare.make import USUAL, make_version
from tests.figures.make import make_take

FILAMENT, CONE = "filament.grey.modulus", "cone.grams"


def reading(version: str, value: float, shared: float, own: float) -> Reading:
    """A predicted value with a share of a filament that other versions use and one of its own cone."""
    return Reading(
        value=value, u=math.hypot(shared, own), shares=((FILAMENT, shared), (f"{version} {CONE}", own))
    )


def predicted_takes(
    version: str, values: dict[str, float], *, shared: float = 1.0, own: float = 0.2, **more: object
) -> TakeReadings:
    """Readings of a computed take."""
    readings = {key: reading(version, value, shared, own) for key, value in values.items()}
    return make_take("predicted", 0, readings, version=version, source="predicted", **more)  # type: ignore[arg-type,no-any-return]


def predicted_version(
    id_: str, values: dict[str, float] | None = None, *, parent: str | None = None, **more: object
) -> VersionInput:
    """A version without units, known from its design."""
    take = predicted_takes(id_.removesuffix("@predicted"), {**USUAL, **(values or {})}, **more)  # type: ignore[arg-type]
    return make_version(id_, parent=parent, takes=(take,))


def difference(found: Comparison, figure: str, version: str) -> Difference:
    """A difference that is there."""
    one = found.difference(figure, version)
    assert one is not None
    return one


def test_predicted_against_measured_is_an_ordinary_comparison() -> None:
    """Both uncertainties count, the sentence says which value is predicted, and no unit is counted for it."""
    found = compare(
        [
            make_version("heron/v8"),
            predicted_version("heron/v8@predicted", {"sensitivity_db": 90.0}, parent="heron/v8"),
        ],
        base="parent",
    )
    one = difference(found, "sensitivity_db", "heron/v8@predicted")
    assert one.base_id == "heron/v8"
    assert one.value == pytest.approx(4.0)
    spread = 0.2 / math.sqrt(3)  # of three units
    assert one.u == pytest.approx(math.sqrt(1.0 + 0.2**2 + spread**2), rel=0.05)
    assert one.outcome == "better"
    assert "predicted 90 dB against 86 dB" in one.sentence.replace(THIN, " ")
    assert "outside the uncertainty of the prediction" in one.sentence
    column = found.column("heron/v8@predicted")
    assert column.source == "predicted"
    assert column.version.name == "v8 predicted"
    assert column.figures["sensitivity_db"].n_units == 0
    assert found.column("heron/v8").source == "measured"


def test_inside_the_uncertainty_is_no_difference() -> None:
    """A prediction that lies within its own doubt is not told from the measurement."""
    found = compare(
        [make_version("heron/v8"), predicted_version("heron/v8@predicted", {"sensitivity_db": 87.0})]
    )
    one = difference(found, "sensitivity_db", "heron/v8@predicted")
    assert one.outcome == "not distinguishable"
    assert "within the uncertainty of the prediction" in one.sentence


def test_two_predictions_lose_what_they_share() -> None:
    """Each is uncertain by a decibel of the filament's; their difference only by their own cones: 0.6 dB are claimed."""
    one = predicted_version("heron/v8", {"sensitivity_db": 86.0}, own=0.1)
    other = predicted_version("heron/v9", {"sensitivity_db": 86.6}, own=0.1)
    found = compare([one, other])
    told = difference(found, "sensitivity_db", "heron/v9")
    assert told.u == pytest.approx(0.1 * math.sqrt(2.0))
    assert told.outcome == "better"
    apart = compare([one, predicted_version("plover/v9", {"sensitivity_db": 86.6}, shared=1.0)])
    assert difference(apart, "sensitivity_db", "plover/v9").u == pytest.approx(
        math.hypot(0.1, 0.2)
    )  # another driver of the same filament


def test_what_is_not_shared_does_not_cancel() -> None:
    """Print tolerances bear the name of their version."""
    one = predicted_version("heron/v8", shared=0.0, own=0.5)
    other = predicted_version("heron/v9", {"sensitivity_db": 86.6}, shared=0.0, own=0.5)
    told = difference(compare([one, other]), "sensitivity_db", "heron/v9")
    assert told.u == pytest.approx(0.5 * math.sqrt(2.0))
    assert told.outcome == "not distinguishable"


def test_the_same_prediction_at_two_levels_is_one_design() -> None:
    """A version against itself: everything cancels, nothing is claimed, nothing breaks."""
    found = compare([predicted_version("heron/v8"), predicted_version("heron/v8@predicted")])
    told = difference(found, "sensitivity_db", "heron/v8@predicted")
    assert told.u == pytest.approx(0.0, abs=1e-12)
    assert told.outcome == "not distinguishable"


def test_a_measured_version_leaves_its_prediction_aside() -> None:
    """Where both are among its takes, the measurement counts and the prediction is named."""
    measured = make_version("heron/v8")
    both = make_version("heron/v8", takes=(*measured.takes, predicted_takes("heron/v8", dict(USUAL))))
    column = compare([both]).columns[0]
    assert column.source == "measured"
    assert ("heron/v8/predicted/0", "Predicted; this version was measured.") in column.takes_left_out


def test_it_is_said_that_nothing_was_measured() -> None:
    """A note, no complaint about few units; what the computed take says is passed on."""
    loud = Verdict(code="beyond-travel", severity=Severity.CAUTION, text="It leaves its travel.")
    version = make_version("heron/v9", takes=(predicted_takes("heron/v9", dict(USUAL), verdicts=(loud,)),))
    cautions = compare([version]).columns[0].cautions
    assert [c.code for c in cautions if c.code in ("predicted-figures", "few-units", "beyond-travel")] == [
        "predicted-figures",
        "beyond-travel",
    ]


def test_best_as_base_is_a_measured_one() -> None:
    """What is only drawn is no base for the others, however good; without any measurement it is."""
    promised = predicted_version(
        "heron/v9",
        {"sensitivity_db": 99.0, "lower_limit_hz": 20.0, "max_level_db": 120.0, "thd_mean_percent": 0.1},
    )
    measured = make_version("heron/v8")
    assert compare([measured, promised], base="best").base_id == "heron/v8"
    assert compare([promised, predicted_version("heron/v10")], base="best").base_id == "heron/v9"


def test_best_sentence_names_the_prediction_once() -> None:
    """The word stands in the name or at the value, not at both."""
    versions = [
        make_version("heron/v7"),
        make_version("heron/v8"),
        predicted_version("heron/v8@predicted", {"sensitivity_db": 95.0}),
    ]
    (best,) = [one for one in compare(versions).findings if one.startswith("Best sensitivity")]
    assert "v8 predicted (95 dB)" in best.replace(THIN, " ")


def test_why_a_version_is_not_predicted_is_told() -> None:
    """Instead of figures the reason."""
    version = VersionInput(
        version_id="heron/v9", title="V9", driver_title="Heron", not_predicted="The design has no coil."
    )
    (caution,) = compare([version]).columns[0].cautions
    assert caution.code == "no-takes"
    assert "could not be predicted. The design has no coil." in caution.text


def test_a_bound_of_a_prediction() -> None:
    """A limit that lies beyond what was computed is a bound, on its own side only."""
    take = make_take(
        "predicted",
        0,
        {"lower_limit_hz": Reading(value=50.0, bound="upper")},
        version="heron/v9",
        source="predicted",
    )
    found = compare([make_version("heron/v8"), make_version("heron/v9", takes=(take,))])
    told = difference(found, "lower_limit_hz", "heron/v9")
    assert told.outcome == "better"
    assert told.bound == "upper"
    assert not speaks_for_version(found.column("heron/v9").figures["lower_limit_hz"])
