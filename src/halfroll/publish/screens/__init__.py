"""Pictures for a film or a talk: comparison charts at screen sizes, and their build-up as frames or film.

::

    grounds.GROUNDS                          plain, dark, transparent
    grounds.size_of("1920x1080") -> (1920, 1080)
    layout.screen(comparison, chart, *, ground, source, ...) -> Screen        one chart with its words, placed
    layout.charts_of(comparison) -> dict[str, str]                            what can be drawn, and its name
    draw.screen_svg(screen, size) -> str; draw.screen_png(...), screen_pdf(...) -> bytes
    build_up.stages(screen) -> list[Screen]; build_up.Timing(...)
    film.write(path, screen, timing, *, size, progress)                       .mp4, .webm, or a folder of PNG
"""
