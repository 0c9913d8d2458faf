"""Verdicts survive being written down, and the worst one counts."""

from hypothesis import given
from hypothesis import strategies as st

from halfroll.core.verdicts import Severity, Verdict, worst

VERDICTS = st.builds(
    Verdict,
    code=st.text(),
    severity=st.sampled_from(Severity),
    text=st.text(),
    remedy=st.text(),
    data=st.dictionaries(st.text(), st.floats(allow_nan=False) | st.text()),
)


@given(VERDICTS)
def test_round_trip(verdict: Verdict) -> None:
    """Written and read again is the identity."""
    assert Verdict.from_dict(verdict.as_dict()) == verdict


@given(st.lists(VERDICTS))
def test_worst(verdicts: list[Verdict]) -> None:
    """The worst of none is good; else the highest."""
    assert worst(verdicts) == max([Severity.GOOD, *(v.severity for v in verdicts)])
