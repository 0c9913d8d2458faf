"""``/crossovers``: which drivers are joined? And ``/crossovers/<id>``: one crossover, its circuit and what comes of it."""

from __future__ import annotations

from dataclasses import replace

from markupsafe import Markup

from halfroll.app import address, frame
from halfroll.app.pages.crossovers_new import NewForm
from halfroll.app.pages.crossovers_view import CrossoverPage
from halfroll.app.view import show
from halfroll.core.errors import InputError
from halfroll.driver.crossover.elements import Way
from halfroll.driver.crossover.starts import one_capacitor
from halfroll.publish.crossover_circuit import circuit_svg
from halfroll.workshop import Workshop
from halfroll.workshop.crossovers import crossover_ids, crossover_of, crossover_record

THUMBNAIL_PX = 400


def register(workshop: Workshop) -> None:
    """Add both pages."""

    @frame.page("/crossovers", workshop_name=lambda: workshop.name)
    def crossovers_page() -> None:
        frame.title("Crossovers")
        versions = workshop.version_ids()
        lines, faults = _lines(workshop)
        show(
            "crossovers_head.html", lines=lines, possible=len(versions) > 1, faults=faults, example=_example()
        )
        if len(versions) > 1:
            NewForm(workshop, versions).draw(open_=not lines)

    @frame.page("/crossovers/{name}", workshop_name=lambda: workshop.name)
    async def crossover_page(name: str) -> None:
        if name not in crossover_ids(workshop):
            raise frame.NotHereError(
                f"There is no crossover {name}",
                allowed=crossover_ids(workshop)[:12] or "there is no crossover yet",
            )
        frame.title(name)
        await CrossoverPage(workshop, crossover_record(workshop, name)).show()


def _example() -> Markup:
    """The least crossover, for a workshop that has none."""
    made = one_capacitor(Way(name="full-range"), Way(name="small"), 3000.0, 8.0)
    rounded = replace(made.elements[0], value=6.8e-6)
    shown = replace(made, ways=(made.ways[0], replace(made.ways[1], elements=(rounded,))))
    return Markup(circuit_svg(shown, theme=None, width_px=THUMBNAIL_PX))


def _lines(workshop: Workshop) -> tuple[list[tuple[str, str, str, Markup, str]], list[str]]:
    """Name, title, address, circuit and ways of each crossover, and the faults of those that cannot be read."""
    lines, faults = [], []
    for name in crossover_ids(workshop):
        try:
            record = crossover_record(workshop, name).record
        except InputError as fault:
            faults.append(str(fault))
            continue
        drawing = Markup(circuit_svg(crossover_of(record), theme=None, width_px=THUMBNAIL_PX))
        ways = ", ".join(f"{way.name}: {way.driver}" for way in record.ways)
        lines.append((name, record.title, address.of_crossover(name), drawing, ways))
    return lines, faults
