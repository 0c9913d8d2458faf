"""A build-up as a film or as a folder of frames; written whole or not at all.

MP4 with H.264 (libx264, 4:2:0, colours of ITU-R BT.709) plays nearly everywhere; WebM with VP9 (libvpx) keeps a clear ground as
alpha; frames as PNG go into any cutting program.
"""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Iterator
from contextlib import suppress
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any

from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, silent
from halfroll.publish.screens.build_up import Step, Timing, frame_count, steps
from halfroll.publish.screens.draw import screen_png
from halfroll.publish.screens.grounds import TALL, WIDE, Size, check_size
from halfroll.publish.screens.raster import Picture, decoded, frames
from halfroll.publish.screens.screen import Screen

if TYPE_CHECKING:
    from av import VideoFrame

FILMS = (".mp4", ".webm")

BT709 = 1
"""Code of the colours of ITU-R BT.709 in a stream (ITU-T H.273: primaries, transfer and matrix 1)."""

LIMITED_RANGE = 1
"""Code of video levels, 16 to 235."""

_THREADS = 2
"""Always the same, else the same film could differ from machine to machine."""

_X264 = {"preset": "medium", "tune": "animation", "crf": "15"}
_VP9 = {
    "crf": "24",
    "b": "0",
    "deadline": "realtime",
    "cpu-used": "6",
    "row-mt": "1",
    "auto-alt-ref": "0",
    "tile-columns": "1",
}


def write(
    path: Path,
    screen: Screen,
    timing: Timing,
    *,
    size: Size = (WIDE, TALL),
    progress: Progress = silent,
) -> dict[str, Any]:
    """Write the build-up of a picture.

    Parameters
    ----------
    path
        A file that ends with ``.mp4`` or ``.webm``, or a folder that is empty or not there yet.
    screen, timing
        The whole picture, and how it comes about.
    size
        Width and height (px).
    progress
        Told of every frame; may raise `CancelledError`.

    Returns
    -------
    dict
        ``frames``, ``fps``, ``duration_s``, ``width_px``, ``height_px``, ``pixels`` (the format in the stream).

    Raises
    ------
    InputError
        Another kind of file, an MP4 of a clear ground, a folder with something in it, or a place that cannot be written.
    CancelledError
        Stopped; what was written is taken away.
    """
    check_size(size)
    check_path(path, screen.ground)
    planned = steps(screen, timing)
    told = _Told(progress, frame_count(planned))
    try:
        if path.suffix.lower() in FILMS:
            pixels = _film(path, planned, screen, timing.fps, size, told)
        else:
            pixels = _folder(path, planned, screen, timing, size, told)
    except OSError as fault:
        raise InputError(
            f"The film cannot be written: {fault.strerror or fault}",
            file=str(path),
            remedy="Choose another folder or file name",
        ) from fault
    return {
        "frames": told.all, "fps": timing.fps, "duration_s": told.all / timing.fps,
        "width_px": size[0], "height_px": size[1], "pixels": pixels,
    }  # fmt: skip


def check_path(path: Path, ground: str) -> None:
    """Refuse a place the build-up cannot go to, before anything is computed.

    Raises
    ------
    InputError
        As `write`.
    """
    kind = path.suffix.lower()
    if kind and kind not in FILMS:
        raise InputError(
            "A build-up must be a film or a folder of frames", key="--out", found=path.name,
            allowed="a name that ends with .mp4 or .webm, or a folder, whose name has no ending",
        )  # fmt: skip
    if kind == ".mp4" and ground == "transparent":
        raise InputError(
            "A film whose ground is transparent must be WebM or frames: H.264 in MP4 has no alpha", key="--out",
            found=path.name, remedy=f"Name it {path.stem}.webm",
        )  # fmt: skip
    if kind and path.is_dir():
        raise InputError("A film must be a file", key="--out", found=f"the folder {path}")
    if not kind and path.exists() and (not path.is_dir() or any(path.iterdir())):
        what = "a folder with something in it" if path.is_dir() else "a file"
        raise InputError(
            "Frames must go into a folder that is empty or not there yet", key="--out", found=f"{path}, {what}",
            remedy="Choose another folder; nothing was overwritten",
        )  # fmt: skip


class _Told:
    """Progress frame by frame."""

    def __init__(self, progress: Progress, count: int) -> None:
        self.all, self._progress, self._done = count, progress, 0

    def next(self) -> None:
        """One more frame is about to be made."""
        self._done += 1
        self._progress((self._done - 1) / self.all, f"frame {self._done} of {self.all}")


def _pictures(planned: list[Step], size: Size, told: _Told) -> Iterator[tuple[Picture, bool]]:
    for shown in frames(planned, lambda step: decoded(screen_png(step.screen, size))):
        told.next()
        yield shown


def _film(path: Path, planned: list[Step], screen: Screen, fps: int, size: Size, told: _Told) -> str:
    import av

    clear = screen.ground == "transparent"
    mp4 = path.suffix.lower() == ".mp4"
    pixels = "yuva420p" if clear else "yuv420p"
    temporary = path.with_name(f".{path.name}.part")
    options = {"movflags": "+faststart"} if mp4 else {}
    try:
        with av.open(
            str(temporary), "w", format="mp4" if mp4 else "webm", options={"fflags": "+bitexact", **options}
        ) as out:
            stream: Any = out.add_stream(
                "libx264" if mp4 else "libvpx-vp9", rate=fps, options=dict(_X264 if mp4 else _VP9)
            )
            stream.width, stream.height, stream.pix_fmt = size[0], size[1], pixels
            _tagged(stream.codec_context)
            convert = _converter(pixels)
            frame = None
            for number, (picture, same) in enumerate(_pictures(planned, size, told)):
                if frame is None or not same:
                    frame = convert(picture)
                frame.pts, frame.time_base = number, Fraction(1, fps)
                out.mux(stream.encode(frame))
            out.mux(stream.encode(None))
        temporary.replace(path)
    finally:
        with suppress(OSError):
            temporary.unlink(missing_ok=True)
    return pixels


def _tagged(context: Any) -> None:
    """Say in the stream what its numbers mean, and keep out what differs from machine to machine."""
    from av.codec.context import Flags

    context.color_primaries = context.color_trc = context.colorspace = BT709
    context.color_range = LIMITED_RANGE
    context.thread_count = _THREADS
    context.flags |= Flags.bitexact  # no version of the encoder in the stream


def _converter(pixels: str) -> Callable[[Picture], VideoFrame]:
    """From red, green, blue to the video's brightness and colour by the matrix of ITU-R BT.709."""
    from av import VideoFrame
    from av.video.reformatter import ColorRange, Colorspace, VideoReformatter

    reformat = VideoReformatter()

    def convert(picture: Picture) -> VideoFrame:
        return reformat.reformat(
            VideoFrame.from_ndarray(picture, format="rgba"),
            format=pixels,
            dst_colorspace=Colorspace.ITU709,
            dst_color_range=ColorRange.MPEG,
        )

    return convert


def _folder(path: Path, planned: list[Step], screen: Screen, timing: Timing, size: Size, told: _Told) -> str:
    """Frames ``frame-0001.png`` ... and ``frames.json``, which says how fast they go and what each shows."""
    pixels = "rgba" if screen.ground == "transparent" else "rgb24"
    temporary = path.with_name(f".{path.name}.part")
    shutil.rmtree(temporary, ignore_errors=True)
    try:
        temporary.mkdir(parents=True)
        data = b""
        for number, (picture, same) in enumerate(_pictures(planned, size, told), start=1):
            data = data if same else _png(picture, pixels)
            (temporary / f"frame-{number:04d}.png").write_bytes(data)
        manifest = {
            "frames": told.all, "fps": timing.fps, "width_px": size[0], "height_px": size[1], "ground": screen.ground,
            "name": "frame-%04d.png", "first": 1, "summary": screen.summary,
        }  # fmt: skip
        text = json.dumps(manifest, indent=1, ensure_ascii=False)
        (temporary / "frames.json").write_text(text + "\n", encoding="utf-8")
        if path.exists():
            path.rmdir()  # empty, else it was refused
        temporary.replace(path)
    finally:
        shutil.rmtree(temporary, ignore_errors=True)
    return pixels


def _png(picture: Picture, pixels: str) -> bytes:
    from av import CodecContext, VideoFrame

    context: Any = CodecContext.create("png", "w")
    context.width, context.height, context.pix_fmt = picture.shape[1], picture.shape[0], pixels
    context.time_base = Fraction(1, 25)
    frame = VideoFrame.from_ndarray(picture, format="rgba")
    packets = [*context.encode(frame.reformat(format=pixels)), *context.encode(None)]
    return b"".join(bytes(packet) for packet in packets)
