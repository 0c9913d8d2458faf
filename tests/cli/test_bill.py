"""Bill and carry-over on the command line, and offers of parts."""

from __future__ import annotations

import pytest

from halfroll.workshop import Workshop
from halfroll.workshop.parts import load_part
from tests.builds.by_hand import by_hand
from tests.docs.test_machine_interface import described_pairs


@pytest.fixture
def stilt(tmp_path):
    """The folder of the case worked by hand."""
    return by_hand(tmp_path / "shop").folder


def test_a_bill_in_words_json_and_pdf(say, ask, stilt, tmp_path):
    """The sums of the worked case; a PDF beside; what is refused has exit code 2."""
    pdf = tmp_path / "bill.pdf"
    code, out, err = say("--workshop", stilt, "bill", "stilt/v1", "--units", "3", "--pdf", pdf)
    assert (code, pdf.read_bytes()[:5]) == (0, b"%PDF-")
    assert "Wrote" in err
    plain = out.replace("\u202f", " ")
    for words in (
        "Stilt v1, one driver",
        "39.46 EUR",
        "by the dearest 40.46 EUR",
        "To buy for 3 drivers, whole packs",
        "1 of 50 pieces",
        "38 pieces",
        "with postage 109.90 EUR",
    ):
        assert words in plain
    found = ask("--workshop", stilt, "bill", "stilt/v1", "--units", "3")
    assert found["currency"] == "EUR"
    assert found["total"]["usual"] == pytest.approx(39.4625, abs=5e-5)
    assert found["for_units"] == pytest.approx(162.40)
    assert found["shopping"]["total"] == 109.90
    assert {one["key"] for one in found["lines"]} >= {"magnet", "pole", "frame", "cone to frame"}
    assert say("--workshop", stilt, "bill", "stilt/v1", "--units", "0")[0] == 2
    assert say("--workshop", stilt, "bill", "stilt/v1", "--pdf", tmp_path / "bill.txt")[0] == 2
    code, _, err = say("--workshop", stilt, "bill", "stilt/v7")
    assert (code, "v7" in err) == (2, True)


def test_a_step_in_words_and_json(say, ask, stilt):
    """Both answers, and what lies in stock."""
    code, out, _ = say("--workshop", stilt, "carry-over", "stilt/v1", "stilt/v2", "--units", "3")
    plain = out.replace("\u202f", " ")
    assert code == 0
    for words in ("From Stilt v1 to Stilt v2", "left over", "glued to", "18.70 EUR", "133.20 EUR", "note: "):
        assert words in plain
    found = ask("--workshop", stilt, "carry-over", "stilt/v1", "stilt/v2", "--units", "3", "--apart", "all")
    assert found["step"]["usual"] == pytest.approx(5.6225, abs=5e-5)
    assert (found["to_pay"], found["to_pay_from_nothing"]) == (pytest.approx(58.70), pytest.approx(133.20))
    assert (found["printed_g"], found["print_hours"]) == (pytest.approx(18.0), pytest.approx(3.6))
    assert ask("--workshop", stilt, "parts", "set", "spool", "--stock", "500")
    less = ask(
        "--workshop",
        stilt,
        "carry-over",
        "stilt/v1",
        "stilt/v2",
        "--units",
        "3",
        "--apart",
        "all",
        "--from-stock",
    )
    assert less["to_pay"] == pytest.approx(38.70)  # no spool for 20.00; the postage stays, for the glue


def test_objects_are_those_the_how_to_describes(ask, stilt):
    """Key by key."""
    bill = ask("--workshop", stilt, "bill", "stilt/v1")
    assert bill.keys() == described_pairs("halfroll bill")
    assert bill["lines"][0].keys() == described_pairs("line of a bill")
    assert bill["shopping"].keys() == described_pairs("what to buy")
    step = ask("--workshop", stilt, "carry-over", "stilt/v1", "stilt/v2")
    assert step.keys() == described_pairs("halfroll carry-over")
    assert step["lines"][0].keys() == described_pairs("line of a bill") - {"offers"} | described_pairs(
        "carried line"
    )


def test_offers_come_and_go(say, ask, stilt):
    """One of the same supplier and pack is replaced; a negative price is refused and changes nothing."""
    words = ("--workshop", stilt, "parts", "offer", "plate", "--supplier", "Harbour Stores")
    assert say(*words, "--price", "5.5", "--currency", "EUR", "--date", "2026-06-02")[0] == 0
    assert say(*words, "--price", "5.2", "--currency", "EUR", "--date", "2026-06-03")[0] == 0
    (offer,) = load_part(Workshop.open(stilt), "plate").record.offers
    assert (offer.price, offer.pack_size) == (5.2, 1.0)
    assert "5.20\u202fEUR for 1 from Harbour Stores" in say("--workshop", stilt, "parts", "show", "plate")[1]
    assert ask("--workshop", stilt, "parts", "show", "plate")["formerly"] == ["washer-60"]
    for wrong in (
        ("--price", "-1", "--currency", "EUR"),
        ("--price", "1", "--currency", "XYZ"),
        ("--price", "1", "--currency", "EUR", "--pack", "0"),
    ):
        code, _, err = say(*words, *wrong)
        assert (code, "parts offer" in err) == (2, True)
    assert say(*words, "--remove")[0] == 0
    assert say(*words, "--remove")[0] == 2
    assert load_part(Workshop.open(stilt), "plate").record.offers == ()


def test_a_new_version_takes_the_bill_over(say, stilt):
    """With the design go the bill and parameters typed by hand."""
    first = stilt / "drivers/stilt/v1/version.toml"
    first.write_text(
        first.read_text(encoding="utf-8")
        + "\n[parameters]\nre_ohm = 6.8\nbl_n_per_a = 5.0\nmms_g = 8.0\nfs_hz = 60.0\n",
        encoding="utf-8",
    )
    assert say("--workshop", stilt, "add", "version", "stilt/v3", "--parent", "v1", "--with-design")[0] == 0
    before, after = (Workshop.open(stilt).version(f"stilt/{name}").record for name in ("v1", "v3"))
    assert after.bill == before.bill
    assert after.parameters == before.parameters
