"""The whole walk from a text and a workshop to what the figures say to each of its sentences."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from halfroll.compare.claims.judge import check_claim, gravest
from halfroll.compare.claims.names import Known, NotReadError
from halfroll.compare.claims.read import claims_something, read_claim, sentences
from halfroll.compare.claims.types import Checked, Claim
from halfroll.compare.recipe import compare_versions
from halfroll.core.errors import RefusedError
from halfroll.core.progress import Progress, part, silent
from halfroll.figures.types import FigureSettings
from halfroll.workshop import Workshop, read_contents
from halfroll.workshop.contents import Contents
from halfroll.workshop.paths import parent_id


@dataclass(frozen=True, kw_only=True)
class CheckedText:
    """A text with what the figures say to each sentence that claims something."""

    text: str
    sentences: tuple[Checked, ...]

    @property
    def refused(self) -> tuple[Checked, ...]:
        """Sentences that may not be printed."""
        return tuple(one for one in self.sentences if one.refused)


def check_claims(
    workshop: Workshop, text: str, *, version_id: str | None = None, settings: FigureSettings | None = None, progress: Progress = silent
) -> CheckedText:  # fmt: skip
    """Every sentence of a text that claims something, held against the figures.

    Parameters
    ----------
    version_id
        The version a sentence speaks of that names none.
    settings
        Bands, rules and level; the workshop's own when left out. ``at 10 W`` in a sentence goes before its level.

    Raises
    ------
    InputError
        There is no such version.
    CancelledError
        Through `progress`.
    """
    known = known_in(workshop, version_id)
    telling = [one for one in sentences(text) if claims_something(one)]
    found = []
    for i, one in enumerate(telling):
        within = part(progress, i / len(telling), (i + 1) / len(telling))
        try:
            claim = read_claim(one, known)
        except NotReadError as fault:
            found.append(Checked(text=one, outcome="not read", reason=f"{fault}."))
            continue
        found.append(_checked(workshop, claim, settings or workshop.settings, within))
    return CheckedText(text=text, sentences=tuple(found))


def expect_borne(found: CheckedText, *, file: str | None = None, key: str | None = None) -> None:
    """Refuse a text with a sentence the figures do not bear.

    Raises
    ------
    RefusedError
        Names the sentence, the reason, and what may be written.
    """
    for one in found.refused:
        raise RefusedError(
            f"The figures do not bear this sentence. {one.reason}", file=file, key=key, found=f"“{one.text}”",
            remedy=f"Write: {one.instead}" if one.instead else "Leave it out, or measure more units",
        )  # fmt: skip


def known_in(workshop: Workshop, here: str | None = None) -> Known:
    """What a sentence may speak of in a workshop."""
    if here is not None:
        workshop.existing(here, "version")
    contents = read_contents(workshop.folder, workshop.index)
    ids = workshop.version_ids()
    parents = {
        id_: up for id_ in ids if (up := parent_id(id_, contents.versions[id_].parent)) in contents.versions
    }
    bought = [id_ for id_ in ids if contents.versions[id_].published is not None]
    return Known(
        names=_names(contents, ids, here), siblings=_siblings(contents, ids), parents=parents, here=here, bought=bought, earlier={id_: _before(id_, parents) for id_ in ids},
        built=[id_ for id_ in ids if id_ in bought or contents.below(id_)],
    )  # fmt: skip


def _names(contents: Contents, ids: Sequence[str], here: str | None) -> dict[str, str]:
    """Every name a version goes by; a bare ``v8`` is that of the driver the text belongs to, or of the only one that has it."""
    full: dict[str, str] = {}
    bare: dict[str, set[str]] = {}
    for id_ in ids:
        driver, _, name = id_.partition("/")
        title = contents.drivers[driver].title if driver in contents.drivers else driver
        for called in {driver, title.lower()}:
            for version in _called(name):
                full[f"{called} {version}"] = full[f"{called}/{version}"] = id_
        for version in _called(name):
            bare.setdefault(version, set()).add(id_)
    own = "" if here is None else here.partition("/")[0]
    for version, those in bare.items():
        mine = {id_ for id_ in those if id_.partition("/")[0] == own} or those
        if len(mine) == 1:
            full[version] = next(iter(mine))
    return full


def _siblings(contents: Contents, ids: Sequence[str]) -> dict[str, dict[str, str]]:
    """Short names of each driver's versions, by the driver's id and by its title."""
    found: dict[str, dict[str, str]] = {}
    for id_ in ids:
        driver, _, name = id_.partition("/")
        title = contents.drivers[driver].title if driver in contents.drivers else driver
        for called in {driver, title.lower()}:
            found.setdefault(called, {}).update(dict.fromkeys(_called(name), id_))
    return found


def _called(name: str) -> set[str]:
    number = name[1:] if name[:1] == "v" and name[1:].isdigit() else ""
    return {name, *([f"version {number}"] if number else [])}


def _before(version_id: str, parents: dict[str, str]) -> list[str]:
    line: list[str] = []
    at = parents.get(version_id)
    while at is not None and at not in line:
        line.append(at)
        at = parents.get(at)
    return line


def _checked(workshop: Workshop, claim: Claim, settings: FigureSettings, progress: Progress) -> Checked:
    """A claim against each of the others in turn; the gravest answer counts."""
    chosen = settings if claim.level_w is None else replace(settings, level_w=claim.level_w)
    if not claim.others:
        alone = compare_versions(
            workshop, [claim.subject], settings=chosen, with_curves=False, progress=progress
        )
        return check_claim(claim, alone)
    found = []
    for i, other in enumerate(claim.others):
        within = part(progress, i / len(claim.others), (i + 1) / len(claim.others))
        pair = compare_versions(
            workshop, [other, claim.subject], settings=chosen, base=other, with_curves=False, progress=within
        )
        found.append(check_claim(replace(claim, others=(other,)), pair))
    worst = gravest(found)
    return replace(worst, claim=claim)
