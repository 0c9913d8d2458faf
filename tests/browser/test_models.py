"""Models on their build plate in a real browser: drawn, turned by hand and key, on paper, and taken away."""

from __future__ import annotations

import io
import re

import trimesh
from playwright.sync_api import Page, expect

from halfroll.workshop import DriverRecord, VersionRecord, Workshop
from halfroll.workshop.motor_design import EXAMPLE as MOTOR
from tests.browser.conftest import PATIENCE_MS, Notes, Served
from tests.browser.manners import can_be_listened_to
from tests.cli.test_models import MOVING

COLOURS = """() => { const c = document.querySelector('.preview canvas');
  const data = new Uint32Array(c.getContext('2d').getImageData(0, 0, c.width, c.height).data.buffer);
  let drawn = 0; const seen = new Set();
  for (const one of data) if (one >>> 24) { drawn++; seen.add(one); }
  return { share: drawn / data.length, colours: seen.size, sum: data.reduce((a, b) => (a * 31 + b) >>> 0, 7) }; }"""
"""What share of the canvas is drawn on, in how many colours, and a number that changes with the picture."""


def _knot(served: Served, moving: str = MOVING) -> str:
    """A version with motor, surround and cone; its address."""
    shop = Workshop.open(served.folder)
    shop.create_driver("knot", DriverRecord(title="Knot"))
    loaded = shop.create_version("knot", "v1", VersionRecord(rated_impedance_ohm=4.0))
    loaded.path.write_text(loaded.path.read_text() + "\n" + MOTOR + moving)
    return f"{served.address}/models/knot/v1"


def _drawn(page: Page) -> dict[str, float]:
    page.wait_for_selector(".preview[data-drawn]", timeout=PATIENCE_MS)
    page.wait_for_timeout(500)
    found: dict[str, float] = page.evaluate(COLOURS)
    return found


def _turned(page: Page, before: str | None) -> None:
    page.wait_for_function(
        "(before) => document.querySelector('.preview').dataset.drawn !== before", arg=before
    )


def test_models_are_drawn_and_turned(page: Page, notes: Notes, empty: Served) -> None:
    """Pixels, in many shades; by arrow key, pointer and button another picture; overhangs come out orange from below; home is home."""
    page.goto(_knot(empty))
    first = _drawn(page)
    assert first["share"] > 0.05
    assert first["colours"] > 30
    picture, canvas = page.locator(".preview"), page.locator(".preview canvas")
    assert "Surround, half roll up, ⌀ 94.0 × 5.8 mm" in (canvas.get_attribute("aria-label") or "")
    at = picture.get_attribute("data-drawn")
    canvas.focus()
    page.keyboard.press("ArrowRight")
    _turned(page, at)
    assert _drawn(page)["sum"] != first["sum"]
    at = picture.get_attribute("data-drawn")
    box = canvas.bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 200, box["y"] + 100)
    page.mouse.down()
    page.mouse.move(box["x"] + 260, box["y"] + 120, steps=3)
    page.mouse.up()
    _turned(page, at)
    at = picture.get_attribute("data-drawn")
    page.get_by_role("button", name="From below").click()
    _turned(page, at)
    page.wait_for_timeout(500)
    orange = page.evaluate("""() => { const c = document.querySelector('.preview canvas');
      const d = c.getContext('2d').getImageData(0, 0, c.width, c.height).data;
      let n = 0; for (let k = 0; k < d.length; k += 4) if (d[k + 3] && d[k] > d[k + 2] + 60) n++; return n / (d.length / 4); }""")
    assert orange > 0.01
    at = picture.get_attribute("data-drawn")
    page.get_by_role("button", name="As at first").click()
    _turned(page, at)
    assert _drawn(page)["sum"] == first["sum"]


def test_models_page_in_both_looks_on_a_phone_and_on_paper(page: Page, notes: Notes, empty: Served) -> None:
    """The dark look draws anew in its own colours; no side scroll; paper shows the still picture instead; everything has a name."""
    address = _knot(empty)
    page.goto(address)
    light = _drawn(page)
    page.wait_for_selector("table")
    page.click("button.theme")
    page.wait_for_timeout(400)
    assert page.evaluate(COLOURS)["sum"] != light["sum"]
    for width in (390, 750, 1440):
        page.set_viewport_size({"width": width, "height": 844})
        page.wait_for_function(
            "document.querySelector('.preview').dataset.drawn.startsWith(document.querySelector('.preview').clientWidth + ' ')"
        )
        assert page.evaluate("document.documentElement.scrollWidth") <= width
    can_be_listened_to(page)
    page.emulate_media(media="print")
    expect(page.locator(".preview .still svg")).to_be_visible()
    expect(page.locator(".preview canvas")).to_be_hidden()
    assert "layers upwards" in (page.locator(".preview .still svg").get_attribute("aria-label") or "")


def test_files_are_taken_away_and_kept(page: Page, notes: Notes, empty: Served) -> None:
    """3MF, STL and STEP by their links, read back; what is not there is 404 with words; all are kept by one button."""
    page.goto(_knot(empty))
    page.wait_for_selector("table")
    with page.expect_download() as taken:
        page.get_by_text("All parts on one plate, 3MF").click()
    assert taken.value.suggested_filename == "knot-v1-all.3mf"
    links = page.locator("ul.downloads a").evaluate_all("all => all.map((a) => a.getAttribute('href'))")
    assert "/models/knot/v1/surround.stl" in links
    for kind in ("3mf", "stl"):
        answer = page.request.get(f"{empty.address}/models/knot/v1/surround.{kind}")
        assert answer.headers["content-type"] == f"model/{kind}"
        found = trimesh.load(io.BytesIO(answer.body()), file_type=kind, force="mesh")
        assert found.is_watertight
    assert page.request.get(f"{empty.address}/models/knot/v1/cone.step").body().startswith(b"ISO-10303-21;")
    for file, status in (("arm.stl", 404), ("cone.obj", 404), ("spider.stl", 422)):
        answer = page.request.get(f"{empty.address}/models/knot/v1/{file}")
        assert answer.status == status
        assert re.search("Allowed|no such file", answer.text())
    page.get_by_role("button", name="Keep all files").click()
    expect(page.get_by_text("are in the version's folder")).to_be_visible(timeout=PATIENCE_MS)
    folder = empty.folder / "drivers" / "knot" / "v1" / "models"
    assert (folder / "knot-v1.3mf").exists()
    assert (folder / "cone.step").exists()


def test_version_with_nothing_to_print_shows_the_way(page: Page, notes: Notes, empty: Served) -> None:
    """No parts and no coil: a sentence and the way to the page where they are designed; an unknown version is not found."""
    shop = Workshop.open(empty.folder)
    shop.create_driver("knot", DriverRecord(title="Knot"))
    shop.create_version("knot", "v1", VersionRecord())
    page.goto(f"{empty.address}/models/knot/v1")
    expect(page.get_by_role("link", name="Design its moving parts")).to_have_attribute(
        "href", "/suspension/knot/v1"
    )
    assert page.request.get(f"{empty.address}/models/knot/v2").status == 404
