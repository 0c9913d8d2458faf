"""The pages, one file each; every address can be kept, shared and printed."""

from __future__ import annotations

from halfroll.app import assets
from halfroll.app.frame import register_not_found
from halfroll.app.pages import (
    add_take,
    bench,
    bill,
    builders,
    cabinets,
    carry_over,
    claims,
    compare,
    crossovers,
    design,
    guide,
    join,
    kits,
    levels,
    mark,
    materials,
    models,
    new_unit,
    overview,
    parameters,
    parts,
    pictures,
    power,
    predicted,
    releases,
    rigs,
    sheet,
    site,
    stock,
    suspension,
    sweep,
    take,
    takeaway,
    tones,
    unit,
    update,
    version,
    what_if,
)
from halfroll.workshop import Workshop


def register(workshop: Workshop) -> None:
    """Add all pages over one workshop, and what they load."""
    assets.register()
    register_not_found(lambda: workshop.name)
    for module in (
        overview,
        version,
        predicted,
        update,
        new_unit,
        unit,
        parameters,
        join,
        take,
        design,
        models,
        suspension,
        cabinets,
        what_if,
        crossovers,
        bill,
        carry_over,
        guide,
        sheet,
        site,
        mark,
        compare,
        claims,
        takeaway,
        pictures,
        add_take,
        bench,
        tones,
        levels,
        power,
        sweep,
        parts,
        stock,
        kits,
        materials,
        releases,
        rigs,
        builders,
    ):
        module.register(workshop)
