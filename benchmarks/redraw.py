"""How long a changed dimension takes to stand in the page with its new field, from the keystroke to the drawing on the screen.

A real server and a real browser. The motor is the ring magnet a new design begins with; the bore of its top plate is typed
anew each time, so that nothing is known before. The time holds the wait for more keystrokes, building and checking the design, the
way to the solver's process and back, mesh, field, drawing, and the browser; the error is judged, and tables follow, after it.

The peer is NGSolve by itself (``by_symbols`` of ``motor.py``): only the field of the same motor, on the standard mesh, in a
process that has loaded everything, with nothing drawn and no page.

Run: ``python benchmarks/redraw.py [BROWSER]``, the path of a Chromium where Playwright has none of its own. Prints medians and the ratio of
one run; the bound in the design is 0.6 s on two cores.
"""

from __future__ import annotations

import re
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

from motor import by_symbols
from playwright.sync_api import sync_playwright

from halfroll.app.design_draft import DesignDraft
from halfroll.app.design_start import start
from halfroll.materials.catalogue import catalogue
from halfroll.motor.field.mesh import MeshSettings, mesh_of
from halfroll.motor.field.study import usual_travel
from halfroll.motor.types import Assembly
from halfroll.workshop import DriverRecord, VersionRecord, Workshop

VERSION = "knot/v1"
KEY = "motor.parts[3].inner_mm"
BORES_MM = [22.8 + 0.05 * k for k in range(1, 10)]

WATCH = """() => {
  const board = document.querySelector('.board'), field = () => board.querySelector('svg.half-section image')?.getAttribute('href');
  window.seen = field();
  new MutationObserver(() => {
    const now = field();
    if (!now || now === window.seen || board.querySelector('g.earlier')) return;
    window.seen = now;
    requestAnimationFrame(() => { window.drawn ??= performance.now() - window.typed; });
  }).observe(board, {childList: true, subtree: true});
}"""

TYPE = """([key, value]) => {
  const box = document.querySelector(`[name="${key}"]`);
  window.drawn = undefined;
  window.typed = performance.now();
  box.value = value;
  box.dispatchEvent(new Event('input', {bubbles: true}));
}"""


def designed(folder: Path) -> DesignDraft:
    """A workshop with one design, saved."""
    shop = Workshop.init(folder, "Benchmark")
    shop.create_driver("knot", DriverRecord(title="Knot"))
    shop.create_version("knot", "v1", VersionRecord(rated_impedance_ohm=4.0))
    draft = DesignDraft(shop, VERSION)
    draft.change(lambda data: data.update(start("ring", catalogue())))
    draft.save()
    return draft


@contextmanager
def served(folder: Path) -> Iterator[str]:
    """The address of a server over a workshop."""
    command = [
        sys.executable,
        "-m",
        "halfroll",
        "--workshop",
        str(folder),
        "serve",
        "--port",
        "0",
        "--no-open",
    ]
    with subprocess.Popen(command, stderr=subprocess.PIPE, text=True) as process:
        assert process.stderr is not None
        try:
            yield next(
                found[0] for line in process.stderr if (found := re.search(r"http://[\d.]+:\d+", line))
            )
        finally:
            process.terminate()


def in_the_page(address: str, browser: str | None) -> list[float]:
    """Seconds from the keystroke to the new field on the screen, for each bore."""
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=browser, args=["--no-sandbox", "--disable-gpu"])
        page = chromium.new_page(viewport={"width": 1440, "height": 1000})
        page.goto(f"{address}/design/{VERSION}")
        page.wait_for_selector("svg.half-section image", timeout=60_000)
        page.wait_for_timeout(4_000)
        page.evaluate(WATCH)
        seconds = []
        for bore in BORES_MM:
            page.evaluate(TYPE, [KEY, f"{bore:.2f}"])
            page.wait_for_function("window.drawn !== undefined", timeout=60_000)
            seconds.append(1e-3 * float(page.evaluate("window.drawn")))
            page.wait_for_timeout(2_500)  # until the error is judged, so that nothing else is computed
        chromium.close()
    return seconds


def with_bore(assembly: Assembly, bore_mm: float) -> Assembly:
    """The same motor with another bore of its top plate."""
    old, new = assembly.gap.r_outer, 0.5e-3 * bore_mm
    bodies = tuple(
        replace(b, outline=tuple((new if r == old else r, z) for r, z in b.outline))
        if b.name == assembly.gap.outer
        else b
        for b in assembly.bodies
    )
    return replace(assembly, bodies=bodies, gap=replace(assembly.gap, r_outer=new))


def by_itself(assembly: Assembly) -> list[float]:
    """Seconds of the peer for each bore, mesh and field."""
    seconds = []
    for bore in BORES_MM:
        moved: Any = with_bore(assembly, bore)
        begin = time.perf_counter()
        by_symbols(mesh_of(moved, MeshSettings(travel_m=usual_travel(moved))))
        seconds.append(time.perf_counter() - begin)
    return seconds[1:]


def main() -> None:
    """Time both in turn and print what came out."""
    browser = sys.argv[1] if len(sys.argv) > 1 else None
    with tempfile.TemporaryDirectory() as folder:
        draft = designed(Path(folder) / "shop")
        assert draft.built is not None
        peer = statistics.median(by_itself(draft.built.assembly))
        with served(Path(folder) / "shop") as address:
            seconds = in_the_page(address, browser)
    ours = statistics.median(seconds)
    print(
        f"a typed dimension on the screen with its field  {1e3 * ours:6.0f} ms  (slowest {1e3 * max(seconds):.0f} ms)"
    )
    print(
        f"peer: NGSolve by itself, the field alone        {1e3 * peer:6.0f} ms  ours over it {ours / peer:.2f}"
    )


if __name__ == "__main__":
    main()
