"""Charts and sheets: one specification per chart, for the screen, for print and for a file.

A chart is a Vega-Lite specification, a plain ``dict`` of JSON values that carries its own data.  A browser draws it
with hover; `render` turns the same dict into SVG, PNG or PDF.  Nothing is fetched from anywhere.

::

    theme.theme(name="light") -> Theme              light, dark, print, slide, slide-dark (theme.theme_names())
    theme.css_variables(look) -> dict[str, str]     {"--paper": "#faf6ec", ..., "--series-1": ..., "--font": ...}
    theme.font_files() -> dict[str, Path]           file name -> path, to serve from a local route
    theme.font_face_css(url_prefix) -> str          @font-face rules for those files
    theme.contrast(first, second) -> float          WCAG contrast ratio

    comparison.comparison_charts(comparison, *, theme, width_px) -> dict[str, Spec]
        level, thd, h2 ... h5, impedance as far as versions have the curves, then strip:<figure key>
    comparison.curve_chart(comparison, name, *, theme, width_px) -> Spec | None
    strips.strip_chart(comparison, figure_key, *, theme, width_px, names=True) -> Spec
    striprows.strip_rows(comparison, figure_key) -> list[StripRow]      the words of a strip, for a table
    take.take_charts(response, *, theme, width_px, thd_reference="total") -> dict[str, Spec]
        level, thd, harmonics, impedance, impedance_phase, impulse, group_delay, noise; what a take lacks is left out

    charts.level_chart(curves, *, theme, width_px, ratio_db_per_decade=25, range_hz=None, most_db=50, title="",
                       quantity=..., zones=(), noise=None, notes=(), room_for=()) -> Spec
    charts.thd_chart, impedance_chart, frequency_chart, time_chart      the other kinds
    curves.NamedCurve(label=, curve=, base=False, source="measured", style=None)
    hatch.Limit(word=, from_x=0, to_x=inf); hatch.room(below_hz)

    section.section_svg(assembly, *, coil=None, result=None, show=..., theme, width_px, dimensions=True, ...) -> str
        the half-section of a motor to scale, with its field and what moves in it; an SVG text, not a chart
    section_moving.moving_svg(moving, *, theme, width_px, mirrored=True, ...) -> str      moving parts without a motor
    profile_drawing.profile_svg(design, *, theme, width_px, live=True, ...) -> str        dimensioned, for a page
    part_pieces.piece_of(design, name, title) -> Piece; part_sheet.part_sheet_svg(piece, date=), part_sheets_pdf(pieces, date=)      A4
    cabinet_drawing.cabinet_svg(cabinet, body, *, theme, width_px) -> str; cabinet.cabinet_charts(report, *, theme, width_px) -> dict[str, Spec]
    motor.force_factor_chart(bl, limits, *, theme, width_px, geometric=None, measured=None), motor.gap_chart(result, assembly, ...)
    motor_rows: a motor's figures and tables in words

    spec.chart_summary(spec) -> str                 the text alternative, computed from the numbers
    spec.picture_size(spec) -> (width_px, height_px)

    render.to_svg(spec) -> str
    render.to_png(spec, width_px) -> bytes
    render.to_pdf(spec) -> bytes
    render.browser_bundle() -> str                  JavaScript to serve from a local route; sets window.vegaEmbed
    render.EMBED_OPTIONS                            options for vegaEmbed: SVG, no menu; add formatLocale for a comma

    sheet.sheet_pdf(comparison, *, title, date) -> bytes                one A4 page, 1 to 8 versions
    sheet.sheet_svg(comparison, *, title, date) -> str
    screens: pictures for films and their build-up, see there
    as_text.comparison_text(comparison, marks, form="markdown" | "plain") -> str
    sheet.sheet_png(comparison, *, title, date, width_px=1240) -> bytes

    marks.marks_of(workshop, comparison) -> {(version_id, figure_key): mark}       kept in the workshop; marks.read_mark, same_now, marks_json
    data_sheet_rows.data_sheet(workshop, version_id, progress=...) -> DataSheet   what stands on a data sheet, whatever it is printed on
    data_sheet.data_sheet_pdf(sheet, workshop, date=...) -> bytes; data_sheet_pages(..., format="svg" | "png") -> [bytes, ...]
    site.build_site(workshop, folder, versions=(), date=..., progress=...) -> Built; site.site_files(...) -> {name: bytes}; site.zipped(files)

`width_px` is the width of the whole picture; below 36 text heights (468 px on screen) names move under the plot.
"""
