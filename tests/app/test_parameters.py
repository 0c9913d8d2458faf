"""The page of a unit, and the page of its impedance and parameters."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from nicegui.testing import User

from halfroll.workshop import CurrentTable, SweepTable, VoltageTable, Workshop
from halfroll.workshop.impedance_import import import_impedance
from halfroll.workshop.runs import load_run, run_ids
from tests.app.conftest import PATIENT, until, visiting
from tests.workshop.test_impedance_runs import SWEEP, recorded, table

UNIT = "godwit/v2/01"
PAGE = f"/parameters/{UNIT}"


def _measured(shop: Workshop, folder: Path) -> None:
    """The unit alone and with 5 g."""
    import_impedance(shop, UNIT, table(folder / "a.csv"), {"mounting": "baffle"}, name="alone")
    import_impedance(
        shop,
        UNIT,
        table(folder / "m.csv", 0.005, 2),
        {"mounting": "baffle", "added_mass_g": 5.0},
        name="putty",
    )


async def _send(user: User, path: Path) -> dict[str, Any]:
    with path.open("rb") as file:
        response = await user.http_client.post("/parameters/file", files={"file": (path.name, file)})
    answer: dict[str, Any] = response.json()
    return answer


async def _drop(user: User, path: Path) -> None:
    answer = await _send(user, path)
    user.find(marker="drop-impedance").trigger("refused" if "refused" in answer else "kept", answer)


async def test_nothing_yet_says_what_to_do(visitor: User) -> None:
    """A unit without impedance: what is missing, how to measure, the way to add one; its takes stand on its own page."""
    await visitor.open(PAGE)
    await visitor.should_see("No impedance was measured yet", retries=PATIENT)
    await visitor.should_see("no coin and nothing of steel")
    await visitor.open(f"/unit/{UNIT}")
    await visitor.should_see("Godwit v2, unit 01", retries=PATIENT)
    for words in (
        "Saltmarsh Workshop",
        "DC resistance",
        "6.8",
        "2026-03-02-1w-1",
        "Add an impedance",
        "No impedance was measured yet",
    ):
        await visitor.should_see(words)


async def test_parameters_with_curves_and_methods(small: Workshop, tmp_path: Path) -> None:
    """Charts, values, methods, runs and models; the unit's and the version's page carry the same values."""
    _measured(small, tmp_path)
    async with visiting(small) as user:
        await user.open(PAGE)
        await user.should_see(marker="chart-modulus", retries=PATIENT)
        for marker in ("chart-phase", "chart-residual", "chart-fs_hz:qts", "chart-mms_kg:bl_n_per_a"):
            await user.should_see(marker=marker)
        for words in ("Impedance alone", "Mms", "by added mass", "What was corrected", "Models that were tried", "with 5\u202fg",
                      f"{PAGE}?run=putty"):  # fmt: skip
            await user.should_see(words)
        await user.open(f"{PAGE}?run=putty")
        await user.should_see("Impedance putty", retries=PATIENT)
        await user.open(f"/unit/{UNIT}")
        await user.should_see("Impedance and fit", retries=PATIENT)
        await user.should_see("alone, in a baffle")
        await user.open("/drivers/godwit/v2")
        await user.should_see("Moving mass Mms", retries=PATIENT)
        await user.should_see("1 unit, 1 run")
        await user.should_see(f"/unit/{UNIT}")
        response = await user.http_client.get(f"{PAGE}?run=nothing")
        assert response.status_code == 404
        assert "There is no impedance run nothing" in response.text


async def test_fit_by_hand(small: Workshop, tmp_path: Path) -> None:
    """The address chooses model and range; it is said that this is shown here only; what is wrong stands at its field."""
    _measured(small, tmp_path)
    async with visiting(small) as user:
        await user.open(f"{PAGE}?coil=ideal&creep=no&low=20&high=500")
        await user.should_see("Shown here only", retries=PATIENT)
        await user.should_see("ideal inductance")
        await user.open(f"{PAGE}?coil=magic&low=500&high=20")
        await user.should_see("Must be one of auto, ideal, lr2, semi", retries=PATIENT)
        await user.should_see("two ascending frequencies")


async def test_a_table_becomes_a_run(small: Workshop, tmp_path: Path) -> None:
    """Dropped, looked at, kept through a reload, wrong mass said at its field, then added and shown."""
    async with visiting(small) as user:
        await user.open(PAGE)
        await user.should_see(marker="drop-impedance", retries=PATIENT)
        await _drop(user, table(tmp_path / "garden.csv", 0.005))
        await user.should_see("240 points, 10 to 20000 Hz, modulus and phase")
        user.find(marker="what").trigger("entered", "mass")
        user.find(marker="added_mass_g").trigger("entered", "0,005")
        await user.open(PAGE)
        await user.should_see("garden.csv", retries=PATIENT)
        user.find(marker="add-impedance").click()
        await user.should_see("if 0.005 is in kilograms, write 5", retries=PATIENT)
        assert run_ids(small, UNIT, "impedance") == []
        user.find(marker="added_mass_g").trigger("entered", "5")
        user.find(marker="add-impedance").click()
        await until(lambda: run_ids(small, UNIT, "impedance"))
        await user.should_see("driver alone", retries=PATIENT)
    (run_id,) = run_ids(small, UNIT, "impedance")
    record = load_run(small, run_id).record
    assert record.added_mass_g == 5.0
    assert record.files[0].file == "garden.csv"


async def test_a_recording_becomes_a_run(small: Workshop, tmp_path: Path) -> None:
    """Voltage and current as FLAC with the file of the sweep; roles and rig are asked for, the sweep is said and kept."""
    loaded = small.rig("bench")
    small.save(
        loaded,
        loaded.record.changed(
            voltage=VoltageTable(v_per_full_scale=10.0), current=CurrentTable(a_per_full_scale=1.0)
        ),
    )
    async with visiting(small) as user:
        await user.open(PAGE)
        await user.should_see(marker="drop-impedance", retries=PATIENT)
        await _drop(user, recorded(tmp_path / "vi.flac"))
        await user.should_see("20 to 20000 Hz in 6 s")
        await _drop(user, tmp_path / "sweep.toml")
        await user.should_see("10 to 20000 Hz in 2.5 s")
        user.find(marker="add-impedance").click()
        await user.should_see("rig", retries=PATIENT)
        user.find(marker="rig").trigger("entered", "bench")
        user.find(marker="add-impedance").click()
        await until(lambda: run_ids(small, UNIT, "impedance"))
    record = load_run(small, run_ids(small, UNIT, "impedance")[0]).record
    assert record.sweep == SweepTable.of(SWEEP)
    assert [str(role) for role in record.roles] == ["voltage", "current"]


async def test_what_is_no_impedance_is_refused_at_once(small: Workshop, tmp_path: Path) -> None:
    """A wrong table is refused with its line, nothing is kept; without a file and a take nothing is added."""
    (tmp_path / "spl.csv").write_text(
        "frequency (Hz),level (dB)\n" + "\n".join(f"{20 * n},80" for n in range(1, 12))
    )
    async with visiting(small) as user:
        answer = await _send(user, tmp_path / "spl.csv")
        assert answer["refused"].startswith("Line 1: ")
        assert "decibels" in answer["refused"]
        await user.open(PAGE)
        await user.should_see(marker="add-impedance", retries=PATIENT)
        user.find(marker="add-impedance").click()
        await user.should_see("Nothing was added.", retries=PATIENT)
    assert not list((small.folder / "drafts").rglob("*.csv"))


async def test_a_run_is_left_out_with_a_reason(small: Workshop, tmp_path: Path) -> None:
    """No reason, no leaving out; with one the record says so and the parameters no longer rest on it."""
    _measured(small, tmp_path)
    async with visiting(small) as user:
        await user.open(PAGE)
        await user.should_see(marker="leave-out", retries=PATIENT)
        user.find(marker="leave-out").click()
        await user.should_see("Say why")
        user.find(marker="why").trigger("entered", "Cable loose.")
        user.find(marker="leave-out").click()
        await until(lambda: load_run(small, f"{UNIT}/impedance/alone").record.leave_out == "Cable loose.")


async def test_a_mistyped_mass_is_put_right(small: Workshop, tmp_path: Path) -> None:
    """50 g typed for 5 g: nonsense is refused under the field and saved nowhere; the right mass is saved and counts."""
    import_impedance(small, UNIT, table(tmp_path / "a.csv"), {"mounting": "baffle"}, name="alone")
    wrong = {"mounting": "baffle", "added_mass_g": 50.0}
    import_impedance(small, UNIT, table(tmp_path / "m.csv", 0.005, 2), wrong, name="putty")
    run = f"{UNIT}/impedance/putty"
    async with visiting(small) as user:
        await user.open(f"{PAGE}?run=putty")
        await user.should_see("Put right what was typed of putty", retries=PATIENT)
        mass = user.find(marker="right_added_mass_g")
        for nonsense in ("five", ""):
            mass.trigger("entered", nonsense)
            user.find(marker="put-right").click()
            await user.should_see(marker="right_added_mass_g-error")
            await until(lambda: "must be" in _text(user, "right_added_mass_g-error").lower())
            assert load_run(small, run).record.added_mass_g == 50.0
        mass.trigger("entered", "5")
        user.find(marker="put-right").click()
        await until(lambda: load_run(small, run).record.added_mass_g == 5.0)


def _text(user: User, marker: str) -> str:
    (element,) = user.find(marker=marker).elements
    return str(getattr(element, "text", ""))
