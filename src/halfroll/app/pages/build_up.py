"""The part of the page of pictures that films the chart as it grows."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from halfroll.app.dom import el
from halfroll.app.field import Field, button
from halfroll.app.films import films, zipped
from halfroll.app.job import work
from halfroll.core.errors import InputError
from halfroll.core.progress import Progress
from halfroll.publish.screens import film
from halfroll.publish.screens.build_up import RATES, Timing
from halfroll.publish.screens.grounds import size_of
from halfroll.publish.screens.screen import Screen

KINDS = {".mp4": "MP4 film", ".webm": "WebM film", ".zip": "frames (PNG) in a ZIP"}

MANNERS = {"draw": "drawn from left to right", "fade": "fade in: less motion"}


class BuildUp:
    """Settings of the film, a button, and the film once it is made."""

    def __init__(self, ground: str, size: str, chart: str, screen: Callable[[], Screen]) -> None:
        self._size, self._name, self._screen = size, f"{chart.replace(':', '-')}-{ground}-{size}", screen
        kinds = [
            (kind, words) for kind, words in KINDS.items() if not (ground == "transparent" and kind == ".mp4")
        ]
        with el("section", cls="block no-print", aria_labelledby="build-up"):
            el("h2", "Its build-up", id="build-up")
            el("p", "Axes first, then version after version with its name, then the bands, then the finding. "
               "The last frame is the picture above.", cls="prose")  # fmt: skip
            with el("div", cls="fields"):
                self._kind = Field("kind", "Kind", tag="select", choices=kinds, value=kinds[0][0])
                self._seconds = Field("seconds", "Time for each version, s", value="1.5", inputmode="decimal")
                self._hold = Field("hold", "Time the whole picture stands, s", value="2", inputmode="decimal")
                rates = [(f"{rate}", f"{rate}") for rate in RATES]
                self._fps = Field("fps", "Frames a second", tag="select", choices=rates, value="30")
                self._manner = Field(
                    "manner", "Versions", tag="select", choices=list(MANNERS.items()), value="draw"
                )
            with el("div", cls="actions"):
                button("Make the build-up", self._make, main=True).mark("make-build-up")
            with el("div", role="status") as self._made:
                pass

    async def _make(self) -> None:
        timing = self._timing()
        if timing is None:
            return
        self._made.clear()
        kind = self._kind.value
        token, path = films().place(self._name + kind)
        try:
            with self._made:
                told = await work("Filming", lambda progress: self._write(path, timing, progress))
        except BaseException:
            films().drop(token)
            raise
        films().keep(token, path)
        self._show(f"/pictures/film/{token}", path, told)

    def _timing(self) -> Timing | None:
        """The settings; None when a field is wrong, which says so."""
        numbers = {}
        for key, one in (("seconds", self._seconds), ("hold", self._hold)):
            one.error("")
            try:
                numbers[key] = float(one.value.replace(",", "."))
                Timing(version_s=numbers[key]) if key == "seconds" else Timing(hold_s=numbers[key])
            except ValueError:
                one.error(f"This must be a number of seconds; found {one.value!r}.")
                return None
            except InputError as error:
                one.error(f"{error.message}; found {error.found}.")
                return None
        return Timing(
            version_s=numbers["seconds"],
            hold_s=numbers["hold"],
            fps=int(self._fps.value),
            reduced=self._manner.value == "fade",
        )

    def _write(self, path: Path, timing: Timing, progress: Progress) -> str:
        progress(0.0, "keeping the marks")
        shown, size = self._screen(), size_of(self._size)
        if path.suffix == ".zip":
            frames = path.with_name("frames")
            made = film.write(frames, shown, timing, size=size, progress=progress)
            zipped(frames, path)
        else:
            made = film.write(path, shown, timing, size=size, progress=progress)
        return f"{made['frames']} frames, {made['duration_s']:.1f} s, {made['width_px']} by {made['height_px']} pixels."

    def _show(self, href: str, path: Path, told: str) -> None:
        with self._made:
            if path.suffix != ".zip":
                with el("figure", cls="screen dark"):
                    el(
                        "video",
                        src=href,
                        controls="",
                        muted="",
                        aria_label="The build-up as it was made",
                        width="960",
                        height="540",
                    )
            el("p", told, cls="small quiet")
            with el("div", cls="actions"):
                el(
                    "a", f"Keep the {KINDS[path.suffix]}", cls="button main", href=href, download=path.name
                ).mark("film")
