"""Curves as CSV: what stands in the file, and what is wrong with it, by line."""

from pathlib import Path

import pytest

from halfroll.core.errors import InputError
from halfroll.workshop.curve_file import read_curve

GOOD = "# from a leaflet, read off by ruler\nfrequency_hz,spl_db\n\n20, 61.5\n31.5,70\n1e3,84.0\n"


def test_a_curve_is_read(tmp_path: Path) -> None:
    """Comments and empty lines are passed over; numbers may be written in any way a computer writes them."""
    (tmp_path / "c.csv").write_bytes(b"\xef\xbb\xbf" + GOOD.replace("\n", "\r\n").encode())
    curve = read_curve(tmp_path / "c.csv", ("spl_db", "thd_percent"))
    assert curve["frequency_hz"] == pytest.approx([20, 31.5, 1000])
    assert curve["spl_db"] == pytest.approx([61.5, 70, 84])


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            "frequency_hz",
            "f",
            r":2: The first line must name the columns.*found f,spl_db. Allowed: frequency_hz, then spl_db",
        ),
        ("spl_db", "spl", ":2: The first line must name the columns"),
        (",spl_db", ";spl_db", ":2: The first line must name the columns"),
        (
            "31.5,70",
            "31.5;70",
            ":5: Every line must have as many numbers as there are columns.*decimal points",
        ),
        ("31.5,70", "31,5,70", ":5: Every line must have as many numbers"),
        ("31.5,70", "31.5,loud", r":5, spl_db: spl_db must be a number; found 'loud'"),
        ("31.5,70", "31.5,nan", ":5, spl_db: spl_db must be a number"),
        (
            "31.5,70",
            "20,70",
            r":5, frequency_hz: Frequencies of a curve must be above 0 Hz and ascending; found 20",
        ),
        ("20, 61.5", "0,61.5", ":4, frequency_hz: Frequencies .* found 0"),
        ("31.5,70\n1e3,84.0\n", "", "two points at least; found 1"),
        (GOOD, "# nothing\n", "The curve file is empty"),
    ],
)
def test_what_is_wrong_is_said(tmp_path: Path, old: str, new: str, said: str) -> None:
    """File, line and what is allowed."""
    assert old in GOOD
    (tmp_path / "c.csv").write_text(GOOD.replace(old, new))
    with pytest.raises(InputError, match=said):
        read_curve(tmp_path / "c.csv", ("spl_db", "thd_percent"))
