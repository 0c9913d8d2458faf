"""``/parts``: what have I got, what does it cost, and what can be bought? And ``/parts/<id>``: one part or material."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Any

from nicegui import ui

from halfroll.app import address, frame
from halfroll.app.chart import Chart
from halfroll.app.dom import el
from halfroll.app.field import Field, button
from halfroll.app.part_form import PartForm
from halfroll.app.view import show
from halfroll.core.errors import InputError
from halfroll.core.text import MINUS
from halfroll.materials.catalogue import Catalogue
from halfroll.materials.listing import KINDS, SUPPORT, Entry, Kind, details, find, matching, row
from halfroll.materials.types import MagnetGrade, MagnetSize, Steel, WasherSize, Wire
from halfroll.publish.theme import Theme
from halfroll.workshop import Loaded, Workshop
from halfroll.workshop.part_cost import cost
from halfroll.workshop.part_record import PartRecord
from halfroll.workshop.part_rows import PartLine, cost_words, line_of, material_rows, part_rows
from halfroll.workshop.parts import OwnParts, own_parts
from halfroll.workshop.stock import stock_of

MOST_ROWS = 24
MAGNETS = (
    "Mind magnets: they pinch and splinter, wipe cards, and must stay 0.3 m away from pacemakers. Two swallowed magnets are an "
    "emergency: keep small ones from children."
)


def register(workshop: Workshop) -> None:
    """Add both pages."""

    @frame.page("/parts", workshop_name=lambda: workshop.name)
    def parts_page() -> None:
        asked = dict(ui.context.client.request.query_params)
        frame.title("Parts")
        own = own_parts(workshop)
        _own(workshop, own)
        _new(workshop, asked)
        _catalogue(own.catalogue, asked.get("kind", ""), asked.get("find", ""), every="all" in asked)

    @frame.page("/parts/{part}", workshop_name=lambda: workshop.name)
    def part_page(part: str) -> None:
        own = own_parts(workshop)
        part = own.renamed.get(part, part)
        fault = own.part_faults.get(part) or own.material_faults.get(part)
        if fault is not None:
            raise fault
        frame.title(part)
        if part in own.parts:
            _part(workshop, own, own.parts[part])
            return
        try:
            kind, entry = find(own.catalogue, part)
        except InputError as error:
            raise frame.NotHereError(f"There is no part, material or catalogue entry {part}",
                                     allowed=error.allowed) from error  # fmt: skip
        _entry(own, kind, entry)


def _own(workshop: Workshop, own: OwnParts) -> None:
    stock = stock_of(workshop, own)
    lines = part_rows(own, dt.date.today(), stock.standings)
    show("parts_own.html", lines=[(line, _alert(line)) for line in lines], materials=material_rows(own),
         faults=list(dict.fromkeys(str(fault) for fault in (*own.faults, *stock.faults))))  # fmt: skip


def _alert(line: PartLine) -> str:
    """What must be said of its price, short."""
    if line.record.price is None:
        return ""
    return "".join(
        "no date" if line.record.date is None else "old" for v in line.verdicts if v.code == "old-price"
    )


def _new(workshop: Workshop, asked: dict[str, str]) -> None:
    """The form of a new part, folded until it is wanted or something of the catalogue was chosen for it."""
    with el("section", cls="block no-print"):
        el("h2", "A new part").put(id="new")
        with el("details", open="" if "type" in asked else None):
            el("summary", "Describe it and state its price")
            with el("div", cls="block"):
                if asked.get("type", "magnet") == "magnet":
                    el("p", MAGNETS, cls="beware small")
                PartForm(workshop, given=asked)


def _catalogue(known: Catalogue, name: str, word: str, *, every: bool) -> None:
    """The catalogue: kinds to choose from, a word to narrow it, and the table of the chosen kind."""
    kind = next((one for one in KINDS if one.name == name), KINDS[0])
    found = matching(kind.of(known), word)
    with el("section", cls="block"):
        show(
            "parts_catalogue.html",
            tag="div",
            kinds=[(one.name, one.title, one is kind) for one in KINDS],
            word=word,
        )
        with el("div", cls="fields no-print"):
            field = Field("find", "Only keys and titles with", value=word, hint="such as 0.2, awg, n42, m8")

            def narrow() -> None:
                ui.navigate.to(address.of_catalogue(kind.name, field.value))

            field.control.on("keydown.enter", narrow)
        with el("div", cls="actions no-print"):
            button("Narrow", narrow).mark("narrow")
        if kind.name == "steels":
            _figure(lambda: _steels(known), "chart-steels")
        shown = found if every else found[:MOST_ROWS]
        show("parts_table.html", tag="div", kind=kind, rows=[_cells(kind, one) for one in shown],
             count=len(found), all=address.of_catalogue(kind.name, word, every=True) if len(shown) < len(found) else "")  # fmt: skip


def _cells(kind: Kind, entry: Entry) -> list[tuple[str, str]]:
    values = row(entry)
    texts = ((c, c.text(values[c.key])) for c in kind.columns)
    return [
        (f"{c.head}, {c.unit}" if c.unit else c.head, text.replace("-", MINUS) if c.digits else text)
        for c, text in texts
    ]


def _steels(known: Catalogue) -> Callable[[Theme, int], dict[str, Any]]:
    from halfroll.publish.materials import magnetisation_chart

    shown = [steel for key, steel in known.steels.items() if not key.startswith("steel-unknown")][-7:]
    return lambda look, width_px: magnetisation_chart(shown, theme=look, width_px=width_px)


def _figure(maker: Callable[[], Callable[[Theme, int], dict[str, Any]]], mark: str) -> None:
    with el("div", cls="charts halves"), el("figure"):
        Chart(maker()).mark(mark)


def _part(workshop: Workshop, own: OwnParts, loaded: Loaded[PartRecord]) -> None:
    """One part of one's own."""
    standing = stock_of(workshop, own).standings[loaded.id]
    line = line_of(loaded.id, loaded.record, own.catalogue.parts[loaded.id], dt.date.today(), standing)
    made_of = own.catalogue.materials.get(line.part.material or "")
    verdicts = [verdict for verdict in line.verdicts if verdict.code != "no-price"]
    show("part_head.html", title=line.part.title, name=loaded.id, facts=line.facts, verdicts=verdicts, notes=line.record.notes,
         file=str(loaded.path.relative_to(workshop.folder)), made_of=line.part.wire or line.part.material or "")  # fmt: skip
    if isinstance(made_of, MagnetGrade | Steel):
        with el("section", cls="block"):
            el("h2", f"Its material: {made_of.title}")
            _curve(made_of)
    _cost(loaded, standing.amount)
    with el("section", cls="block no-print"):
        el("h2", "Change it").put(id="change")
        PartForm(workshop, loaded)


def _cost(loaded: Loaded[PartRecord], stock: float | None) -> None:
    """What an amount of it costs."""
    record = loaded.record
    if record.price is None:
        return
    with el("section", cls="block no-print"):
        el("h2", "What an amount costs")
        unit = {"pieces": "pieces", "g": "grams", "m": "metres"}[record.pack_unit]
        with el("div", cls="fields"):
            amount = Field("amount", f"Amount, {unit}", value="1")
        said = el("ul", cls="plain", aria_live="polite").mark("cost")

        def work_out() -> None:
            said.clear()
            amount.error("")
            try:
                wanted = float(amount.value.replace(",", "."))
                found = cost(record, wanted, dt.date.today(), part_id=loaded.id, stock=stock)
            except ValueError:
                amount.error(f"This must be a number; found {amount.value or 'nothing'}.")
                return
            with said:
                for words in cost_words(found):
                    el("li", words)

        with el("div", cls="actions"):
            button("Work it out", work_out).mark("work-cost")


def _entry(own: OwnParts, kind: Kind, entry: Entry) -> None:
    """An entry of the catalogue, or a material of one's own."""
    said = details(entry)
    origin = said["origin"]
    facts = [
        (_words(key), _value(value))
        for key, value in said.items()
        if key not in ("key", "title", "origin", "curve", "mechanics")
    ]
    source = f"{origin['source']} ({SUPPORT[origin['support']]})"
    show("part_entry.html", title=said.get("title", entry.key), name=entry.key, kind=kind, facts=facts, source=source,
         note=origin["note"], add=_addable(entry), own=entry.key in own.materials)  # fmt: skip
    if isinstance(entry, MagnetGrade | Steel):
        with el("section", cls="block"):
            _curve(entry)
            if isinstance(entry, MagnetGrade):
                el("p", "The knee is set at 0.9 of the coercivity HcJ, a cautious choice; see the reference of definitions.",
                   cls="quiet small")  # fmt: skip


def _curve(material: MagnetGrade | Steel) -> None:
    def maker() -> Callable[[Theme, int], dict[str, Any]]:
        from halfroll.publish.materials import demagnetisation_chart, magnetisation_chart

        if isinstance(material, Steel):
            return lambda look, width_px: magnetisation_chart([material], theme=look, width_px=width_px)
        return lambda look, width_px: demagnetisation_chart(material, theme=look, width_px=width_px)

    _figure(maker, "chart-material")


def _addable(entry: Entry) -> str:
    """Address that begins a part of one's own from this entry; empty where it is not sold as such."""
    if isinstance(entry, Wire):
        return address.of_new_part(type="wire", catalogue=entry.key, pack_unit="g", pack_size="100")
    if isinstance(entry, WasherSize):
        return address.of_new_part(type="washer", catalogue=entry.key)
    if isinstance(entry, MagnetSize):
        return address.of_new_part(type="magnet", catalogue=entry.key)
    if isinstance(entry, MagnetGrade):
        return address.of_new_part(type="magnet", material=entry.key)
    return ""


UNIT_WORDS = {
    "kg_m3": "kg/m³", "ka_m": "kA/m", "a_m": "A/m", "s_m": "S/m", "ms_m": "MS/m", "ohm_m": "Ω m", "j_kg_k": "J/(kg K)",
    "percent_per_k": "%/K", "per_k": "1/K", "mpa": "MPa", "mm": "mm", "t": "T", "c": "°C",
}  # fmt: skip
_NAMES = {
    "ohm_per_m": "resistance, Ω/m", "ohm_per_m_low": "lowest resistance, Ω/m", "ohm_per_m_high": "highest resistance, Ω/m",
    "metal_g_per_m": "metal, g/m", "enamel_g_per_m": "enamel, g/m", "g_per_m": "with enamel, g/m", "br_t": "remanence Br, T",
    "br_u_t": "u of Br, T", "lowest_c": "lowest temperature, °C", "highest_c": "highest temperature, °C",
    "glass_c": "glass transition, °C", "continuous_c": "in use to, °C", "hcb_ka_m": "HcB, kA/m", "hcj_ka_m": "HcJ, kA/m", "mu_rec": "μrec", "h_factor_u": "relative u of H",
    "knee_t": "knee at 20 °C, T", "h_a_m": "H of the table, A/m", "b_t": "B of the table, T", "table_end_t": "table ends at, T",
    "h_at_1_t_a_m": "H at 1 T, A/m", "h_at_1_5_t_a_m": "H at 1.5 T, A/m", "h_at_1_8_t_a_m": "H at 1.8 T, A/m",
    "b_at_20_ka_m_t": "B at 20 kA/m, T", "alpha_br_percent_per_k": "change of Br, %/K",
    "beta_hcj_percent_per_k": "change of HcJ, %/K", "poisson": "Poisson's ratio", "modulus_lines": "bent against its lines",
    "calibrated": "calibrated by",
}  # fmt: skip


def _words(key: str) -> str:
    """A key as words with its unit."""
    if key in _NAMES:
        return _NAMES[key]
    if key.endswith("_u"):
        return f"u of {_words(key.removesuffix('_u'))}"
    for ending, unit in UNIT_WORDS.items():
        if key.endswith(f"_{ending}"):
            name = key.removesuffix(f"_{ending}").replace("_", " ")
            return f"u of {name.removesuffix(' u')}, {unit}" if name.endswith(" u") else f"{name}, {unit}"
    return key.replace("_", " ")


def _value(value: Any) -> str:
    if value is None or value == "":
        return ""
    if isinstance(value, list):
        return f"{len(value)} points, up to {value[-1]:.4g}"
    if not isinstance(value, float):
        return str(value)
    return (f"{value:.0f}" if 1e4 <= abs(value) < 1e6 else f"{value:.4g}").replace("-", MINUS)
