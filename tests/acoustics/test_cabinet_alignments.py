"""Alignments against the tables of Thiele (1971) and Small (1972/73), as far as the exact polynomials bear them out."""

import math

import pytest

from halfroll.acoustics.cabinet.alignments import (
    butterworth_qts,
    closed_alignment,
    closed_f3_ratio,
    closed_peak_db,
    coefficients,
    squares,
    vented_alignment,
)
from halfroll.core.errors import InputError

THIELE = (
    (1, "QB3", 0.180, 2.6792, 1.9968, 0.0957), (2, "QB3", 0.209, 2.2738, 1.7298, 0.1342), (3, "QB3", 0.259, 1.7721, 1.4133, 0.2244),
    (4, "QB3", 0.303, 1.4481, 1.2244, 0.3393), (6, "C4", 0.415, 0.8663, 0.9277, 0.9498), (7, "C4", 0.466, 0.7260, 0.8270, 1.3807),
    (8, "C4", 0.518, 0.6414, 0.7553, 1.7926), (9, "C4", 0.557, 0.6001, 0.7177, 2.0583), (9.5, "C4", 0.625, 0.5531, 0.6731, 2.4331),
)  # fmt: skip
"""Thiele's lossless alignments (JAES 19, 1971, table 1): number, type, Qt; f3/fs, fb/fs, Vb/Vas from an independent solution of the polynomials."""


@pytest.mark.parametrize(("number", "shape", "qt", "f3", "fb", "volume"), THIELE)
def test_thiele_rows(number: float, shape: str, qt: float, f3: float, fb: float, volume: float) -> None:
    """Every lossless row, to the digits of the table."""
    found = vented_alignment(qt)
    assert found.shape == shape
    assert found.f3_ratio == pytest.approx(f3, abs=6e-5)
    assert found.tuning_ratio == pytest.approx(fb, abs=6e-5)
    assert found.volume_ratio == pytest.approx(volume, abs=6e-5)


@pytest.mark.parametrize(
    ("qt", "f3", "fb", "volume", "within"),
    [(0.180, 2.68, 2.0, 0.0954, 0.005), (0.303, 1.45, 1.23, 0.339, 0.005), (0.415, 0.867, 0.927, 0.9479, 0.003), (0.557, 0.600, 0.716, 2.062, 0.003)],
)  # fmt: skip
def test_thiele_as_printed(qt: float, f3: float, fb: float, volume: float, within: float) -> None:
    """The printed digits of Thiele's table (quoted from memory), which he rounded."""
    found = vented_alignment(qt)
    assert (found.f3_ratio, found.tuning_ratio, found.volume_ratio) == pytest.approx(
        (f3, fb, volume), rel=within
    )


def test_b4() -> None:
    """Row 5, B4: Qt 0.3827, f3 = fb = fs, Vb/Vas 0.7071."""
    found = vented_alignment(1.0 / 2.613126)
    assert found.shape == "B4"
    assert (found.f3_ratio, found.tuning_ratio, found.volume_ratio) == pytest.approx(
        (1.0, 1.0, 0.70711), abs=1e-5
    )


@pytest.mark.parametrize(
    ("leak_q", "qts", "alpha"), [(3, 0.4386, 0.6543), (5, 0.4144, 0.9316), (7, 0.4048, 1.0613), (10, 0.3979, 1.1629), (15, 0.3927, 1.2444)]
)  # fmt: skip
def test_b4_with_leak(leak_q: float, qts: float, alpha: float) -> None:
    """B4 with box losses (Small, JAES 21, 1973); the row of QL 7, 0.4048 and 1.0613, stands in print."""
    assert butterworth_qts(leak_q) == pytest.approx(qts, abs=5e-5)
    found = vented_alignment(butterworth_qts(leak_q), leak_q)
    assert 1.0 / found.volume_ratio == pytest.approx(alpha, abs=5e-5)
    assert found.f3_ratio == pytest.approx(1.0, abs=1e-6)


@pytest.mark.parametrize(
    ("qts", "alpha", "h", "f3"), [(0.25, 4.5822, 1.5629, 1.9667), (0.30, 2.8452, 1.3145, 1.5732), (0.35, 1.7964, 1.1395, 1.2702)]
)  # fmt: skip
def test_qb3_with_leak(qts: float, alpha: float, h: float, f3: float) -> None:
    """QB3, QL 7 (Small 1973; values by an independent solution)."""
    found = vented_alignment(qts, 7.0)
    assert (1.0 / found.volume_ratio, found.tuning_ratio, found.f3_ratio) == pytest.approx(
        (alpha, h, f3), abs=6e-5
    )


def test_qb3_is_one() -> None:
    """QB3 by its definition: the w⁶ and w⁴ terms of 1/|G|² vanish, the w² term does not."""
    found = vented_alignment(0.28, 7.0)
    one, two, three = squares(coefficients(1.0 / found.volume_ratio, found.tuning_ratio, 0.28, 7.0))
    assert abs(one) < 1e-9
    assert abs(two) < 1e-9
    assert three > 0.1


def test_design_example() -> None:
    """Fs 30 Hz, Vas 100 l, Qts 0.303: Vb 33.93 l, fb 36.73 Hz, f3 43.44 Hz (Thiele's row 4 used)."""
    found = vented_alignment(0.303)
    assert (100 * found.volume_ratio, 30 * found.tuning_ratio, 30 * found.f3_ratio) == pytest.approx(
        (33.93, 36.73, 43.44), abs=6e-3
    )


@pytest.mark.parametrize(
    ("qtc", "f3", "peak"),
    [(0.5, 1.5538, 0.0), (1 / math.sqrt(3), 1.2720, 0.0), (math.sqrt(0.5), 1.0, 0.0), (0.8, 0.8972, 0.213), (0.9, 0.8295, 0.688),
     (1.0, 0.7862, 1.249), (1.1, 0.7567, 1.833), (1.2, 0.7358, 2.412), (1.5, 0.6993, 4.033)],
)  # fmt: skip
def test_closed(qtc: float, f3: float, peak: float) -> None:
    """f3/fc and peak of a closed cabinet (Small, JAES 20, 1972)."""
    assert closed_f3_ratio(qtc) == pytest.approx(f3, abs=6e-5)
    assert closed_peak_db(qtc) == pytest.approx(peak, abs=6e-4)


def test_closed_volume() -> None:
    """The worked driver in 5 l: α 4.495161, Qtc 1.222817, backwards."""
    found = closed_alignment(0.5216405, 1.222817)
    assert 1.0 / found.volume_ratio == pytest.approx(4.495161, rel=2e-6)
    assert 48.42931 * found.fc_ratio == pytest.approx(113.52682, rel=1e-6)


def test_no_alignment() -> None:
    """What cannot be is said, with the value."""
    with pytest.raises(InputError, match=r"above the driver's own Qts of 0.8.*0.7"):
        closed_alignment(0.8, 0.7)
    with pytest.raises(InputError, match=r"0.1 to 0.8.*1.3"):
        vented_alignment(1.3)
