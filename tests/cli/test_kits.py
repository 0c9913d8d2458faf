"""Stock and kits by the command line: the worked case, both papers, bookings, refusals with exit code 2."""

import json

import pytest

from halfroll.cli.main import run
from tests.builds.kit_shop import kit_shop


@pytest.fixture
def shop(tmp_path):
    """Folder of the workshop of the worked case."""
    return kit_shop(tmp_path / "shop").folder


@pytest.fixture
def ask(shop, ask):
    """A command with --json in that workshop."""
    return lambda *arguments: ask("--workshop", shop, *arguments)


@pytest.fixture
def tell(shop, say):
    """A command without it; its exit code and everything it said."""

    def command(*arguments):
        code, out, err = say("--workshop", shop, *arguments)
        return code, (out + err).replace("\u202f", " ")

    return command


def test_a_batch_is_planned(ask, tell):
    """Numbers of the worked case, for a program and in words."""
    found = ask("kits", "show", "nest-pair", "10")
    assert (found["allowed_by_stock"], found["limiting_parts"]) == (2, ["magnet"])
    assert found["shopping"]["total"] == 111.2
    assert found["price"]["total"] == 38.5
    code, said = tell("kits", "show", "nest-pair", "10")
    assert code == 0
    for words in ("the stock allows 2 kits of 10; Neodymium disc", "38.50 EUR", "Goods 104.70 EUR, with postage 111.20 EUR.", "The builder prints basket (36 g).",
                  "Left over afterwards: 1 piece of Neodymium disc 20 × 5 mm."):  # fmt: skip
        assert words in said, words
    assert ask("kits", "shopping", "nest-pair", "10")["total"] == 111.2
    assert "Nothing has to be bought." in tell("kits", "shopping", "nest-pair", "1")[1]


def test_both_papers_are_written(ask, shop, tmp_path):
    """As PDF files of the stated names."""
    pick, labels = tmp_path / "pick.pdf", tmp_path / "labels.pdf"
    ask("kits", "pick-list", "nest-pair", "10", "--pdf", pick)
    found = ask("kits", "labels", "nest-pair", "10", "--pdf", labels, "--columns", "2", "--rows", "7")
    assert (found["labels"], found["width_mm"], found["height_mm"]) == (40, 105, 42)
    assert pick.read_bytes()[:5] == labels.read_bytes()[:5] == b"%PDF-"


def test_a_kit_is_made_and_listed(ask, tell):
    """With extras, what is left out and a price."""
    found = ask("kits", "new", "single", "--title", "One driver", "--driver", "dunlin/v1", "--extra", "screw=4", "--leave-out", "wire",
                "--currency", "eur", "--margin", "30")  # fmt: skip
    assert (
        found["record"]["extras"] == [{"part": "screw", "amount": 4, "use": ""}]
        or found["record"]["extras"][0]["amount"] == 4
    )
    assert [one["kit"] for one in ask("kits", "list")["kits"]] == ["nest-pair", "single"]
    assert "Nest box pair" in tell("kits", "list")[1]
    code, said = tell("kits", "new", "bad", "--title", "Bad", "--driver", "dunlin/v1=two")
    assert (code, "whole number; found dunlin/v1=two" in said) == (2, True)
    assert tell("kits", "new", "bad", "--title", "Bad", "--driver", "dunlin/v1", "--extra", "screw=x")[0] == 2
    code, said = tell("kits", "new", "bad", "--title", "Bad", "--driver", "dunlin/v1", "--extra", "skrew")
    assert (code, "skrew. Allowed: screw" in said) == (2, True)


def test_packing_books_the_parts_and_undo_takes_it_back(ask, tell):
    """Three kits are too many; two are booked and taken back."""
    code, said = tell("kits", "packed", "nest-pair", "3")
    assert (code, "Not so much is in stock" in said) == (2, True)
    assert len(ask("kits", "packed", "nest-pair", "2", "--date", "2026-10-03")["movements"]) == 4
    assert ask("stock", "show", "magnet")["amount"] == 1
    assert "kit nest-pair" in tell("stock", "show", "magnet")[1]
    assert len(ask("stock", "undo")["taken_back"]) == 4
    assert ask("stock", "show", "magnet")["amount"] == 5
    assert "magnet: used 2 pieces" in tell("kits", "packed", "nest-pair", "1")[1]
    assert "Taken back: " in tell("stock", "undo")[1]


def test_movements_are_booked(ask, tell):
    """Each kind; the currency of a purchase is the part's; below zero only when it is said."""
    found = ask(
        "stock",
        "bought",
        "magnet",
        "8",
        "--paid",
        "18",
        "--supplier",
        "Tideline Magnets",
        "--date",
        "2026-09-02",
    )
    assert (found["movement"]["currency"], found["standing"]["amount"]) == ("EUR", 13)
    assert ask("stock", "used", "wire", "12.5", "--note", "coil of 01")["standing"]["amount"] == 187.5
    assert ask("stock", "spoiled", "screw", "1")["standing"]["amount"] == 29
    code, said = tell("stock", "counted", "plate", "13")
    assert (code, "plate: counted 13 pieces (−1 piece against the books); 13 pieces in stock." in said) == (
        0,
        True,
    )
    code, said = tell("stock", "used", "plate", "20")
    assert (code, "would stand at −7 pieces" in said) == (2, True)
    assert [v["code"] for v in ask("stock", "used", "plate", "20", "--anyway")["standing"]["verdicts"]] == [
        "stock-negative"
    ]
    everything = {one["part"]: one["amount"] for one in ask("stock", "show")["stock"]}
    assert everything == {"magnet": 13, "plate": -7, "screw": 29, "wire": 187.5}
    assert "below zero" in tell("stock", "show")[1]
    assert ask("parts", "show", "magnet")["stock"] == 13
    assert ask("parts", "cost", "magnet", "15")["packs"] == 1


@pytest.mark.parametrize(
    ("command", "said"),
    [
        (("stock", "bought", "magnet", "0"), "must be above 0"),
        (("stock", "bought", "magnit", "1"), "Allowed: magnet"),
        (("stock", "bought", "magnet", "1", "--paid", "-3"), "paid"),
        (("stock", "bought", "magnet", "1", "--paid", "3", "--currency", "eux"), "ISO 4217"),
        (("stock", "used", "magnet", "0.5"), "whole pieces"),
        (("stock", "used", "magnet", "nan"), "amount"),
        (("stock", "show", "magnit"), "There is no part magnit"),
        (("kits", "show", "nest-pear"), "Allowed: nest-pair"),
        (("kits", "show", "nest-pair", "0"), "1 to 10000"),
        (("kits", "labels", "nest-pair", "1", "--pdf", "x.txt"), ".pdf"),
        (("kits", "labels", "nest-pair", "1", "--pdf", "x.pdf", "--columns", "9"), "1 to 6 columns"),
        (("stock", "undo"), "no movement to take back"),
    ],
)
def test_what_is_wrong_is_said(shop, capsys, command, said):
    """Exit code 2, a sentence, and the same as JSON."""
    assert run(["--workshop", str(shop), *command, "--json"]) == 2
    captured = capsys.readouterr()
    assert said in captured.err
    assert "Traceback" not in captured.err
    assert "error" in json.loads(captured.out)
