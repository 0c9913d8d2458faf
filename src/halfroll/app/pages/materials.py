"""``/materials``: how stiff are my plastics, and how sure is that? And ``/materials/<key>``: one of them, calibrated by a strip."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from nicegui import ui

from halfroll.app import address, frame
from halfroll.app.chart import Chart
from halfroll.app.dom import el
from halfroll.app.field import Field, button
from halfroll.app.other_calibrations import CreepForm, ResonanceForm
from halfroll.app.strip_form import StripForm
from halfroll.app.typed import Errors, new_name
from halfroll.app.view import show
from halfroll.core.errors import InputError
from halfroll.core.text import MINUS, format_stated, format_with_u
from halfroll.materials.catalogue import catalogue
from halfroll.materials.listing import SUPPORT
from halfroll.materials.printed import WORDS
from halfroll.materials.types import Filament
from halfroll.publish.calibrations import (
    METHOD_WORDS,
    pascals,
    range_words,
    reading_words,
    result_words,
)
from halfroll.publish.moduli import ModulusRow, filament_row, history_of, moduli_chart
from halfroll.workshop import Workshop
from halfroll.workshop.calibrations import (
    OwnFilament,
    filament_of,
    filaments,
    use_calibration,
    versions_using,
)
from halfroll.workshop.contents import read_contents
from halfroll.workshop.parts import material_ids, own_parts

HOT = "A printer's hot end and bed burn skin, and hot plastic gives off fumes: print in a room that is aired, and let strips cool before you clamp them."


def register(workshop: Workshop) -> None:
    """Add both pages."""

    @frame.page("/materials", workshop_name=lambda: workshop.name)
    def materials_page() -> None:
        frame.title("Printing materials")
        contents = read_contents(workshop.folder, workshop.index)
        using = versions_using(workshop, contents)
        known = filaments(workshop)
        faults = [str(fault) for key, fault in own_parts(workshop).material_faults.items()]
        own = [one for one in known.values() if one.loaded is not None]
        show("materials_head.html", own=[_line(one, using.get(one.key, ())) for one in own], faults=faults)
        _all(known)
        shipped = [one for one in known.values() if one.loaded is None and not one.filament.sheet]
        show("materials_shipped.html", lines=[_line(one, using.get(one.key, ())) for one in _sorted(shipped)])
        _new(workshop)

    @frame.page("/materials/{key}", workshop_name=lambda: workshop.name)
    def material_page(key: str) -> None:
        like = dict(ui.context.client.request.query_params).get("like") or None
        own = _found(workshop, key, like)
        frame.title(own.filament.title)
        using = versions_using(workshop).get(key, ())
        rows = history_of(own.calibrated)
        with el("div", cls="two"):
            _head(own, using)
            with el("figure"):
                Chart(lambda look, width: moduli_chart(rows, theme=look, width_px=width)).mark(
                    "chart-history"
                )
        _history(workshop, own, like)
        with el("section", cls="block no-print", aria_labelledby="strip"):
            el("h2", "Bend a strip", id="strip")
            el("p", "Print a strip flat, with its lines the way the part will bend. Hold it, hang a weight that you know, and read how far it sinks "
               "there. Three weights, each twice, tell how well it repeats.", cls="prose")  # fmt: skip
            el("p", HOT, cls="beware small")
            StripForm(workshop, own, like, lambda: ui.navigate.to(address.of_material(key)))
        _other(workshop, own, like)


def _other(workshop: Workshop, own: OwnFilament, like: str | None) -> None:
    """Ways besides the strip, folded."""

    def again() -> None:
        ui.navigate.to(address.of_material(own.key))

    with el("section", cls="block no-print", aria_labelledby="other"):
        el("h2", "Other ways", id="other")
        with el("details"):
            el("summary", "From a unit's resonance")
            with el("div", cls="block"):
                el("p", "Its measured resonance and moving mass, against the stiffness computed for its version: the modulus in fast motion, and the "
                   "loss factor.", cls="prose")  # fmt: skip
                ResonanceForm(workshop, own, again)
        with el("details"):
            el("summary", "Creep: how far a strip sinks over time")
            with el("div", cls="block"):
                CreepForm(workshop, own, like, again)


def _found(workshop: Workshop, key: str, like: str | None) -> OwnFilament:
    try:
        return filament_of(workshop, key, like=None if key in material_ids(workshop) else like)
    except InputError as error:
        if error.place.file is not None:
            raise
        raise frame.NotHereError(f"There is no printing material {key}", allowed=error.allowed) from error


def _line(one: OwnFilament, using: Sequence[str]) -> dict[str, Any]:
    """One material of the list."""
    filament, low_high = one.filament, one.calibrated.combined.interval_pa
    return {
        "key": one.key, "title": filament.title, "modulus": pascals(filament.modulus_pa), "interval": range_words(low_high).removesuffix(" (95 %)"),
        "from": f"calibrated by {filament.calibrated}" if filament.calibrated else SUPPORT[filament.origin.support],
        "versions": [(version, address.of_version(version)) for version in using[:4]], "more": max(len(using) - 4, 0),
    }  # fmt: skip


def _all(known: dict[str, OwnFilament]) -> None:
    """All moduli on one scale: one's own first, then those of the catalogue, stiff ones on top."""
    own = [one for one in known.values() if one.loaded is not None]
    rest = [one for one in known.values() if one.loaded is None and not one.filament.sheet]
    ordered = [*_sorted(own), *_sorted(rest)]
    rows = [_row(one) for one in ordered]
    with el("section", cls="block"):
        el("h2", "All on one scale")
        with el("div", cls="charts"), el("figure"):
            Chart(lambda look, width: moduli_chart(rows, theme=look, width_px=width)).mark("chart-moduli")


def _sorted(some: Sequence[OwnFilament]) -> list[OwnFilament]:
    return sorted(some, key=lambda one: -one.filament.modulus_pa)


def _row(one: OwnFilament) -> ModulusRow:
    row = filament_row(one.filament)
    return ModulusRow(name=row.name, modulus_pa=row.modulus_pa, interval_pa=one.calibrated.combined.interval_pa, measured=row.measured,
                      main=one.loaded is not None)  # fmt: skip


def _new(workshop: Workshop) -> None:
    """The way to a material of one's own."""
    shipped = catalogue().filaments
    with el("section", cls="block no-print", aria_labelledby="new-material"):
        el("h2", "A spool of your own", id="new-material")
        el("p", "Give it a name and say what it is like; its page opens, and it is kept with its first calibration. To make every version that names "
           "a material of the catalogue follow, calibrate that one itself.", cls="prose")  # fmt: skip
        with el("div", cls="fields"):
            name = Field("material-name", "Name", hint="such as grey-tpu")
            choices = [(key, one.title) for key, one in shipped.items() if not one.sheet]
            like = Field("material-like", "It is like", tag="select", choices=choices, value="tpu-95a")

        def go() -> None:
            errors: Errors = {}
            key = new_name(name.value, "material", "name", [*material_ids(workshop), *shipped], errors)
            name.error(errors.get("name", ""))
            if not errors:
                ui.navigate.to(address.of_material(key, like.value))

        with el("div", cls="actions"):
            button("To its page", go).mark("new-material")


def _head(own: OwnFilament, using: Sequence[str]) -> None:
    filament = own.filament
    low_high = own.calibrated.combined.interval_pa
    show(
        "material_head.html", title=filament.title, name=own.key, own=own.loaded is not None, modulus=pascals(filament.modulus_pa),
        interval=range_words(low_high), lines=WORDS[filament.modulus_lines], facts=_facts(filament),
        versions=[(version, address.of_version(version)) for version in using],
        sources=[(_source(filament.origin), filament.origin.note),
                 *([(f"Poisson's ratio, loss, creep and limits: {_source(filament.mechanics)}", filament.mechanics.note)] if filament.mechanics else [])],
        verdicts=own.calibrated.combined.verdicts,
    )  # fmt: skip


def _source(origin: Any) -> str:
    return f"{origin.source} ({SUPPORT[origin.support]})"


def _facts(one: Filament) -> list[tuple[str, str]]:
    """Everything but the modulus, with standard uncertainties."""
    strength = (
        ""
        if one.strength_pa is None
        else format_with_u(1e-6 * one.strength_pa, _mega(one.strength_u_pa), "MPa")
    )
    fatigue = (
        ""
        if one.fatigue_strain is None
        else format_with_u(100 * one.fatigue_strain, _hundred(one.fatigue_strain_u), "%")
    )
    return [
        ("density", format_with_u(one.density_kg_m3, one.density_u_kg_m3, "kg/m³")),
        ("Poisson's ratio", format_with_u(one.poisson, one.poisson_u)),
        ("across the lines over along", format_with_u(one.across_factor, one.across_factor_u or None)),
        ("loss factor", format_with_u(one.loss_factor, one.loss_factor_u)),
        ("creep per decade of time", format_with_u(100 * one.creep_per_decade, 100 * one.creep_per_decade_u, "%")),
        ("strain for millions of cycles", fatigue), ("tensile strength", strength),
        ("glass transition", _celsius(one.glass_c)), ("in use to", _celsius(one.continuous_c)),
    ]  # fmt: skip


def _celsius(value: float) -> str:
    return format_stated(value, "degC").replace("-", MINUS)


def _mega(value: float | None) -> float | None:
    return None if value is None else 1e-6 * value


def _hundred(value: float | None) -> float | None:
    return None if value is None else 100 * value


def _history(workshop: Workshop, own: OwnFilament, like: str | None) -> None:
    """The calibrations, one below the other, with what was read and what came of it."""
    found = own.calibrated
    with el("section", cls="block", aria_labelledby="history"):
        el("h2", "Where its modulus comes from", id="history")
        if not found.tables:
            start = f"It starts from {found.start.title}. " if like else ""
            el(
                "p",
                f"{start}Not calibrated yet: the value is that of the catalogue, and brands differ. A bent strip makes it yours.",
                cls="prose",
            )
        for number, (table, result, weight) in enumerate(
            zip(found.tables, found.results, found.weights, strict=True), 1
        ):
            share = "" if weight is None else f", weight {100 * weight:.0f} %"
            with el("div", cls="file block"):
                with el("p"):
                    el("strong", f"{number} {METHOD_WORDS[table.method].capitalize()}")
                    state = "not used" if not table.used else f"{result_words(result)}{share}"
                    el("span", f" {table.date.isoformat()}, {reading_words(table)}: {state}. {table.note}")
                _listed(result.verdicts)
                button(
                    "Leave it out" if table.used else "Let it count again",
                    _user(workshop, own, number, not table.used),
                    cls="plain",
                ).mark(f"use-{number}")


def _listed(verdicts: Sequence[Any]) -> None:
    if verdicts:
        with el("details"):
            el("summary", "What is said of it")
            show("verdicts.html", tag="div", verdicts=verdicts)


def _user(workshop: Workshop, own: OwnFilament, number: int, used: bool) -> Any:
    def change() -> None:
        assert own.loaded is not None
        use_calibration(workshop, own.loaded, number, used=used)
        ui.navigate.to(address.of_material(own.key))

    return change
