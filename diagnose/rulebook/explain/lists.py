"""What can be explained: lists of one kind, and a search by words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

from diagnose.errors import NotFoundError
from diagnose.model import STAGES
from diagnose.rulebook.explain.page import Row, Section
from diagnose.rulebook.explain.rest import title
from diagnose.rulebook.model import LookAlike, Rules

LISTED: Final = (
    "symptoms",
    "causes",
    "questions",
    "acts",
    "checks",
    "limits",
    "remedies",
    "cautions",
    "sources",
    "stages",
    "mechanisms",
    "look-alikes",
    "teaching",
)
"""The words that ask for a list, in the order in which they are told."""
_STAGED = ("causes", "checks")


@dataclass(frozen=True, slots=True)
class Listing:
    """Items with their names under headings; each row leads to a page."""

    title: str
    sections: tuple[Section, ...]


def overview(rules: Rules) -> Listing:
    """Return what can be asked, and how many items of each kind there are."""
    rows = (Row(f"{word}: {len(_items(rules, word))}") for word in LISTED)
    return Listing("What can be explained", (Section("Lists", tuple(rows)),))


def listing(rules: Rules, word: str) -> Listing:
    """Return every item of a kind with its name; those that have a stage, stage by stage.

    Raises
    ------
    NotFoundError
        For a word that is not one of `LISTED`.
    """
    if word not in LISTED:
        raise NotFoundError(f"there is no list called {word!r}", LISTED)
    items = _items(rules, word)
    if word not in _STAGED:
        return Listing(f"All {word}", (Section(f"{len(items)} {word}", _rows(rules, items)),))
    parts = []
    for stage in STAGES:
        own = {name: item for name, item in items.items() if item.stage == stage}
        if own:
            parts.append(Section(f"{stage} ({len(own)})", _rows(rules, own)))
    return Listing(f"All {word}", tuple(parts))


def found_by_words(rules: Rules, text: str) -> Listing:
    """Return the items whose id, name or title holds every word of a text.

    A word may be the beginning of a longer one.  Nothing found is a listing
    without sections.
    """
    wanted = _words(text)
    parts = []
    for word in LISTED if wanted else ():
        items = {
            name: item
            for name, item in _items(rules, word).items()
            if _holds(_words(f"{name} {_called(rules, name, item)}"), wanted)
        }
        if items:
            parts.append(Section(word, _rows(rules, items)))
    return Listing(f"Holding the words {text!r}", tuple(parts))


def _holds(words: list[str], wanted: list[str]) -> bool:
    return all(any(word.startswith(each) for word in words) for each in wanted)


def _words(text: str) -> list[str]:
    return "".join(char if char.isalnum() else " " for char in text.casefold()).split()


def _items(rules: Rules, word: str) -> dict[str, Any]:
    if word == "stages":
        return dict.fromkeys(STAGES)
    return dict(getattr(rules, word.replace("-", "_")))


def _rows(rules: Rules, items: dict[str, Any]) -> tuple[Row, ...]:
    def each() -> Iterator[Row]:
        for name, item in items.items():
            yield Row(_called(rules, name, item), name)

    return tuple(each())


def _called(rules: Rules, name: str, item: Any) -> str:
    if isinstance(item, LookAlike):
        return f"{rules.causes[item.cause].name}, or {rules.causes[item.taken_for].name}"
    return title(item) if item is not None else name.capitalize()
