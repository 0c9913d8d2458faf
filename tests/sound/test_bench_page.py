"""The bench page in a real browser on a real sound stack: from the levels to a take, and the key that stops the sound."""

from __future__ import annotations

import re
import signal
import subprocess
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from halfroll.workshop import Workshop, derive
from tests.browser.conftest import PATIENCE_MS
from tests.sound.server import HERE, SoundServer
from tests.sound.test_measure_live import UNIT, bench_workshop

pytestmark = pytest.mark.sound

READY = re.compile(r"http://127\.0\.0\.1:\d+")


@pytest.fixture
def shop(tmp_path: Path) -> Workshop:
    """A bench to measure at."""
    return bench_workshop(tmp_path / "shop")


@pytest.fixture
def served(server: SoundServer, shop: Workshop) -> Iterator[str]:
    """The address of the pages, served by a process that hears the sound server; noise plays beside it."""
    noise = server.popen(HERE / "noise.py", "9")
    process = server.popen("-m", "halfroll", "--workshop", shop.folder, "serve", "--port", "0", "--no-open")
    assert noise.stdout.readline() == "noise\n"
    found = None
    said = ""
    while found is None:
        line = process.stderr.readline()
        assert line, said
        said += line
        found = READY.search(line)
    reader = threading.Thread(target=process.stderr.read, daemon=True)
    reader.start()
    yield found[0]
    process.send_signal(signal.SIGINT)
    try:
        assert process.wait(20) == 0
    finally:
        process.kill()
        noise.kill()
        noise.communicate()
        reader.join(5)
        process.stdout.close()
        process.stderr.close()


def filled(page: Page, address: str, *, seconds: str, repeats: str) -> None:
    """The bench with everything chosen."""
    page.set_default_timeout(PATIENCE_MS)
    expect.set_options(timeout=PATIENCE_MS)
    page.goto(f"{address}/bench?unit={UNIT}&rig=loop")
    page.locator('[name="space"]').select_option("free-field")
    page.locator('[name="duration_s"]').fill(seconds)
    page.locator('[name="repeats"]').fill(repeats)


@pytest.mark.slow
def test_from_levels_to_takes(page: Page, served: str, shop: Workshop) -> None:
    """The rig brings its devices; levels are shown; after the caution two takes are measured, judged and kept."""
    filled(page, served, seconds="1.5", repeats="2")
    expect(page.locator('[name="input"]')).to_have_value("loop")
    expect(page.locator('[name="role_1"]')).to_have_value("voltage")
    page.get_by_role("button", name="Show the levels").click()
    microphone = page.get_by_role("meter", name="2 microphone")
    expect(microphone).to_be_visible()
    expect(microphone).to_have_attribute("aria-valuetext", re.compile(r"peak −\d\d\.\d"))
    expect(page.get_by_text(re.compile(r"sound pressure level"))).to_be_visible()
    page.get_by_role("button", name="Measure").click()
    expect(
        page.get_by_text("Up to 2.83\u202fV will be at the terminals; the limit is 4.00\u202fV")
    ).to_be_visible()
    assert shop.take_ids() == []
    page.get_by_role("button", name="Begin").click()
    expect(page.get_by_text(re.compile(r"at the terminals \(read, tone of 315"))).to_be_visible()
    expect(page.get_by_text("2 takes of 2 kept.")).to_be_visible()
    expect(page.locator(".results > li")).to_have_count(2)
    expect(page.locator(".chart svg")).to_be_visible()
    takes = shop.take_ids()
    assert [take.rpartition("-")[2] for take in takes] == ["1", "2"]
    assert all(reading.usable for reading in derive.readings(shop, workers=1).values())
    page.get_by_role("link", name=re.compile("take .*-1$")).click()
    page.wait_for_url(re.compile("/takes/"))


@pytest.mark.slow
def test_a_bad_take_is_asked_about(page: Page, served: str, shop: Workshop) -> None:
    """The microphone clips: its verdict in words, and the choice to record again, keep it all the same, or stop."""
    page.set_default_timeout(PATIENCE_MS)
    expect.set_options(timeout=PATIENCE_MS)
    page.goto(f"{served}/bench?unit=knot/v2/01&rig=loud")
    page.locator('[name="space"]').select_option("free-field")
    for name, value in {"drive": "7", "duration_s": "1", "repeats": "1"}.items():
        page.locator(f'[name="{name}"]').fill(value)
    page.locator('[name="drive_unit"]').select_option("V")
    page.get_by_role("button", name="Measure").click()
    page.get_by_role("button", name="Begin").click()
    page.get_by_role("button", name="Again").click()
    expect(page.locator(".results > li.bad")).to_have_count(2)
    expect(page.get_by_text("The microphone channel is clipped").first).to_be_visible()
    assert shop.take_ids() == []
    page.get_by_role("button", name="Keep it all the same").click()
    expect(page.get_by_text("1 take of 1 kept.")).to_be_visible()
    assert [one.rpartition("-")[2] for one in shop.take_ids()] == ["1"]


@pytest.mark.slow
def test_escape_stops_the_sound(page: Page, served: str, shop: Workshop) -> None:
    """In the middle of a long sweep, with the cursor in a field, the Escape key ends it, and nothing is kept."""
    filled(page, served, seconds="60", repeats="1")
    page.get_by_role("button", name="Measure").click()
    page.get_by_role("button", name="Begin").click()
    bar = page.get_by_role("region", name="Sound")
    expect(bar).to_contain_text("take 1 of 1, playing")
    page.locator('[name="note"]').focus()
    page.keyboard.press("Escape")
    expect(page.get_by_text("Stopped. What was being recorded was not kept.")).to_be_visible(timeout=5000)
    expect(bar).to_contain_text("Nothing plays.")
    assert shop.take_ids() == []
    assert not list(shop.folder.rglob("*.flac"))


@pytest.mark.slow
def test_a_closed_window_stops_the_sound(page: Page, served: str, shop: Workshop) -> None:
    """Loaded anew in mid-sweep: the sound ends, nothing is kept, and the new page gets the card."""
    filled(page, served, seconds="60", repeats="1")
    page.get_by_role("button", name="Measure").click()
    page.get_by_role("button", name="Begin").click()
    expect(page.get_by_role("region", name="Sound")).to_contain_text("take 1 of 1, playing")
    page.reload()
    page.get_by_role("button", name="Show the levels").click()
    meter = page.get_by_role("meter", name="1 voltage")
    expect(meter).to_be_visible()
    expect(meter).to_have_attribute("aria-valuetext", re.compile(r"peak −[89]\d"))  # the noise alone
    assert shop.take_ids() == []


@pytest.mark.slow
def test_a_dead_sound_server_is_said_on_the_page(page: Page, own_server: SoundServer, shop: Workshop) -> None:
    """The sound server dies in mid-sweep: the page says so within seconds, keeps working, and there is no take."""
    process = own_server.popen(
        "-m", "halfroll", "--workshop", shop.folder, "serve", "--port", "0", "--no-open"
    )
    try:
        address = READY.search(process.stderr.readline())[0]
        filled(page, address, seconds="60", repeats="1")
        page.get_by_role("button", name="Measure").click()
        page.get_by_role("button", name="Begin").click()
        expect(page.get_by_role("region", name="Sound")).to_contain_text("take 1 of 1, playing")
        own_server.kill()
        expect(page.get_by_text(re.compile("The sound device was lost"))).to_be_visible(timeout=10_000)
        assert shop.take_ids() == []
        page.goto(f"{address}/bench")
        expect(page.get_by_text("No sound card here")).to_be_visible()
    finally:
        process.send_signal(signal.SIGINT)
        try:
            process.communicate(timeout=20)
        except subprocess.TimeoutExpired:
            process.kill()
            process.communicate()
