"""Reading a sentence as a claim: who, what, how much, against whom. What cannot be read for certain is not guessed."""

from __future__ import annotations

import re
from collections.abc import Sequence

from halfroll.compare.claims.names import Known, NotReadError, nobody, versions_named, without_names
from halfroll.compare.claims.types import Amount, Claim, Relation
from halfroll.compare.claims.words import (
    AMOUNT,
    COMPARATIVES,
    NUMBER,
    NUMBERISH,
    RELATION,
    RELATIONS,
    SHARE,
    SHARES,
    STATED,
    SUPERLATIVES,
    TELLING,
    Property,
    amount_of,
)

_SPACES = re.compile(r"[\s\u00a0\u202f\u2009]+")
_SENTENCE = re.compile(r"(?<=[.!?;])\s+|\n+")
_LEVEL = re.compile(rf"\bat (?P<watts>{NUMBER}) ?w(?:atts?)?\b(?! ?(?:/|1 ?m|and))", re.IGNORECASE)
_EVERY = re.compile(
    r"^(?:all|every|each|any)(?: of)?(?: the)?(?: (?:earlier|other|previous))?(?: (?:ones?|versions?|drivers?))?\b",
    re.IGNORECASE,
)
_BOUGHT = re.compile(r"\b(?:bought|commercial|sold|shop)\b", re.IGNORECASE)
_PARENT = re.compile(
    r"^(?:its|the) (?:parent|predecessor|last (?:one|version)|previous (?:one|version)|version before)\b|^before\b",
    re.IGNORECASE,
)
_NOT_PLAIN = re.compile(
    r"\b(?:not|never|hardly|barely|scarcely|neither|nor|nothing|none|would|could|might|may|if|unless|except|but)\b|n't\b"
    r"|\bno (?!less than|more than)|\?$",
    re.IGNORECASE,
)
_LOUD = re.compile(rf"\b(?:{SHARE}|{NUMBER} times) as loud\b", re.IGNORECASE)


def sentences(text: str) -> list[str]:
    """The sentences of a text."""
    return [one.strip() for one in _SENTENCE.split(text) if one.strip()]


def claims_something(sentence: str) -> bool:
    """Whether a sentence speaks of figures at all."""
    return TELLING.search(_plain(sentence)) is not None


def read_claim(sentence: str, known: Known) -> Claim:
    """A sentence as a claim.

    Raises
    ------
    NotReadError
        It cannot be read for certain.
    """
    text = _plain(sentence)
    if _LOUD.search(text):
        raise NotReadError("Times as loud can mean power, pressure or hearing. Say it in decibels")
    if _NOT_PLAIN.search(text):
        raise NotReadError("It denies, doubts or asks; say plainly what is so")
    level = _LEVEL.search(text)
    watts = None if level is None else float(level["watts"])
    body = text if level is None else text[: level.start()] + text[level.end() :]
    for reader in (_compared, _shared, _best, _stated):
        found = reader(sentence, body.strip(" .!"), known, watts)
        if found is not None:
            return found
    raise NotReadError(
        "What is claimed could not be read; say it as: v8 is more than 3 dB more sensitive than v7, or: v8 goes down to 60 Hz"
    )


def _plain(sentence: str) -> str:
    return _SPACES.sub(" ", sentence.replace("\u2019", "'")).strip()


def _compared(whole: str, text: str, known: Known, watts: float | None) -> Claim | None:
    """``v8 is more than an octave deeper than v1``."""
    for one in COMPARATIVES:
        found = re.search(
            rf"(?:\b(?P<relation>{RELATION}) )?(?:\b(?P<amount>{AMOUNT}) )?\b(?:{one.words})\b",
            text,
            re.IGNORECASE,
        )
        if found is None:
            continue
        subject = _subject(text[: found.start()], known)
        _expect_whole(text, found.start(), found.end(), subject, known)
        return Claim(
            text=whole, subject=subject, figure=one.figure, up=one.up, level_w=watts, others=_others(text[found.end() :], subject, known),
            amount=amount_of(found) if found["amount"] else None, relation=_relation(found),
        )  # fmt: skip
    return None


def _shared(whole: str, text: str, known: Known, watts: float | None) -> Claim | None:
    """``v8 has less than half the distortion of v1``."""
    nouns = (
        (r"(?:worst|highest) distortion", "thd_worst_percent"),
        (r"(?:(?:mean|average|bass) )?distortion", "thd_mean_percent"),
        (r"moving mass", "mms_g"),
    )
    for noun, figure in nouns:
        found = re.search(
            rf"(?:\b(?P<relation>{RELATION}) )?\b(?:(?P<share>{SHARE})|(?P<times>{NUMBER}) times)(?: of)? the {noun}\b(?P<rest>.*)",
            text, re.IGNORECASE,
        )  # fmt: skip
        if found is None:
            continue
        share = SHARES[found["share"].lower()] if found["share"] else float(found["times"])
        relation = _relation(found)
        subject = _subject(text[: found.start()], known)
        _expect_whole(text, found.start(), found.start("rest"), subject, known)
        rest = re.sub(r"^\s*(?:of|that of)\s+", " than ", found["rest"], flags=re.IGNORECASE)
        return Claim(
            text=whole, subject=subject, figure=figure, up=share > 1.0, relation=relation, others=_others(rest, subject, known), level_w=watts,
            amount=Amount(value=share, unit="ratio", half_step=0.1 * share),
        )  # fmt: skip
    return None


def _best(whole: str, text: str, known: Known, watts: float | None) -> Claim | None:
    """``v8 is the deepest of all``, which is held against all it names."""
    for one in SUPERLATIVES:
        found = re.search(rf"\b(?:the|our) (?:{one.words})\b", text, re.IGNORECASE)
        if found is None:
            continue
        subject = _subject(text[: found.start()], known)
        rest = text[found.end() :]
        _expect_one(text[: found.start()], rest)
        everyone = re.search(r"\b(?:of all|of any|driver|anywhere|in the workshop)\b", rest, re.IGNORECASE)
        others = (
            known.built
            if everyone
            else known.earlier.get(subject, ())
            if not _BOUGHT.search(rest)
            else known.bought
        )
        return Claim(text=whole, subject=subject, figure=one.figure, up=one.up, level_w=watts,
                     others=_without(others, subject, "There is nothing it could be held against"))  # fmt: skip
    return None


def _stated(whole: str, text: str, known: Known, watts: float | None) -> Claim | None:
    """``v8 has a sensitivity of 84 dB``."""
    number = rf"(?:(?P<relation>{RELATION}) )?(?P<amount>{AMOUNT})"
    for one in STATED:
        for words in _alternatives(one):
            found = re.search(words.replace("{n}", number), text, re.IGNORECASE)
            if found is None:
                continue
            subject = _subject(text[: found.start()], known)
            _expect_one(text[: found.start()], text[found.end() :])
            return Claim(text=whole, subject=subject, figure=one.figure, up=one.up, relation=_relation(found), amount=amount_of(found),
                         level_w=watts)  # fmt: skip
    return None


def _alternatives(one: Property) -> list[str]:
    """The patterns of a statement one by one, for a group's name may stand in a pattern once."""
    depth, parts, start = 0, [], 0
    for i, sign in enumerate(one.words):
        depth += (sign == "(") - (sign == ")")
        if sign == "|" and depth == 0:
            parts.append(one.words[start:i])
            start = i + 1
    return [*parts, one.words[start:]]


def _relation(found: re.Match[str]) -> Relation:
    word = found["relation"]
    return "stated" if word is None else RELATIONS[word.lower()]


def _expect_one(before: str, after: str) -> None:
    """Nothing else may be claimed in the sentence, or it would pass unread."""
    if TELLING.search(before) or TELLING.search(after):
        raise NotReadError(
            "It claims more than one thing, or under a condition that is not read; make two sentences of it"
        )


def _expect_whole(text: str, start: int, end: int, subject: str, known: Known) -> None:
    """The amount was read whole, and nothing but it: neither before it nor behind may a piece of one be left."""
    _expect_one(text[:start], text[end:])
    before, after = without_names(text[:start], known), without_names(text[end:], known, subject)
    near = re.search(r"(?:\S+\s*){0,3}$", before)
    if (
        text[:start].endswith(tuple(".,/-"))
        or NUMBERISH.search(after)
        or NUMBERISH.search(near[0] if near else "")
    ):
        raise NotReadError(
            "How much is claimed could not be read; write it in figures before the word, such as 3.5 dB deeper"
        )


def _subject(before: str, known: Known) -> str:
    """The version named before the verb, else the one the text belongs to."""
    named = versions_named(before, known)
    if len(named) > 1:
        raise NotReadError(f"Two versions are named before the verb ({', '.join(named)}); say one")
    if named:
        return named[0]
    if known.here is None:
        raise NotReadError("It names no version; say which")
    return known.here


def _others(after: str, subject: str, known: Known) -> tuple[str, ...]:
    """The versions behind ``than``; the parent where nothing stands there."""
    found = re.search(r"\b(?:than|compared (?:to|with)|against)\s+(?P<who>.+)$", after, re.IGNORECASE)
    if found is None:
        if versions_named(after, known, subject):
            raise NotReadError("It names another version without saying than")
        return _parent(subject, known)
    who = found["who"].strip(" .!")
    named = tuple(versions_named(who, known, subject))
    if named:
        return _without(named, subject, "It is held against itself")
    if _EVERY.search(who) or _BOUGHT.search(who):
        group = known.bought if _BOUGHT.search(who) else known.earlier.get(subject, ())
        return _without(group, subject, "There is nothing it could be held against")
    if _PARENT.search(who):
        return _parent(subject, known)
    raise NotReadError(nobody(who))


def _parent(subject: str, known: Known) -> tuple[str, ...]:
    if subject not in known.parents:
        raise NotReadError("It does not say than what, and the version has no parent")
    return (known.parents[subject],)


def _without(ids: Sequence[str], subject: str, otherwise: str) -> tuple[str, ...]:
    left = tuple(dict.fromkeys(id_ for id_ in ids if id_ != subject))
    if not left:
        raise NotReadError(otherwise)
    return left
