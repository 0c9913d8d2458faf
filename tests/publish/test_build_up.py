"""The chart as it grows: what each still shows, every frame between, and films read back by a decoder."""

import dataclasses
import json
import shutil
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from halfroll.core.errors import CancelledError, InputError
from halfroll.core.progress import CancelToken, silent
from halfroll.publish.screens import film
from halfroll.publish.screens.build_up import RATES, Step, Timing, eased, frame_count, stages, steps
from halfroll.publish.screens.draw import screen_png
from halfroll.publish.screens.layout import screen
from halfroll.publish.screens.raster import Picture, decoded, frames, mixed
from halfroll.publish.screens.screen import Screen
from tests.publish import samples

SMALL = (320, 180)
QUICK = Timing(version_s=0.5, start_s=0.2, band_s=0.5, finding_s=0.5, hold_s=0.2, fps=25)


@pytest.fixture(scope="module")
def shown() -> Screen:
    """The levels of two versions."""
    return screen(samples.comparison(3), "level", source="Saltmarsh Workshop")


def played(planned: list[Step]) -> NDArray[np.uint8]:
    """Every frame, shape (frames, rows, columns, 4)."""
    stills: dict[int, Picture] = {}

    def still(step: Step) -> Picture:
        return stills.setdefault(id(step), decoded(screen_png(step.screen, SMALL)))

    return np.stack([picture.copy() for picture, _ in frames(planned, still)])


@pytest.fixture(scope="module")
def drawn(shown: Screen) -> NDArray[np.uint8]:
    """Every frame of the quickest build-up there may be."""
    return played(steps(shown, QUICK))


@pytest.fixture(scope="module")
def faded(shown: Screen) -> NDArray[np.uint8]:
    """The same with less motion."""
    return played(steps(shown, dataclasses.replace(QUICK, reduced=True)))


def read_back(path: Path) -> tuple[Any, list[NDArray[np.uint8]]]:
    """The stream and its frames as a decoder of others gives them; VP9 by libvpx, which knows alpha."""
    decoder = av.CodecContext.create("libvpx-vp9", "r") if path.suffix == ".webm" else None
    found = []
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        for packet in container.demux(stream):
            found += [
                f.to_ndarray(format="rgba") for f in (decoder.decode(packet) if decoder else packet.decode())
            ]
        told = {"codec": stream.codec_context.name, "pixels": stream.codec_context.pix_fmt, "width": stream.width,
                "height": stream.height, "rate": stream.average_rate, "duration": container.duration,
                "colours": (stream.codec_context.color_primaries, stream.codec_context.colorspace), "tags": dict(stream.metadata)}  # fmt: skip
    return told, found


def test_stills_bring_one_thing_each(shown: Screen) -> None:
    """Axes without a curve; then one version more at a time; then bands; then the finding; the last is the picture."""
    found = stages(shown)
    assert [what for what, _ in found] == ["axes", "version", "version", "version", "band", "finding"]
    data = [still.charts[0].spec["datasets"] for _, still in found]
    assert [len({row["s"] for row in d["curves"]}) for d in data] == [0, 1, 2, 3, 3, 3]
    assert [len(d["names"]) for d in data] == [0, 1, 2, 3, 3, 3]
    assert [any("lo" in row for row in d["curves"]) for d in data] == [False] * 4 + [True] * 2
    assert [bool(still.finding) for _, still in found] == [False] * 5 + [True]
    assert found[-1][1] == shown


def test_strips_grow_row_by_row() -> None:
    """Points, words and names of a version come together, intervals with the bands, the base's line with the base."""
    found = stages(screen(samples.comparison(3), "figures"))
    data = [still.charts[0].spec["datasets"] for _, still in found]
    assert [len(d["points"]) for d in data] == [0, 1, 2, 3, 3, 3]
    assert [len(d["words"]) for d in data] == [0, 1, 2, 3, 3, 3]
    assert [len(d["intervals"]) for d in data] == [0] * 4 + [3] * 2
    assert [bool(d["base"]) for d in data] == [False] + [True] * 5
    assert [len(still.rows) for _, still in found] == [0, 1, 2, 3, 3, 3]


def test_frames_come_from_left_to_right_and_end_with_the_picture(
    shown: Screen, drawn: NDArray[np.uint8]
) -> None:
    """While a version is drawn no column changes before those left of it have; the last frame is the still, to the bit."""
    planned, all_frames = steps(shown, QUICK), drawn
    assert len(all_frames) == frame_count(planned)
    assert np.array_equal(all_frames[-1], decoded(screen_png(shown, SMALL)))
    start, length = planned[0].frames, planned[1].changing
    before, after = all_frames[start - 1], all_frames[start + length - 1]
    columns = np.flatnonzero((before != after).any(axis=(0, 2)))
    reach = [
        np.flatnonzero((f != before).any(axis=(0, 2)))[-1] for f in all_frames[start + 1 : start + length]
    ]
    assert np.all(np.diff(reach) >= 0)
    middle = all_frames[start + length // 2]
    done = np.flatnonzero((middle != before).any(axis=(0, 2)))[-1]
    soft = int(0.02 * SMALL[0]) + 2
    left = [c for c in columns if c < done - soft]
    assert left
    assert np.array_equal(middle[:, left], after[:, left])


@pytest.mark.parametrize("manner", ["drawn", "faded"])
def test_nothing_flashes(manner: str, request: pytest.FixtureRequest) -> None:
    """WCAG 2.2, 2.3.1: a flash is a pair of opposing changes of relative luminance by 10 % or more where the darker is below
    0.80; there must be no more than three in any second.  Here no pixel has even two, with the shortest times allowed.
    """
    linear = np.where((c := np.arange(256) / 255.0) <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)
    seen = linear[request.getfixturevalue(manner)[:, ::2, ::2, :3]] @ np.array([0.2126, 0.7152, 0.0722])
    window = QUICK.fps
    for first in range(0, max(1, len(seen) - window), 5):  # once at least
        part = seen[first : first + window]
        turns = np.zeros(part.shape[1:], dtype=int)
        direction, extreme = np.zeros(part.shape[1:]), part[0].copy()
        for now in part[1:]:
            step = now - extreme
            counts = (np.abs(step) >= 0.1) & (np.minimum(now, extreme) < 0.8)
            turns += counts & (direction != 0) & (np.sign(step) != direction)
            direction = np.where(counts, np.sign(step), direction)
            extreme = np.where(counts | (np.sign(step) == direction), now, extreme)
        assert turns.max() <= 2  # opposing changes; a flash takes a pair


def test_reduced_motion_fades_all_of_a_version_at_once(shown: Screen, faded: NDArray[np.uint8]) -> None:
    """Every pixel that a version changes is on its way from the first frame on, none waits for an edge to come by."""
    planned = steps(shown, dataclasses.replace(QUICK, reduced=True))
    assert {step.manner for step in planned} == {"fade"}
    all_frames = faded
    start, length = planned[0].frames, planned[1].changing
    before, middle, after = (all_frames[start + k].astype(int) for k in (-1, length // 2, length - 1))
    strong = np.abs(after - before).max(axis=2) > 60
    assert np.all(np.abs(middle - before).max(axis=2)[strong] > 0)


def test_easing_starts_and_ends_at_rest() -> None:
    """3 s² - 2 s³: its ends, its middle, and its slope at both ends by a difference."""
    assert (eased(0.0), eased(0.5), eased(1.0), eased(2.0)) == (0.0, 0.5, 1.0, 1.0)
    assert eased(1e-4) / 1e-4 < 1e-3
    assert (1.0 - eased(1.0 - 1e-4)) / 1e-4 < 1e-3


def test_a_clear_ground_lends_no_colour() -> None:
    """Half of a red letter over nothing is red at half alpha, as in the algebra of Porter and Duff (1984), not dark red."""
    clear, red = np.zeros((1, 1, 4), np.uint8), np.array([[[200, 20, 10, 255]]], np.uint8)
    assert mixed(clear, red, np.array([0.5])).tolist() == [[[200, 20, 10, 128]]]


@pytest.mark.parametrize(("name", "ground", "codec", "pixels"), [
    ("a.mp4", "plain", "h264", "yuv420p"), ("a.webm", "dark", "vp9", "yuv420p"), ("a.webm", "transparent", "vp9", "yuva420p"),
])  # fmt: skip
def test_film_read_back(name: str, ground: str, codec: str, pixels: str, tmp_path: Path) -> None:
    """Size, frames, duration, format and colours by PyAV's decoder; the first frame has no curve, the last is the picture."""
    made_of = screen(samples.comparison(2), "level", ground=ground)
    path = tmp_path / name
    told = film.write(path, made_of, QUICK, size=SMALL)
    stream, found = read_back(path)
    assert (stream["codec"], stream["width"], stream["height"], stream["rate"]) == (codec, *SMALL, QUICK.fps)
    assert len(found) == told["frames"] == frame_count(steps(made_of, QUICK))
    assert stream["duration"] / 1e6 == pytest.approx(told["duration_s"], abs=1.0 / QUICK.fps)
    assert stream["colours"] == (1, 1)  # ITU-T H.273: BT.709
    assert told["pixels"] == pixels
    assert (stream["tags"].get("alpha_mode") == "1") == (pixels == "yuva420p")
    still = decoded(screen_png(made_of, SMALL)).astype(int)
    bare = decoded(screen_png(stages(made_of)[0][1], SMALL)).astype(int)
    opaque = still[..., 3] > 250
    assert np.abs(found[-1].astype(int) - still)[opaque].mean() < 6.0
    assert np.abs(found[0].astype(int) - bare)[bare[..., 3] > 250].mean() < 6.0
    drawn = np.abs(still - bare)[..., :3].max(axis=2) > 100
    far = [
        np.abs(frame.astype(int) - picture)[drawn].mean()
        for frame in (found[0], found[-1])
        for picture in (bare, still)
    ]
    assert max(far[0], far[3]) < 0.4 * min(far[1], far[2])
    assert np.abs(found[-1][..., 3].astype(int) - still[..., 3]).mean() < 2.0
    assert list(tmp_path.iterdir()) == [path]


def test_colours_are_those_of_bt_709() -> None:
    """ITU-R BT.709-6, items 3.2 and 3.4: E'Y = 0.2126 R + 0.7152 G + 0.0722 B; 8 bit: 16 + 219 E'Y, 128 + 224 (B - E'Y)/1.8556,
    128 + 224 (R - E'Y)/1.5748 (coefficients from memory); saturated colours, each to one step.
    """
    convert = film._converter("yuv420p")
    for colour in ((0, 114, 178), (213, 94, 0), (240, 228, 66), (250, 246, 236)):
        r, g, b = (value / 255.0 for value in colour)
        y = 0.2126 * r + 0.7152 * g + 0.0722 * b
        wanted = (16 + 219 * y, 128 + 224 * (b - y) / 1.8556, 128 + 224 * (r - y) / 1.5748)
        frame = convert(np.full((32, 32, 4), (*colour, 255), np.uint8))
        planes = [np.frombuffer(bytes(plane), np.uint8)[5] for plane in frame.planes]
        assert np.allclose(planes, wanted, atol=1.0), (colour, planes, wanted)


def test_film_twice_is_the_same_and_starts_at_once(tmp_path: Path) -> None:
    """No date and no name of the encoder: the same bytes; in the MP4 the index stands before the pictures (ISO/IEC 14496-12)."""
    made_of = screen(samples.comparison(1), "strip:lower_limit_hz")
    for name in ("a.mp4", "b.mp4", "a.webm", "b.webm"):
        film.write(tmp_path / name, made_of, QUICK, size=SMALL)
    data = (tmp_path / "a.mp4").read_bytes()
    assert data == (tmp_path / "b.mp4").read_bytes()
    assert (tmp_path / "a.webm").read_bytes() == (tmp_path / "b.webm").read_bytes()
    assert 0 < data.index(b"moov") < data.index(b"mdat")


def test_frames_in_a_folder(tmp_path: Path) -> None:
    """One PNG a frame, numbered without a gap, alpha kept, and a manifest that says how fast they go."""
    made_of = screen(samples.comparison(1), "strip:lower_limit_hz", ground="transparent")
    told = film.write(tmp_path / "frames", made_of, QUICK, size=SMALL)
    manifest = json.loads((tmp_path / "frames" / "frames.json").read_text(encoding="utf-8"))
    names = sorted(p.name for p in (tmp_path / "frames").glob("*.png"))
    assert names == [manifest["name"] % k for k in range(1, told["frames"] + 1)]
    assert (manifest["fps"], manifest["width_px"], manifest["height_px"]) == (25, *SMALL)
    last = np.asarray(Image.open(tmp_path / "frames" / names[-1]))
    assert np.array_equal(last, decoded(screen_png(made_of, SMALL)))
    assert list(tmp_path.iterdir()) == [tmp_path / "frames"]


@pytest.mark.parametrize("name", ["a.mp4", "a.webm", "frames"])
def test_stopping_leaves_nothing(name: str, shown: Screen, tmp_path: Path) -> None:
    """Stopped in the middle of the frames: no film, no part of one."""
    token = CancelToken()

    def watch(done: float, what: str) -> None:
        silent(done, what)
        if what.startswith("frame 12 "):
            token.cancel()

    with pytest.raises(CancelledError):
        film.write(tmp_path / name, shown, QUICK, size=SMALL, progress=token.wrap(watch))
    assert list(tmp_path.iterdir()) == []


def test_what_no_film_can_be(shown: Screen, tmp_path: Path) -> None:
    """Rates, times, endings, places: each refused with what is allowed, nothing touched."""
    for fps in (0, -25, 23, 1000):
        with pytest.raises(InputError, match=", ".join(map(str, RATES))):
            Timing(fps=fps)
    for seconds in (0.0, -1.0, float("nan"), float("inf"), 31.0):
        with pytest.raises(InputError, match=r"0\.5 to 30 s"):
            Timing(version_s=seconds)
    with pytest.raises(InputError, match="no longer than 120 s"):
        steps(screen(samples.comparison(7), "level"), Timing(version_s=20.0))
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "notes.txt").write_text("mine")
    over = screen(samples.comparison(1), "strip:lower_limit_hz", ground="transparent")
    for name, what, words in (("a.avi", shown, r"ends with \.mp4 or \.webm"), ("a.mp4", over, r"Name it a\.webm"),
                              ("full", shown, "empty or not there yet"), ("nowhere/a.mp4", shown, "cannot be written")):  # fmt: skip
        with pytest.raises(InputError, match=words):
            film.write(tmp_path / name, what, QUICK, size=SMALL)
    with pytest.raises(InputError, match="16 to 9"):
        film.write(tmp_path / "a.mp4", shown, QUICK, size=(321, 181))
    shutil.rmtree(tmp_path / "full")
    assert list(tmp_path.iterdir()) == []
