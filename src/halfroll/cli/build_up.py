"""``halfroll build-up``: the chart of a comparison as it grows, version after version, as a film or as frames."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from halfroll.cli.common import json_option, print_json, progress_bar, say
from halfroll.cli.picture import Asked, picture_options, screen_asked


@click.command("build-up")
@picture_options
@click.option("--seconds", type=float, default=1.5, show_default=True, help="Time for each version, s.")
@click.option(
    "--hold", type=float, default=2.0, show_default=True, help="Time the whole picture stands at the end, s."
)
@click.option("--fps", type=int, default=30, show_default=True, help="Frames a second: 24, 25, 30, 50 or 60.")
@click.option(
    "--fade", is_flag=True, help="Versions fade in instead of being drawn from left to right: less motion."
)
@click.option(
    "--out",
    required=True,
    type=click.Path(path_type=Path),
    help="A film, .mp4 or .webm, or an empty or new folder for frames.",
)
@json_option
def build_up(
    size: str, out: Path, seconds: float, hold: float, fps: int, fade: bool, as_json: bool, level: float | None,
    rule: str | None, thd: str | None, band: tuple[float, float] | None, bass: tuple[float, float] | None, **asked: Any,
) -> None:  # fmt: skip
    """Film a chart as it grows.

    First the axes, then version after version from left to right with its name, then the bands of uncertainty, then the finding. A film whose ground is transparent must be WebM or frames. Nothing flashes.

    \b
    Examples:
      halfroll build-up avocet/v1 avocet/v6 avocet/v8 --out level.mp4
      halfroll build-up avocet/v1 avocet/v6 --chart figures --fps 50 --out figures.mp4
      halfroll build-up avocet/v1 avocet/v6 --ground transparent --out over.webm
      halfroll build-up avocet/v1 avocet/v6 --size 3840x2160 --out frames
    """
    from halfroll.publish.screens import film
    from halfroll.publish.screens.build_up import Timing
    from halfroll.publish.screens.grounds import size_of

    wanted = size_of(size)
    timing = Timing(version_s=seconds, hold_s=hold, fps=fps, reduced=fade)
    film.check_path(out, asked["ground"])
    shown = screen_asked(Asked(figures=(level, rule, thd, band, bass), **asked))
    with progress_bar("filming") as progress:
        made = film.write(out, shown, timing, size=wanted, progress=progress)
    say(f"Wrote {out}: {made['frames']} frames, {made['duration_s']:.1f} s")
    if as_json:
        print_json({"file": str(out), "ground": shown.ground, **made, "summary": shown.summary})
