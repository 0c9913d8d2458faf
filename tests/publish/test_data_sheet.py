"""The data sheet read back: every figure with its value and mark, fonts embedded, curves as vectors, the same input the same bytes."""

from __future__ import annotations

import io
import re
import shutil
from pathlib import Path

import pypdf
import pytest

from halfroll.core.errors import CancelledError, RefusedError
from halfroll.core.progress import CancelToken
from halfroll.core.text import THIN
from halfroll.publish.data_sheet import MOST_PAGES, data_sheet_pages, data_sheet_pdf
from halfroll.publish.data_sheet_rows import CAUTIONS, DataSheet, data_sheet
from halfroll.publish.marks import read_mark
from halfroll.workshop import ChangeTable, VersionRecord, Workshop, derive
from halfroll.workshop.cabinet_record import CabinetRecord
from halfroll.workshop.cabinets import new_cabinet
from halfroll.workshop.parameters_record import ParametersTable
from tests.app.samples import analysed_workshop

DAY = "2026-05-02"
KNOWN = ParametersTable(re_ohm=6.0, bl_n_per_a=4.1, mms_g=6.5, fs_hz=75.0, qms=4.0, le_mh=0.3, travel_mm=4.0)


@pytest.fixture(scope="module")
def shop(shared: Path, tmp_path_factory: pytest.TempPathFactory) -> Workshop:
    """The small workshop with a version that is only predicted, an empty one, and a cabinet."""
    folder = tmp_path_factory.mktemp("sheet") / "shop"
    made = Workshop.open(Path(shutil.copytree(analysed_workshop(shared), folder)))
    made.create_version("sandpiper", "v2", VersionRecord(title="On paper", rated_impedance_ohm=8.0, rated_power_w=10.0, effective_area_cm2=54.0,
                                                         parameters=KNOWN))  # fmt: skip
    made.create_version("sandpiper", "v3", VersionRecord(title="Not yet"))
    new_cabinet(
        made, "hide-box", CabinetRecord(type="closed", title="Hide box", volume_l=4.0, driver="godwit/v3")
    )
    derive.readings(made, workers=1)
    return made


@pytest.fixture(scope="module")
def measured(shop: Workshop) -> DataSheet:
    """The sheet of a measured version."""
    return data_sheet(shop, "godwit/v3")


def read(pdf: bytes) -> tuple[pypdf.PdfReader, str]:
    """The file and its text in one line, narrow spaces as they are printed."""
    reader = pypdf.PdfReader(io.BytesIO(pdf))
    return reader, plain("".join(page.extract_text() for page in reader.pages))


def plain(text: str) -> str:
    """Text without its spaces, as a reader may put them elsewhere."""
    return re.sub(rf"[\s{THIN}]", "", text)


def check(pdf: bytes, sheet: DataSheet) -> str:
    """What every sheet holds."""
    reader, text = read(pdf)
    cells = [cell for row in sheet.rows for cell in row.cells if cell is not None]
    assert cells
    for cell in cells:
        assert plain(cell.text) in text
        assert cell.mark in text
    for said in (*CAUTIONS, *sheet.unknown, *sheet.cabinets):
        assert plain(said) in text
    for page in reader.pages:
        fonts = page["/Resources"].get("/Font", {})
        for font in fonts.values():
            below = font.get_object()["/DescendantFonts"][0].get_object()
            assert "/FontFile3" in below["/FontDescriptor"] or "/FontFile2" in below["/FontDescriptor"]
        assert not list(page.images)  # curves and drawing are vectors
    assert "Sourc" in str([f.get_object()["/BaseFont"] for f in fonts.values()])
    return text


def test_a_measured_version(shop: Workshop, measured: DataSheet) -> None:
    """Figures with marks that lead to their takes, conditions, what changed, the cabinet."""
    pdf = data_sheet_pdf(measured, shop, date=DAY)
    text = check(pdf, measured)
    assert len(pypdf.PdfReader(io.BytesIO(pdf)).pages) <= MOST_PAGES
    assert "Godwitv3Trial3" in text
    assert plain("Surround 1.2 mm → 0.6 mm (Deeper bass.)") in text
    assert plain("Hide box: closed, 4 l.") in text
    assert (
        plain("25 dB as long as one decade (IEC 60263)") in text
        or plain("50 dB as long as one decade (IEC 60263)") in text
    )
    row = next(row for row in measured.rows if row.key == "sensitivity_db")
    (cell,) = row.cells
    assert cell is not None
    assert cell.basis == "2 units, 4 takes"
    record = read_mark(shop, cell.mark)
    assert record.value == cell.figure.value
    assert len(record.takes) == 4
    assert (
        b"/Alt" in pypdf.PdfReader(io.BytesIO(pdf)).stream.getvalue()
        or "/StructTreeRoot" in pypdf.PdfReader(io.BytesIO(pdf)).root_object
    )


def test_the_same_input_gives_the_same_bytes(shop: Workshop, measured: DataSheet) -> None:
    """Made anew from the workshop and from a copy of it elsewhere."""
    first = data_sheet_pdf(measured, shop, date=DAY)
    copy = Workshop.open(Path(shutil.copytree(shop.folder, shop.folder.parent / "copy")))
    assert data_sheet_pdf(data_sheet(copy, "godwit/v3"), copy, date=DAY) == first
    assert b"godwit" not in first[:200]
    assert str(shop.folder).encode() not in first


def test_pages_as_pictures(shop: Workshop, measured: DataSheet) -> None:
    """Every page as SVG with its words, and as PNG of the width that was asked for."""
    svg = data_sheet_pages(measured, shop, date=DAY, format="svg")
    assert 1 <= len(svg) <= MOST_PAGES
    assert all(page.startswith(b"<svg") for page in svg)
    png = data_sheet_pages(measured, shop, date=DAY, format="png", width_px=400)
    assert len(png) == len(svg)
    assert int.from_bytes(png[0][16:20], "big") in (399, 400, 401)


def test_only_predicted_and_only_printed(shop: Workshop) -> None:
    """Either is told apart from a measurement, with limits where there is a prediction."""
    foreseen = data_sheet(shop, "sandpiper/v2", limits=False)
    text = check(data_sheet_pdf(foreseen, shop, date=DAY), foreseen)
    assert foreseen.sources == ("predicted",)
    assert plain("Nothing was measured of it: every number is predicted") in text
    assert "Predicted" in text
    printed = data_sheet(shop, "sandpiper/v1")
    text = check(data_sheet_pdf(printed, shop, date=DAY), printed)
    assert printed.sources == ("published",)
    assert plain("Printed by others: Printed table.") in text
    assert plain("No curve of level, impedance and distortion.") in text


def test_measured_beside_predicted(shop: Workshop) -> None:
    """Both stand side by side with marks of their own."""
    loaded = shop.version("godwit/v2")
    shop.save(loaded, loaded.record.changed(parameters=KNOWN))
    both = data_sheet(shop, "godwit/v2", predict=True, limits=False)
    check(data_sheet_pdf(both, shop, date=DAY), both)
    assert both.sources == ("measured", "predicted")
    first, second = next(row for row in both.rows if row.key == "sensitivity_db").cells
    assert first is not None
    assert second is not None
    assert first.mark != second.mark
    assert read_mark(shop, second.mark).source == "predicted"


def test_long_words_do_not_break_it(shop: Workshop) -> None:
    """A title of 300 characters, a summary of 2000, thirty changes: cut where it must be, counted, never lost in silence."""
    loaded = shop.version("godwit/v1")
    changes = tuple(ChangeTable(what=f"Thing {n} " + "long " * 60, after="other") for n in range(30))
    loaded = shop.save(
        loaded, loaded.record.changed(title="Very " * 60, summary="Word " * 400, changes=changes)
    )
    sheet = data_sheet(shop, "godwit/v1")
    pdf = data_sheet_pdf(sheet, shop, date=DAY)
    text = check(pdf, sheet)
    assert re.search(r"And\d+moreonthepageoftheversion", text)
    assert len(pypdf.PdfReader(io.BytesIO(pdf)).pages) <= MOST_PAGES + 1


def test_an_empty_version_is_refused_with_what_to_add(shop: Workshop) -> None:
    """No sheet without a number."""
    with pytest.raises(
        RefusedError, match=r"would be empty.*import the take.*\[published\] or \[parameters\]"
    ):
        data_sheet(shop, "sandpiper/v3")


def test_it_can_be_stopped(shop: Workshop) -> None:
    """Nothing is printed then."""
    token = CancelToken()
    token.cancel()
    with pytest.raises(CancelledError):
        data_sheet(shop, "godwit/v3", progress=token.wrap(lambda done, step: None, "the sheet"))
