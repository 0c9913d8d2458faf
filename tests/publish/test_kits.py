"""Pick list and labels read back: every part, amount and caution, fonts embedded, and no word outside its label."""

import io
from pathlib import Path
from typing import Any

import pypdf
import pytest

from halfroll.builds.kits import KitPlan, plan
from halfroll.core.errors import InputError
from halfroll.publish.kits import MOST_LABELS, LabelGrid, label_sheet_pdf, pick_list_pdf
from halfroll.workshop import Workshop
from tests.builds.kit_shop import kit_shop

POINT_MM = 25.4 / 72.0
DATE = "2026-10-03"


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Workshop:
    """The workshop of the worked case."""
    return kit_shop(tmp_path_factory.mktemp("kits") / "shop")


@pytest.fixture(scope="module")
def ten(shop: Workshop) -> KitPlan:
    """Ten kits planned."""
    return plan(shop, "nest-pair", 10)


def read(data: bytes) -> pypdf.PdfReader:
    """A file as pypdf sees it."""
    return pypdf.PdfReader(io.BytesIO(data))


def text_of(data: bytes) -> str:
    """All words of a file."""
    raw = "\n".join(sheet.extract_text() for sheet in read(data).pages)
    return raw.replace("\u202f", " ").replace("\u200b", "")


def embedded(reader: pypdf.PdfReader) -> list[bool]:
    """Whether each font of the file is in it."""
    found = []
    for sheet in reader.pages:
        for font in sheet["/Resources"]["/Font"].values():
            one = font.get_object()
            inner = one["/DescendantFonts"][0].get_object() if "/DescendantFonts" in one else one
            holds = inner["/FontDescriptor"].get_object()
            found.append(any(f"/FontFile{n}" in holds for n in ("", "2", "3")))
    return found


def test_the_pick_list_says_what_to_take_from_where(ten: KitPlan) -> None:
    """Places, amounts a bag and a batch, what is lacking, cautions, what the builder prints."""
    data = pick_list_pdf(ten, date=DATE)
    text = text_of(data)
    for words in ("Pick list: Nest box pair", DATE, "10 kits", "steel box", "shelf 2", "No place stated", "40 pieces", "26 pieces", "300 g",
                  "Screw M4 x 16", "swallowed", "pacemakers", "basket, 2 pieces, 36 g"):  # fmt: skip
        assert words in text, words
    fonts = embedded(read(data))
    assert fonts
    assert all(fonts)
    assert pick_list_pdf(ten, date=DATE) == data  # byte for byte


def test_a_label_for_every_bag_and_a_caution_on_those_of_magnets(ten: KitPlan) -> None:
    """Four parts, ten kits, 24 on a sheet: two sheets; ten cautions."""
    data = label_sheet_pdf(ten, date=DATE)
    text = text_of(data)
    assert len(read(data).pages) == 2
    assert text.count("of 10,") == 40
    assert text.count("Magnets: not for children") == 10
    assert "9 pieces, 1 of them spare" in text
    assert all(embedded(read(data)))
    assert len(read(label_sheet_pdf(ten, date=DATE, grid=LabelGrid(columns=2, rows=7), skip=3)).pages) == 4


@pytest.mark.parametrize(
    "grid",
    [LabelGrid(), LabelGrid(columns=5, rows=13), LabelGrid(columns=2, rows=7, width_mm=99, height_mm=38, gap_across_mm=2.5),
     LabelGrid(columns=6, rows=16)],
)  # fmt: skip
def test_no_word_runs_out_of_its_label(tmp_path: Path, grid: LabelGrid) -> None:
    """Titles of many words and of one endless word: every piece of text begins inside a label, and the last words are there."""
    shop = kit_shop(tmp_path / "shop")
    for name, title in (("plate", "Plate " * 14), ("screw", "Schraubenschachtelaufkleber" * 3)):
        path = shop.folder / f"parts/{name}.toml"
        lines = [
            f'title = "{title.strip()}"' if line.startswith("title") else line
            for line in path.read_text(encoding="utf-8").split("\n")
        ]
        path.write_text("\n".join(lines), encoding="utf-8")
    kit = shop.folder / "kits/nest-pair.toml"
    kit.write_text(
        kit.read_text(encoding="utf-8").replace("Nest box pair", "Nest box pair for the long reed bed"),
        encoding="utf-8",
    )
    reader = read(label_sheet_pdf(plan(shop, "nest-pair", 2), date=DATE, grid=grid))
    wide, high = grid.size_mm
    corners = [grid.corner_mm(place) for place in range(grid.columns * grid.rows)]
    texts = [one for sheet in reader.pages for one in pieces(sheet)]
    assert len(texts) > 20
    for words, x, y, size, width in texts:
        inside = any(
            left + 2 < x and x + width < left + wide - 1.5 and top + 2 < y < top + high - 2.4
            for left, top in corners
        )
        assert inside, (words, x, y, width)
        assert size >= 4.99
    said = " ".join(words for words, *_ in texts).replace("\u200b", "")
    assert said.count("pinch.") == 2
    assert said.count(DATE) == 8


def pieces(sheet: Any) -> list[tuple[str, float, float, float, float]]:
    """Pieces of text: where their base line begins (mm from the left upper corner), size (pt), and a width (mm) they have at least.

    A letter of a sans face takes about half an em on average; a third is a lower bound.
    """
    found: list[tuple[str, float, float, float, float]] = []
    high = float(sheet.mediabox.height)

    def visit(text: str, cm: list[float], tm: list[float], _: Any, size: float) -> None:
        if not text.strip():
            return
        scale = abs(tm[0] * cm[0]) or 1.0
        x = tm[4] * cm[0] + tm[5] * cm[2] + cm[4]
        y = tm[4] * cm[1] + tm[5] * cm[3] + cm[5]
        longest = max(len(line.strip()) for line in text.split("\n"))
        found.append(
            (
                text,
                x * POINT_MM,
                (high - y) * POINT_MM,
                size * scale,
                0.33 * longest * size * scale * POINT_MM,
            )
        )

    sheet.extract_text(visitor_text=visit)
    return found


@pytest.mark.parametrize(
    ("grid", "said"),
    [
        (LabelGrid(columns=0), "1 to 6 columns"),
        (LabelGrid(rows=17), "1 to 16 rows"),
        (LabelGrid(width_mm=80), "do not fit on A4"),
        (LabelGrid(height_mm=10), "18 mm in height at least"),
        (LabelGrid(gap_down_mm=-1), "gap between labels must be 0 to 30 mm"),
        (LabelGrid(width_mm=float("nan")), "35 mm in width at least"),
    ],
)
def test_a_grid_that_cannot_be_is_refused(ten: KitPlan, grid: LabelGrid, said: str) -> None:
    """With the option that is wrong."""
    with pytest.raises(InputError, match=said):
        label_sheet_pdf(ten, date=DATE, grid=grid)


def test_too_many_labels_and_too_many_used_ones_are_refused(shop: Workshop, ten: KitPlan) -> None:
    """A thousand kits of four parts are more than are set at once."""
    with pytest.raises(InputError, match=f"At most {MOST_LABELS}"):
        label_sheet_pdf(plan(shop, "nest-pair", 1000), date=DATE)
    with pytest.raises(InputError, match="0 to 23"):
        label_sheet_pdf(ten, date=DATE, skip=24)
