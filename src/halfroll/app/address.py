"""Addresses of pages. Ids are plain names joined by ``/``, so they stand in an address as they are."""

from __future__ import annotations

from collections.abc import Iterable
from urllib.parse import urlencode

from halfroll.workshop.paths import of_prediction
from halfroll.workshop.virtual_takes import is_predicted


def of_version(version_id: str) -> str:
    """The page of a version, or of its prediction where that is meant."""
    plain, foreseen = of_prediction(version_id)
    return of_predicted(plain) if foreseen else f"/drivers/{plain}"


def of_predicted(version_id: str, **settings: str) -> str:
    """The page of a version's prediction, at a level and in a cabinet where they are given."""
    asked = {key: value for key, value in settings.items() if value}
    return f"/predicted/{version_id}" + (f"?{urlencode(asked)}" if asked else "")


def of_design(version_id: str) -> str:
    """The page on which a version's motor is designed."""
    return f"/design/{version_id}"


def of_suspension(version_id: str) -> str:
    """The page on which a version's moving parts and their suspension are designed."""
    return f"/suspension/{version_id}"


def of_update(version_id: str, *, others: bool = False) -> str:
    """The page that says which assumption of a version's prediction was wrong; `others`: with what other versions would become."""
    return f"/update/{version_id}" + ("?others=1" if others else "")


def of_what_if(version_id: str) -> str:
    """The page on which a version's dimensions are varied."""
    return f"/what-if/{version_id}"


def of_cabinet(cabinet_id: str, driver: str = "") -> str:
    """The page of a cabinet, ``new`` for one without a name; with another driver in it than its record's."""
    return f"/cabinets/{cabinet_id}" + (f"?driver={driver}" if driver else "")


PAGES_OF_VERSION = (
    ("version", "All about it"),
    ("design", "Motor"),
    ("suspension", "Suspension"),
    ("predicted", "Prediction"),
    ("causes", "Causes of distortion"),
    ("limits", "Limits"),
    ("what-if", "What if"),
    ("update", "What its measurement teaches"),
    ("cabinet", "Put it in a cabinet"),
    ("bill", "What it costs"),
    ("guide", "Assembly guide"),
    ("sheet", "Data sheet"),
)
"""Pages that tell of one version, in the order of the work: a word for each, and what its link says."""


def pages_of(version_id: str, here: str = "", *, whole: bool = True) -> list[tuple[str, str, bool]]:
    """Links from one page of a version to the others: words, address, whether it is the page `here`.

    `whole` is false of a version that nothing can be predicted from: its motor and suspension come first.
    """
    there = {
        "version": of_version(version_id),
        "design": of_design(version_id),
        "suspension": of_suspension(version_id),
        "predicted": of_predicted(version_id),
        "causes": of_predicted(version_id, show="causes") + "#causes",
        "limits": of_predicted(version_id, show="limits") + "#limits",
        "what-if": of_what_if(version_id),
        "update": of_update(version_id),
        "cabinet": of_cabinet("new", version_id),
        "bill": of_bill(version_id),
        "guide": of_guide(version_id),
        "sheet": of_sheet(version_id),
    }
    early = ("version", "design", "suspension", "predicted", "bill", "guide", "sheet")
    return [(words, there[key], key == here) for key, words in PAGES_OF_VERSION if whole or key in early]


def of_bill(version_id: str, units: int = 1) -> str:
    """The page of what a version is made of and costs."""
    return f"/bill/{version_id}" + (f"?units={units}" if units != 1 else "")


def of_guide(version_id: str) -> str:
    """The assembly guide of a version."""
    return f"/guide/{version_id}"


def of_photograph(unit_id: str, file: str) -> str:
    """A photograph of a unit."""
    return f"/photograph/{unit_id}/{file}"


def of_carry_over(old_id: str, new_id: str, units: int = 1) -> str:
    """The page of what of one version goes into another; either may be left open."""
    asked = {"old": old_id, "new": new_id, "units": "" if units == 1 else str(units)}
    return "/carry-over?" + urlencode({key: value for key, value in asked.items() if value}, safe="/")


def of_sheet(version_id: str) -> str:
    """The data sheet of a version."""
    return f"/sheet/{version_id}"


def of_kit(kit: str, n: int = 1) -> str:
    """The page of a kit, planned for so many."""
    return f"/kits/{kit}" + (f"?n={n}" if n != 1 else "")


def of_stock(part: str = "") -> str:
    """The page of the stock, with one part in front."""
    return f"/stock?part={part}" if part else "/stock"


def of_models(version_id: str) -> str:
    """The page of what is printed of a version."""
    return f"/models/{version_id}"


def of_take(take_id: str) -> str:
    """The page of a take, or of the run that counts as one; a computed one is told of on its prediction's page."""
    if is_predicted(take_id):
        return of_predicted("/".join(take_id.split("/")[:2]))
    return f"/takes/{take_id}" if take_id.count("/") == 3 else of_run(take_id)


def of_unit(unit_id: str) -> str:
    """The page of a built unit."""
    return f"/unit/{unit_id}"


def of_new_unit(version_id: str = "") -> str:
    """The page that makes a unit, of a version if one is named."""
    return "/unit/new" + (f"?version={version_id}" if version_id else "")


def of_parameters(unit_id: str, run: str = "") -> str:
    """The page of a unit's impedance and parameters, with one run in view."""
    return f"/parameters/{unit_id}" + (f"?run={run}" if run else "")


def of_join(unit_id: str, run: str = "") -> str:
    """The page where near and far field of a unit are joined, with one saved response in view."""
    return f"/join/{unit_id}" + (f"?run={run}" if run else "")


def of_run(run_id: str) -> str:
    """The page on which a run of any kind is looked at."""
    if is_predicted(run_id):
        return of_predicted("/".join(run_id.split("/")[:2]))
    unit_id, kind, name = run_id.rsplit("/", 2)
    if kind == "impedance":
        return of_parameters(unit_id, name)
    return of_join(unit_id, name) if kind == "joined" else f"/{kind}/{unit_id}/{name}"


def of_levels(unit_id: str) -> str:
    """The page of a unit's distortion against level, where tones are played too."""
    return f"/levels/{unit_id}"


def of_bench(unit_id: str) -> str:
    """The bench with a unit on it."""
    return f"/bench?unit={unit_id}"


def of_check(name: str) -> str:
    """The page of a builder's check."""
    return f"/builders/{name}"


def of_new_check(version_id: str = "") -> str:
    """The form for a builder's readings of a version, if one is named."""
    return "/builders/new" + (f"?version={version_id}" if version_id else "")


def of_crossover(name: str) -> str:
    """The page of a crossover."""
    return f"/crossovers/{name}"


def of_release(name: str) -> str:
    """The page of a release."""
    return f"/releases/{name}"


def of_rig(name: str) -> str:
    """The page of a rig."""
    return f"/rigs/{name}"


def of_part(name: str) -> str:
    """The page of a part or material of one's own, or of an entry of the catalogue."""
    return f"/parts/{name}"


def of_material(key: str, like: str = "") -> str:
    """The page of a printing material; of a new one, `like` what it starts from."""
    return f"/materials/{key}" + (f"?like={like}" if like else "")


def of_catalogue(kind: str, word: str = "", *, every: bool = False) -> str:
    """The page of parts with one kind of the catalogue in view, narrowed by a word; `every` row of it."""
    pairs = [("kind", kind), *([("find", word)] if word else []), *([("all", "1")] if every else [])]
    return f"/parts?{urlencode(pairs)}#catalogue"


def of_new_part(**given: str) -> str:
    """The form of a new part with some fields filled."""
    return f"/parts?{urlencode(given)}#new"


def of_comparison(version_ids: Iterable[str], **settings: str) -> str:
    """The comparison of some versions."""
    return "/compare?" + query(version_ids, **settings)


def query(version_ids: Iterable[str], **settings: str) -> str:
    """The part of a comparison's address after the question mark; empty settings are left out."""
    pairs = [("v", version_id) for version_id in version_ids]
    pairs += [(key, value) for key, value in settings.items() if value]
    return urlencode(pairs, safe="/:@")
