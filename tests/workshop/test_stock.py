"""Stock: movements add up, nothing goes below zero unsaid, a renamed part keeps its stock, and every fault names its place."""

import datetime as dt
import threading
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfroll.core.errors import ConflictError, InputError, RefusedError
from halfroll.core.verdicts import Severity
from halfroll.workshop import Workshop
from halfroll.workshop.faults import check
from halfroll.workshop.part_record import PartRecord
from halfroll.workshop.parts import add_part, load_part, save_part
from halfroll.workshop.standing import Booked, standing_of
from halfroll.workshop.stock import last_booking, move, standings, stock_of, undo
from halfroll.workshop.stock_record import MovementTable, StockRecord
from halfroll.workshop.toml_read import read_record

MAGNET = PartRecord(
    type="magnet", catalogue="nd-disc-20x5", material="n42", price=8.4, currency="EUR", pack_size=4.0, stock=3
)
WIRE = PartRecord(type="wire", catalogue="cu-0.200-g1", pack_size=100.0, pack_unit="g")


@pytest.fixture
def shop(tmp_path: Path) -> Workshop:
    """A workshop with three magnets and a wire nobody counted."""
    shop = Workshop.init(tmp_path / "shop", "Saltmarsh Workshop", durable=False)
    add_part(shop, "magnet", MAGNET)
    add_part(shop, "wire", WIRE)
    return shop


def moved(
    what: str, amount: float, part: str = "magnet", day: str = "2026-03-01", **more: object
) -> MovementTable:
    """A movement."""
    return MovementTable(date=dt.date.fromisoformat(day), part=part, what=what, amount=amount, **more)  # type: ignore[arg-type]


def write(shop: Workshop, text: str, year: int = 2026) -> Path:
    """Movements written by hand."""
    path = shop.folder / "stock" / f"{year}.toml"
    path.parent.mkdir(exist_ok=True)
    path.write_text("format = 1\n" + text, encoding="utf-8")
    return path


def test_without_a_movement_the_record_counts_and_with_one_it_is_the_opening_count(shop: Workshop) -> None:
    """Three in the record, five bought, two used: six. Of the wire nobody said anything."""
    before = standings(shop)
    assert (before["magnet"].amount, before["magnet"].since, before["wire"].amount) == (3, None, None)
    move(shop, moved("bought", 5, paid=10.0, currency="EUR", supplier="Tideline Magnets"))
    move(shop, moved("used", 2, day="2026-03-09", note="avocet v8, unit 4"))
    after = standings(shop)["magnet"]
    assert (after.amount, after.opening, after.since) == (6, 3, dt.date(2026, 3, 9))
    assert [line.balance for line in after.lines] == [8, 6]
    assert (after.value, after.currency) == (pytest.approx(6 * 8.4 / 4), "EUR")
    assert after.lines[1].movement.purpose == "avocet v8, unit 4"


def test_a_count_sets_the_amount_and_notes_the_difference(shop: Workshop) -> None:
    """The books say three, two are found: one is missing; what comes later starts from two."""
    move(shop, moved("counted", 2))
    move(shop, moved("spoiled", 1, day="2026-03-02", note="chipped"))
    found = standings(shop)["magnet"]
    assert [(line.change, line.balance) for line in found.lines] == [(-1, 2), (-1, 1)]
    assert found.counted == dt.date(2026, 3, 1)


def test_below_zero_is_refused_and_booked_anyway_it_is_said_ever_after(shop: Workshop) -> None:
    """Refused whole; with anyway it stands below zero, and is still told once a count has set it right."""
    with pytest.raises(RefusedError, match=r"magnet would stand at −2 pieces on 2026-03-01, 3 pieces before"):
        move(shop, moved("used", 5))
    assert not (shop.folder / "stock").exists()
    assert move(shop, moved("used", 5), anyway=True)[0].anyway
    below = standings(shop)["magnet"]
    assert (below.amount, below.negative_on, below.value) == (-2, dt.date(2026, 3, 1), 0.0)
    assert [(v.code, v.severity) for v in below.verdicts] == [("stock-negative", Severity.CAUTION)]
    move(shop, moved("counted", 4, day="2026-04-01"))
    mended = standings(shop)["magnet"]
    assert mended.amount == 4
    assert [(v.code, v.severity) for v in mended.verdicts] == [("stock-negative", Severity.NOTE)]
    assert "the count of 2026-04-01 set them right" in mended.verdicts[0].text


def test_a_movement_of_the_past_must_not_pull_a_later_one_below_zero(shop: Workshop) -> None:
    """Three, all used in June: one used in May would be lacking in June; a count between the two parts them."""
    move(shop, moved("used", 3, day="2026-06-01"))
    with pytest.raises(RefusedError, match="2026-06-01"):
        move(shop, moved("used", 1, day="2026-05-01"))
    undo(shop)
    move(shop, moved("counted", 3, day="2026-05-15"), moved("used", 3, day="2026-06-01"))
    move(shop, moved("used", 1, day="2026-05-01"))
    assert standings(shop)["magnet"].amount == 0


def test_what_was_below_zero_already_does_not_bar_buying(shop: Workshop) -> None:
    """Buying brings the books up even where they stay below zero."""
    move(shop, moved("used", 9), anyway=True)
    move(shop, moved("bought", 2, day="2026-03-02"))
    assert standings(shop)["magnet"].amount == -4


def test_several_are_booked_whole_or_not_at_all(shop: Workshop) -> None:
    """The wire is lacking, so the magnets are not booked either."""
    with pytest.raises(RefusedError, match="wire would stand"):
        move(shop, moved("used", 2), moved("used", 12.5, "wire"))
    assert standings(shop)["magnet"].amount == 3
    with pytest.raises(InputError, match="of one year"):
        move(shop, moved("used", 1), moved("used", 1, day="2025-03-01"))


def test_a_part_that_was_renamed_keeps_its_stock(shop: Workshop) -> None:
    """Old movements name the old id; the record says what it was called; new ones are written under the new id."""
    move(shop, moved("bought", 5))
    record = load_part(shop, "magnet").record
    (shop.folder / "parts" / "magnet.toml").unlink()
    with pytest.raises(
        InputError, match=r"2026\.toml:\d+, movements\[1\]\.part: A movement must name a part"
    ) as fault:
        standings(shop)
    assert "formerly" in str(fault.value)
    add_part(shop, "big-magnet", record.changed(formerly=("magnet",)))
    assert standings(shop)["big-magnet"].amount == 8
    assert move(shop, moved("used", 1))[0].part == "big-magnet"
    assert standings(shop)["big-magnet"].amount == 7


def test_undo_takes_back_the_last_booking_whole(shop: Workshop) -> None:
    """Whatever its day; movements booked together go together; not when something else was booked since."""
    move(shop, moved("bought", 9, day="2026-08-01"))
    both = move(
        shop, moved("used", 1, day="2025-02-01", batch="a"), moved("used", 1, day="2025-02-01", batch="a")
    )
    assert [one.number for one in both] == [2, 3]
    assert len(last_booking(shop)) == 2
    with pytest.raises(ConflictError, match="booked since"):
        undo(shop, number=1)
    assert [one.amount for one in undo(shop, number=3)] == [1, 1]
    assert standings(shop)["magnet"].amount == 12
    undo(shop)
    assert standings(shop)["magnet"].amount == 3
    with pytest.raises(InputError, match="no movement to take back"):
        undo(shop)
    assert last_booking(shop) == ()


def test_comments_and_keys_of_ones_own_stay(shop: Workshop) -> None:
    """A file somebody wrote in keeps what they wrote."""
    path = write(
        shop,
        '# my books\n[[movements]]\ndate = 2026-01-02\npart = "magnet"  # the big one\nwhat = "bought"\namount = 2\nown_shelf = "B"\n',
    )
    move(shop, moved("used", 1))
    text = path.read_text(encoding="utf-8")
    assert "# my books" in text
    assert "# the big one" in text
    assert 'own_shelf = "B"' in text
    assert standings(shop)["magnet"].amount == 4


@pytest.mark.parametrize(
    "before",
    [
        'movements = [{date = 2026-01-02, part = "magnet", what = "bought", amount = 2}]\n',
        '[[movements]]\r\ndate = 2026-01-02\r\npart = "magnet"\r\nwhat = "bought"\r\namount = 2\r\n',
        '[[movements]]\ndate = 2026-01-02\npart = "magnet"\nwhat = "bought"\namount = 2\n[own_shelves]\nB = "magnets"',
        "# nothing yet",
    ],
)
def test_a_file_written_in_another_way_is_lengthened_all_the_same(shop: Workshop, before: str) -> None:
    """Inline tables, line ends of Windows, tables of one's own at the end, no movement at all."""
    path = shop.folder / "stock" / "2026.toml"
    path.parent.mkdir()
    path.write_bytes(b"format = 1\n" + before.encode())
    move(shop, moved("used", 1))
    assert standings(shop)["magnet"].amount == (4 if "bought" in before else 2)
    assert ("own_shelves" in before) == ("own_shelves" in path.read_text(encoding="utf-8"))


MOVEMENT = '[[movements]]\ndate = 2026-01-02\npart = "magnet"\nwhat = "bought"\namount = 2\n'


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (MOVEMENT.replace('"magnet"', '"magnit"'), r"2026\.toml:4, movements\[1\]\.part: .*found magnit. Allowed: magnet"),
        (MOVEMENT.replace("amount = 2", "amount = 2.5"), r"2026\.toml:6, movements\[1\]\.amount: magnet is counted in whole pieces"),
        (MOVEMENT.replace("2026", "2025"), r"2026\.toml:3, movements\[1\]\.date: .*found 2025-01-02.*stock/2025\.toml"),
        (MOVEMENT.replace("amount = 2", "amount = -2"), r"2026\.toml:6, movements\[1\]\.amount"),
        (MOVEMENT.replace('"bought"', '"sold"'), r"2026\.toml:5, movements\[1\]\.what"),
        (MOVEMENT + "paid = -1\n", r"2026\.toml:7, movements\[1\]\.paid"),
        (MOVEMENT + "paid = 1\n", "must be stated with what was paid"),
        (MOVEMENT + 'paid = 1\ncurrency = "EUX"\n', r"2026\.toml:8, movements\[1\]\.currency"),
        (MOVEMENT.replace('"bought"', '"used"') + 'supplier = "A"\n', "must be stated of what was bought only"),
        (MOVEMENT.replace("amount = 2", "amount = 0"), "must be above 0"),
    ],
)  # fmt: skip
def test_what_is_wrong_in_the_books_is_named_with_file_key_and_line(
    shop: Workshop, text: str, said: str
) -> None:
    """And nothing is booked on top of books that cannot be read."""
    path = write(shop, text)
    with pytest.raises(InputError, match=said):
        standings(shop)
    assert "magnet" in stock_of(shop).standings  # what can be counted still is
    if "magnit" not in text and "2.5" not in text:
        with pytest.raises(InputError):
            move(shop, moved("bought", 1))
        assert path.read_text(encoding="utf-8") == "format = 1\n" + text


def test_a_bad_movement_is_refused(shop: Workshop) -> None:
    """Unknown part with the nearest, part of a piece, unit that is not there."""
    with pytest.raises(InputError, match=r"no such part; found magnit. Allowed: magnet"):
        move(shop, moved("used", 1, "magnit"))
    with pytest.raises(InputError, match="whole pieces"):
        move(shop, moved("used", 0.5))
    with pytest.raises(InputError, match="driver"):
        move(shop, moved("used", 1, unit="avocet/v8/1"))
    with pytest.raises(InputError, match="amount"):
        check(
            MovementTable,
            {"date": dt.date(2026, 1, 1), "part": "m", "what": "used", "amount": float("nan")},
            file="",
        )


def test_a_part_that_cannot_be_read_bars_no_other(shop: Workshop) -> None:
    """Its own movements wait, and its fault is told once; the rest is booked."""
    move(shop, moved("bought", 1, "wire"), moved("bought", 1, "wire"), moved("bought", 1))
    path = shop.folder / "parts" / "wire.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("cu-0.200-g1", "cu-0.2"), encoding="utf-8")
    move(shop, moved("used", 1))
    found = stock_of(shop)
    assert found.standings["magnet"].amount == 3
    assert len(found.faults) == 1
    assert "wire.toml" in str(found.faults[0])
    with pytest.raises(InputError, match=r"wire\.toml"):
        move(shop, moved("used", 1, "wire"))


def test_several_programs_may_book_at_once(shop: Workshop) -> None:
    """Twelve bookings from six threads: none is lost, and each has its number."""

    def book() -> None:
        for _ in range(2):
            move(shop, moved("bought", 1))

    threads = [threading.Thread(target=book) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    found = standings(shop)["magnet"]
    assert found.amount == 15
    assert sorted(line.movement.number or 0 for line in found.lines) == list(range(1, 13))


def test_movements_make_the_round_trip(shop: Workshop) -> None:
    """What is written is what is read."""
    written = move(
        shop, moved("bought", 2, paid=4.2, currency="EUR", supplier="Tideline", note="spare", batch="x")
    )
    assert read_record(shop.folder / "stock/2026.toml", StockRecord, "2026").record.movements == written
    assert written[0].batch == "x (1)"


def test_a_changed_record_moves_the_opening_count(shop: Workshop) -> None:
    """Whoever corrects the record by hand corrects what there was before the first movement."""
    move(shop, moved("bought", 1))
    save_part(shop, load_part(shop, "magnet"), MAGNET.changed(stock=10))
    assert standings(shop)["magnet"].amount == 11


tenths = st.integers(1, 500).map(lambda n: n / 10)
entries = st.lists(st.tuples(st.sampled_from(["bought", "used", "spoiled", "counted"]), tenths), max_size=30)


@given(opening=tenths, moves=entries)
def test_amounts_add_up(opening: float, moves: list[tuple[str, float]]) -> None:
    """Changes sum to the difference of end and opening; after a count only what follows it matters; the first day below zero is one."""
    record = WIRE.changed(stock=opening)
    booked = [
        Booked(movement=moved(what, amount, "wire", f"2026-01-{1 + n:02}"), file=Path(), index=n)
        for n, (what, amount) in enumerate(moves)
    ]
    found = standing_of("wire", record, booked)
    assert found.amount == pytest.approx(opening + sum(line.change for line in found.lines), abs=1e-5)
    counts = [n for n, (what, _) in enumerate(moves) if what == "counted"]
    start = moves[counts[-1]][1] if counts else opening
    signs = {"bought": 1, "used": -1, "spoiled": -1}
    after = moves[counts[-1] + 1 :] if counts else moves
    tenth_sum = round(10 * start) + sum(signs[what] * round(10 * amount) for what, amount in after)
    assert found.amount == tenth_sum / 10
    assert (found.negative_on is None) == all(line.balance >= 0 for line in found.lines)
