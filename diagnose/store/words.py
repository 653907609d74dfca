"""The words that an entry holds, in the form in which they are looked for (pure).

Capitals, accents and ligatures are set aside here and not by a database, so
that a file and a server give the same answer.  A word is a run of letters and
figures; a picture sign is a word by itself; all other signs part words.
"""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Iterator
from functools import lru_cache
from typing import Any, NamedTuple

from diagnose.store.entry import DEEPEST, Entry

LONGEST_WORD = 60
"""Letters of a word that count; what follows is left out on both sides."""
PRACTICE = "practice-"
"""How the kinds of a learner's entries begin."""
BETWEEN = "¶"
"""Stands between two texts of one entry; it is never a word."""

_FIRST_PICTURE = 0x2190
"""Signs from the arrows onwards are words; a degree sign is none."""
_PLAIN = re.compile(r"[0-9a-z]+")
_LETTERS = str.maketrans(
    {"ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "æ": "ae", "œ": "oe", "ı": "i"}
)
"""Letters that Unicode does not take apart."""
_DIGITS = re.compile(r"(person:)?[0-9a-f]{64}")
"""Hashes and marks; what looks like a word in them is none."""


class Word(NamedTuple):
    """One word of a text, folded, and where it stands in the text."""

    folded: str
    start: int
    end: int


class Text(NamedTuple):
    """One text of an entry."""

    where: str
    """Path in the body of the entry, such as `values.title`."""
    text: str


def fold(text: str) -> tuple[str, ...]:
    """Return the words of a text as they are looked for.

    Examples
    --------
    >>> fold("Größe 5-A, B_0417!"), fold('"%*"')
    (('grosse', '5', 'a', 'b', '0417'), ())
    """
    if text.isascii():
        return tuple(word[:LONGEST_WORD] for word in _PLAIN.findall(text.lower()))
    return tuple(word.folded for word in words_in(text))


def words_in(text: str) -> tuple[Word, ...]:
    """Return the words of a text with their places."""
    found: list[Word] = []
    letters: list[str] = []
    start = end = 0

    def close() -> None:
        if letters:
            found.append(Word("".join(letters)[:LONGEST_WORD], start, end))
            letters.clear()

    for place, char in enumerate(text):
        for sign in _folded(char):
            if sign == " " or len(sign) > 1:
                close()
            if len(sign) > 1:
                found.append(Word(sign.strip(), place, place + 1))
            elif sign != " ":
                start = start if letters else place
                letters.append(sign)
                end = place + 1
    close()
    return tuple(found)


@lru_cache(maxsize=4096)
def _folded(char: str) -> tuple[str, ...]:
    """Return what a character is for a search: letters, a blank, a sign between blanks, nothing."""
    plain = unicodedata.normalize("NFKD", char.casefold().translate(_LETTERS)).casefold()
    signs: list[str] = []
    for each in plain:
        kind = unicodedata.category(each)
        if kind in ("Mn", "Me", "Cf"):
            # Accents, and signs that join or hint, part no word.
            continue
        if each.isalnum():
            signs.append(each)
        elif kind == "So" and ord(each) >= _FIRST_PICTURE:
            signs.append(f" {each} ")
        else:
            signs.append(" ")
    return tuple(signs)


def row_of(entry: Entry) -> str:
    """Return all words of an entry as they are stored: each between blanks, texts kept apart.

    What a learner did at practice is no part of any job and is not looked for.
    """
    if entry.kind.startswith(PRACTICE):
        return ""
    parts = [" ".join(words) for text in texts_of(entry) if (words := fold(text.text))]
    return f" {f' {BETWEEN} '.join(parts)} " if parts else ""


def texts_of(entry: Entry) -> Iterator[Text]:
    """Return every text of an entry, in the order of their places."""
    return _texts(entry.body, "")


def _texts(value: Any, where: str) -> Iterator[Text]:
    if isinstance(value, str):
        if _DIGITS.fullmatch(value):
            return
        inner = _document(value)
        if inner is None:
            yield Text(where, value)
        elif isinstance(inner, dict):
            # A stored finding is one text; its place is all of it.
            yield from (Text(where, text) for _, text in _texts(inner, ""))
    elif isinstance(value, dict):
        for key, item in sorted(value.items()):
            yield from _texts(item, f"{where}.{key}" if where else key)
    elif isinstance(value, list):
        for item in value:
            yield from _texts(item, where)


def _document(text: str) -> Any:
    """Return the JSON document or the table of figures that a text holds; None for plain text."""
    if not text.startswith(("{", "[{")):
        return None
    try:
        found = json.loads(text)
    except (ValueError, RecursionError):
        return None
    return found if isinstance(found, dict | list) and not _too_deep(found) else None


def _too_deep(value: Any) -> bool:
    """Return whether a document is nested deeper than any that this program writes.

    Where it ends must not hang on how deep this machine's Python can go.
    """
    level = [value]
    for _ in range(DEEPEST):
        level = [
            inner
            for each in level
            for inner in (each.values() if isinstance(each, dict) else each)
            if isinstance(inner, dict | list)
        ]
        if not level:
            return False
    return True
