"""Explain one item of the rules: the page that is the manual.

Pure: the rules and an id in, an `Explanation` out.  How it looks on a screen
is the business of the command.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from typing import Any

from diagnose.errors import NotFoundError
from diagnose.model import STAGES
from diagnose.rulebook.explain import defects, looking, rest
from diagnose.rulebook.explain.lists import LISTED, Listing, found_by_words, listing, overview
from diagnose.rulebook.explain.page import CautionShown, Explanation, Row, Section, SourceShown
from diagnose.rulebook.explain.parts import with_short_forms
from diagnose.rulebook.kinds import KINDS
from diagnose.rulebook.model import Rules
from diagnose.text import nearest

__all__ = [
    "LISTED",
    "WORDS",
    "CautionShown",
    "Explanation",
    "Listing",
    "Row",
    "Section",
    "SourceShown",
    "explain",
    "explained_ids",
    "found_by_words",
    "listing",
    "overview",
]

_PAGES: Mapping[str, Callable[[Rules, Any], Explanation]] = {
    "symptoms": defects.symptom_page,
    "causes": defects.cause_page,
    "questions": looking.question_page,
    "acts": looking.act_page,
    "checks": looking.check_page,
    "limits": looking.limit_page,
    "remedies": rest.remedy_page,
    "cautions": rest.caution_page,
    "sources": rest.source_page,
    "mechanisms": looking.mechanism_page,
    "teaching": rest.teaching_page,
    "look_alikes": defects.look_alike_page,
    "links": defects.link_page,
    "abbreviations": rest.abbreviation_page,
}

WORDS: Mapping[str, str] = {kind.key: kind.word.replace(" ", "-") for kind in KINDS}
"""What a page of each kind is called before a colon."""


def explain(rules: Rules, name: str) -> Explanation:
    """Return the page of an item; `name` is its id, or its name in words.

    An id that several kinds share means the first of them; `question:ID` names
    the kind, and the page says which others there are.

    Raises
    ------
    NotFoundError
        Nothing is called so; `near` holds the ids that look most like it.
    """
    kind, _, own = name.rpartition(":")
    only = [key for key in _PAGES if WORDS[key] == kind.strip()] if kind else list(_PAGES)
    wanted = _squeezed(own)
    pages = [
        (WORDS[key], _PAGES[key](rules, found))
        for key in only
        if (found := _found(getattr(rules, key), own, wanted)) is not None
    ]
    if pages:
        others = tuple(f"{word}:{wanted}" for word, _ in pages[1:])
        return with_short_forms(rules, replace(pages[0][1], also=others))
    if wanted in STAGES and kind in ("", "stage"):
        return defects.stage_page(rules, wanted)
    for key in only:
        for item in getattr(rules, key).values():
            if _squeezed(rest.title(item)) == wanted:
                return with_short_forms(rules, _PAGES[key](rules, item))
    raise NotFoundError(f"nothing in the rules is called {name!r}", _near(rules, wanted))


def explained_ids(rules: Rules) -> Iterator[str]:
    """Yield every id that has a page."""
    for key in _PAGES:
        yield from getattr(rules, key)
    yield from STAGES


def _found(items: Mapping[str, Any], name: str, wanted: str) -> Any:
    return items.get(name) or items.get(wanted)


def _squeezed(name: str) -> str:
    words = "".join(char if char.isalnum() or char == "." else " " for char in name.casefold())
    return "-".join(words.split())


def _near(rules: Rules, wanted: str) -> tuple[str, ...]:
    ids = list(dict.fromkeys(explained_ids(rules)))
    # an id that holds the word as it stands comes before one that is merely spelled alike
    holding = [each for each in ids if wanted and f"-{wanted}-" in f"-{each}-" and "." not in each]
    return tuple(dict.fromkeys([*holding[:5], *nearest(wanted, ids)]))[:5]
