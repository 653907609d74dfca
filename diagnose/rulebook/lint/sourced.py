"""Sources: every rule has one, and none claims more than it can."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from diagnose.errors import Problem
from diagnose.rulebook.cases import Case
from diagnose.rulebook.fields import near
from diagnose.rulebook.lint.items import called, cites, items
from diagnose.rulebook.model import Rules
from diagnose.text import one


def missing_source(rules: Rules, cases: Sequence[Case]) -> Iterator[Problem]:
    """Every rule says where it is from, if only that it has no source."""
    for kind, item in items(rules):
        if hasattr(item, "sources") and not item.sources:
            hint = "name one, or write {ref: common-practice, support: none}"
            yield Problem(item.at, f"{called(kind, item)} has no source", hint)


def support_that_is_none(rules: Rules, cases: Sequence[Case]) -> Iterator[Problem]:
    """A non-source supports nothing; a published source says something or is left out."""
    for kind, item, cite in cites(rules):
        source = rules.sources.get(cite.source)
        if source is None:
            continue
        name = called(kind, item) if hasattr(item, "id") else f"a value of {one(kind.word)}"
        if source.kind == "non-source" and cite.support != "none":
            text = f"{name} says that {cite.source} is {cite.support}, but it is no source"
            yield Problem(item.at, text, "write support: none")
        if source.kind != "non-source" and cite.support == "none":
            text = f"{name} cites {cite.source} with support: none"
            yield Problem(item.at, text, "write inferred or stated, or cite common-practice")


def unknown_code(rules: Rules, cases: Sequence[Case]) -> Iterator[Problem]:
    """A limit's contract code is the code of a source."""
    codes = {source.code for source in rules.sources.values() if source.code}
    for limit in rules.limits.values():
        for value in limit.values:
            if value.code and value.code not in codes:
                text = f"limit {limit.id} holds under {value.code}, which no source has as its code"
                yield Problem(value.at, text, near(value.code, sorted(codes)))
            if value.set_by == "contract-code" and not value.code:
                text = f"limit {limit.id} has a value set by a contract code that is not named"
                yield Problem(value.at, text, "add code, or write set_by: code")
