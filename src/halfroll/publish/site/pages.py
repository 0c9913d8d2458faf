"""The pages of a site as HTML: everything a person wrote is escaped where it enters a template, a name that is missing stops the page."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache, partial
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from halfroll.core.progress import Progress, silent
from halfroll.core.text import THIN
from halfroll.figures.marks import printed
from halfroll.figures.rules import HEADLINES, RULE
from halfroll.publish.comparison import KINDS, curve_chart, named_curves
from halfroll.publish.data_sheet_rows import CAUTIONS, HEADS, DataSheet, figure_text
from halfroll.publish.mark_rows import mark_facts, value_text
from halfroll.publish.marks import MarkRecord
from halfroll.publish.site.charts import SiteChart, site_chart
from halfroll.publish.site.gather import SiteData, SiteDriver, SiteVersion, slug_of
from halfroll.publish.spec import Spec
from halfroll.publish.theme import Theme, theme

if TYPE_CHECKING:
    from jinja2 import Environment

    from halfroll.compare.types import Comparison

TITLES = {
    "level": "Level",
    "thd": "Distortion",
    "impedance": "Impedance",
    "h2": "2nd harmonic",
    "h3": "3rd harmonic",
}
SHOWN = ("level", "thd", "impedance")


def pages(data: SiteData, progress: Progress = silent) -> dict[str, str]:
    """Every page by its name in the folder."""
    work = list(_work(data))
    found = {}
    for done, (name, template, values) in enumerate(work):
        progress(done / len(work), f"writing {name}")
        found[name] = _page(data, name, template, values() if callable(values) else values)
    progress(1.0, "written")
    return found


def _work(data: SiteData) -> Iterator[tuple[str, str, Any]]:
    """Name, template and what it shows, of every page; what takes its time is a function."""
    yield "index.html", "index.html", {"drivers": [_line(driver) for driver in data.drivers]}
    for driver in data.drivers:
        for version in driver.versions:
            yield f"versions/{version.slug}.html", "version.html", partial(_version, driver, version)
            yield f"marks/{version.slug}.html", "marks.html", partial(_marks, data, version)
        if driver.comparison is not None:
            yield (
                f"compare/{driver.driver_id}.html",
                "compare.html",
                partial(_compared, driver, driver.comparison),
            )
    yield "changes.html", "changes.html", {"drivers": data.drivers}
    yield (
        "parts.html",
        "parts.html",
        {
            "parts": [(title, kind, [slug_of(v) for v in used], used) for title, kind, used in data.parts],
            "cautions": CAUTIONS,
        },
    )


def _page(data: SiteData, name: str, template: str, values: dict[str, Any]) -> str:
    up = "../" if "/" in name else ""
    places = [
        ("Drivers", f"{up}index.html"),
        ("What changed", f"{up}changes.html"),
        ("Parts and cautions", f"{up}parts.html"),
    ]
    return (
        _environment()
        .get_template(template)
        .render(
            up=up,
            here=f"{up}{name.rpartition('/')[2] if up else name}",
            site=data.name,
            date=data.date,
            places=places,
            **values,
        )
    )


def _line(driver: SiteDriver) -> dict[str, Any]:
    return {"driver": driver, "versions": [(one, _headlines(one)) for one in driver.versions]}


def _headlines(version: SiteVersion) -> list[tuple[str, str, str]]:
    """Label, value and mark of the headline figures of a version, from its first source."""
    if version.sheet is None:
        return []
    rows = {row.key: row for row in version.sheet.rows}
    found = []
    for key in HEADLINES:
        cell = next((one for one in rows[key].cells if one is not None), None) if key in rows else None
        found.append((RULE[key].label, "–" if cell is None else cell.text, "" if cell is None else cell.mark))
    return found


def _version(driver: SiteDriver, version: SiteVersion) -> dict[str, Any]:
    sheet = version.sheet
    return {
        "driver": driver, "version": version, "sheet": sheet, "section": Markup(version.section), "cautions": CAUTIONS,
        "heads": [] if sheet is None else [HEADS[source] for source in sheet.sources],
        "charts": [] if sheet is None else _charts_of(sheet), "parent": _parent(driver, version),
        "compared": driver.comparison is not None,
    }  # fmt: skip


def _parent(driver: SiteDriver, version: SiteVersion) -> SiteVersion | None:
    name = version.record.parent
    wanted = None if name is None else name if "/" in name else f"{driver.driver_id}/{name}"
    return next((one for one in driver.versions if one.version_id == wanted), None)


def _charts_of(sheet: DataSheet) -> list[SiteChart]:
    return _charts(sheet.comparison)


def _charts(comparison: Comparison) -> list[SiteChart]:
    made = []
    for name in SHOWN:
        series = tuple(column.version.version_id for column in comparison.columns if name in column.curves)
        if named_curves(comparison, name):
            made.append(site_chart(name, TITLES[name], partial(_chart, comparison, name), series))
    return made


def _chart(comparison: Comparison, name: str, look: Theme, width_px: int) -> Spec:
    spec = curve_chart(comparison, name, theme=look, width_px=width_px)
    assert spec is not None
    return spec


def _compared(driver: SiteDriver, comparison: Comparison) -> dict[str, Any]:
    rows = []
    for key in [*HEADLINES, "thd_worst_percent", "upper_limit_hz", "resonance_hz"]:
        cells = []
        for column in comparison.columns:
            figure = column.figures.get(key)
            mark = driver.marks.get((column.version.version_id, key))
            cells.append(
                (
                    "–" if figure is None else figure_text(figure),
                    printed(mark) if mark else "",
                    slug_of(column.version.version_id.partition("@")[0]),
                )
            )
        if any(mark for _, mark, _ in cells):
            rows.append((RULE[key].label, cells))
    look = theme("light")
    styles = [look.style(index) for index in range(len(comparison.columns))]
    return {
        "driver": driver, "comparison": comparison, "charts": _charts(comparison), "rows": rows,
        "columns": [(column.version.version_id, column.version.label, column.source, slug_of(column.version.version_id.partition("@")[0]), style.colour)
                    for column, style in zip(comparison.columns, styles, strict=True)],
        "cautions": [f"{v.text} {v.remedy}".strip() for v in comparison.cautions if v.severity > 0],
    }  # fmt: skip


def _marks(data: SiteData, version: SiteVersion) -> dict[str, Any]:
    own = [record for record in data.records if record.version_id.partition("@")[0] == version.version_id]
    return {"version": version, "entries": [_entry(record) for record in own]}


def _entry(record: MarkRecord) -> dict[str, Any]:
    facts = [(name, value) for name, value in mark_facts(record) if name not in ("Mark", "Value", "Figure")]
    return {"record": record, "value": value_text(record), "facts": facts}


@cache
def _environment() -> Environment:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("halfroll.publish.site", "templates"), autoescape=True, undefined=StrictUndefined, trim_blocks=True,
        lstrip_blocks=True,
    )  # fmt: skip
    environment.globals.update(THIN=THIN, KINDS=KINDS)
    environment.filters.update(
        live=lambda chart: Markup(chart.live), still=lambda chart: Markup(chart.pictures)
    )
    return environment
