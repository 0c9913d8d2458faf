"""The page of moving parts: begun on a former, changed, bent, kept. One solver process serves all pages."""

from __future__ import annotations

from collections.abc import AsyncIterator

import pytest
from nicegui.testing import User

from halfroll.app.drawing import Drawing
from halfroll.app.motion import Motion
from halfroll.app.suspension_draft import SuspensionDraft
from halfroll.app.suspension_handles import handles
from halfroll.app.suspension_start import STARTS, first_part, former_mm, start
from halfroll.core.errors import ConflictError, InputError
from halfroll.suspension.design import StripDesign
from halfroll.workshop import Workshop
from halfroll.workshop.suspensions import MovingTables, load_moving, solve_suspension
from tests.app.conftest import PATIENT, until, visiting
from tests.app.samples import knot_with_motor

VERSION = "knot/v1"
PAGE = f"/suspension/{VERSION}"


@pytest.fixture
def bare(empty: Workshop) -> Workshop:
    """A workshop with one version that has a motor and coil, and nothing that moves."""
    return knot_with_motor(empty)


@pytest.fixture
def knot(bare: Workshop) -> Workshop:
    """The same with a half roll, a corrugated spider, a cone and a cap."""
    draft = SuspensionDraft(bare, VERSION)
    draft.change(lambda data: data.update(start("roll", former_mm(draft.record))))
    draft.save()
    return bare


@pytest.fixture
async def designer(knot: Workshop) -> AsyncIterator[User]:
    """A person at the pages of that workshop."""
    async with visiting(knot) as user:
        yield user


def _type(user: User, key: str, text: str) -> None:
    user.find(marker=key).trigger("entered", text)


def _drawn(user: User, mark: str = "drawing", width: int = 700) -> Drawing:
    user.find(marker=mark).trigger("measure", {"width": width, "dark": False})
    drawing = next(iter(user.find(marker=mark).elements))
    assert isinstance(drawing, Drawing)
    return drawing


# The draft.


@pytest.mark.parametrize("key", list(STARTS))
def test_every_beginning_can_be_built(bare: Workshop, key: str) -> None:
    """On the version's own former, the cone's edges at surround and spider."""
    draft = SuspensionDraft(bare, VERSION)
    draft.change(lambda data: data.update(start(key, former_mm(draft.record))))
    assert draft.errors == {}
    assert draft.built is not None
    design = draft.built.design
    assert design.cone is not None
    assert design.former is not None
    assert design.surround is not None
    assert design.cone.inner_radius_m == pytest.approx(
        design.former.inner_radius_m + design.former.wall_m, abs=2e-5
    )
    assert design.surround.inner_radius_m == design.cone.outer_radius_m
    assert design.surround.height_over_gap_m == pytest.approx(design.former.high_m + design.cone.depth_m)


@pytest.mark.parametrize("small", [True, False])
def test_beginnings_fit_small_and_large_formers(bare: Workshop, small: bool) -> None:
    """From 10 mm to 50 mm."""
    draft = SuspensionDraft(bare, VERSION)
    for key in STARTS:
        draft.change(
            lambda data, key=key: data.update(start(key, 10.0 if small else 50.0, 2.0 if small else 10.0))
        )
        assert draft.errors == {}, key


@pytest.mark.parametrize(
    ("key", "text", "said"),
    [
        ("surround.inner_mm", "200", "smaller than its outer one"),
        ("surround.thickness_mm", "0", "positive number"),
        ("surround.thickness_mm", "thick", "number"),
        ("spider.rolls", "0", "whole number of rolls"),
        ("spider.material", "unobtainium", "no filament of that key"),
        ("moving.travel_mm", "500", "possible travel"),
        ("surround.print.infill", "40", "share"),
    ],
)
def test_a_fault_stands_at_its_field(knot: Workshop, key: str, text: str, said: str) -> None:
    """Bad input is refused where it was typed; the last good state stays, nothing can be saved, nothing is lost."""
    draft = SuspensionDraft(knot, VERSION)
    before = draft.built
    draft.put(key, text)
    assert said in draft.errors[key], draft.errors
    assert draft.built is before
    with pytest.raises(InputError):
        draft.save()
    assert SuspensionDraft(knot, VERSION).errors == draft.errors
    draft.undo()
    assert draft.errors == {}


@pytest.mark.parametrize(
    "family",
    [
        "elliptic-roll",
        "m-roll",
        "double-roll",
        "flat",
        "corrugated",
        "free",
        "spiral-arms",
        "straight-legs",
        "half-roll",
    ],
)
def test_another_family_brings_what_it_needs(knot: Workshop, family: str) -> None:
    """Dimensions of a size that can be, none that the family has not; back again it is as it was."""
    draft = SuspensionDraft(knot, VERSION)
    draft.put("spider.family", family)
    assert draft.errors == {}
    assert draft.built is not None
    assert draft.built.design.spider is not None
    assert draft.built.design.spider.family == family
    draft.put("spider.family", "corrugated")
    assert draft.errors == {}
    assert draft.value("spider.arms") is None


def test_arms_of_another_family_fit_between_the_diameters(knot: Workshop) -> None:
    """Straight legs may be wide; as spiral arms as wide as that they would touch each other."""
    draft = SuspensionDraft(knot, VERSION)
    for family in ("straight-legs", "spiral-arms", "straight-legs"):
        draft.put("surround.family", family)
        assert not draft.errors, (family, draft.errors)


@pytest.mark.parametrize("form", ["{:g} {:g}", "{:g}; {:g}", "{:g},{:g}"])
def test_diameters_follow_the_points_of_a_free_profile(knot: Workshop, form: str) -> None:
    """Points as a person or a file parts them; the cone's edge is glued to the first and goes along."""
    draft = SuspensionDraft(knot, VERSION)
    draft.put("surround.family", "free")
    inner, outer = draft.value("surround.inner_mm"), draft.value("surround.outer_mm")
    points = ((0.5 * inner - 1.0, 0.0), (0.25 * (inner + outer), 4.0), (0.5 * outer, 0.0))
    draft.put("surround.points_mm", "\n".join(form.format(*point) for point in points))
    assert not draft.errors
    assert draft.value("surround.inner_mm") == pytest.approx(inner - 2.0)
    assert draft.value("cone.outer_mm") == pytest.approx(inner - 2.0)


def test_another_shape_of_the_cone(knot: Workshop) -> None:
    """Flared it has a flare, free it has points; straight it has neither."""
    draft = SuspensionDraft(knot, VERSION)
    draft.put("cone.shape", "flared")
    assert draft.value("cone.flare_mm") > 0
    assert draft.errors == {}
    draft.put("cone.shape", "free")
    assert draft.errors == {}
    assert len(draft.value("cone.points_mm")) == 3
    draft.put("cone.shape", "straight")
    assert draft.errors == {}
    assert draft.value("cone.points_mm") is None


def test_what_is_glued_together_stays_together(knot: Workshop) -> None:
    """A wider cone takes the surround along, its roll as wide as before; the spider's inner edge and the cone's go together."""
    draft = SuspensionDraft(knot, VERSION)
    edge, rim = draft.value("surround.inner_mm"), draft.value("surround.outer_mm")
    draft.put("cone.outer_mm", str(edge + 6))
    assert draft.value("surround.inner_mm") == edge + 6
    assert draft.value("surround.outer_mm") == rim + 6
    draft.undo()
    assert draft.value("surround.outer_mm") == rim
    draft.put("spider.inner_mm", "22")
    assert draft.value("cone.inner_mm") == 22
    draft.put("surround.inner_mm", str(edge + 1))
    assert draft.value("cone.outer_mm") == edge + 1
    assert draft.value("surround.outer_mm") == rim


def test_saved_into_the_record_and_as_a_new_version(knot: Workshop) -> None:
    """What the page saves is what a program reads; motor and coil stay; a new version has its parent, and the old stays as it was."""
    draft = SuspensionDraft(knot, VERSION)
    draft.put("surround.thickness_mm", "0.5")
    draft.save()
    found = load_moving(knot, VERSION)
    assert isinstance(found.surround, StripDesign)
    assert found.surround.thickness_m == pytest.approx(0.5e-3)
    record = knot.version(VERSION).record
    assert record.motor is not None
    draft.put("surround.thickness_mm", "0.6")
    assert draft.save_as("v2") == "knot/v2"
    assert load_moving(knot, "knot/v2").surround.thickness_m == pytest.approx(0.6e-3)  # type: ignore[union-attr]
    assert load_moving(knot, VERSION).surround.thickness_m == pytest.approx(0.5e-3)  # type: ignore[union-attr]
    assert knot.version("knot/v2").record.parent == VERSION


def test_a_file_changed_meanwhile_is_not_overwritten(knot: Workshop) -> None:
    """Saving is refused, the draft stays; saved over it the rest of the record is as it is by now."""
    draft = SuspensionDraft(knot, VERSION)
    loaded = knot.version(VERSION)
    knot.save(loaded, loaded.record.changed(summary="Edited by hand"))
    draft.put("cap.height_mm", "7")
    with pytest.raises(ConflictError, match="somebody else"):
        draft.save()
    assert SuspensionDraft(knot, VERSION).value("cap.height_mm") == 7
    draft.save(over=True)
    assert knot.version(VERSION).record.summary == "Edited by hand"
    assert not SuspensionDraft(knot, VERSION).changed


def test_parts_come_and_go(knot: Workshop) -> None:
    """Left out and added again a part fits the others; without any the version is empty, and one undo brings them back."""
    draft = SuspensionDraft(knot, VERSION)
    draft.leave_out("cone")
    assert draft.errors == {} or "cap" in " ".join(draft.errors)  # a cap without a cone has nothing to sit on
    draft.add("cone", first_part("cone", draft.data, draft.record))
    assert draft.errors == {}
    assert draft.value("cone.outer_mm") == draft.value("surround.inner_mm")
    draft.change(lambda data: data.clear())
    assert draft.empty
    draft.undo()
    assert not draft.empty
    draft.change(lambda data: data.clear())
    with pytest.raises(InputError):
        draft.save()
    assert MovingTables.of(knot.version(VERSION).record).any


def test_handles_say_what_they_move(knot: Workshop) -> None:
    """A handle stands on its edge, and moving it by 1 mm changes the dimension by what the edge moved."""
    draft = SuspensionDraft(knot, VERSION)
    assert draft.built is not None
    found = {handle.key: handle for handle in handles(draft.built.design)}
    edge = found["surround.outer_mm"]
    assert (edge.r, edge.value, edge.factor) == (
        pytest.approx(draft.value("surround.outer_mm") / 2),
        draft.value("surround.outer_mm"),
        2.0,
    )
    assert "cone.outer_mm" not in found  # the surround's inner edge is the same place and takes it along
    draft.put("surround.family", "elliptic-roll")
    draft.put("surround.direction", "down")
    assert draft.built is not None
    height = {handle.key: handle for handle in handles(draft.built.design)}["surround.height_mm"]
    assert height.factor == -1.0
    assert height.z == pytest.approx(
        1e3 * draft.built.design.surround.height_over_gap_m - draft.value("surround.height_mm")
    )  # type: ignore[union-attr]
    lower = SuspensionDraft(knot, VERSION)
    for key in ("surround.family", "surround.direction"):
        lower.put(key, str(draft.value(key)))
    lower.put("surround.height_mm", str(draft.value("surround.height_mm") + 1))
    assert lower.built is not None
    moved = {handle.key: handle for handle in handles(lower.built.design)}["surround.height_mm"]
    assert height.z - moved.z == pytest.approx(1.0)


# The page.


async def test_the_first_moving_parts_are_begun(bare: Workshop) -> None:
    """The index tells which version has none; the page offers three proposals on its own former; nothing is saved before it is told to."""
    async with visiting(bare) as user:
        await user.open("/suspension")
        await user.should_see("No moving parts yet")
        await user.open(PAGE)
        await user.should_see("They stand on the former of its coil")
        await user.should_see("Half roll and corrugated spider")
        user.find(marker="begin-roll").click()
        await user.open(PAGE)
        await user.should_see("Changed and not saved")
        assert not MovingTables.of(bare.version(VERSION).record).any
        user.find(marker="save-design").click()
        await until(lambda: MovingTables.of(bare.version(VERSION).record).any)
        await user.open("/suspension")
        await user.should_see("Half roll surround, corrugated spider, straight cone, cap")


async def test_an_empty_workshop_shows_the_way(newcomer: User) -> None:
    """Nothing there: the way to a first version."""
    await newcomer.open("/suspension")
    await newcomer.should_see("there is no driver yet")


async def test_everything_is_answered_and_results_stay_while_it_changes(designer: User) -> None:
    """Figures, words, curves, pictures, masses, break-up, distortion arrive; a typed dimension is in the drawing at once, what was shown stays
    marked until the new is there, and what became of it is said.
    """
    await designer.open(PAGE)
    drawing = _drawn(designer)
    await designer.should_see("Resonance, in a large baffle", retries=PATIENT)
    await designer.should_see("The cone moves as one piece up to", retries=PATIENT)
    await designer.should_see("the suspension alone makes", retries=PATIENT)
    for words in (
        "Moving mass Mms, with air",
        "Stiffness over displacement",
        "Resonances of the moving shell",
        "together, Mms",
        "How sure this is",
    ):
        await designer.should_see(words)
    bent, strained = _drawn(designer, "bent-surround"), _drawn(designer, "strain-surround")
    assert 'class="half-section bent"' in bent.svg
    assert "largest elongation" in strained.svg
    designer.find(marker="surround.thickness_mm").trigger("entered", "0.6")
    assert "0.6 thick" in drawing.svg
    await designer.should_see("These results are of the earlier dimensions")
    await designer.should_not_see("These results are of the earlier dimensions", retries=PATIENT)
    await designer.should_see("was ", retries=PATIENT)


async def test_a_displacement_is_chosen(designer: User) -> None:
    """The slider's displacement chooses the shape whose strain is shown, and the address keeps it."""
    await designer.open(f"{PAGE}?x=-4")
    await designer.should_see("together, Mms", retries=PATIENT)
    strained = _drawn(designer, "strain-spider")
    assert "x = −4" in strained.svg
    (motion,) = designer.find(kind=Motion).elements
    assert isinstance(motion, Motion)
    designer.find(kind=Motion).trigger("measure", {"width": 600, "dark": True})
    assert motion.svg.count('class="frame"') == 33
    designer.find(kind=Motion).trigger("chosen", {"x": 4.0})
    await until(lambda: "x = +4" in strained.svg)


async def test_a_fault_is_said_and_nothing_can_be_saved(designer: User) -> None:
    """The fault beside its field and under the drawing, which keeps the last state; one undo puts it right."""
    await designer.open(PAGE)
    drawing = _drawn(designer)
    before = drawing.svg
    _type(designer, "surround.outer_mm", "30")
    await designer.should_see("The drawing shows the last state that could be built.", retries=PATIENT)
    assert drawing.svg == before
    designer.find(marker="undo").click()
    await designer.should_not_see("The drawing shows the last state that could be built.")


async def test_models_are_made_on_request(designer: User) -> None:
    """On their plate with filament and walls; files are offered of what is saved, and not of a draft."""
    await designer.open(PAGE)
    await designer.should_see("together, Mms", retries=PATIENT)
    designer.find(marker="make-models").click()
    await designer.should_see("All parts on one plate, 3MF", retries=PATIENT)
    await designer.should_see("of filament in")
    _type(designer, "cap.height_mm", "6.5")
    await designer.should_see("save the version to take them away", retries=PATIENT)


async def test_the_page_of_the_version_tells_what_is_kept(designer: User, knot: Workshop) -> None:
    """Nothing computed: it says so; once computed, resonance and stiffness stand there, and are gone again when the record is another."""
    page = f"/drivers/{VERSION}"
    await designer.open(page)
    await designer.should_see("Of its present moving parts nothing is computed yet.", retries=PATIENT)
    solve_suspension(knot, VERSION, wants=("stiffness", "mass"))
    await designer.open(page)
    await designer.should_see("It resonates at", retries=PATIENT)
    draft = SuspensionDraft(knot, VERSION)
    draft.put("surround.thickness_mm", "0.7")
    draft.save()
    await designer.open(page)
    await designer.should_see("Of its present moving parts nothing is computed yet.", retries=PATIENT)


async def test_a_version_that_is_not_there(designer: User) -> None:
    """Told in words, with the status of what is not there."""
    answer = await designer.http_client.get("/suspension/knot/v9")
    assert answer.status_code == 404
    assert "Not found" in answer.text
