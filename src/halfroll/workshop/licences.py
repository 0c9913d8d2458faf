"""Licences a release can come under: identifiers of the SPDX licence list, with titles and what each asks, in our words.

Identifiers are those of the SPDX licence list (held against it in the tests), titles are written from memory; the summaries are ours
and bind nobody. Only the licence's own text counts.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

Kind = Literal["hardware", "content", "software", "public domain", "own"]

OWN = re.compile(r"LicenseRef-[A-Za-z0-9.-]+")
"""A licence of one's own: SPDX specification, annex D."""


@dataclass(frozen=True, kw_only=True)
class Licence:
    """A licence.

    Parameters
    ----------
    id
        SPDX identifier.
    kind
        What it was written for.
    summary
        What it allows and asks, in our words.
    share_alike
        Whether changed designs must come under the same licence.
    commercial
        Whether selling is allowed.
    changes
        Whether changed designs may be passed on.
    text_goes_along
        Whether a copy of its text is to go along with the work.
    """

    id: str
    title: str
    kind: Kind
    summary: str
    share_alike: bool = False
    commercial: bool = True
    changes: bool = True
    text_goes_along: bool = False


_BY = "You may use, build, change and sell it, if you name the authors, point to the licence and say what you changed."
_SIMPLE = (
    "You may do nearly everything with it, if the notice and the licence go along. There is no warranty."
)
_COPYLEFT = "You may use, build, change and sell it; whoever gets the thing gets the sources, with your changes, under the same licence."
_WEAK = "You may use, build, change and sell it; changes to it stay under the same licence, what you add beside it need not."

_ALL = (
    Licence(id="CERN-OHL-P-2.0", title="CERN Open Hardware Licence Version 2 - Permissive", kind="hardware", text_goes_along=True,
            summary="You may use, build, change and sell it, if the notices go along. There is no warranty."),
    Licence(id="CERN-OHL-W-2.0", title="CERN Open Hardware Licence Version 2 - Weakly Reciprocal", kind="hardware", summary=_WEAK,
            share_alike=True, text_goes_along=True),
    Licence(id="CERN-OHL-S-2.0", title="CERN Open Hardware Licence Version 2 - Strongly Reciprocal", kind="hardware",
            summary=_COPYLEFT, share_alike=True, text_goes_along=True),
    Licence(id="TAPR-OHL-1.0", title="TAPR Open Hardware License v1.0", kind="hardware", summary=_COPYLEFT, share_alike=True,
            text_goes_along=True),
    Licence(id="CC-BY-4.0", title="Creative Commons Attribution 4.0 International", kind="content", summary=_BY),
    Licence(id="CC-BY-SA-4.0", title="Creative Commons Attribution Share Alike 4.0 International", kind="content", share_alike=True,
            summary=f"{_BY} What you change comes under the same licence."),
    Licence(id="CC-BY-NC-4.0", title="Creative Commons Attribution Non Commercial 4.0 International", kind="content",
            commercial=False, summary="You may use, build and change it but not to earn money, if you name the authors, point to the licence and say what you changed."),
    Licence(id="CC-BY-NC-SA-4.0", title="Creative Commons Attribution Non Commercial Share Alike 4.0 International", kind="content",
            commercial=False, share_alike=True,
            summary="You may use, build and change it but not to earn money, if you name the authors and say what you changed. What you change comes under the same licence."),
    Licence(id="CC-BY-ND-4.0", title="Creative Commons Attribution No Derivatives 4.0 International", kind="content", changes=False,
            summary="You may use and pass it on as it is, if you name the authors; what you changed may not be passed on."),
    Licence(id="CC-BY-NC-ND-4.0", title="Creative Commons Attribution Non Commercial No Derivatives 4.0 International",
            kind="content", commercial=False, changes=False,
            summary="You may use and pass it on as it is but not to earn money, if you name the authors; what you changed may not be passed on."),
    Licence(id="CC0-1.0", title="Creative Commons Zero v1.0 Universal", kind="public domain",
            summary="The authors give up what rights they can: do with it what you like."),
    Licence(id="LAL-1.3", title="Licence Art Libre 1.3", kind="content", share_alike=True,
            summary=f"{_BY} What you change comes under the same licence."),
    Licence(id="GFDL-1.3-or-later", title="GNU Free Documentation License v1.3 or later", kind="content", share_alike=True,
            text_goes_along=True, summary="You may copy, change and sell it under the same licence, with its text and the history of changes."),
    Licence(id="MIT", title="MIT License", kind="software", summary=_SIMPLE, text_goes_along=True),
    Licence(id="MIT-0", title="MIT No Attribution", kind="software", summary="You may do what you like with it. There is no warranty."),
    Licence(id="0BSD", title="BSD Zero Clause License", kind="software", summary="You may do what you like with it. There is no warranty."),
    Licence(id="ISC", title="ISC License", kind="software", summary=_SIMPLE, text_goes_along=True),
    Licence(id="BSD-2-Clause", title='BSD 2-Clause "Simplified" License', kind="software", summary=_SIMPLE, text_goes_along=True),
    Licence(id="BSD-3-Clause", title='BSD 3-Clause "New" or "Revised" License', kind="software", summary=_SIMPLE, text_goes_along=True),
    Licence(id="Apache-2.0", title="Apache License 2.0", kind="software", text_goes_along=True,
            summary=f"{_SIMPLE} Changes are marked; rights to patents are given with it."),
    Licence(id="MPL-2.0", title="Mozilla Public License 2.0", kind="software", share_alike=True, text_goes_along=True, summary=_WEAK),
    Licence(id="EUPL-1.2", title="European Union Public License 1.2", kind="software", share_alike=True, text_goes_along=True,
            summary=_COPYLEFT),
    Licence(id="LGPL-3.0-or-later", title="GNU Lesser General Public License v3.0 or later", kind="software", share_alike=True,
            text_goes_along=True, summary=_WEAK),
    Licence(id="GPL-2.0-only", title="GNU General Public License v2.0 only", kind="software", share_alike=True, text_goes_along=True,
            summary=_COPYLEFT),
    Licence(id="GPL-2.0-or-later", title="GNU General Public License v2.0 or later", kind="software", share_alike=True,
            text_goes_along=True, summary=_COPYLEFT),
    Licence(id="GPL-3.0-only", title="GNU General Public License v3.0 only", kind="software", share_alike=True, text_goes_along=True,
            summary=_COPYLEFT),
    Licence(id="GPL-3.0-or-later", title="GNU General Public License v3.0 or later", kind="software", share_alike=True,
            text_goes_along=True, summary=_COPYLEFT),
    Licence(id="AGPL-3.0-or-later", title="GNU Affero General Public License v3.0 or later", kind="software", share_alike=True,
            text_goes_along=True, summary=_COPYLEFT),
    Licence(id="Unlicense", title="The Unlicense", kind="public domain",
            summary="The authors give up what rights they can: do with it what you like."),
)  # fmt: skip

LICENCES: Mapping[str, Licence] = MappingProxyType({one.id: one for one in _ALL})
"""Common open licences by identifier."""


def is_own(id_: str) -> bool:
    """Whether an identifier is that of a licence of one's own, whose text must go along."""
    return OWN.fullmatch(id_) is not None


def licence(id_: str) -> Licence | None:
    """The licence of an identifier; None when it is not in the list."""
    if is_own(id_):
        said = "The maker's own licence; its text stands below."
        return Licence(id=id_, title=id_.removeprefix("LicenseRef-").replace("-", " "), kind="own", summary=said,
                       text_goes_along=True)  # fmt: skip
    return LICENCES.get(id_)


def nearest(id_: str) -> list[str]:
    """Identifiers that may have been meant."""
    lower = {known.lower(): known for known in LICENCES}
    plain = id_.strip().lower().replace(" ", "-").replace("_", "-").removesuffix("+")
    starting = [known for low, known in lower.items() if low.startswith(plain)] if plain else []
    close = [lower[low] for low in difflib.get_close_matches(plain, list(lower), n=3, cutoff=0.5)]
    return list(dict.fromkeys([*starting, *close]))[:4]
