"""Walk over the items of the rules: their sources, their texts, their words."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any

from diagnose.errors import Problem
from diagnose.rulebook.cases import Case
from diagnose.rulebook.fields import ListOf, Text
from diagnose.rulebook.kinds import KINDS, RuleKind
from diagnose.rulebook.model import Cite, Rules
from diagnose.rulebook.records import Record

Look = Callable[[Rules, Sequence[Case]], Iterator[Problem]]
"""One rule of soundness: the rules and their cases in, problems out."""


def items(rules: Rules, *kinds: str) -> Iterator[tuple[RuleKind, Any]]:
    """Yield (kind, item) of the kinds named, or of all, in file order."""
    for kind in KINDS[:-1]:
        if not kinds or kind.key in kinds:
            for item in getattr(rules, kind.key).values():
                yield kind, item


def called(kind: RuleKind, item: Any) -> str:
    """Return how messages call an item: `cause sealer-omitted`."""
    return f"{kind.word} {item.id}"


def cites(rules: Rules) -> Iterator[tuple[RuleKind, Any, Cite]]:
    """Yield (kind, item, cite) for every source that is named anywhere."""
    for kind, item in items(rules):
        if kind.key == "limits":
            yield from ((kind, value, value.cite) for value in item.values)
        for cite in getattr(item, "sources", ()):
            yield kind, item, cite


def texts(record: Record, item: Any) -> Iterator[tuple[str, str]]:
    """Yield (key, text) of everything in an item that is written for a person."""
    for field in record.fields:
        yield from _texts(field.shape, getattr(item, field.attribute), field.key)


def _texts(shape: Any, value: Any, key: str) -> Iterator[tuple[str, str]]:
    if isinstance(shape, Text):
        yield key, value
    elif isinstance(shape, Record):
        yield from ((f"{key}: {inner}", text) for inner, text in texts(shape, value))
    elif isinstance(shape, ListOf):
        for each in value:
            yield from _texts(shape.shape, each, key)
