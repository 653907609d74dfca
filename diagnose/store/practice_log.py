"""Practice in the journal: one entry for each line of a learner's log.

The name of a learner does not stand in the journal.  An entry carries the mark
of the name, as for every other person, so that `forget` removes the name and
the chains still verify.  What a line says is a matter of whoever writes it.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any, NamedTuple

from diagnose.errors import NotFoundError
from diagnose.store import people, sql
from diagnose.store.entry import Entry
from diagnose.store.fold import text_in
from diagnose.store.journal import Casebook
from diagnose.store.parse import stored

REVIEW = "practice-review"
ANSWER = "practice-answer"
ROUND = "practice-round"
ROUND_OPEN = "practice-round-open"
KINDS = (REVIEW, ANSWER, ROUND, ROUND_OPEN)

_PUPIL = re.compile(r'"pupil":"(person:[0-9a-f]{64})"')


class Line(NamedTuple):
    """One line of a learner's log, as it goes in and comes out."""

    kind: str
    """One of `KINDS`."""
    pupil: str
    """Name of the learner; in the journal its mark stands."""
    body: Mapping[str, Any]


def add(casebook: Casebook, lines: Iterable[Line], *, at: datetime) -> tuple[Entry, ...]:
    """Add lines in one transaction; `at` is the wall clock now, with its offset."""
    wanted = list(lines)
    mark_of = {name: people.remember(casebook, name) for name in {line.pupil for line in wanted}}
    items = [(line.kind, {**line.body, "pupil": mark_of[line.pupil]}) for line in wanted]
    return casebook.append_many(items, at=at) if items else ()


def lines_of(
    casebook: Casebook, kinds: Iterable[str], pupil: str | None = None
) -> tuple[Line, ...]:
    """Return the lines of one learner, or of all, in no order that means anything.

    A learner whose name was forgotten, or did not travel with a bundle, goes by
    words that say so and the first digits of the mark.
    """
    wanted = [{"kind": kind} for kind in kinds]
    with casebook.reading():
        names = _names(casebook)
        query = sql.ENTRIES_OF_KIND if pupil is None else sql.ENTRIES_OF_KIND_LIKE
        if pupil is not None:
            likes = [_holding(mark) for mark in _marks(names, pupil)]
            wanted = [{**each, "like": like} for each in wanted for like in likes]
        found = [row for each in wanted for row in casebook.engine.rows(query, each)]
    return tuple(_line(stored(str(text), str(hashed)), names) for text, hashed in found)


def latest(casebook: Casebook, kind: str, pupil: str) -> Line | None:
    """Return the line of a kind that a learner's devices entered last."""
    with casebook.reading():
        names = _names(casebook)
        found = [
            stored(str(text), str(hashed))
            for mark in _marks(names, pupil)
            for text, hashed in casebook.engine.rows(
                sql.LATEST_OF_KIND_LIKE, {"kind": kind, "like": _holding(mark)}
            )
        ]
    return _line(max(found, key=lambda entry: entry.order), names) if found else None


def marks(casebook: Casebook) -> frozenset[str]:
    """Return the marks of all learners."""
    return frozenset(
        mark
        for kind in KINDS
        for (text,) in casebook.engine.rows(sql.TEXTS_OF_KIND, {"kind": kind})
        for mark in _PUPIL.findall(str(text))[:1]
    )


def pupils(casebook: Casebook) -> tuple[str, ...]:
    """Return the names of all learners, sorted."""
    with casebook.reading():
        names = _names(casebook)
        return tuple(sorted({_name(names, mark) for mark in marks(casebook)}))


def forget(casebook: Casebook, pupil: str, *, at: datetime) -> None:
    """Remove a learner's name for good; the lines stay, and tell of nobody.

    Raises
    ------
    NotFoundError
        No learner goes by that name here.
    """
    known = pupils(casebook)
    if unicodedata.normalize("NFC", pupil) not in known or not people.kept(casebook, pupil):
        raise NotFoundError(f"there is no learner {pupil}", known[:5])
    people.forget(casebook, pupil, at=at)


def _names(casebook: Casebook) -> dict[str, str]:
    return {person.mark: person.value for person in people.everyone(casebook)}


def _name(names: Mapping[str, str], mark: str) -> str:
    return names.get(mark) or f"{people.FORGOTTEN} {mark.removeprefix('person:')[:6]}"


def _marks(names: Mapping[str, str], pupil: str) -> list[str]:
    """Return every mark of a name: each device made its own."""
    wanted = unicodedata.normalize("NFC", pupil)
    return sorted(mark for mark, name in names.items() if name == wanted)


def _holding(mark: str) -> str:
    return f'%"pupil":"{mark}"%'


def _line(entry: Entry, names: Mapping[str, str]) -> Line:
    body = {name: value for name, value in entry.body.items() if name != "pupil"}
    return Line(entry.kind, _name(names, text_in(entry, "pupil")), body)
