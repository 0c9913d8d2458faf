"""Weighting A against the table of the standard."""

import pytest

from halfroll.acoustics.weighting import a_weighting
from halfroll.core.levels import db

# IEC 61672-1:2013, Table 3, at exact mid-band frequencies 1000 * 10^(n/10) Hz.
TABLE = [
    (-20, -70.4), (-15, -39.4), (-13, -30.2), (-10, -19.1), (-9, -16.1), (-6, -8.6), (-3, -3.2), (0, 0.0), (3, 1.2),
    (4, 1.3), (6, 1.0), (9, -1.1), (10, -2.5), (12, -6.6), (13, -9.3),
]  # fmt: skip


@pytest.mark.parametrize(("band", "level"), TABLE)
def test_table(band: int, level: float) -> None:
    """Every row within the rounding of the table."""
    assert float(db(a_weighting(1000.0 * 10 ** (band / 10)))) == pytest.approx(level, abs=0.0501)


def test_poles_to_more_digits() -> None:
    """100 Hz: -19.143 dB from the poles of annex E."""
    assert float(db(a_weighting(100.0))) == pytest.approx(-19.143, abs=1e-3)
    assert float(a_weighting(0.0)) == 0.0
