"""The table of rules: complete, readable, and printed in the reference."""

from pathlib import Path

from halfroll.figures.rules import HEADLINES, RULE, RULES, docs_table
from halfroll.figures.types import FigureSettings

PAGE = Path(__file__).parents[2] / "docs" / "reference" / "figures.md"


def test_reference_is_current() -> None:
    """docs/reference/figures.md is what the table says."""
    assert PAGE.read_text(encoding="utf-8") == docs_table(), "Write the page anew: python docs/generate.py"


def test_settings_stand_in_the_rule() -> None:
    """Bands, level, limit rule and reference of THD are named beside the number."""
    chosen = FigureSettings(
        distortion_band_hz=(50.0, 100.0), limit_rule="minus_6", thd_reference="fundamental", level_w=2.0
    )
    thd = RULE["thd_mean_percent"].text(chosen).replace("\u202f", " ")
    assert "50 to 100 Hz" in thd
    assert "fundamental" in thd
    assert "2 W" in thd
    assert "6 dB below the mean level in 200 to 2000" in RULE["lower_limit_hz"].text(chosen).replace(
        "\u202f", " "
    )


def test_keys_are_unique_and_carry_their_unit() -> None:
    """A key ends with its unit, so that a number in JSON explains itself."""
    endings = {
        "dB": "_db", "Hz": "_hz", "%": "_percent", "ohm": "_ohm", "": ("qms", "qes", "qts"), "mH": "_mh", "g": "_g", "l": "_l",
        "mm/N": "_mm_per_n", "N·s/m": "_ns_per_m", "N/A": "_n_per_a",
    }  # fmt: skip
    assert len(RULE) == len(RULES)
    assert all(rule.key.endswith(endings[rule.unit]) for rule in RULES)


def test_headlines() -> None:
    """Four figures stand in the overview."""
    assert HEADLINES == ("sensitivity_db", "lower_limit_hz", "thd_mean_percent", "max_level_db")
