"""``halfroll check``: answers, what is kept, and slips."""

import shutil

import pytest
from pypdf import PdfReader

from halfroll.workshop import Workshop
from halfroll.workshop.builders import load_check
from tests.docs.test_machine_interface import described
from tests.workshop.builders_shop import FS_HZ, VERSION, builders_shop, recorded


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """A workshop and two recordings; copy the workshop, do not write to it."""
    home = tmp_path_factory.mktemp("check")
    builders_shop(home / "shop")
    recorded(home / "good.flac")
    recorded(home / "stiff.wav", fs_hz=1.6 * FS_HZ, q=1.28)
    return home


@pytest.fixture
def shop(made, tmp_path):
    """A copy of the workshop."""
    return shutil.copytree(made / "shop", tmp_path / "shop")


def test_answer_for_people_and_programs(shop, made, say, ask):
    """Verdict per reading, suspects with chance and size, next reading; every key of the JSON is described."""
    words = [
        "--re",
        "6.4",
        "--polarity",
        "right",
        "--recording",
        made / "stiff.wav",
        "--reference",
        made / "good.flac",
        "--mounted",
        "baffle",
    ]
    found = ask("--workshop", shop, "check", VERSION, *words)
    assert found["outcome"] == "fault"
    assert found["suspects"][0]["fault"] in ("stiff-print", "glued-spider")
    assert found["recording"]["against_good_unit"]
    assert abs(found["recording"]["clock_ppm"] - 60) < 3
    assert {one["key"] for one in found["checks"]} >= {"re_ohm", "polarity", "band_50_80_db"}
    assert found.keys() == described("halfroll check")
    assert found["recording"].keys() == described("recording of a telephone")
    assert found["checks"][0].keys() == described("check of a reading")
    code, out, _ = say("--workshop", shop, "check", VERSION, *words)
    assert code == 0
    assert found["said"] in out
    assert "Read next" in out


def test_kept_answered_again_and_listed(shop, made, say, ask):
    """What is kept is answered again with the unit it names, and counted."""
    code, _, err = say("--workshop", shop, "check", VERSION, "--re", "6,4 ohm", "--recording", made / "good.flac", "--save", "tern",
                       "--builder", "tern", "--says", "sounds thin", "--unit", f"{VERSION}/01")  # fmt: skip
    assert code == 0
    assert "builders/tern/check.toml" in err.replace("\\", "/")
    kept = load_check(Workshop.open(shop), "tern").record
    assert kept.reading("re_ohm").value == 6.4
    again = ask("--workshop", shop, "check", "--saved", "tern")
    assert again["check"] == "tern"
    assert "moving_mass_g" in {one["key"] for one in again["checks"]}
    listed = ask("--workshop", shop, "check", "--list")
    assert listed["checks"][0]["complaint"] == "sounds thin"
    assert listed["by_status"] == {"open": 1}


def test_the_builders_sweep(shop, made, ask, tmp_path):
    """The file is written with its tones; a recording of it is read with the sweep named."""
    written = ask("sweep", tmp_path / "builders.wav", "--for-telephones")
    assert written["sweep"]["start_hz"] == 25.0
    found = ask(
        "--workshop",
        shop,
        "check",
        VERSION,
        "--recording",
        made / "good.flac",
        "--sweep",
        tmp_path / "builders.wav",
    )
    assert found["recording"]["gain_change_db"] < 0.5


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ([VERSION], "Nothing was read"),
        ([], "Which version?"),
        (["knot/v9", "--re", "6"], "There is no version"),
        ([VERSION, "--re", "0.0064"], "write 6.4 ohm"),
        ([VERSION, "--mass", "5 kohm"], "another unit"),
        ([VERSION, "--rub", "maybe"], "none, some, clear"),
        ([VERSION, "--re", "6.4", "--distance", "0"], "0 to 500 cm"),
        ([VERSION, "--re", "6.4", "--unit", "knot/v1/77"], "There is no unit"),
        ([VERSION, "--re", "6.4", "--reference", "x.wav"], "needs one of the unit"),
        ([VERSION, "--recording", "nowhere.wav"], "missing"),
        (["--saved", "nobody"], "There is no check nobody"),
    ],
)
def test_slips(shop, say, words, says):
    """Exit code 2 and words; nothing is kept."""
    code, _, err = say("--workshop", shop, "check", *words)
    assert code == 2
    assert says in err
    assert not (shop / "builders").exists()


def test_the_sheet_for_builders(shop, say, tmp_path):
    """One page with embedded letters: what to read, what a good unit reads, the cautions."""
    path = tmp_path / "sheet.pdf"
    code, _, err = say("--workshop", shop, "check", VERSION, "--sheet", path)
    assert code == 0, err
    reader = PdfReader(path)
    assert len(reader.pages) == 1
    text = " ".join(reader.pages[0].extract_text().split())
    for words in ("Check sheet", "DC resistance", "Mind your ears", "A nickname is enough", "Knot v1"):
        assert words in text
    code, _, err = say("--workshop", shop, "check", VERSION, "--sheet", tmp_path / "sheet.txt")
    assert code == 2
    assert ".pdf" in err


def test_empty_list(shop, say):
    """The way to the first."""
    code, _, err = say("--workshop", shop, "check", "--list")
    assert code == 0
    assert "No checks yet" in err
