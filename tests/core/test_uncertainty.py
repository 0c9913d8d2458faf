"""Combined and expanded uncertainty against JCGM 100:2008 and the t table; coverage of shared sources."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfroll.core.uncertainty import Sources, coverage_factor, welch_satterthwaite

# JCGM 100:2008 Table G.2 (columns 95 %, 95.45 %, 99 %), from memory; equal to Student's t to the digits printed.
TABLE_G2 = {1: (12.71, 13.97, 63.66), 2: (4.30, 4.53, 9.92), 3: (3.18, 3.31, 5.84), 4: (2.78, 2.87, 4.60),
            5: (2.57, 2.65, 4.03), 10: (2.23, 2.28, 3.17), 20: (2.09, 2.13, 2.85), 50: (2.01, 2.05, 2.68)}  # fmt: skip


def test_gum_h1_end_gauge() -> None:
    """JCGM 100:2008 H.1 (inputs from memory): parts of 25, 9.7, 2.9 and 16.6 nm with 18, 25.6, 50 and 2 degrees of
    freedom give u_c = 32 nm, 16.7 effective degrees of freedom, t_99(16) = 2.92 and U_99 = 93 nm.
    """
    parts = [(25.0, 18.0), (9.7, 25.6), (2.9, 50.0), (16.6, 2.0)]
    dof = welch_satterthwaite(parts)
    combined = math.sqrt(sum(u**2 for u, _ in parts))
    # Printed from u_c² = 1002 nm²; the rounded parts add up to 1003 nm² and give 16.76.
    assert dof == pytest.approx(16.7, abs=0.07)
    assert combined == pytest.approx(32.0, abs=0.5)
    assert coverage_factor(math.floor(dof), 0.99) == pytest.approx(2.92, abs=0.005)
    # The published 93 nm is 2.92 times the rounded 32 nm; unrounded it is 92.5 nm.
    assert coverage_factor(math.floor(dof), 0.99) * combined == pytest.approx(93.0, abs=1.0)


@pytest.mark.parametrize("dof", TABLE_G2)
def test_table_g2(dof: int) -> None:
    """Student's t as in JCGM 100:2008 Table G.2."""
    found = [coverage_factor(dof, p) for p in (0.95, 0.9545, 0.99)]
    assert found == pytest.approx(TABLE_G2[dof], abs=0.0055)


def test_known_without_doubt() -> None:
    """Parts with infinite degrees of freedom leave the normal 1.96."""
    assert math.isinf(welch_satterthwaite([(1.0, math.inf), (0.0, 2.0)]))
    assert coverage_factor(math.inf) == pytest.approx(1.95996, abs=1e-5)


def test_repeatability_limits() -> None:
    """Two single results differ by less than 2.77 s_r in 95 % of cases (ISO 5725-6, usually rounded to 2.8); with s_r
    known from five repeats by less than 3.9265 s_r.
    """
    assert coverage_factor(math.inf) * math.sqrt(2) == pytest.approx(2.7719, abs=1e-4)
    assert coverage_factor(4) * math.sqrt(2) == pytest.approx(3.9265, abs=5e-5)


@given(st.floats(0.01, 10), st.floats(0.01, 10), st.floats(1, 50), st.floats(1, 50))
def test_effective_dof_lies_between(u1: float, u2: float, dof1: float, dof2: float) -> None:
    """JCGM 100:2008 G.4.1: never less than the smallest, never more than the sum."""
    dof = welch_satterthwaite([(u1, dof1), (u2, dof2)])
    assert min(dof1, dof2) - 1e-9 <= dof <= dof1 + dof2 + 1e-9


def test_shared_source_cancels() -> None:
    """Two levels with the same microphone differ by their own spread only."""
    sources = Sources()
    microphone = sources.source(("microphone", "bench"))
    a = 86.0 + 0.5 * microphone + 0.1 * sources.source("a", dof=2)
    b = 84.0 + 0.5 * microphone + 0.1 * sources.source("b", dof=2)
    assert a.std_dev == pytest.approx(math.hypot(0.5, 0.1))
    assert (a - b).std_dev == pytest.approx(0.1 * math.sqrt(2))
    assert sources.dof(a - b) == pytest.approx(4.0)


def test_one_estimate_counts_once() -> None:
    """Two means whose spread comes from one pooled estimate share its degrees of freedom."""
    sources = Sources()
    a = sources.source("a", dof=6, estimate="pooled")
    b = sources.source("b", dof=6, estimate="pooled")
    assert sources.dof(a - b) == pytest.approx(6.0)


def test_a_source_is_made_once() -> None:
    """The same name gives the same source."""
    sources = Sources()
    assert sources.source("x") is sources.source("x")
    assert sources.source("x") is not sources.source("y")
