"""Moving parts in ``version.toml``: read with what their keys stand for, refused with file, key and line, saved with comments kept,
copied to another version, compared, solved once and then taken from the index.
"""

from __future__ import annotations

import dataclasses
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from halfroll.core.errors import CancelledError, ConflictError, InputError
from halfroll.core.progress import CancelToken, Progress, silent
from halfroll.core.verdicts import Severity, Verdict
from halfroll.driver import suspension_distortion as played
from halfroll.driver import suspension_fit
from halfroll.materials.catalogue import catalogue
from halfroll.measure.lumped.parameter_types import Estimates
from halfroll.motor.coil.wound import wind
from halfroll.suspension import results
from halfroll.suspension.design import FlexureDesign, StripDesign
from halfroll.suspension.results import PartResult, StiffnessCurve, TravelRange
from halfroll.workshop import VersionRecord, Workshop, suspension_drive, suspensions
from halfroll.workshop.motor_design import EXAMPLE as MOTOR
from halfroll.workshop.motors import copy_design, load_design
from halfroll.workshop.packing import pack, unpack_value
from halfroll.workshop.paths import record_path
from halfroll.workshop.suspension_drive import distortion_of, loss_resistance
from halfroll.workshop.suspension_example import EXAMPLE
from halfroll.workshop.suspension_measured import Measured, MeasuredVersion, comparisons, mean_of
from halfroll.workshop.suspension_report import suspension_report
from halfroll.workshop.suspension_studies import MovingStudy, compute
from halfroll.workshop.suspensions import (
    MovingTables,
    SuspensionSolved,
    changes_between,
    load_moving,
    profile_files,
    save_moving,
    solve_moving,
    solve_suspension,
)
from tests.workshop.knot import edit, knot_shop, refused_at, write

ARMS = """\
[spider]
family = "spiral-arms"
inner_mm = 20.9
outer_mm = 56
thickness_mm = 0.8
width_mm = 3
arms = 4
sweep_deg = 90
material = "tpu-95a"
"""


@pytest.fixture
def shop(tmp_path: Path) -> Workshop:
    """A workshop whose only version has the example motor and the example moving parts."""
    return knot_shop(tmp_path / "shop", MOTOR + "\n" + EXAMPLE)


def test_the_example_in_the_error_is_a_suspension(shop: Workshop) -> None:
    """Millimetres of diameter become metres of radius, keys their materials, and heights follow from what touches: the former goes on from
    the winding's inner end (offset 0), the cone stands on it, the surround at the cone's edge, the spider between winding and cone.
    """
    design = load_moving(shop, "knot/v1")
    coil = load_design(shop, "knot/v1").coil
    assert coil is not None
    wound = wind(coil)
    surround, spider, cone, former = design.surround, design.spider, design.cone, design.former
    assert isinstance(surround, StripDesign)
    assert isinstance(spider, StripDesign)
    assert cone is not None
    assert former is not None
    assert (surround.inner_radius_m, surround.outer_radius_m) == pytest.approx((0.034, 0.042))
    assert surround.material is catalogue().filaments["tpu-85a"]
    assert former.high_m == pytest.approx(-0.5 * wound.height_m + wound.former_height_m)
    assert former.winding_kg + former.former_kg == pytest.approx(wound.mass_kg)
    assert cone.height_over_gap_m == former.high_m
    assert surround.height_over_gap_m == pytest.approx(former.high_m + 0.014)
    assert spider.height_over_gap_m == pytest.approx(0.5 * (0.5 * wound.height_m + former.high_m))
    assert (design.glue_kg, design.travel_m) == (pytest.approx(0.4e-3), pytest.approx(4e-3))


def test_a_stated_height_goes_before_what_follows(shop: Workshop) -> None:
    """at_mm of the surround, and the motor's travel where [moving] states none."""
    edit(shop, "outer_mm = 84", "outer_mm = 84\nat_mm = 21.5")
    edit(shop, "travel_mm = 4\n", "")
    edit(shop, 'gap = ["pole", "top plate"]', 'gap = ["pole", "top plate"]\ntravel_mm = 2.5')
    design = load_moving(shop, "knot/v1")
    assert design.surround is not None
    assert design.surround.height_over_gap_m == pytest.approx(0.0215)
    assert design.travel_m == pytest.approx(2.5e-3)


def test_arms_become_a_flexure(tmp_path: Path) -> None:
    """A spider of arms without anything else in the record."""
    spider = load_moving(knot_shop(tmp_path / "shop", ARMS), "knot/v1").spider
    assert isinstance(spider, FlexureDesign)
    assert spider.sweep_rad == pytest.approx(math.pi / 2)
    assert (spider.arms, spider.hub, spider.height_over_gap_m) == (4, "held", 0.0)


def test_without_moving_parts_it_is_said_what_to_write(shop: Workshop) -> None:
    """The remedy holds a whole example."""
    shop.create_version("knot", "v2", VersionRecord(title="Two"))
    with pytest.raises(InputError) as caught:
        load_moving(shop, "knot/v2")
    assert caught.value.place.key == "surround"
    assert EXAMPLE.strip() in str(caught.value)


@pytest.mark.parametrize(
    ("old", "new", "key", "word"),
    [
        ('family = "half-roll"', 'family = "half roll"', "surround.family", "half-roll"),
        ('material = "tpu-85a"', 'material = "tpu-85b"', "surround.material", "tpu-85a"),
        ('material = "tpu-85a"', 'material = "steel-1008"', "surround.material", "filament"),
        ("thickness_mm = 0.42", 'thickness_mm = "0,42 mm"', "surround.thickness_mm", "with a decimal point: 0.42"),
        ("thickness_mm = 0.42", "thickness_mm = 0.42\narms = 4", "surround.arms", "straight-legs and spiral-arms"),
        ("thickness_mm = 0.42", "thickness_mm = 0.42\nrolls = 4", "surround.rolls", "corrugated"),
        ("thickness_mm = 0.42", "thickness_mm = 0.42\npoints_mm = [[1, 2]]", "surround.points_mm", "free"),
        ("outer_mm = 84\n", "", "surround.outer_mm", "missing"),
        ("inner_mm = 68", "inner_mm = -68", "surround.inner_mm", "diameter"),
        ('raster = "around"', 'raster = "around"\ninfill = 40', "surround.print.infill", "write 0.4"),
        ('raster = "around"', 'raster = "around"\ninfill = 0.01', "surround.print.infill", "0.05 to 1"),
        ('raster = "around"', 'raster = "round"', "surround.print.raster", "around"),
        ('raster = "around"', 'raster = "around"\nlayer_mm = 20', "surround.print.layer_mm", "0.02 to 3"),
        ('raster = "around"', 'raster = "around"\nslicer_g = 0', "surround.print.slicer_g", "above 0"),
        ("depth_mm = 14", "", "cone.depth_mm", "missing"),
        ("depth_mm = 14", "depth_mm = 14\nflare_mm = 2", "cone.flare_mm", "flared"),
        ("glue_g = 0.4", "glue_g = -0.4", "moving.glue_g", "0 to 1000 g"),
        ("travel_mm = 4", "travel_mm = 400", "moving.travel_mm", "0.05 to 100"),
        ('wire = "cu-0.200-g1"', 'wire = "cu-0.201-g1"', "coil.wire", "cu-0.200-g1"),
        ('family = "half-roll"', 'family = "free"\npoints = "roll.svg"', "surround.points", "no file roll.svg"),
        ('family = "half-roll"', 'family = "free"\npoints = "../roll.svg"', "surround.points", "same folder"),
        ('family = "half-roll"', 'family = "free"\npoints_mm = [[30, 0], [42, 0]]', "surround.inner_mm", "Leave out inner_mm"),
        ('family = "half-roll"', 'family = "free"', "surround.points_mm", "points_mm = [[r, z], ...]"),
        ('shape = "straight"', 'shape = "straight"\npoints_mm = [[1, 2]]', "cone.points_mm", "free"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_with_file_key_and_line(
    shop: Workshop, old: str, new: str, key: str, word: str
) -> None:
    """The line is that of the key as it was written, or of its table when the key is missing."""
    refused_at(edit(shop, old, new), key, word, lambda: load_moving(shop, "knot/v1"))


def test_a_legless_flexure_is_refused(tmp_path: Path) -> None:
    """Arms need a width, and a flat part has no roll's height."""
    shop = knot_shop(tmp_path / "shop", ARMS)
    path = edit(shop, "width_mm = 3\n", "")
    with pytest.raises(InputError, match="width_mm of the spider is missing"):
        load_moving(shop, "knot/v1")
    write(path, path.read_text().replace("arms = 4", "arms = 4\nwidth_mm = 3\nheight_mm = 4"))
    with pytest.raises(InputError, match="height_mm of the spider has no meaning"):
        load_moving(shop, "knot/v1")


def test_a_save_touches_only_the_keys_that_differ(shop: Workshop) -> None:
    """One line changes, the comment stays, and a second save from the old record is refused."""
    path = edit(shop, "thickness_mm = 0.42", "thickness_mm = 0.42  # two lines would be 0.84")
    before = path.read_text().split("\n")
    loaded = shop.version("knot/v1")
    tables = MovingTables.of(loaded.record)
    assert tables.surround is not None
    thick = MovingTables(**{**vars(tables), "surround": tables.surround.changed(outer_mm=86.0)})
    save_moving(shop, "knot/v1", thick, revision=loaded.revision)
    after = path.read_text().split("\n")
    assert set(after) - set(before) == {"outer_mm = 86.0"}
    with pytest.raises(ConflictError, match="changed by somebody else"):
        save_moving(shop, "knot/v1", tables, revision=loaded.revision)
    assert path.read_text().split("\n") == after


def test_what_cannot_be_is_not_saved(shop: Workshop) -> None:
    """A material that does not exist leaves the file as it was; no part at all is a save too."""
    loaded = shop.version("knot/v1")
    before = loaded.path.read_bytes()
    tables = MovingTables.of(loaded.record)
    assert tables.cap is not None
    with pytest.raises(InputError, match="material"):
        save_moving(shop, "knot/v1", MovingTables(cap=tables.cap.changed(material="wax")))
    assert loaded.path.read_bytes() == before
    assert save_moving(shop, "knot/v1", MovingTables()).record.surround is None


def test_a_record_makes_the_round_trip(shop: Workshop) -> None:
    """What the reader made of the file is what a new file says again."""
    record = shop.version("knot/v1").record
    assert shop.create_version("knot", "v2", record).record == record
    assert load_moving(shop, "knot/v2") == load_moving(shop, "knot/v1")


def test_changes_between_two_versions_are_named_with_their_sizes(shop: Workshop) -> None:
    """A thickness, a filament, a raster and a cap that goes; nothing between a design and itself."""
    record = shop.version("knot/v1").record
    shop.create_version("knot", "v2", record.changed(cap=None))
    path = record_path(shop.folder, "knot/v2")
    text = (
        path.read_text()
        .replace("thickness_mm = 0.42", "thickness_mm = 0.6")
        .replace('"tpu-85a"', '"tpu-95a"', 1)
    )
    write(path, text.replace('raster = "around"', 'raster = "crossed"', 1))
    found = {change.key: change for change in changes_between(shop, "knot/v1", "knot/v2")}
    assert set(found) == {"surround.thickness_mm", "surround.material", "surround.print.raster", "cap"}
    thickness = found["surround.thickness_mm"]
    assert (thickness.what, thickness.before, thickness.after) == ("surround thickness", "0.42 mm", "0.6 mm")
    assert thickness.delta_mm == pytest.approx(0.18)
    assert (found["surround.material"].before, found["surround.material"].after) == ("TPU 85A", "TPU 95A")
    assert (found["cap"].before, found["cap"].after) == ("cap, 26 mm, 0.6 mm of PETG", "")
    assert changes_between(shop, "knot/v1", "knot/v1") == ()


# Copies ------------------------------------------------------------------------------------------------------------


PROFILE = "r_mm,z_mm\n34,0\n36,2.6\n38,3.4\n40,2.6\n42,0\n"


def _free(shop: Workshop) -> None:
    """Give the surround a profile from a file."""
    path = edit(
        shop, 'family = "half-roll"\ninner_mm = 68\nouter_mm = 84', 'family = "free"\npoints = "roll.csv"'
    )
    write(path.with_name("roll.csv"), PROFILE)


def test_a_profile_comes_from_a_file_beside_the_record(shop: Workshop) -> None:
    """Its ends are the diameters; a text where a number should be is named with the file's own line."""
    _free(shop)
    surround = load_moving(shop, "knot/v1").surround
    assert isinstance(surround, StripDesign)
    assert (surround.inner_radius_m, surround.outer_radius_m) == pytest.approx((0.034, 0.042))
    assert surround.points[2] == pytest.approx((0.038, 0.0034))
    path = record_path(shop.folder, "knot/v1").with_name("roll.csv")
    write(path, PROFILE.replace("38,3.4", "38,three"))
    with pytest.raises(InputError) as caught:
        load_moving(shop, "knot/v1")
    assert (caught.value.place.file, caught.value.place.line) == (str(path), 4)


def test_a_design_can_be_copied_with_its_files(shop: Workshop) -> None:
    """All five tables, and the bytes of the profile."""
    _free(shop)
    record = copy_design(shop, "knot/v1", VersionRecord(title="Two"))
    source = shop.version("knot/v1")
    assert MovingTables.of(record) == MovingTables.of(source.record)
    assert profile_files(source) == {"roll.csv": PROFILE.encode()}
    shop.create_version("knot", "v3", VersionRecord())
    with pytest.raises(InputError, match="no motor"):
        copy_design(shop, "knot/v3", VersionRecord())


# Solving -----------------------------------------------------------------------------------------------------------


def _curve(rest: float) -> StiffnessCurve:
    x = np.linspace(-4e-3, 4e-3, 9)
    return StiffnessCurve(
        x_m=x,
        force_n=rest * x,
        tangent_n_per_m=np.full(9, rest),
        kms_n_per_m=np.full(9, rest),
        u_relative=0.1,
    )


def _part(name: str, rest: float) -> PartResult:
    """A linear part."""
    nothing = np.zeros(9)
    return PartResult(
        name=name, curve=_curve(rest), asymmetry=0.0, limit=TravelRange(low_m=-4e-3, high_m=4e-3, full_low=True, full_high=True),
        strain=nothing + 0.01, stress_pa=nothing + 1e6, hoop_strain=nothing, mass_kg=1e-3, moving_kg=0.4e-3, area_m2=9e-4,
        radial_n_per_m=2e4, tilt_nm_per_rad=1.0, cross_n_per_rad=0.0, own_hz=((900.0, 0),), reached_m=(-4e-3, 4e-3),
        verdicts=(Verdict(code=f"of-{name}", severity=Severity.NOTE, text="t"),),
    )  # fmt: skip


class _Counted:
    """Stands for the slow studies: counts how often each is asked for. The mass is computed for real."""

    def __init__(self) -> None:
        self.calls: list[str] = []

    def __call__(self, study: MovingStudy, progress: Progress) -> Any:
        self.calls.append(study.kind)
        progress(0.5, study.kind)
        if study.kind == "break-up":
            raise InputError("Too soft to be told")
        return (
            compute(study, silent)
            if study.kind == "mass"
            else _part(study.kind, {"surround": 900.0, "spider": 300.0}[study.kind])
        )


def _solve(shop: Workshop, run: _Counted, progress: Progress = silent) -> SuspensionSolved:
    return solve_moving(shop, load_moving(shop, "knot/v1"), progress, slot="knot/v1", run=run)


def test_each_result_is_kept_until_what_it_depends_on_changes(shop: Workshop) -> None:
    """A workshop opened anew takes all from the index; a new cone leaves surround and spider alone; a study that cannot be done is
    said and is no hindrance; parts act together: 900 + 300 N/m.
    """
    run = _Counted()
    seen: list[float] = []
    first = _solve(shop, run, lambda done, _: seen.append(done))
    assert run.calls == ["surround", "spider", "mass", "break-up"]
    assert seen == sorted(seen)
    assert seen[-1] == 1.0
    assert first.suspension is not None
    assert first.mass is not None
    assert first.suspension.curve.at_rest() == pytest.approx(1200.0)
    expected = math.sqrt(1200.0 / first.mass.mms_kg) / (2 * math.pi)
    assert first.suspension.resonance_hz == pytest.approx(expected)
    assert [str(fault) for fault in first.faults] == ["Too soft to be told."]
    again = _solve(Workshop.open(shop.folder), run)
    assert run.calls[4:] == ["break-up"]
    assert again.mass == first.mass
    assert again.suspension is not None
    assert again.suspension.parts[0].verdicts == first.suspension.parts[0].verdicts
    edit(shop, "depth_mm = 14", "depth_mm = 15")
    _solve(shop, run)
    assert run.calls[5:] == ["mass", "break-up"]
    edit(shop, "glue_g = 0.4", "glue_g = 0.5")
    _solve(shop, run)
    assert run.calls[7:] == ["mass", "break-up"]


def test_a_stopped_solve_keeps_what_was_finished(shop: Workshop) -> None:
    """The second study is stopped in its middle; the first need not be done again."""
    run, token = _Counted(), CancelToken()

    def stop(done: float, what: str) -> None:
        if what == "spider":
            token.cancel()
        token.wrap(silent)(done, what)

    with pytest.raises(CancelledError):
        _solve(shop, run, stop)
    _solve(shop, run)
    assert run.calls == ["surround", "spider", "spider", "mass", "break-up"]


def test_a_part_that_cannot_be_bent_is_refused_with_its_line(
    shop: Workshop, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A fault of a study with a key gets file and line of the record."""

    def fails(study: MovingStudy, progress: Progress) -> Any:
        raise InputError("Too far", key="moving.travel_mm")

    monkeypatch.setattr(suspensions, "compute", fails)
    with pytest.raises(InputError) as caught:
        solve_suspension(shop, "knot/v1")
    path = record_path(shop.folder, "knot/v1")
    assert caught.value.place.file == str(path)
    assert path.read_text().split("\n")[(caught.value.place.line or 0) - 1] == "travel_mm = 4"


def test_every_result_can_be_kept() -> None:
    """Each class of results, filled with something of every kind, comes back equal."""
    kinds = [
        kind
        for module in (results, played, suspension_fit)
        for kind in vars(module).values()
        if dataclasses.is_dataclass(kind) and isinstance(kind, type) and kind.__module__ == module.__name__
    ]
    assert results.BreakUp in kinds
    assert played.SuspensionDistortion in kinds
    for kind in kinds:
        names = [field.name for field in dataclasses.fields(kind)]
        value = kind(**{name: (np.arange(3.0), (1.5, "a"), None)[i % 3] for i, name in enumerate(names)})
        back = unpack_value(pack(value))
        assert type(back) is kind
        for name in names:
            assert np.array_equal(getattr(back, name), getattr(value, name))


# The report --------------------------------------------------------------------------------------------------------


def test_the_report_gathers_materials_distortion_and_what_is_to_be_said(shop: Workshop) -> None:
    """Without a motor and measurements the distortion is a fault that says what to do; every verdict stands once."""
    edit(shop, MOTOR[MOTOR.index("[motor]") : MOTOR.index("[coil]")], "")
    solved = _solve(shop, _Counted())
    report = suspension_report(shop, solved, "knot/v1", distortion=True)
    assert [use.part for use in report.materials] == ["surround", "spider", "cone", "cap"]
    assert report.materials[2].printed.density_kg_m3 == pytest.approx(
        catalogue().filaments["petg"].density_kg_m3
    )
    assert report.distortion is None
    assert "Distortion needs Bl" in str(report.faults[-1])
    assert {"Surround: t", "Spider: t"} <= {verdict.text for verdict in report.verdicts}
    assert report.comparisons == ()


def test_losses_of_the_plastic_are_a_resistance_at_resonance(shop: Workshop) -> None:
    """K tan d/w of each part, by hand; Q = 1/tan d where both parts are of one plastic."""
    solved = _solve(shop, _Counted())
    assert solved.suspension is not None
    surround, spider = solved.design.surround, solved.design.spider
    assert surround is not None
    assert spider is not None
    omega = math.sqrt(1200.0 / 8e-3)
    by_hand = (900.0 * surround.material.loss_factor + 300.0 * spider.material.loss_factor) / omega
    assert loss_resistance(solved.design, solved.suspension, 8e-3) == pytest.approx(by_hand)


def test_computed_and_measured_are_compared_in_standard_uncertainties(shop: Workshop) -> None:
    """In free air a disc carries half the air it carries in a baffle (Lamb 1932), so the computed resonance is higher there; the
    difference over the root of both squares.
    """
    solved = _solve(shop, _Counted())
    mass, suspension = solved.mass, solved.suspension
    assert mass is not None
    assert suspension is not None
    values = {
        "fs_hz": Measured(value=60.0, u=1.0, units=3),
        "cms_m_per_n": Measured(value=1e-3, u=2e-5, units=3),
        "mms_kg": Measured(value=7e-3, u=1e-4, units=3),
    }
    fs, kms, mms = comparisons(MeasuredVersion(values=values, in_baffle=False), suspension, mass)
    free = mass.mass_kg + 0.5 * mass.air_kg
    assert fs.computed == pytest.approx(math.sqrt(1200.0 / free) / (2 * math.pi))
    assert fs.difference == pytest.approx((fs.computed - 60.0) / math.hypot(fs.computed_u, 1.0))
    assert (kms.computed, kms.measured, kms.measured_u) == pytest.approx((1200.0, 1000.0, 20.0))
    assert kms.difference == pytest.approx(200.0 / math.hypot(90.0, 30.0, 20.0))
    assert mms.computed == pytest.approx(free)
    in_baffle = comparisons(MeasuredVersion(values=values, in_baffle=True), suspension, mass)
    assert in_baffle[0].computed == pytest.approx(suspension.resonance_hz)


def test_without_a_motor_measured_values_are_played_and_kept(
    shop: Workshop, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Bl, Re, Le and Rms from the fits; nothing of a motor's own share; asked again nothing is played anew; another voltage is."""
    edit(shop, MOTOR[MOTOR.index("[motor]") : MOTOR.index("[coil]")], "")
    values = {"fs_hz": 60.0, "bl_n_per_a": 4.0, "re_ohm": 6.0, "le_h": 2e-4, "rms_ns_per_m": 1.1}
    measured = MeasuredVersion(
        values={name: Measured(value=value, u=0.01 * value, units=2) for name, value in values.items()},
        in_baffle=True,
    )
    monkeypatch.setattr(suspension_drive, "measured_of", lambda *_: measured)
    solved = _solve(shop, _Counted())
    seen: list[float] = []
    found = distortion_of(shop, "knot/v1", solved, progress=lambda done, _: seen.append(done))
    constants = found.constants
    assert (constants.bl, constants.re_ohm, constants.le_h, constants.rms) == (4.0, 6.0, 2e-4, 1.1)
    assert solved.mass is not None
    assert constants.mms_kg == solved.mass.mms_kg
    assert dict(found.origins) | {"Mms": ""} == {
        "Bl": "measured", "Re": "measured", "Le": "measured", "Mms": "", "Sd": "the moving parts' design", "Rms": "measured",
    }  # fmt: skip
    assert [tone.voltage_v for tone in found.alone] == [2.83]
    assert found.motor == ()
    assert seen == sorted(seen)
    monkeypatch.setattr(played, "suspension_distortion", None)
    again = distortion_of(shop, "knot/v1", solved)
    assert np.array_equal(again.alone[0].thd, found.alone[0].thd)
    with pytest.raises(TypeError):
        distortion_of(shop, "knot/v1", solved, [1.0])


@dataclasses.dataclass
class _Unit:
    """A unit's parameters as far as a mean needs them."""

    value: float
    u: float

    @property
    def free(self) -> None:
        """No fit beside."""

    @property
    def parameters(self) -> Any:
        """What the methods tell together."""
        return dataclasses.make_dataclass("P", ["estimates"])(
            Estimates(names=("mms_kg",), values=np.array([self.value]), covariance=np.array([[self.u**2]]))
        )


def test_units_that_differ_make_the_measured_value_less_sure() -> None:
    """100 ± 1 and 104 ± 1: mean 102, own 1 and scatter sqrt(8) in squares, 3; a single unit has its own alone."""
    two = mean_of([_Unit(100.0, 1.0), _Unit(104.0, 1.0)], "mms_kg")  # type: ignore[list-item]
    assert two is not None
    assert (two.value, two.u, two.units) == pytest.approx((102.0, 3.0, 2))
    one = mean_of([_Unit(100.0, 1.0)], "mms_kg")  # type: ignore[list-item]
    assert one is not None
    assert one.u == pytest.approx(1.0)
    assert mean_of([], "mms_kg") is None
