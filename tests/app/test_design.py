"""The page of a design: begun, changed, computed, kept. One solver process serves them all."""

from __future__ import annotations

import copy
import re
from collections.abc import AsyncIterator
from pathlib import Path
from typing import Any

import pytest
from nicegui.testing import User

from halfroll.app import design_start, solver
from halfroll.app.design_draft import DesignDraft
from halfroll.app.design_handles import handles
from halfroll.app.drawing import Drawing
from halfroll.app.pages.design_measured import measured_bl
from halfroll.app.solver import Solver
from halfroll.app.solver_process import SolverLostError
from halfroll.core.errors import CancelledError, ConflictError, InputError
from halfroll.core.progress import Progress, silent
from halfroll.materials.catalogue import catalogue
from halfroll.publish.version_drawing import motor_drawings
from halfroll.workshop import VersionRecord, Workshop
from halfroll.workshop.impedance_import import import_impedance
from halfroll.workshop.motor_studies import no_solver
from halfroll.workshop.motors import load_motor
from tests.app.conftest import PATIENT, until, visiting
from tests.app.samples import knot_with_motor
from tests.workshop.test_impedance_runs import BL, table

VERSION = "knot/v1"
PAGE = f"/design/{VERSION}"


@pytest.fixture
def knot(empty: Workshop) -> Workshop:
    """A workshop with one version that has a motor: the ring magnet around a pole."""
    return knot_with_motor(empty)


@pytest.fixture
async def designer(knot: Workshop) -> AsyncIterator[User]:
    """A person at the pages of that workshop."""
    async with visiting(knot) as user:
        yield user


def _drawn(user: User, width: int = 700, *, dark: bool = False) -> Drawing:
    """The drawing after the page has said its width and look."""
    user.find(marker="drawing").trigger("measure", {"width": width, "dark": dark})
    (drawing,) = user.find(marker="drawing").elements
    assert isinstance(drawing, Drawing)
    return drawing


def _type(user: User, key: str, text: str) -> None:
    user.find(marker=key).trigger("entered", text)


# The draft.


def test_what_cannot_be_built_keeps_the_last_good_state(knot: Workshop) -> None:
    """A pole wider than the bore: refused by the names of both parts, at a key; the last drawing stays; put right it is forgotten."""
    draft = DesignDraft(knot, VERSION)
    before = draft.built
    draft.put("motor.parts[4].outer_mm", "24")
    assert draft.built is before
    text = " ".join(draft.errors.values())
    assert "pole" in text
    assert "plate" in text
    with pytest.raises(InputError, match="can be built"):
        draft.save()
    again = DesignDraft(knot, VERSION)  # opened anew, the saved state is what is drawn
    assert again.errors == draft.errors
    assert again.built is not None
    assert again.built.assembly == before.assembly  # type: ignore[union-attr]
    draft.put("motor.parts[4].outer_mm", "20")
    assert draft.errors == {}


@pytest.mark.parametrize(
    ("key", "text", "said"),
    [
        ("coil.turns", "many", "whole number"),
        ("coil.former_inner_mm", "20", "clearance"),
        ("motor.parts[2].material", "unobtainium", "no material of that key"),
        ("motor.parts[2].height_mm", "-3", "possible length"),
        ("motor.temperature_c", "400", "temperatures its grade bears"),
        ("coil.offset_mm", "50", "reach into the gap"),
    ],
)
def test_a_fault_stands_at_its_field(knot: Workshop, key: str, text: str, said: str) -> None:
    """Bad input of every kind is refused where it was typed, and nothing is lost."""
    draft = DesignDraft(knot, VERSION)
    draft.put(key, text)
    assert said in draft.errors[key]
    assert str(draft.value(key)) in (text, f"{text}.0")


def test_undo_revert_and_the_draft(knot: Workshop) -> None:
    """A change can be taken back; it is kept for the next visit until it is saved; back to the file is possible, and can be undone."""
    draft = DesignDraft(knot, VERSION)
    draft.put("coil.turns", "60")
    draft.put("coil.turns", "64")
    draft.undo()
    assert draft.value("coil.turns") == 60
    assert DesignDraft(knot, VERSION).value("coil.turns") == 60
    draft.revert()
    assert not draft.changed
    assert not DesignDraft(knot, VERSION).changed
    draft.undo()
    assert draft.value("coil.turns") == 60
    draft.save()
    assert load_motor(knot, VERSION).design.coil.turns == 60  # type: ignore[union-attr]
    assert DesignDraft(knot, VERSION).changed is False


def test_a_file_changed_meanwhile_is_not_overwritten(knot: Workshop) -> None:
    """Somebody edits version.toml while the page is open: saving is refused, the draft stays."""
    draft = DesignDraft(knot, VERSION)
    loaded = knot.version(VERSION)
    knot.save(loaded, loaded.record.changed(summary="Edited by hand"))
    draft.put("coil.turns", "60")
    with pytest.raises(InputError, match="changed by somebody else"):
        draft.save()
    assert DesignDraft(knot, VERSION).value("coil.turns") == 60


def test_a_second_magnet_goes_between(knot: Workshop) -> None:
    """Laid on the first magnet, where the top plate lies, it gets the plate on it; the pole that is too short then is said, and one undo
    takes it all back.
    """
    draft = DesignDraft(knot, VERSION)
    start = copy.deepcopy(draft.data)
    name = draft.add_part(
        {
            "name": "magnet",
            "part": "ferrite-ring-60x32x10",
            "material": "y30",
            "magnetised": "down",
            "on": "magnet",
        }
    )
    assert draft.value("motor.parts[3].on") == name
    assert "pole" in " ".join(draft.errors.values())
    draft.put("motor.parts[4].height_mm", "24")
    assert draft.errors == {}
    draft.undo()
    draft.undo()
    assert draft.data == start


def test_another_window_loses_no_draft(knot: Workshop) -> None:
    """Two windows change one version: what the first saves does not take the second's draft away, which is refused, kept, and can be
    saved over it when that is wanted; what else the record says by then stays.
    """
    first, second = DesignDraft(knot, VERSION), DesignDraft(knot, VERSION)
    first.put("coil.turns", "60")
    second.put("coil.offset_mm", "0.3")
    first.save()
    assert DesignDraft(knot, VERSION).value("coil.offset_mm") == 0.3
    with pytest.raises(ConflictError, match="somebody else"):
        second.save()
    again = DesignDraft(knot, VERSION)
    assert again.value("coil.offset_mm") == 0.3
    loaded = knot.version(VERSION)
    knot.save(loaded, loaded.record.changed(summary="Edited by hand"))
    again.save(over=True)
    assert knot.version(VERSION).record.summary == "Edited by hand"
    assert not DesignDraft(knot, VERSION).changed
    assert load_motor(knot, VERSION).design.coil.offset_m == pytest.approx(0.3e-3)  # type: ignore[union-attr]


def test_a_part_is_turned_to_a_profile(knot: Workshop) -> None:
    """A disc made a turned part keeps its section as corners, which are typed a line each; a line that is no corner is refused there."""
    draft = DesignDraft(knot, VERSION)
    was = draft.built
    draft.put("motor.parts[4].shape", "turned")
    assert draft.errors == {}
    assert draft.built is not None
    assert was is not None
    assert draft.built.assembly.bodies[3].bounds == pytest.approx(was.assembly.bodies[3].bounds)
    key = "motor.parts[4].profile_mm"
    draft.put(key, "0 0\n9,5 0\n10; 11\n10, 14\n0 14")
    assert draft.errors == {}
    assert draft.value(key) == [[0, 0], [9.5, 0], [10, 11], [10, 14], [0, 14]]
    draft.put(key, "0 0\n10\n0 14")
    assert any(at.startswith(key) for at in draft.errors)
    draft.undo()
    draft.put("motor.parts[4].shape", "disc")
    assert draft.value("motor.parts[4].outer_mm") == 20.0
    assert draft.errors == {}


def test_the_stack_is_edited(knot: Workshop) -> None:
    """Parts come, get other names everywhere, change places, and go; what stood on a part that goes stands on what carried it."""
    draft = DesignDraft(knot, VERSION)
    name = draft.add_part(
        {
            "name": "pole",
            "shape": "disc",
            "outer_mm": 10.0,
            "height_mm": 2.0,
            "material": "steel-1008",
            "on": "pole",
        }
    )
    assert name == "pole 2"
    assert draft.errors == {}
    draft.rename(3, "core")
    assert draft.value("motor.gap[1]") == "core"
    assert draft.value("motor.parts[5].on") == "core"
    draft.place(4, "on", "top plate")
    assert "pole 2" in " ".join(draft.errors.values())  # it would hang in the air over the bore
    draft.undo()
    draft.remove_part(1)
    assert draft.value("motor.parts[2].on") == "back plate"


def test_stock_shape_and_material_bring_their_own(knot: Workshop) -> None:
    """Another magnet from stock has its own sizes; a steel is not magnetised; own size begins with what it was."""
    draft = DesignDraft(knot, VERSION)
    draft.put("motor.parts[2].part", "ferrite-ring-70x32x10")
    assert draft.built is not None
    assert draft.built.design.motor.parts[1].outer_m == pytest.approx(0.070)
    draft.put("motor.parts[2].part", "")
    assert draft.value("motor.parts[2].outer_mm") == 70.0
    draft.put("motor.parts[2].material", "steel-1008")
    assert draft.value("motor.parts[2].magnetised") is None
    draft.put("motor.parts[2].material", "n42")
    assert draft.value("motor.parts[2].magnetised") == "up"


@pytest.mark.parametrize("key", list(design_start.STARTS))
def test_both_beginnings_can_be_built_with_their_coil(knot: Workshop, key: str) -> None:
    """From the catalogue alone, with a quarter of a millimetre of room on each side of the coil."""
    knot.create_version("knot", "v2", VersionRecord())
    draft = DesignDraft(knot, "knot/v2")
    draft.change(lambda data: data.update(design_start.start(key, catalogue())))
    assert draft.errors == {}
    assert draft.built is not None
    assert draft.built.coil is not None
    gap = draft.built.assembly.gap
    assert draft.built.coil.former_inner_m - gap.r_inner == pytest.approx(0.25e-3)
    assert gap.r_outer - draft.built.coil.outermost_m > 0.2e-3


def test_handles_say_what_they_move(knot: Workshop) -> None:
    """A handle stands on its edge, and moving it by 1 mm changes the dimension by what the edge moved."""
    built = DesignDraft(knot, VERSION).built
    assert built is not None
    found = {handle.key: handle for handle in handles(built)}
    pole = found["motor.parts[4].outer_mm"]
    assert (pole.r, pole.value, pole.factor) == (pytest.approx(10.0), 20.0, 2.0)
    turns = found["coil.turns"]
    taller = DesignDraft(knot, VERSION)
    taller.put("coil.turns", str(round(turns.value + 2 * turns.factor)))
    assert taller.built is not None
    grown = 1e3 * (taller.built.assembly.winding.z_high - built.assembly.winding.z_high)  # type: ignore[union-attr]
    assert grown == pytest.approx(2.0, abs=0.2)


def test_thumbnails_are_to_one_scale(knot: Workshop) -> None:
    """Small and large motors side by side: as many pixels to the millimetre; a version without a motor has none."""
    knot.create_version("knot", "v2", VersionRecord())
    knot.create_version("knot", "v3", VersionRecord())
    draft = DesignDraft(knot, "knot/v2")
    draft.change(lambda data: data.update(design_start.start("cup", catalogue())))
    draft.save()
    drawn = motor_drawings(knot, {id_: knot.version(id_).record for id_ in knot.version_ids()})
    scales = {id_: re.search(r'data-px-per-mm="([\d.]+)"', svg)[1] for id_, svg in drawn.items()}  # type: ignore[index]
    assert set(scales) == {"knot/v1", "knot/v2"}
    assert len(set(scales.values())) == 1


def test_the_measured_force_factor_stands_beside_the_computed(small: Workshop, tmp_path: Path) -> None:
    """From an impedance alone and one with 5 g of a circuit of Bl 5 N/A: what the fit finds, within its interval; without runs nothing."""
    assert measured_bl(small, "godwit/v1") is None
    unit = "godwit/v2/01"
    import_impedance(small, unit, table(tmp_path / "a.csv"), {"mounting": "free-air"}, name="alone")
    import_impedance(
        small,
        unit,
        table(tmp_path / "m.csv", 0.005, 2),
        {"mounting": "free-air", "added_mass_g": 5.0},
        name="putty",
    )
    found = measured_bl(small, "godwit/v2")
    assert found is not None
    assert found.bl == pytest.approx(BL, rel=0.02)
    assert found.of == "1 unit"


# The page.


async def test_a_design_is_begun_in_an_empty_workshop(newcomer: User, empty: Workshop) -> None:
    """Nothing there yet: the page asks for a driver, offers two motors, draws the chosen one; nothing is saved before it is told to."""
    await newcomer.open("/design")
    await newcomer.should_see("there is no driver yet")
    _type(newcomer, "driver", "Knot")
    newcomer.find(marker="make-driver").click()
    await until(lambda: empty.version_ids("knot") == ["knot/v1"])
    await newcomer.open(PAGE)
    await newcomer.should_see("Disc magnet in a cup")
    newcomer.find(marker="begin-cup").click()
    await newcomer.open(PAGE)
    await newcomer.should_see("Changed and not saved")
    assert empty.version(VERSION).record.motor is None
    newcomer.find(marker="save-design").click()
    await until(lambda: empty.version(VERSION).record.motor is not None)
    await newcomer.should_see("The design is saved.")


async def test_dimensions_redraw_and_results_stay(designer: User) -> None:
    """A typed dimension is in the drawing at once; results of before stay, marked, until those of the new one are there."""
    await designer.open(PAGE)
    drawing = _drawn(designer)
    await designer.should_see("Force factor Bl at rest", retries=PATIENT)
    await until(lambda: "<image" in drawing.svg)
    first = _bl(designer)
    _type(designer, "motor.parts[4].outer_mm", "19.6")
    assert "⌀19.6" in drawing.svg
    assert "earlier" in drawing.svg
    await designer.should_see("These results are of the earlier dimensions")
    assert _bl(designer) == first
    await until(lambda: _bl(designer) != first)
    await until(lambda: 'class="earlier"' not in drawing.svg)
    await designer.should_not_see("earlier ones", retries=PATIENT)
    await designer.should_not_see("of the earlier dimensions")
    for words in (
        "How far the coil may travel",
        "How full the steel is",
        "Where the magnets work",
        "Power it bears",
        "What it costs",
    ):
        await designer.should_see(words)


async def test_what_changed_is_said(designer: User) -> None:
    """Beside the figures stands what they were as saved, and in the chart the curve of then; taken back, neither."""
    await designer.open(PAGE)
    drawing = _drawn(designer)
    await until(lambda: "<image" in drawing.svg)
    await designer.should_see("nothing is lost for good", retries=PATIENT)
    first = _bl(designer)
    await designer.should_not_see("was ")
    _type(designer, "motor.parts[3].inner_mm", "23.6")
    await until(lambda: f"was {first}, \u2212" in _markup(designer, "Bl at rest"))
    await until(lambda: "as saved" in _chart(designer, "chart-bl"))
    designer.find(marker="revert").click()
    await until(lambda: _bl(designer) == first)
    await until(lambda: "as saved" not in _chart(designer, "chart-bl"))
    assert "was " not in _markup(designer, "Bl at rest")


async def test_magnets_at_another_temperature(designer: User) -> None:
    """As warm as the coil's power makes the motor, or as typed; a temperature the grade does not bear is refused at its field."""
    await designer.open(PAGE)
    _drawn(designer)
    await designer.should_see("So warm is the motor after hours", retries=PATIENT)
    await designer.should_see("Ferrite is weakest in the cold")
    _type(designer, "warm-c", "-20")
    await designer.should_see("At \u221220\u202f°C", retries=PATIENT)
    _type(designer, "warm-c", "400")
    await until(lambda: "temperatures its grade bears" in _error(designer, "warm-c"))
    _type(designer, "warm-c", "tepid")
    await until(lambda: "must be a number" in _error(designer, "warm-c"))


async def test_a_solver_that_falls_is_asked_again(designer: User) -> None:
    """The process is killed in the middle of its work: that is said, and a button brings the result."""
    await designer.open(PAGE)
    drawing = _drawn(designer)
    await until(lambda: "<image" in drawing.svg)
    await designer.should_see("nothing is lost for good", retries=PATIENT)  # all is done
    first = _bl(designer)
    made = solver.solver()
    _type(designer, "motor.parts[3].inner_mm", "23.4")
    await until(lambda: made._turn.locked())  # it is at work
    assert made._process is not None
    made._process.kill()
    await designer.should_see("The computation broke down", retries=PATIENT)
    designer.find(marker="compute-again").click()
    await until(lambda: _bl(designer) != first)
    await designer.should_not_see("The computation broke down")


async def test_without_a_solver_the_coil_is_known(designer: User, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the finite-element library is missing that is said, and coil, room, power and cost are there all the same."""

    def none(*arguments: Any, progress: Progress) -> Any:
        raise no_solver(ImportError("No module named 'ngsolve'"))

    monkeypatch.setattr(Solver, "run", lambda self, *arguments, progress: none(progress=progress))
    await designer.open(PAGE)
    await designer.should_see("needs the library NGSolve", retries=PATIENT)
    await designer.should_see("Power borne for ever", retries=PATIENT)
    await designer.should_see("Room on both sides of the coil")


async def test_a_conflict_has_ways_out(designer: User, knot: Workshop) -> None:
    """The file changed under an open page: said with what can be done; saved over it when that is chosen."""
    await designer.open(PAGE)
    _type(designer, "coil.turns", "60")
    loaded = knot.version(VERSION)
    knot.save(loaded, loaded.record.changed(summary="Edited by hand"))
    designer.find(marker="save-design").click()
    await designer.should_see("Nothing was written")
    designer.find(marker="save-over").click()
    await designer.should_see("The design is saved.")
    await designer.should_not_see("Nothing was written")
    assert knot.version(VERSION).record.summary == "Edited by hand"
    assert load_motor(knot, VERSION).design.coil.turns == 60  # type: ignore[union-attr]


async def test_a_collision_is_said_beside_the_field(designer: User) -> None:
    """Two parts that collide: both names at the field and over the results; the drawing stays."""
    await designer.open(PAGE)
    drawing = _drawn(designer)
    _type(designer, "motor.parts[4].outer_mm", "24")
    await designer.should_see("overlap", retries=PATIENT)
    await designer.should_see("The drawing shows the last state that could be built.")
    (beside,) = designer.find(marker="motor.parts[4].of-error").elements
    assert "pole and top plate must not overlap" in beside.text  # type: ignore[attr-defined]
    assert "⌀20" in drawing.svg
    (save,) = designer.find(marker="save-design").elements
    assert "disabled" in save.props


async def test_a_handle_is_moved(designer: User, knot: Workshop) -> None:
    """Movements of one handle are one step back; the field beside shows the value."""
    await designer.open(PAGE)
    _drawn(designer)
    for value, first, done in ((0.4, True, False), (0.8, False, False), (1.0, False, True)):
        designer.find(marker="drawing").trigger(
            "moved", {"key": "coil.offset_mm", "value": value, "first": first, "done": done}
        )
    (field,) = designer.find(marker="coil.offset_mm").elements
    await until(lambda: field.value == "1")  # type: ignore[attr-defined]
    assert DesignDraft(knot, VERSION).value("coil.offset_mm") == 1.0
    designer.find(marker="undo").click()
    await until(lambda: not DesignDraft(knot, VERSION).changed)


async def test_the_address_says_what_is_shown(designer: User) -> None:
    """What is hidden stands in the address."""
    await designer.open(f"{PAGE}?hide=hatching,dimensions")
    drawing = _drawn(designer)
    assert 'class="hatch"' not in drawing.svg.partition('class="coil"')[0]
    assert "⌀" not in drawing.svg


async def test_windings_are_found_and_taken(designer: User, knot: Workshop) -> None:
    """Windings for 4 ohm by one button, the first taken by another: resistance within the range, still a draft."""
    await designer.open(PAGE)
    _drawn(designer)
    await designer.should_see("Force factor Bl at rest", retries=PATIENT)
    designer.find(marker="find-windings").click()
    await designer.should_see("Take it", retries=PATIENT)
    designer.find(marker="take-1").click()
    await until(lambda: DesignDraft(knot, VERSION).changed)
    built = DesignDraft(knot, VERSION).built
    assert built is not None
    assert built.coil is not None
    assert 0.8 * 4 <= built.coil.resistance_ohm <= 0.95 * 4


async def test_a_new_version_gets_the_design_and_its_parent(designer: User, knot: Workshop) -> None:
    """Saved as v2 the design is the new version's, its parent is v1, and v1 is as it was."""
    await designer.open(PAGE)
    _type(designer, "coil.turns", "60")
    _type(designer, "new-version", "v2")
    designer.find(marker="save-as").click()
    await until(lambda: "knot/v2" in knot.version_ids("knot"))
    assert knot.version("knot/v2").record.parent in ("v1", VERSION)
    assert load_motor(knot, "knot/v2").design.coil.turns == 60  # type: ignore[union-attr]
    assert load_motor(knot, VERSION).design.coil.turns != 60  # type: ignore[union-attr]


async def test_the_section_stands_on_the_other_pages(designer: User) -> None:
    """Overview and version page show the section of the motor, with the way to its design."""
    await designer.open("/")
    await designer.should_see("Knot", retries=PATIENT)
    assert _markup(designer, "half-section")
    await designer.open(f"/drivers/{VERSION}")
    await designer.should_see("Section, to scale", retries=PATIENT)


def _bl(user: User) -> str:
    """The force factor as it stands in the figures."""
    found = re.search(r"Bl at rest</dt><dd><span class=\"number\"><b>([\d.]+)", _markup(user, "Bl at rest"))
    return found[1] if found else ""


def _chart(user: User, marker: str) -> str:
    """What a chart says in words."""
    found = user.find(marker=marker).elements
    return " ".join(getattr(one, "summary", "") for one in found)


def _error(user: User, key: str) -> str:
    """What stands under a field."""
    (beside,) = user.find(marker=f"{key}-error").elements
    return str(beside.text)  # type: ignore[attr-defined]


def _markup(user: User, word: str) -> str:
    """The markup on the page that holds a word."""
    assert user.client is not None
    contents = (getattr(element, "content", "") for element in user.client.elements.values())
    return next((str(text) for text in contents if word in str(text)), "")


# The solver's process.


def _slow(progress: Progress) -> str:
    import time

    for step in range(400):
        progress(step / 400, f"step {step}")
        time.sleep(0.02)
    return "done"


def _deaf(progress: Progress) -> None:
    import time

    progress(0.0, "deaf")
    time.sleep(60)


def _falls(progress: Progress) -> None:
    import os

    os._exit(3)


def _refuses(progress: Progress) -> None:
    raise InputError("The gap must be wide enough", key="motor.gap", found="0 mm")


def _adds(first: int, second: int, progress: Progress) -> int:
    progress(0.5, "adding")
    return first + second


class Impatient:
    """A progress callback that asks to stop at its third call."""

    def __init__(self) -> None:
        self.calls = 0

    def __call__(self, done: float, what: str) -> None:
        self.calls += 1
        if self.calls > 2 and what != "starting":
            raise CancelledError("It")


@pytest.fixture(scope="module")
def worker() -> Any:
    """One process for the tests of it."""
    made = Solver()
    yield made
    made.close()


def test_the_process_answers_and_refuses(worker: Solver) -> None:
    """Arguments go there, results and refusals come back with their place."""
    assert worker.run(_adds, 2, 3, progress=silent) == 5
    with pytest.raises(InputError) as caught:
        worker.run(_refuses, progress=silent)
    assert caught.value.place.key == "motor.gap"
    assert caught.value.found == "0 mm"


def test_work_is_stopped_and_the_process_stays(worker: Solver) -> None:
    """What is not wanted any more ends at its next step; the warm process goes on."""
    worker.run(_adds, 1, 1, progress=silent)
    process = worker._process
    with pytest.raises(CancelledError):
        worker.run(_slow, progress=Impatient())
    assert worker.run(_adds, 2, 2, progress=silent) == 4
    assert worker._process is process


def test_deaf_work_is_ended_with_its_process(worker: Solver, monkeypatch: pytest.MonkeyPatch) -> None:
    """Work that does not heed is killed, and another process takes its place."""
    monkeypatch.setattr(solver, "STOP_WITHIN_S", 0.3)
    with pytest.raises(CancelledError):
        worker.run(_deaf, progress=Impatient())
    assert worker.run(_adds, 3, 3, progress=silent) == 6


def test_a_fallen_process_is_said_and_replaced(worker: Solver) -> None:
    """The library falls with its process, not with the server."""
    with pytest.raises(SolverLostError, match="given up"):
        worker.run(_falls, progress=silent)
    assert worker.run(_adds, 4, 4, progress=silent) == 8
