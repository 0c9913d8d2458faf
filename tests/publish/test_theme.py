"""The look: colours from their source, contrast by the WCAG definition, styles that differ, fonts that are there."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfroll.core.errors import InputError
from halfroll.publish.theme import (
    CURVE_CONTRAST,
    TEXT_CONTRAST,
    contrast,
    css_variables,
    font_face_css,
    font_files,
    theme,
    theme_names,
)

OKABE_ITO = {"#000000", "#e69f00", "#56b4e9", "#009e73", "#f0e442", "#0072b2", "#d55e00", "#cc79a7"}
"""Okabe and Ito, "Color Universal Design" (2008): RGB of the eight colours, from memory."""

COLOUR = st.integers(0, 0xFFFFFF).map(lambda n: f"#{n:06x}")


@pytest.mark.parametrize(
    ("first", "second", "ratio"),
    [
        ("#000000", "#ffffff", 21.0),  # WCAG 2.2, definition of contrast ratio: the largest there is
        ("#ffffff", "#ffffff", 1.0),  # ... and the smallest
        ("#777777", "#ffffff", 4.48),  # the well-known grey that just fails AA (common practice, no source)
        ("#767676", "#ffffff", 4.54),  # ... and the one that just passes
        ("#ff0000", "#ffffff", 4.00),  # 1.05 / (0.2126 + 0.05), by hand
        ("#0000ff", "#ffffff", 8.59),  # 1.05 / (0.0722 + 0.05), by hand
    ],
)
def test_contrast_follows_the_wcag_definition(first: str, second: str, ratio: float) -> None:
    """Known pairs come out to two digits."""
    assert contrast(first, second) == pytest.approx(ratio, abs=0.005)


@given(COLOUR, COLOUR)
def test_contrast_is_symmetric_and_bounded(first: str, second: str) -> None:
    """The order does not matter; the range is 1 to 21."""
    assert contrast(first, second) == contrast(second, first)
    assert 1.0 <= contrast(first, second) <= 21.0 + 1e-9


@pytest.mark.parametrize("name", theme_names())
def test_text_meets_wcag_aa_on_both_grounds(name: str) -> None:
    """Every colour that words are written in has 4.5 to 1 on paper and on what lies on it."""
    p = theme(name).palette
    for ground in (p.paper, p.raised):
        for colour in (p.ink, p.quiet, p.grey, p.accent):
            assert contrast(colour, ground) >= TEXT_CONTRAST
    assert contrast(p.on_accent, p.accent) >= TEXT_CONTRAST


@pytest.mark.parametrize("name", theme_names())
def test_lines_and_curves_can_be_seen(name: str) -> None:
    """Axes, hatching and curves have 3 to 1; a paler curve colour is outlined in ink, which has more."""
    look = theme(name)
    p = look.palette
    assert min(contrast(p.line, p.paper), contrast(p.hatch, p.paper)) >= CURVE_CONTRAST
    for style in look.series:
        assert style.cased == (contrast(style.colour, p.paper) < CURVE_CONTRAST)
    assert contrast(p.ink, p.paper) >= CURVE_CONTRAST


@pytest.mark.parametrize("name", theme_names())
def test_curve_colours_are_okabe_and_ito(name: str) -> None:
    """All eight, with the palette's ink in the place of black."""
    look = theme(name)
    colours = {"#000000" if s.colour == look.palette.ink else s.colour for s in look.series}
    assert colours == OKABE_ITO


def test_curves_differ_without_colour() -> None:
    """Eight dashes and eight markers, so a photocopy still reads; 64 curves in a row are all different."""
    look = theme("print")
    assert len({s.dash for s in look.series}) == len({s.marker for s in look.series}) == 8
    first = [look.style(i) for i in range(64)]
    assert all(a != b for a, b in itertools.combinations(first, 2))


def test_dashes_grow_with_the_line() -> None:
    """A slide's thick line keeps the proportions of the screen's."""
    screen, slide = theme("light"), theme("slide")
    ratio = slide.sizes.curve / screen.sizes.curve
    for a, b in zip(screen.series, slide.series, strict=True):
        assert b.dash == pytest.approx([ratio * length for length in a.dash], abs=0.01)


def test_unknown_theme_names_the_choices() -> None:
    """A wrong word is answered with the right ones."""
    with pytest.raises(InputError, match="light, dark, print"):
        theme("sepia")


def test_fonts_are_on_this_machine_and_described_for_a_page() -> None:
    """Each file exists, is a TrueType font, and has its rule."""
    rules = font_face_css("/fonts/")
    for name, path in font_files().items():
        assert path.read_bytes()[:4] == b"\x00\x01\x00\x00"
        assert f"url('/fonts/{name}')" in rules
    assert "http" not in rules


def test_pages_read_the_same_colours() -> None:
    """The style sheet's variables are the palette's."""
    variables = css_variables(theme("dark"))
    assert variables["--paper"] == theme("dark").palette.paper
    assert variables["--on-accent"] == theme("dark").palette.on_accent
    assert variables["--series-2"] == "#0072b2"
