"""Charts and sheets: one specification per chart, for the screen, for print and for a file.

A chart is a Vega-Lite specification, a plain ``dict`` of JSON values that carries its own data.  A browser draws it
with hover; `render` turns the same dict into SVG, PNG or PDF.  Nothing is fetched from anywhere.

::

    theme.theme(name) -> Theme                      "light", "dark", "print", "slide"
    theme.css_variables(theme) -> dict[str, str]    {"--paper": "#faf6ec", ...} for pages
    theme.font_files() -> dict[str, Path]           file name -> path, to serve from a local route
    theme.font_face_css(url_prefix) -> str          @font-face rules for those files

    curves.NamedCurve(label=, curve=Curve, base=False, source="measured")
    level.level_chart(curves, *, theme, width_px, ratio_db_per_decade=25, title="", quantity="...") -> dict
    distortion.thd_chart(curves, *, theme, width_px, ...) -> dict
    strips.strip_chart(comparison, figure_key, *, theme, width_px) -> dict
    comparison.comparison_charts(comparison, *, theme, width_px) -> dict[str, dict]
        keys: "level", "thd", ... and one "strip:<figure key>" per figure, in reading order
    take.take_charts(response, *, theme, width_px) -> dict[str, dict]
        keys: "level", "harmonics", "thd", "impedance", "impedance_phase", "impulse", "group_delay", "noise";
        those that the take cannot give are left out
    spec.chart_summary(spec) -> str                 the text alternative, computed from the numbers

    render.to_svg(spec) -> str
    render.to_png(spec, width_px) -> bytes
    render.to_pdf(spec) -> bytes
    render.browser_bundle() -> str                  JavaScript to serve from a local route; sets window.vegaEmbed
    render.EMBED_OPTIONS                            options for vegaEmbed: SVG, no menu, nothing remote

    sheet.sheet_pdf(comparison, *, title, date) -> bytes
    sheet.sheet_svg(comparison, *, title, date) -> str
    sheet.sheet_png(comparison, *, title, date, width_px) -> bytes
"""
