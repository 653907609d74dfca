"""Find words in what was entered: values, complaints, answers, findings.

Names of people are not found: the journal holds marks in their place.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from diagnose.errors import StoreError
from diagnose.store import sql
from diagnose.store.entry import Entry
from diagnose.store.journal import Casebook
from diagnose.store.parse import stored
from diagnose.store.project import columns_of

FEWEST_LETTERS = 2
MOST_HITS = 200
AROUND = 40
"""Letters shown on either side of what was found."""

_DIGITS = re.compile(r"(person:)?[0-9a-f]{64}")
"""Hashes and marks; what looks like a word in them is none."""


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
        seen: set[str] = set()
        for where, value in _texts(entry.body, ""):
            place = value.casefold().find(wanted.casefold())
            if place >= 0 and where not in seen:
                seen.add(where)
                hits.append(Hit(entry, job, case, where, _around(value, place, len(wanted))))
    return tuple(hits[:most])


def _pattern(words: str) -> str:
    """Return the pattern for the stored text, in which quotes and strokes are spelled out.

    SQLite tells capitals from small letters outside ASCII; any letter stands there,
    and what it lets through is looked at again.
    """
    text = json.dumps(words.lower(), ensure_ascii=False)[1:-1]
    for special in "!%_":
        text = text.replace(special, f"!{special}")
    return f"%{''.join(char if char.isascii() else '_' for char in text)}%"


def _texts(value: Any, where: str) -> Iterator[tuple[str, str]]:
    if isinstance(value, str):
        if _DIGITS.fullmatch(value):
            return
        inner = _document(value)
        if inner is None:
            yield where, value
        else:
            # A stored finding is one text; its place is all of it.
            yield from ((where, text) for _, text in _texts(inner, ""))
    elif isinstance(value, dict):
        for key, item in value.items():
            yield from _texts(item, f"{where}.{key}" if where else key)
    elif isinstance(value, list):
        for item in value:
            yield from _texts(item, where)


def _document(text: str) -> dict[str, Any] | None:
    """Return the JSON document that a text holds; None for plain text."""
    if not text.startswith("{"):
        return None
    try:
        found = json.loads(text)
    except (ValueError, RecursionError):
        return None
    return found if isinstance(found, dict) else None


def _around(text: str, place: int, length: int) -> str:
    start, end = max(0, place - AROUND), place + length + AROUND
    return ("…" if start else "") + text[start:end] + ("…" if end < len(text) else "")
