"""How the casebook's commands say things: counts, heads, places of what was found."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from diagnose.errors import InputError, Problem
from diagnose.text import clean

if TYPE_CHECKING:
    from diagnose.cli.screen import Screen
    from diagnose.store.chain import Head
    from diagnose.store.search import Hit

_PLACES = {
    "words": "in the client's words",
    "how": "how it was established",
    "reason": "reason given",
    "said_by": "who said so",
    "finding": "in the finding",
    "file.name": "name of the file",
    "values.title": "what and where",
}


def count(number: int, one: str, more: str = "") -> str:
    """Return a number with its noun.

    Examples
    --------
    >>> count(1, "entry", "entries"), count(2, "entry", "entries"), count(0, "flaw")
    ('1 entry', '2 entries', '0 flaws')
    """
    return f"{number} {one if number == 1 else more or one + 's'}"


def read_heads(texts: Iterable[tuple[str, str]]) -> tuple[Head, ...]:
    """Read heads as people type them, each after the place it stands at; blanks do not matter.

    Raises
    ------
    InputError
        With every text that is no head.
    """
    from diagnose.store.chain import parse_head
    from diagnose.store.entry import EntryError

    found: list[Head] = []
    problems: list[Problem] = []
    for where, text in texts:
        try:
            found.append(parse_head("".join(text.split())))
        except EntryError as error:
            problems.append(Problem(None, f"{where}: {error}"))
    if problems:
        raise InputError(problems)
    return tuple(found)


def put_heads(screen: Screen, heads: Iterable[Head]) -> None:
    """Write heads one a line, never broken, so that they can be copied."""
    for head in heads:
        screen.stream.write(clean(str(head)) + "\n")


def hit_line(hit: Hit) -> str:
    """Return what a hit belongs to and when it was entered."""
    parts = [f"job {hit.job}"] if hit.job else []
    if hit.case:
        parts.append(f"case {hit.case}")
    return f"{', '.join(parts) or 'casebook'}, entered {hit.entry.entered_at:%Y-%m-%d %H:%M}"


def hit_where(hit: Hit) -> str:
    """Return the place of a hit in trade words."""
    from diagnose.record.fields import field_of, label_of

    path = hit.where.removeprefix("values.")
    if hit.where == "value":
        path = str(hit.entry.body.get("path", ""))
    if hit.where in _PLACES:
        return _PLACES[hit.where]
    return label_of(path) if field_of(path) else path.replace("_", " ")
