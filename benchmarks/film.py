"""How long a build-up takes as a film beside the plain way: every frame set by the typesetter and handed to the encoder.

Three versions' levels at 1920 x 1080, 30 frames a second, as MP4. The peer sets one whole frame with typst, decodes it with Pillow and encodes it
with PyAV's defaults for H.264; its time is that of some frames, times how many the film has. Prints the medians and the ratio of one run.

Run: ``python benchmarks/film.py``
"""

from __future__ import annotations

import io
import statistics
import sys
import tempfile
import time
from fractions import Fraction
from pathlib import Path

import av
from PIL import Image

sys.path.insert(0, str(Path(__file__).parent.parent))

from halfroll.publish.screens import film
from halfroll.publish.screens.build_up import Timing, frame_count, steps
from halfroll.publish.screens.draw import screen_png
from halfroll.publish.screens.layout import screen
from tests.publish import samples

FPS = 30
FRAMES = 12


def plainly(path: Path, shown: object) -> float:
    """Seconds a frame: set, decode, encode."""
    with av.open(str(path), "w") as out:
        stream = out.add_stream("libx264", rate=Fraction(FPS))
        stream.width, stream.height, stream.pix_fmt = 1920, 1080, "yuv420p"
        began = time.perf_counter()
        for _ in range(FRAMES):
            picture = Image.open(io.BytesIO(screen_png(shown))).convert("RGB")  # type: ignore[arg-type]
            for packet in stream.encode(av.VideoFrame.from_image(picture)):
                out.mux(packet)
        for packet in stream.encode():
            out.mux(packet)
    return (time.perf_counter() - began) / FRAMES


def main() -> None:
    """Measure and print."""
    shown = screen(samples.comparison(3), "level", source="Saltmarsh Workshop")
    timing = Timing(fps=FPS)
    frames = frame_count(steps(shown, timing))
    with tempfile.TemporaryDirectory() as folder:
        ours = []
        for turn in range(3):
            began = time.perf_counter()
            film.write(Path(folder) / f"{turn}.mp4", shown, timing)
            ours.append(time.perf_counter() - began)
        peer = frames * plainly(Path(folder) / "plain.mp4", shown)
    took = statistics.median(ours)
    print(f"film of {frames} frames ({frames / FPS:.1f} s): {took:.1f} s")
    print(f"every frame set and encoded by itself: {peer:.1f} s (from {FRAMES} frames)")
    print(f"ratio {peer / took:.1f}")


if __name__ == "__main__":
    main()
