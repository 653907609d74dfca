"""Find words in what was entered: values, complaints, answers, findings.

Names of people are not found: the journal holds marks in their place.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from diagnose.errors import StoreError
from diagnose.store import sql
from diagnose.store.entry import Entry
from diagnose.store.journal import Casebook, stored
from diagnose.store.project import columns_of

FEWEST_LETTERS = 2
MOST_HITS = 200
AROUND = 40
"""Letters shown on either side of what was found."""


@dataclass(frozen=True, slots=True)
class Hit:
    """One text that holds what was looked for."""

    entry: Entry
    job: str | None
    case: str | None
    where: str
    """Path in the body of the entry, such as `values.title`."""
    text: str
    """The place with some letters around it."""


def search(casebook: Casebook, words: str, *, most: int = MOST_HITS) -> tuple[Hit, ...]:
    """Return the texts that hold `words`, newest entry first; case does not matter.

    Raises
    ------
    StoreError
        When fewer than two letters are given.
    """
    wanted = " ".join(words.split())
    if len(wanted) < FEWEST_LETTERS:
        raise StoreError(f"give at least {FEWEST_LETTERS} letters to look for")
    hits: list[Hit] = []
    query = {"like": _pattern(wanted), "limit": most}
    for text, hashed in casebook.engine.rows(sql.SEARCH, query):
        entry = stored(str(text), str(hashed))
        job, case = columns_of(entry)
        for where, value in _texts(entry.body, ""):
            place = value.casefold().find(wanted.casefold())
            if place >= 0:
                hits.append(Hit(entry, job, case, where, _around(value, place, len(wanted))))
    return tuple(hits[:most])


def _pattern(words: str) -> str:
    """Return the pattern for the stored text, in which quotes and strokes are spelled out."""
    text = json.dumps(words.lower(), ensure_ascii=False)[1:-1]
    for special in "!%_":
        text = text.replace(special, f"!{special}")
    return f"%{text}%"


def _texts(value: Any, where: str) -> Iterator[tuple[str, str]]:
    if isinstance(value, str):
        yield where, value
    elif isinstance(value, dict):
        for key, item in value.items():
            yield from _texts(item, f"{where}.{key}" if where else key)
    elif isinstance(value, list):
        for item in value:
            yield from _texts(item, where)


def _around(text: str, place: int, length: int) -> str:
    start, end = max(0, place - AROUND), place + length + AROUND
    return ("…" if start else "") + text[start:end] + ("…" if end < len(text) else "")
