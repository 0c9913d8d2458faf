"""Impedance from tables: many shapes are understood alike, and what is wrong is said with its line."""

import csv
import io
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from halfroll.core.errors import InputError
from halfroll.measure.impedances.impedance import ImpedanceCurve
from halfroll.workshop.impedance_columns import find_columns, words_of
from halfroll.workshop.impedance_file import parse_impedance, read_impedance
from halfroll.workshop.number_table import read_number_table

FREQUENCY = np.array([20.0, 31.5, 50.0, 80.0, 125.0, 250.0, 500.0, 1000.0, 5000.0, 20000.0])
IMPEDANCE = 6.5 + 30.0 / (1.0 + 3j * (FREQUENCY / 55.0 - 55.0 / FREQUENCY)) + 0.001j * 2 * np.pi * FREQUENCY
HEAD = ("frequency (Hz)", "modulus (ohm)", "phase (deg)")


def table(
    head: tuple[str, ...] = HEAD,
    *,
    by: str = ",",
    decimal: str = ".",
    columns: tuple[np.ndarray, ...] | None = None,
    before: str = "",
    end: str = "\n",
) -> str:
    """A table as text."""
    columns = columns or (FREQUENCY, np.abs(IMPEDANCE), np.degrees(np.angle(IMPEDANCE)))
    rows = [by.join(f"{v:.9g}".replace(".", decimal) for v in row) for row in zip(*columns, strict=True)]
    return before + end.join([by.join(head), *rows]) + end


def same(curve: ImpedanceCurve) -> None:
    """The curve is the one that was written."""
    np.testing.assert_allclose(curve.frequency_hz, FREQUENCY, rtol=1e-7)
    np.testing.assert_allclose(curve.impedance_ohm, IMPEDANCE, rtol=1e-6)
    assert curve.phase_known


@given(
    by=st.sampled_from(["\t", ";", ",", " ", " ; ", ",  ", "   "]),
    comma=st.booleans(),
    end=st.sampled_from(["\n", "\r\n", "\r"]),
    preamble=st.lists(st.sampled_from(["# measured in the garden", "unit: 3", "", "Date: 2026-03-01, 14:05", "* * *"]), max_size=4),
    names=st.sampled_from([
        HEAD, ("Frequenz [Hz]", "Impedanz |Z| [Ω]", "Phase [°]"), ("frequency_hz", "z_ohm", "phase_deg"), ("Hz", "Ohm", "Deg"),
        ("f/Hz", "|Z|/Ohm", "phi/deg"), ("Fréquence (Hz)", "Impédance (Ohms)", "Phase (degrés)"), ("Freq(Hz)", "Betrag(Ohm)", "Winkel(Grad)"),
    ]),
)  # fmt: skip
@settings(deadline=None)
def test_any_way_of_writing_is_the_same_curve(
    by: str, comma: bool, end: str, preamble: list[str], names: tuple[str, ...]
) -> None:
    """Separator, decimal sign, line ends, lines before and the language of the head do not matter."""
    if comma and by.strip() == ",":  # then the numbers stand in quotes, as spreadsheets write them
        out = io.StringIO()
        writer = csv.writer(out)
        writer.writerow(names)
        for row in zip(FREQUENCY, np.abs(IMPEDANCE), np.degrees(np.angle(IMPEDANCE)), strict=True):
            writer.writerow([f"{v:.9g}".replace(".", ",") for v in row])
        text = out.getvalue()
    else:
        text = table(names, by=by, decimal="," if comma else ".", end=end)
    same(parse_impedance("".join(f"{line}{end}" for line in preamble) + text, "t.csv"))


def test_units_are_turned() -> None:
    """Kilohertz, kiloohms and radians; real and imaginary part in place of modulus and phase."""
    same(
        parse_impedance(
            table(
                ("f (kHz)", "Z (kOhm)", "phase (rad)"),
                columns=(FREQUENCY / 1e3, np.abs(IMPEDANCE) / 1e3, np.angle(IMPEDANCE)),
            ),
            "t",
        )
    )
    for head in (("f (Hz)", "Re(Z) (ohm)", "Im(Z) (ohm)"), ("hz", "real_ohm", "imag_ohm"), ("f [Hz]", "Z' [Ω]", "Z'' [Ω]"),
                 ("Frequenz (Hz)", "Realteil (Ohm)", "Imaginärteil (Ohm)")):  # fmt: skip
        same(parse_impedance(table(head, columns=(FREQUENCY, IMPEDANCE.real, IMPEDANCE.imag)), "t"))


def test_what_else_stands_in_a_table_is_passed_over() -> None:
    """Other columns, remarks among the rows, a line of units under the names, a column of uncertainty."""
    extra = np.full(len(FREQUENCY), 1.5)
    curve = parse_impedance(
        table(
            ("sound (dB)", *HEAD, "drive (V)", "u_ohm"),
            columns=(extra, FREQUENCY, np.abs(IMPEDANCE), np.degrees(np.angle(IMPEDANCE)), extra, extra / 10),
        ),
        "t",
    )
    same(curve)
    np.testing.assert_allclose(curve.u_ohm, 0.15)
    lines = table(("f", "Z", "phase"), by="\t").split("\n")
    same(
        parse_impedance("\n".join([lines[0], "Hz\tohm\tdeg", *lines[1:4], "# a pause", "", *lines[4:]]), "t")
    )
    same(parse_impedance("# f Z phase\n" + table(by=" ").partition("\n")[2], "t"))


def test_bytes() -> None:
    """UTF-8 with a mark, UTF-16 and Latin-1 give the same; anything else is refused."""
    text = table(("Frequenz (Hz)", "Betrag (Ohm)", "Phase (°)"))
    for coding in ("utf-8-sig", "utf-16", "latin-1"):
        same(read_impedance(text.encode(coding), "t"))
    with pytest.raises(InputError, match="binary"):
        read_impedance(b"PK\x03\x04\0\0\0", "t")


def test_without_phase() -> None:
    """A table of moduli is a curve whose phase is unknown, and that is said; so are units that were assumed."""
    curve = parse_impedance(table(("f", "Z"), columns=(FREQUENCY, np.abs(IMPEDANCE))), "t")
    assert not curve.phase_known
    assert {v.code for v in curve.verdicts} == {"phase-unknown", "units-assumed"}


def changed(row: int, column: int, cell: str) -> str:
    """The table with one cell replaced; row 0 is the first under the head, in line 2."""
    lines = table().split("\n")
    cells = lines[row + 1].split(",")
    cells[column] = cell
    lines[row + 1] = ",".join(cells)
    return "\n".join(lines)


MODULUS, DEGREES = np.abs(IMPEDANCE), np.degrees(np.angle(IMPEDANCE))


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        (table(columns=(FREQUENCY[::-1], MODULUS, DEGREES)), 3, "ascend from row to row; found 5000 after 20000"),
        (changed(3, 0, "50"), 5, "may stand in a table once; found 50 after 50"),
        (changed(0, 0, "0"), 2, "above 0"),
        (table(("f (Hz)", "Z (ohm)", "phase (deg)"), columns=(FREQUENCY / 1e3, MODULUS, DEGREES)), 11, "write kHz"),
        (table(("f (kHz)", "Z (ohm)", "phase (deg)")), 11, "write Hz"),
        (changed(2, 1, "n/a"), 4, "must be a number; found 'n/a'"),
        (changed(2, 1, "-6.5"), 4, "must be above zero; found -6.5"),
        (changed(2, 1, "6,5"), 4, "as many numbers as there are columns"),
        (changed(2, 2, "250"), 4, "within 180 degrees"),
        (table(("f (Hz)", "Z (ohm)", "phase (rad)")), 2, "within π"),
        (table(columns=(FREQUENCY, MODULUS, np.radians(DEGREES))), 1, "write rad"),
        (table(("f (Hz)", "Z (dB)", "phase (deg)")), 1, "in ohms, not in decibels"),
        (table(("f (Hz)", "Z (V)", "phase (deg)")), 1, "not one halfroll knows; found V"),
        (table(("f (Hz)", "sound", "phase (deg)")), 1, "the phase has no modulus beside it"),
        (table(("f (Hz)", "real (ohm)", "note")), 1, "no imaginary part beside it"),
        (table(("time (s)", "Z (ohm)", "phase (deg)")), 1, "must be the frequency"),
        (table(("f (Hz)", "Z left (ohm)", "Z right (ohm)")), 1, "Only one column may be the modulus"),
        (table(("f (Hz)", "Z (ohm)", "phase (ohm)")), 1, "does not fit its name"),
        ("\n".join(table().split("\n")[1:]), 1, "must name the columns"),
        (changed(2, 1, "1,234.5"), 4, "as many numbers"),
        (table(by=";").replace("6.", "6,"), None, "one decimal sign"),
        ("\n".join(table().split("\n")[:6]), None, "8 rows"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_said_with_its_line(text: str, line: int | None, words: str) -> None:
    """File, line, what was found and what is allowed stand in the message."""
    with pytest.raises(InputError) as caught:
        parse_impedance(text, "garden.csv")
    assert words in str(caught.value)
    assert caught.value.place.file == "garden.csv"
    assert line is None or caught.value.place.line == line
    assert "Traceback" not in str(caught.value)


@given(st.text(max_size=300) | st.binary(max_size=300).map(lambda b: b.decode("latin-1")))
@settings(deadline=None, max_examples=200)
def test_no_text_brings_it_down(text: str) -> None:
    """Whatever a file holds, it is a curve or an `InputError`."""
    try:
        read_impedance(text.encode("utf-8", "surrogatepass"), "t")
    except InputError:
        return


def test_words() -> None:
    """Words of a head, units among them."""
    assert words_of("Impedanz |Z| [Ω]") == ["impedanz", "z", "ohm"]
    columns = find_columns(("f_hz", "re_z_ohm", "im_z_ohm"), file="t", line=1)
    assert set(columns) == {"frequency", "real", "imaginary"}


def test_rows_keep_their_lines() -> None:
    """Lines are those of the file, blank ones and the preamble counted."""
    found = read_number_table("made by hand\n\na;b\n\n1;2\n3;4\n# five\n5;6\n", "t")
    assert (found.head_line, found.lines) == (3, (5, 6, 8))


REAL = Path(__file__).parents[1] / "references" / "maker_driver_F144" / "impedance_F144W.csv"


def test_a_table_a_maker_published() -> None:
    """344 points of a hand-built 12 inch driver, 1.029 Hz to 20.64 kHz, as its provenance states (Apache-2.0)."""
    curve = read_impedance(REAL.read_bytes(), "impedance_F144W.csv")
    assert len(curve.frequency_hz) == 344
    assert (curve.frequency_hz[0], curve.frequency_hz[-1]) == pytest.approx((1.029, 20642), rel=1e-4)
    assert curve.phase_known
    assert curve.verdicts == ()
    assert abs(curve.impedance_ohm[0]) == pytest.approx(6.558)
    assert np.degrees(np.angle(curve.impedance_ohm[0])) == pytest.approx(2.958)
