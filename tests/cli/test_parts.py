"""``halfroll parts`` and ``halfroll catalogue``: what is kept, told and refused."""

import json

import pytest

BAR = "h_a_m,b_t\n0,0\n100,0.5\n300,1.0\n900,1.5\n5000,1.7\n20000,1.95\n"
DISC = ("--type", "magnet", "--catalogue", "nd-disc-20x5", "--material", "n42")
PRICE = ("--price", "8.40", "--currency", "eur", "--pack", "4")


@pytest.fixture
def shop(tmp_path, say):
    """An empty workshop."""
    folder = tmp_path / "shop"
    assert say("init", folder)[0] == 0
    return folder


@pytest.fixture
def parts(shop, say):
    """Runs ``halfroll parts``."""
    return lambda *words: say("--workshop", shop, "parts", *words)


def test_a_part_from_nothing_to_its_cost(shop, parts, ask):
    """Added, listed, changed, and what some of it costs, with stock and whole packs told apart."""
    assert "no parts of your own yet" in parts("list")[2]
    assert parts("add", "big-magnet", *DISC, *PRICE, "--stock", "1")[0] == 0
    code, out, _ = parts("list")
    assert code == 0
    for words in ("big-magnet", "Neodymium disc 20 × 5", "n42", "8.40", "EUR for 4"):
        assert words in out
    assert parts("set", "big-magnet", "--stock", "3")[0] == 0
    said = ask("--workshop", shop, "parts", "show", "big-magnet")
    assert (said["stock"], said["outer_mm"], said["material"], said["currency"]) == (3, 20, "n42", "EUR")
    assert said["record"]["catalogue"] == "nd-disc-20x5"
    found = ask("--workshop", shop, "parts", "cost", "big-magnet", "6")
    assert (found["used"], found["packs"], found["to_pay"], found["left_over"]) == (
        pytest.approx(12.6),
        1,
        8.4,
        1,
    )
    out = parts("cost", "big-magnet", "6")[1]
    assert "To buy: 1 pack for 8.40" in out
    assert "2.10" in out


def test_wire_is_bought_by_mass_and_used_by_length(shop, parts, ask):
    """9.5 m of 0.200 mm weigh 2.76 g with enamel; an old price is said."""
    add = ("add", "wire", "--type", "wire", "--catalogue", "cu-0.200-g1", "--unit", "g")
    assert parts(*add, "--price", "12", "--currency", "EUR", "--pack", "100", "--date", "2020-01-01")[0] == 0
    found = ask("--workshop", shop, "parts", "cost", "wire", "9.5", "--unit", "m")
    assert found["amount"] == pytest.approx(2.765, abs=2e-3)
    assert [v["code"] for v in found["verdicts"]] == ["old-price"]
    assert "The price of wire is of 2020-01-01" in parts("show", "wire")[1]


def test_own_steel_and_grade(shop, parts, ask, tmp_path):
    """A B-H table and a weak magnet become materials that lists and the catalogue know."""
    table = tmp_path / "bar.csv"
    table.write_text(BAR, encoding="utf-8")
    assert (
        parts("steel", "bar", table, "--title", "Bright bar", "--conductivity", "6", "--spread", "0.1")[0]
        == 0
    )
    assert parts("grade", "my-n42", "--like", "n42", "--br", "1.24")[0] == 0
    listed = ask("--workshop", shop, "parts", "list")
    assert [m["id"] for m in listed["materials"]] == ["bar", "my-n42"]
    entry = ask("--workshop", shop, "catalogue", "bar")
    assert (entry["kind"], entry["conductivity_s_m"], entry["h_factor_u"], entry["origin"]["support"]) == (
        "steels",
        6e6,
        0.1,
        "own",
    )
    assert "steel" in parts("show", "bar")[1]
    assert ask("--workshop", shop, "parts", "show", "my-n42")["entry"]["br_t"] == 1.24


@pytest.mark.parametrize(("words", "said"), [
    (("add", "x", "--type", "magnet", "--catalogue", "nd-disc-20x6"), "nd-disc-20x5"),
    (("add", "x", *DISC, "--price", "3"), "currency of the part must be stated with a price"),
    (("add", "x", "--type", "ring", "--shape", "ring", "--outer", "20", "--inner", "30", "--height", "5"), "smaller than outer_mm"),
    (("add", "Big Magnet", *DISC), "'big-magnet' would do"),
    (("show", "nothing"), "There is no part nothing"),
    (("set", "nothing", "--stock", "1"), "There is no part nothing"),
    (("steel", "bar", "missing.csv"), "The file is missing"),
    (("grade", "x", "--like", "n99"), "no magnet grade of that key"),
])  # fmt: skip
def test_what_cannot_be_is_refused(parts, shop, words, said):
    """Exit code 2, the reason, and nothing written."""
    code, _, err = parts(*words)
    assert code == 2
    assert said in err
    assert not list(shop.glob("parts/*")) + list(shop.glob("materials/*"))


def test_a_faulty_record_is_named_and_the_others_shown(shop, parts, ask):
    """A list still works, and says what was left out; for a machine the fault stands under its own key."""
    parts("add", "good", *DISC)
    (shop / "parts" / "bad.toml").write_text('format = 1\ntype = "spoon"\n', encoding="utf-8")
    code, out, err = parts("list")
    assert code == 0
    assert "good" in out
    assert "bad.toml:2" in err
    assert ask("--workshop", shop, "parts", "list")["faults"][0]["line"] == 2


def test_the_catalogue_without_a_workshop(say, ask, tmp_path, monkeypatch):
    """Kinds, lists, entries with their source; keys alone are found; units stand in the keys for machines."""
    monkeypatch.chdir(tmp_path)
    assert "magnets: " in say("catalogue")[1]
    out = say("catalogue", "washers", "--find", "7093")[1]
    assert "iso7093-m8" in out
    assert "iso7089-m8" not in out
    assert "Nothing in magnets" in say("catalogue", "magnets", "--find", "zzz")[2]
    entry = ask("catalogue", "n42", "--temperature", "60")
    assert (entry["kind"], entry["br_t"], entry["hcj_ka_m"]) == ("magnets", pytest.approx(1.30), 955)
    assert entry["curve"]["temperature_c"] == 60
    assert len(entry["curve"]["h_a_m"]) == len(entry["curve"]["b_t"]) == 121
    wire = ask("catalogue", "wires", "cu-0.200-g1")
    assert wire["ohm_per_m"] == pytest.approx(0.5441, abs=1e-4)
    text = say("catalogue", "wires", "cu-0.200-g1")[1]
    assert "from memory" in text
    assert len(ask("catalogue", "wires")["entries"]) > 200
    assert json.loads(say("catalogue", "--json")[1])["steels"][0] == "steel-team13"


def test_curves_as_pictures(say, tmp_path):
    """A steel and a magnet can be drawn, anything else cannot."""
    for key in ("steel-1008", "y35"):
        assert say("catalogue", key, "--svg", tmp_path / f"{key}.svg")[0] == 0
        assert "<svg" in (tmp_path / f"{key}.svg").read_text(encoding="utf-8")
    code, _, err = say("catalogue", "petg", "--svg", tmp_path / "petg.svg")
    assert code == 2
    assert "Only steels and magnets have a curve" in err


@pytest.mark.parametrize(("words", "said"), [
    (("catalogue", "frogs", "n42"), "Allowed: magnets, steels"),
    (("catalogue", "n43"), "n42"),
    (("catalogue", "magnets", "petg"), "no entry in magnet grades"),
    (("catalogue", "n42", "--temperature", "120"), "must not get hotter than its limit; found 120"),
])  # fmt: skip
def test_what_is_not_in_the_catalogue(say, words, said):
    """Exit code 2, and what there is instead."""
    code, _, err = say(*words)
    assert code == 2
    assert said in err
