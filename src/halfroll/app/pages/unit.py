"""``/unit/<driver>/<version>/<unit>``: one built copy, and everything that was done with it on the bench."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from fastapi import Request

from halfroll.app import address, frame
from halfroll.app.dom import el
from halfroll.app.job import work
from halfroll.app.pages import unit_built
from halfroll.app.pages.unit_built import BuiltForm, show_built, show_driver
from halfroll.app.pages.version import take_line
from halfroll.app.pages.words import free_keys, moment
from halfroll.app.view import show
from halfroll.builds.guide.side_by_side import SideBySide, side_by_side
from halfroll.core.errors import InputError
from halfroll.core.progress import Progress, part
from halfroll.core.text import count, format_stated
from halfroll.figures.types import TakeReadings
from halfroll.publish.parameter_rows import fit_rows, parameter_rows
from halfroll.workshop import Workshop, derive, read_contents
from halfroll.workshop.contents import Contents
from halfroll.workshop.fitted import UnitParameters
from halfroll.workshop.parameters import unit_parameters
from halfroll.workshop.paths import version_of
from halfroll.workshop.prediction import has_design
from halfroll.workshop.runs import free_name

SHOWN = ("Re", "fs", "Qms", "Qes", "Qts", "Mms", "Bl", "Vas")
"""Parameters that stand on the page of a unit; all of them stand on their own."""

OTHER_RUNS = (
    ("tones", "Distortion against level", "Steady tones or sweeps, level by level: how loud before it is too much.", "Distortion against level"),
    ("joined", "Near and far field", "Near field in the bass, far field in the treble, one curve.", "Join near and far field"),
    ("power", "Power handling", "Hours at a voltage, the temperature of the coil, and what changed.", "Begin a power log"),
)  # fmt: skip
"""Kinds of runs besides impedance: how each is headed, what it is, and what can be done."""

POWER_LOG = "endurance"
"""Name of a power log that begins here."""


@dataclass(frozen=True, kw_only=True)
class _Found:
    contents: Contents
    takes: list[TakeReadings]
    parameters: UnitParameters
    built: SideBySide | None = None
    not_built: str = ""
    """Why there is no driver as built, where it was asked for."""


def register(workshop: Workshop) -> None:
    """Add the page and the routes of photographs."""
    unit_built.register(workshop)

    @frame.page("/unit/{driver}/{version}/{unit}", workshop_name=lambda: workshop.name)
    async def unit_page(driver: str, version: str, unit: str, request: Request) -> None:
        unit_id = f"{driver}/{version}/{unit}"
        frame.need(workshop, unit_id, "unit")
        workshop.unit(unit_id)  # a record with a fault is said here, with its line
        built = request.query_params.get("built", "") == "1"
        found = await work(
            "Reading what was measured", lambda progress: _look(workshop, unit_id, built, progress)
        )
        title = workshop.driver(driver).record.title
        frame.title(f"{title} {version}, unit {unit}")
        _show(workshop, unit_id, title, found)


def _look(workshop: Workshop, unit_id: str, built: bool, progress: Progress) -> _Found:
    contents = read_contents(workshop.folder, workshop.index)
    takes = contents.below(unit_id)
    readings = derive.readings(workshop, takes, contents=contents, progress=part(progress, 0.0, 0.4))
    parameters = unit_parameters(workshop, unit_id, contents=contents, progress=part(progress, 0.4, 0.5))
    shown, fault = None, ""
    # A design takes a while to be predicted, so it is asked for; entered or measured parameters do not.
    if built or not has_design(workshop.version(version_of(unit_id)).record):
        try:
            shown = side_by_side(workshop, unit_id, part(progress, 0.5, 1.0))
        except InputError as error:
            fault = str(error) if built else ""
    return _Found(
        contents=contents,
        takes=[readings[take] for take in takes],
        parameters=parameters,
        built=shown,
        not_built=fault,
    )


def _show(workshop: Workshop, unit_id: str, driver_title: str, found: _Found) -> None:
    driver, version, unit = unit_id.split("/")
    version_id = f"{driver}/{version}"
    loaded = workshop.unit(unit_id)
    record = loaded.record
    rows = {row[0]: row[1] for row in parameter_rows(found.parameters).rows}
    show(
        "unit_head.html",
        steps=[("Drivers", "/"), (driver_title, f"/#{driver}"), (version, address.of_version(version_id))],
        name=f"{driver_title} {version}, unit {unit}",
        built=" ".join(
            filter(None, (record.built_by, "" if record.built_on is None else record.built_on.isoformat()))
        ),
        notes=record.notes,
        facts=[
            ("DC resistance", _with_u(record.re_ohm, record.re_u_ohm, "ohm")),
            ("Moving mass as weighed", _with_u(record.moving_mass_g, record.moving_mass_u_g, "g")),
            ("Print settings", free_keys(record.print_settings)),
            ("Known to be faulty", record.faulty),
            ("Record", str(loaded.path.relative_to(workshop.folder))),
        ],
    )
    show_built(workshop, unit_id)
    if found.built is not None:
        show_driver(found.built)
    elif found.not_built:
        el("p", found.not_built, cls="prose quiet")
    else:
        with el("p", cls="actions no-print"):
            el("a", "The driver as built", cls="button", href=f"{address.of_unit(unit_id)}?built=1").mark(
                "as-built-driver"
            )
    BuiltForm(workshop, unit_id)
    show(
        "unit.html",
        parameters=[(symbol, rows[symbol]) for symbol in SHOWN if symbol in rows],
        parameters_href=address.of_parameters(unit_id),
        missing=found.parameters.missing,
        runs=_impedance(found.parameters),
        takes=[take_line(take) for take in found.takes],
        others=_others(workshop, found.contents, unit_id),
        measure=address.of_bench(unit_id),
        add_take=f"/import?version={version_id}",
        count=count,
    )


def _with_u(value: float | None, u: float, unit: str) -> str:
    if value is None:
        return ""
    return format_stated(value, unit) + (f", standard uncertainty {format_stated(u, unit)}" if u else "")


def _impedance(found: UnitParameters) -> list[dict[str, Any]]:
    rows = []
    for run, row in zip(found.runs, fit_rows(found).rows, strict=True):
        left = f"Left out: {run.record.leave_out}" if run.record.leave_out else ""
        bad = next((v.text for v in run.verdicts if v.severity >= 2), "")
        rows.append({
            "href": address.of_parameters(found.unit_id, run.name),
            "name": run.name,
            "what": row[1],
            "when": "" if run.when is None else moment(run.when),
            "fs": row[3],
            "word": left or bad or "Nothing speaks against it.",
            "alert": bool(bad) and not left,
        })  # fmt: skip
    return rows


def _others(workshop: Workshop, contents: Contents, unit_id: str) -> list[dict[str, Any]]:
    """Runs of the other kinds, each with its page, and where one more begins."""
    begin = {
        "tones": address.of_levels(unit_id),
        "joined": address.of_join(unit_id),
        "power": address.of_run(f"{unit_id}/power/{free_name(workshop, unit_id, 'power', POWER_LOG)}"),
    }
    found = []
    for kind, heading, about, act in OTHER_RUNS:
        runs = [
            {
                "href": address.of_run(run_id),
                "name": run_id.rpartition("/")[2],
                "when": moment(contents.runs[run_id].when),
                "note": contents.runs[run_id].note,
                "left_out": contents.runs[run_id].leave_out,
            }
            for run_id in contents.runs_below(unit_id, kind)
        ]
        found.append(
            {"kind": kind, "heading": heading, "about": about, "runs": runs, "act": act, "begin": begin[kind]}
        )
    return found
