"""The pages of bill and carry-over, the offers of a part, and what the version's page says of its cost."""

from __future__ import annotations

from pathlib import Path

import httpx
import pypdf
import pytest
from nicegui.testing import User

from halfroll.app.bill_lines import bill_in, texts_of
from halfroll.workshop import Workshop
from halfroll.workshop.bill_record import BillTable
from halfroll.workshop.parts import load_part
from tests.app.conftest import until, visiting
from tests.builds.by_hand import by_hand


@pytest.fixture
def stilt(tmp_path: Path) -> Workshop:
    """The case that is worked by hand."""
    return by_hand(tmp_path / "shop")


async def test_what_a_version_costs_and_what_carries_over(stilt: Workshop) -> None:
    """The sums of the worked case on the pages, the paper, the version's page; another number of drivers; what cannot be said is said."""
    async with visiting(stilt) as user:
        await user.open("/bill/stilt/v1?units=3")
        for words in ("What Stilt v1 costs", "39.46\u202fEUR", "39.46\u202fEUR to 40.46\u202fEUR by supplier", "162.40\u202fEUR", "ring", "postage",
                      "Cost of one driver by line"):  # fmt: skip
            await user.should_see(words)
        await user.open("/drivers/stilt/v1")
        await user.should_see("Cost of one driver")
        await user.should_see("39.46\u202fEUR")
        await user.open("/carry-over?old=stilt/v1&new=stilt/v2&units=3&apart=all")
        for words in (
            "From Stilt v1 to Stilt v2",
            "5.62\u202fEUR",
            "58.70\u202fEUR",
            "133.20\u202fEUR",
            "made from the pole",
            "Is left over",
        ):
            await user.should_see(words)
        for path, status, words in (("/bill/stilt/v1?units=none", 422, "must be a whole number; found none"), ("/bill/stilt/v1?units=0", 422, "units"),
                                    ("/carry-over?old=stilt/v1&new=stilt/v9", 404, "v9")):  # fmt: skip
            answer = await user.http_client.get(path)
            assert (answer.status_code, words in answer.text) == (status, True)
        await user.open("/parts/washer-60")
        await user.should_see("formerly")
        paper = await user.http_client.get("/bill/stilt/v1/bill.pdf?units=3")
        assert paper.headers["content-type"] == "application/pdf"
        assert "Stilt" in pypdf.PdfReader(_file(paper)).pages[0].extract_text()
        assert (await user.http_client.get("/bill/stilt/v7/bill.pdf")).status_code == 422


async def test_offers_are_typed_a_line_each(stilt: Workshop) -> None:
    """What is wrong stands under the field; what is right is kept."""
    async with visiting(stilt) as user:
        await user.open("/parts/plate")
        for typed, said in (("Harbour Stores 5.20 EUR", "supplier; price and currency"), ("Harbour Stores; -5.2 EUR", "at least 0"),
                            ("Harbour Stores; 5.20 QQQ", "ISO 4217"), ("Harbour Stores; 5.20 EUR; 0", "above 0")):  # fmt: skip
            user.find(marker="offers").trigger("entered", typed)
            user.find(marker="keep-part").click()
            await user.should_see(said)
        assert load_part(stilt, "plate").record.offers == ()
        user.find(marker="offers").trigger(
            "entered", "Harbour Stores; 5,20 eur; 1; 2026-06-02\nTideline Magnets; 48 EUR; 10"
        )
        user.find(marker="keep-part").click()
        await until(lambda: load_part(stilt, "plate").record.offers)
        assert [(one.price, one.pack_size) for one in load_part(stilt, "plate").record.offers] == [
            (5.2, 1.0),
            (48.0, 10.0),
        ]


def test_what_is_typed_is_what_the_record_says(stilt: Workshop) -> None:
    """There and back, of every bill of the worked case and one with everything that can be said."""
    whole = {
        "work_hours": 2.5, "bought": [{"part": "a", "amount": 0.3}, {"part": "b", "amount": 4.0, "use": "c"}],
        "printed": [{"name": "cone", "hours": 0.7}, {"name": "d", "material": "e", "grams": 3.0, "hours": 1.0, "pieces": 4, "how": "f"}],
        "glued": [{"seam": "g", "glue": "h", "grams": 0.2}, {"seam": "i", "glue": "j", "joins": ["k", "l"], "length_mm": 10.0, "bead_mm": 1.5, "opens": True}],
    }  # fmt: skip
    bills = [
        BillTable.model_validate(whole),
        *(stilt.version(f"stilt/{name}").record.bill for name in ("v1", "v2")),
    ]
    for bill in bills:
        assert BillTable.model_validate(bill_in(texts_of(bill))) == bill


async def test_a_bill_is_typed_and_kept(stilt: Workshop) -> None:
    """What is wrong stands under its field; what is kept is the same again; a bill that names nothing there can be put right."""
    before = stilt.version("stilt/v1").record.bill
    async with visiting(stilt) as user:
        await user.open("/bill/stilt/v1")
        for key, typed, said in (("bought", "ring; -1", "above 0"), ("printed", "frame; spool; 50; 4; half", "whole number"),
                                 ("glued", "a to b; epoxy; ; much", "length x bead"), ("work_hours", "-1", "at least 0")):  # fmt: skip
            field = next(iter(user.find(marker=key).elements))
            kept = field.value
            user.find(marker=key).trigger("entered", typed)
            user.find(marker="keep-bill").click()
            await user.should_see(said)
            user.find(marker=key).trigger("entered", kept)
        user.find(marker="keep-bill").click()
        await until(lambda: stilt.version("stilt/v1").record.bill == before)
        await user.open("/bill/stilt/v1")
        user.find(marker="bought").trigger("entered", "nothing; 2; lid")
        user.find(marker="glued").trigger("entered", "")
        user.find(marker="keep-bill").click()
        await until(lambda: stilt.version("stilt/v1").record.bill != before)
        await user.open("/bill/stilt/v1")
        await user.should_see("There is no part of that id in parts/")
        user.find(marker="bought").trigger("entered", "ring; 2; magnets")
        user.find(marker="work_hours").trigger("entered", "")
        user.find(marker="keep-bill").click()
        await until(
            lambda: (
                (bill := stilt.version("stilt/v1").record.bill) is not None
                and bill.bought[0].use == "magnets"
            )
        )
        after = stilt.version("stilt/v1").record.bill
        assert after is not None
        assert (after.work_hours, after.glued, len(after.printed)) == (None, (), 2)


async def test_empty_and_unknown(newcomer: User, empty: Workshop) -> None:
    """Nothing to choose from yet."""
    await newcomer.open("/carry-over")
    await newcomer.should_see("There is no version yet")
    assert (await newcomer.http_client.get("/bill/stilt/v1")).status_code == 404


def _file(answer: httpx.Response):
    import io

    return io.BytesIO(answer.content)
