"""Photographs: told by their bytes, stripped of where they were taken (Pillow makes and reads them), missing ones said, bad ones refused."""

import io
import struct

import numpy as np
import pytest
from PIL import Image

from halfroll.core.errors import InputError
from halfroll.workshop.photographs import (
    add_photograph,
    photographs_of,
    read_photograph,
    remove_photograph,
    said_of,
)
from halfroll.workshop.picture_bytes import LARGEST_BYTES, picture_of
from halfroll.workshop.records import DriverRecord, UnitRecord, VersionRecord
from halfroll.workshop.store import Workshop

GPS_IFD, ORIENTATION, MAKER = 0x8825, 0x0112, 0x010F
PIXELS = np.random.default_rng(2).integers(0, 255, (24, 32, 3), dtype=np.uint8)


def photograph(kind, *, turned=6):
    """A picture with the camera's maker, a place and a comment in it."""
    exif = Image.Exif()
    exif[MAKER], exif[ORIENTATION] = "Saltmarsh", turned
    exif.get_ifd(GPS_IFD).update({1: "N", 2: (52.0, 58.0, 0.0), 3: "E", 4: (0.0, 51.0, 0.0)})
    file, more = io.BytesIO(), {"comment": b"behind the third house"} if kind == "JPEG" else {}
    Image.fromarray(PIXELS).save(file, kind, exif=exif, **more)
    return file.getvalue()


@pytest.fixture
def shop(tmp_path):
    """A unit without photographs."""
    made = Workshop.init(tmp_path / "shop", "Saltmarsh", durable=False)
    made.create_driver("redshank", DriverRecord(title="Redshank"))
    made.create_version("redshank", "v1", VersionRecord())
    made.create_unit("redshank/v1", "01", UnitRecord())
    return made


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_the_place_is_taken_out_and_the_picture_stays(kind):
    """No place, maker or comment any more, and the same pixels, as Pillow reads them."""
    data = photograph(kind)
    assert Image.open(io.BytesIO(data)).getexif().get_ifd(GPS_IFD), "the sample has a place"
    found = picture_of(data)
    after = Image.open(io.BytesIO(found.data))
    assert (found.format, found.width, found.height) == (kind.lower(), 32, 24)
    assert not after.getexif().get_ifd(GPS_IFD)
    assert MAKER not in after.getexif()
    assert b"Saltmarsh" not in found.data
    assert b"third house" not in found.data
    assert "Exif" in found.taken_out
    assert np.array_equal(np.asarray(after), np.asarray(Image.open(io.BytesIO(data))))


def test_which_side_is_up_stays():
    """Only the orientation, and that only where it says something."""
    after = Image.open(io.BytesIO(picture_of(photograph("JPEG", turned=6)).data))
    assert dict(after.getexif()) == {ORIENTATION: 6}
    assert not dict(Image.open(io.BytesIO(picture_of(photograph("JPEG", turned=1)).data)).getexif())


def test_a_film_behind_the_picture_is_taken_out():
    """Telephones hang films behind the end of a JPEG."""
    found = picture_of(photograph("JPEG") + b"a film with sound")
    assert b"film" not in found.data
    assert "data after the picture" in found.taken_out


def test_progressive_scans_stay_whole():
    """Several scans with tables between them."""
    file = io.BytesIO()
    Image.fromarray(PIXELS).save(file, "JPEG", progressive=True, quality=95)
    found = picture_of(file.getvalue())
    assert np.array_equal(np.asarray(Image.open(io.BytesIO(found.data))), np.asarray(Image.open(file)))


@pytest.mark.parametrize(("data", "words"), [
    (b"", "an empty file"), (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "SVG"), (b"\0\0\0\x18ftypheic0000", "HEIC"), (b"MZ" + 60 * b"\0", "another kind"),
])  # fmt: skip
def test_what_is_no_photograph_is_refused(data, words):
    """Whatever its name says; with what it is instead."""
    with pytest.raises(InputError, match=r"JPEG, PNG or WebP.*") as refused:
        picture_of(data, file="01.jpg")
    assert words in str(refused.value)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_cut_off_file_is_refused(kind):
    """Wherever it ends."""
    data = photograph(kind)
    for length in (12, 30, len(data) // 2, len(data) - 8):
        with pytest.raises(InputError):
            picture_of(data[:length])


def test_too_large_ones_are_refused():
    """By bytes, and by the pixels its head claims."""
    with pytest.raises(InputError, match="too large"):
        picture_of(b"\xff\xd8\xff" + bytes(LARGEST_BYTES))
    file = io.BytesIO()
    Image.new("1", (8, 8)).save(file, "PNG")
    wide = file.getvalue().replace(struct.pack(">II", 8, 8), struct.pack(">II", 60_000, 60_000), 1)
    with pytest.raises(InputError, match="60000 by 60000"):
        picture_of(wide)


def test_one_is_copied_in_named_and_taken_out_again(shop):
    """A plain free name; the same one twice is refused; the file goes with its entry."""
    saved, table, picture = add_photograph(
        shop, "redshank/v1/01", "IMG 0001 (mine).JPEG", photograph("JPEG"), "The coil before it is glued in."
    )
    assert table.file == "img-0001-mine.jpg"
    (one,) = photographs_of(shop, "redshank/v1/01")
    assert (one.state, one.shows) == ("there", "The coil before it is glued in.")
    assert one.path.read_bytes() == picture.data
    assert shop.unit("redshank/v1/01").record.photographs == saved.record.photographs
    with pytest.raises(InputError, match="there already"):
        add_photograph(shop, "redshank/v1/01", "other.jpg", photograph("JPEG"), "The same.")
    _, second, _ = add_photograph(
        shop, "redshank/v1/01", "img-0001-mine.jpg", photograph("JPEG", turned=1), "Upright."
    )
    assert second.file == "img-0001-mine-2.jpg"
    remove_photograph(shop, "redshank/v1/01", table.file)
    assert not one.path.exists()
    assert [found.file for found in photographs_of(shop, "redshank/v1/01")] == [second.file]


def test_a_missing_or_changed_one_is_said_and_no_crash(shop):
    """Both are named; a changed one is still shown without its place."""
    add_photograph(shop, "redshank/v1/01", "a.png", photograph("PNG"), "The stack.")
    (one,) = photographs_of(shop, "redshank/v1/01")
    one.path.write_bytes(photograph("PNG", turned=3))
    assert [v.code for v in said_of(photographs_of(shop, "redshank/v1/01"))] == ["photograph-changed"]
    assert not Image.open(io.BytesIO(read_photograph(shop, "redshank/v1/01", "a.png").data)).getexif()
    one.path.unlink()
    (verdict,) = said_of(photographs_of(shop, "redshank/v1/01"))
    assert verdict.code == "photograph-missing"
    assert "a.png" in verdict.text
    with pytest.raises(InputError, match="missing"):
        read_photograph(shop, "redshank/v1/01", "a.png")


def test_nothing_is_written_where_something_lacks(shop):
    """No words, no such file, no way out of the folder."""
    with pytest.raises(InputError, match="what it shows"):
        add_photograph(shop, "redshank/v1/01", "a.png", photograph("PNG"), "  ")
    with pytest.raises(InputError, match="name the photograph"):
        remove_photograph(shop, "redshank/v1/01", "a.png")
    with pytest.raises(InputError, match="name the photograph"):
        read_photograph(shop, "redshank/v1/01", "../unit.toml")
    assert not (shop.unit("redshank/v1/01").path.parent / "photographs").exists()
