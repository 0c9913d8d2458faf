"""How pages behave: keyboard, screen reader, phone, paper; and how the server refuses and stops."""

from __future__ import annotations

import socket
import subprocess
import sys
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.app.samples import empty_workshop
from tests.browser.conftest import Notes, Served, drawn, serving
from tests.browser.manners import can_be_listened_to

TAKE = "godwit/v2/01/2026-03-02-1w-1"
PAGES = ["/", "/unit/godwit/v2/01", "/parameters/godwit/v2/01", "/drivers/godwit/v2", "/drivers/sandpiper/v1", f"/takes/{TAKE}", "/compare",
         "/compare?v=godwit/v1&v=godwit/v2&v=godwit/v3&v=sandpiper/v1", "/claims?version=godwit/v3&text=It+is+deeper+than+v1.", "/import", "/sweep", "/design", "/design/godwit/v2", "/suspension", "/suspension/godwit/v2", "/rigs", "/rigs/bench", "/crossovers"]  # fmt: skip


@pytest.mark.parametrize("path", PAGES)
def test_page_fits_and_can_be_listened_to(page: Page, notes: Notes, small: Served, path: str) -> None:
    """From phone to wide screen nothing reaches out of the window; charts are drawn anew for each width. Then, as wide as a window of
    every day: language, one main heading, headings without a gap, landmarks, a name for every control, words for every chart.
    """
    page.set_viewport_size({"width": 390, "height": 844})
    page.goto(small.address + path)
    page.wait_for_selector("main h1")
    for width in (390, 600, 750, 900, 1440, 1280):
        page.set_viewport_size({"width": width, "height": 844})
        if path.startswith(("/takes", "/compare?")):
            drawn(page)
            page.wait_for_function(
                "[...document.querySelectorAll('.chart')].filter((c) => c.checkVisibility())"
                ".every((c) => c.dataset.drawn.startsWith(c.clientWidth + ' '))"
            )
        assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert (page.evaluate("document.documentElement.lang") or "").startswith("en")
    can_be_listened_to(page)
    for landmark in ("banner", "navigation", "main"):
        assert page.get_by_role(landmark).count() >= 1  # type: ignore[arg-type]
    assert page.title() != ""


def test_keyboard_reaches_everything(page: Page, notes: Notes, small: Served) -> None:
    """Tab leads first to the content, then to the places, the switch, and every version; focus can be seen."""
    page.goto(small.address)
    page.wait_for_selector(".station")
    page.keyboard.press("Tab")
    expect(page.get_by_text("Skip to the content")).to_be_focused()
    reached = []
    for _ in range(40):
        page.keyboard.press("Tab")
        reached.append(
            page.evaluate("document.activeElement.getAttribute('href') || document.activeElement.className")
        )
    for place in (
        "/",
        "/compare",
        "/import",
        "/sweep",
        "theme plain",
        "/drivers/godwit/v1",
        "/drivers/sandpiper/v1",
    ):
        assert place in reached
    page.goto(small.address)
    page.wait_for_selector(".station")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.closest('main') !== null")
    assert page.evaluate("getComputedStyle(document.activeElement).outlineStyle") != "none"


def test_prints_without_controls(page: Page, notes: Notes, small: Served) -> None:
    """On paper the places to go, buttons and forms are left out and the ground is white."""
    page.goto(f"{small.address}/takes/{TAKE}")
    drawn(page)
    page.emulate_media(media="print")
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    assert not page.get_by_role("button", name="Leave it out").is_visible()
    assert not page.get_by_role("navigation", name="Places").is_visible()


def test_folded_curves_are_printed(page: Page, notes: Notes, small: Served) -> None:
    """What is folded away on the page of a take takes no room on the screen, is drawn nevertheless, and stands on paper."""
    page.goto(f"{small.address}/takes/{TAKE}")
    fold = page.locator("details.fold", has_text="Single harmonics")
    chart = fold.locator(".chart")
    page.wait_for_function("(c) => c.dataset.drawn", arg=chart.element_handle())
    closed = fold.bounding_box()
    assert closed is not None
    assert closed["height"] < 80
    assert not chart.is_visible()
    page.emulate_media(media="print")
    assert chart.is_visible()
    printed = fold.bounding_box()
    assert printed is not None
    assert printed["height"] > 200
    page.emulate_media(media="screen")
    fold.locator("summary").click()
    assert chart.is_visible()


def test_empty_workshop_on_every_page(page: Page, notes: Notes, empty: Served) -> None:
    """Every place of an empty workshop says what to do next."""
    for path, words in (
        ("/", "No driver yet"),
        ("/compare", "Nothing to compare yet"),
        ("/import", "Add a take"),
        ("/sweep", "Sweep"),
        ("/design", "Designs"),
        ("/suspension", "Suspensions"),
        ("/rigs", "Rigs"),
    ):
        page.goto(empty.address + path)
        expect(page.locator("h1")).to_contain_text(words)
        page.set_viewport_size({"width": 390, "height": 844})
        assert page.evaluate("document.documentElement.scrollWidth") <= 390


def test_page_that_does_not_exist(page: Page, small: Served) -> None:
    """A wrong address gets a page of the same look with the way back."""
    page.goto(f"{small.address}/drivers/godwit/v99")
    expect(page.get_by_role("heading", name="Not found")).to_be_visible()
    page.get_by_role("link", name="To all drivers").click()
    page.wait_for_selector(".station")


def _status(port: int, path: str, headers: dict[str, str]) -> int:
    with socket.create_connection(("127.0.0.1", port), timeout=20) as link:
        lines = [f"GET {path} HTTP/1.1", *(f"{name}: {value}" for name, value in headers.items()), "", ""]
        link.sendall("\r\n".join(lines).encode())
        return int(link.recv(64).split()[1])


def test_foreign_pages_are_refused(small: Served) -> None:
    """Over a real socket: a foreign name, a foreign page, and a foreign websocket get 403; our own websocket opens."""
    port, here = small.port, f"127.0.0.1:{small.port}"
    upgrade = {"Connection": "Upgrade", "Upgrade": "websocket", "Sec-WebSocket-Version": "13",
               "Sec-WebSocket-Key": "dGhlIHNhbXBsZSBub25jZQ=="}  # fmt: skip
    socket_path = "/_nicegui_ws/socket.io/?EIO=4&transport=websocket"
    assert _status(port, "/sweep", {"Host": here}) == 200
    assert _status(port, "/sweep", {"Host": f"birdhide.example:{port}"}) == 403
    assert _status(port, "/sweep", {"Host": here, "Origin": "http://birdhide.example"}) == 403
    assert _status(port, socket_path, {"Host": here, "Origin": "http://birdhide.example", **upgrade}) == 403
    assert (
        _status(
            port, socket_path, {"Host": f"birdhide.example:{port}", "Origin": f"http://{here}", **upgrade}
        )
        == 403
    )
    assert _status(port, socket_path, {"Host": here, **upgrade}) == 403
    assert _status(port, socket_path, {"Host": here, "Origin": f"http://{here}", **upgrade}) == 101


def test_stops_cleanly_with_a_page_open(page: Page, tmp_path: Path) -> None:
    """Ctrl+C ends the server in seconds with exit code 0 and no traceback, although a page is open."""
    with serving(empty_workshop(tmp_path / "shop").folder) as served:
        page.goto(served.address)
        page.wait_for_selector("h1")
        assert served.stop() == 0
        assert "Traceback" not in "".join(served.said)


def test_port_that_is_taken(small: Served, tmp_path: Path) -> None:
    """A second server on the same port says so and ends with exit code 2."""
    folder = empty_workshop(tmp_path / "shop").folder
    command = [
        sys.executable,
        "-m",
        "halfroll",
        "--workshop",
        str(folder),
        "serve",
        "--port",
        str(small.port),
        "--no-open",
    ]
    ended = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    assert ended.returncode == 2
    assert "another program listens on" in ended.stderr
    assert "Traceback" not in ended.stderr
