"""Files from a specification, and the same specification in a browser."""

import base64
import io
import json
import struct
from typing import Any

import pytest
from pypdf import PdfReader

from halfroll.publish.comparison import comparison_charts
from halfroll.publish.render import EMBED_OPTIONS, browser_bundle, still, to_pdf, to_png, to_svg
from halfroll.publish.spec import Spec, chart_summary, picture_size
from halfroll.publish.theme import font_face_css, font_files, theme
from tests.publish import samples, svg


@pytest.fixture(scope="module")
def spec() -> Spec:
    """The level chart of three versions."""
    return comparison_charts(samples.comparison(3), theme=theme("light"), width_px=800.0)["level"]


def test_svg_is_whole_and_has_real_text(spec: Spec) -> None:
    """Well-formed XML of the size planned, words as words in the house font, the summary for readers."""
    drawing = to_svg(spec)
    width, height = picture_size(spec)
    assert f'width="{width:g}" height="{height:g}"' in drawing
    assert "v1 first print (base)" in svg.words(drawing)
    assert "Source Sans Pro" in drawing
    assert chart_summary(spec) in drawing


@pytest.mark.parametrize(
    "title", ["a & b < c > d", 'q"uote', "]]> <script>alert(1)</script>", "Ω µ ± ≤ – “”"]
)
def test_any_title_survives(title: str) -> None:
    """Markup in a version's title is text, in the picture and in the summary."""
    charts = comparison_charts(samples.comparison(2, title=title), theme=theme("light"), width_px=900.0)
    for name in ("level", "strip:sensitivity_db"):
        assert f"v2 {title}" in svg.words(to_svg(charts[name]))


@pytest.mark.parametrize("width_px", [800, 1600, 333, 3840])
def test_png_is_as_wide_as_asked(spec: Spec, width_px: int) -> None:
    """Width and height are read from the PNG's own header (PNG specification, IHDR)."""
    data = to_png(spec, width_px)
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    width, height = struct.unpack(">II", data[16:24])
    planned = picture_size(spec)
    assert width == width_px
    assert abs(height - width_px * planned[1] / planned[0]) <= 1.0


def test_pdf_is_one_page_and_the_same_every_time(spec: Spec) -> None:
    """No date, no random mark: two runs differ in no byte."""
    first = to_pdf(spec)
    assert first.startswith(b"%PDF-")
    assert first == to_pdf(spec)
    assert len(PdfReader(io.BytesIO(first)).pages) == 1


def test_a_file_has_nothing_that_waits_for_a_pointer(spec: Spec) -> None:
    """Hover layers and their data stay out; the specification given is left as it was."""
    before = json.dumps(spec)
    fixed = still(spec)
    assert "hover" not in json.dumps(fixed)
    assert "hover" in json.dumps(spec)
    assert json.dumps(spec) == before


def test_remote_data_is_refused() -> None:
    """A specification that points outside is not followed."""
    outside: dict[str, Any] = {
        "layer": [{"data": {"name": "x", "url": "http://192.0.2.1/x.json"}, "mark": "point", "encoding": {}}],
        "datasets": {}, "description": "", "width": 10, "height": 10,
    }  # fmt: skip
    with pytest.raises(ValueError, match=r"192\.0\.2\.1|not allowed|[Ee]xternal"):
        to_svg(outside)


def test_the_bundle_stands_alone() -> None:
    """It defines one name and loads nothing: no import, no script address."""
    bundle = browser_bundle()
    assert 500_000 < len(bundle) < 2_000_000
    assert bundle.startswith("(() => {")
    assert "import(" not in bundle[:2000]
    assert "cdn." not in bundle
    assert "</script" not in bundle


def fonts_inside() -> str:
    """The house font as rules that carry the files themselves."""
    rules = font_face_css("/fonts")
    for name, path in font_files().items():
        rules = rules.replace(
            f"/fonts/{name}", f"data:font/ttf;base64,{base64.b64encode(path.read_bytes()).decode()}"
        )
    return rules


def page_of(specs: dict[str, Spec], locale: dict[str, Any] | None = None) -> str:
    """A page that shows charts, everything inside it."""
    options = {**EMBED_OPTIONS, **({"formatLocale": locale} if locale else {})}
    boxes = "".join(f'<div id="c{i}"></div>' for i in range(len(specs)))
    calls = ",".join(f"vegaEmbed('#c{i}', {json.dumps(s)}, options)" for i, s in enumerate(specs.values()))
    return (
        f"<!doctype html><meta charset=utf-8><style>{fonts_inside()}</style><body>{boxes}<script>{browser_bundle()}</script>"
        f"<script>const options = {json.dumps(options)}; document.fonts.load('13px \"Source Sans Pro\"').then("
        f"() => Promise.all([{calls}])).then(() => document.body.id = 'drawn')</script>"
    )


def words_on(page: Any) -> list[str]:
    """All words of all charts that can be seen."""
    found: list[str] = page.eval_on_selector_all(
        "svg text", "all => all.filter(t => +(t.getAttribute('opacity') ?? 1) > 0).map(t => t.textContent)"
    )
    return found


def test_hovering_reads_every_curve_at_one_frequency(page: Any, spec: Spec) -> None:
    """Over 1 kHz each name gives way to its curve's value there; leaving brings the names back; nothing is fetched."""
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url[:60]))
    complaints: list[str] = []
    page.on("console", lambda message: complaints.append(message.text))
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.set_content(page_of({"level": spec}))
    page.wait_for_selector("#drawn")
    names = [row["name"] for row in spec["datasets"]["names"]]
    assert set(names) <= set(words_on(page))

    box = page.locator("svg").first.bounding_box()
    at_1k = svg.place_of_word(to_svg(spec), "1k")[0]
    page.mouse.move(box["x"] + at_1k - 3, box["y"] + 150)
    page.mouse.move(box["x"] + at_1k, box["y"] + 151)
    page.wait_for_function("[...document.querySelectorAll('svg text')].some(t => t.textContent == '1 kHz')")
    seen = words_on(page)
    for i in range(3):
        curve = samples.level_curve(i)
        at = int(abs(curve.frequency_hz - 1000.0).argmin())
        assert curve.high is not None
        half = curve.high[at] - curve.value[at]
        assert f"{curve.value[at]:.1f} ± {half:.1f} dB" in seen
    assert not set(names) & set(seen)

    page.mouse.move(box["x"] + 5, box["y"] + box["height"] + 60)
    page.wait_for_function("![...document.querySelectorAll('svg text')].some(t => t.textContent == '1 kHz')")
    assert set(names) <= set(words_on(page))
    assert [url for url in asked if not url.startswith("data:")] == []
    assert complaints == []


def test_the_screen_has_the_persons_decimal_comma(page: Any, spec: Spec) -> None:
    """With a locale that writes a comma the marks read 31,5 on screen."""
    comma = {"decimal": ",", "thousands": ".", "grouping": [3], "currency": ["", ""]}
    page.set_content(page_of({"level": spec}, comma))
    page.wait_for_selector("#drawn")
    assert "31,5" in words_on(page)
