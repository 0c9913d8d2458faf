"""The pages of parts: what there is, what can be bought, one part, and a new one from nothing."""

from __future__ import annotations

from nicegui.testing import User

from halfroll.workshop import Workshop
from halfroll.workshop.material_record import MagnetTable, MaterialRecord
from halfroll.workshop.part_record import PartRecord
from halfroll.workshop.parts import add_material, add_part, load_part, part_ids
from tests.app.conftest import until, visiting

DISC = PartRecord(
    type="magnet",
    catalogue="nd-disc-20x5",
    material="n42",
    price=8.4,
    currency="EUR",
    pack_size=4.0,
    stock=3.0,
)


async def test_an_empty_workshop_shows_the_way(newcomer: User) -> None:
    """No parts yet, the catalogue below, magnets first."""
    await newcomer.open("/parts")
    for words in ("None yet", "Catalogue", "Magnet grades", "n35", "A new part"):
        await newcomer.should_see(words)


async def test_a_part_from_nothing(newcomer: User, empty: Workshop) -> None:
    """Faults stand under their fields; then the part is kept and its page opens, where its cost can be asked."""
    await newcomer.open("/parts?type=magnet")
    newcomer.find(marker="keep-part").click()
    await newcomer.should_see("The new part needs a name.")
    for key, value in {
        "id": "Big magnet",
        "catalogue": "nd-disc-20x6",
        "material": "n42",
        "price": "8,40",
        "pack_size": "4",
    }.items():
        newcomer.find(marker=key).trigger("entered", value)
    newcomer.find(marker="keep-part").click()
    await newcomer.should_see("Must be stated with a price")
    newcomer.find(marker="currency").trigger("entered", "eur")
    newcomer.find(marker="keep-part").click()
    await newcomer.should_see("nd-disc-20x5")
    assert part_ids(empty) == []
    newcomer.find(marker="catalogue").trigger("entered", "nd-disc-20x5")
    newcomer.find(marker="keep-part").click()
    await until(lambda: part_ids(empty) == ["big-magnet"])
    record = load_part(empty, "big-magnet").record
    assert (record.price, record.currency, record.pack_size, record.material) == (8.4, "EUR", 4.0, "n42")
    assert record.date is not None
    for words in ("Neodymium disc 20 × 5", "8.40\u202fEUR for 4", "Demagnetisation of N42"):
        await newcomer.should_see(words)
    newcomer.find(marker="amount").trigger("entered", "6")
    newcomer.find(marker="work-cost").click()
    await newcomer.should_see("To buy: 2 packs for 16.80")


async def test_a_part_is_changed(small: Workshop) -> None:
    """What is cleared goes, what is typed comes; a file changed meanwhile is not overwritten."""
    add_part(small, "disc", DISC)
    async with visiting(small) as user:
        await user.open("/parts/disc")
        user.find(marker="stock").trigger("entered", "12")
        user.find(marker="supplier").trigger("entered", "the fair")
        user.find(marker="keep-part").click()
        await until(lambda: load_part(small, "disc").record.stock == 12.0)
        assert load_part(small, "disc").record.supplier == "the fair"
        await user.open("/parts/disc")
        path = small.folder / "parts" / "disc.toml"
        path.write_text(path.read_text(encoding="utf-8") + "\n# meanwhile\n", encoding="utf-8")
        user.find(marker="stock").trigger("entered", "1")
        user.find(marker="keep-part").click()
        await user.should_see("was changed by somebody else")
        assert load_part(small, "disc").record.stock == 12.0


async def test_the_catalogue_is_browsed(small: Workshop) -> None:
    """Kinds, a word to narrow them, an entry with its source, curve and the way to a part of one's own."""
    add_material(small, "my-n42", MaterialRecord(magnet=MagnetTable(like="n42", br_t=1.24)))
    async with visiting(small) as user:
        await user.open("/parts?kind=steels")
        for words in ("steel-team13", "Magnetisation", "my-n42"):
            await user.should_see(words)
        await user.open("/parts?kind=wires&find=awg32")
        await user.should_see("cu-awg32-g1")
        await user.should_not_see("cu-0.200-g1")
        await user.open("/parts/iso7093-m8")
        for words in ("Washer", "ISO 7093-1", "Add it to your parts", "makers&#39; data sheets"):
            await user.should_see(words)
        await user.open("/parts/my-n42")
        for words in ("your own", "1.24", "Demagnetisation of my-n42"):
            await user.should_see(words)


async def test_what_is_not_there(small: Workshop) -> None:
    """An unknown key is not found, with near ones; a faulty record is shown with its line, and the list names it."""
    (small.folder / "parts").mkdir()
    (small.folder / "parts" / "bad.toml").write_text('format = 1\ntype = "spoon"\n', encoding="utf-8")
    async with visiting(small) as user:
        missing = await user.http_client.get("/parts/n43")
        assert missing.status_code == 404
        assert "There is no part, material or catalogue entry n43" in missing.text
        assert "n42" in missing.text
        faulty = await user.http_client.get("/parts/bad")
        assert faulty.status_code == 422
        assert "bad.toml:2" in faulty.text
        await user.open("/parts")
        await user.should_see("bad.toml:2")
