"""Units that are known, and short forms that are explained."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from diagnose.errors import Problem
from diagnose.model import FACET_VALUES, Facet
from diagnose.rulebook.cases import Case
from diagnose.rulebook.fields import near
from diagnose.rulebook.kinds import LOOKS_AT, RuleKind
from diagnose.rulebook.lint.items import called, items, texts
from diagnose.rulebook.model import Rules
from diagnose.rulebook.short_forms import short_forms_in

UNITS = (
    "mm",
    "m",
    "m²",
    "mm/m",
    "ml",
    "l",
    "L/m²",
    "g",
    "kg",
    "g/m²",
    "kg/m³",
    "m²K/W",
    "s",
    "min",
    "h",
    "days",
    "months",
    "°C",
    "°C per day",
    "K",
    "°",
    "%",
    "% RH",
    "% MC",
    "% CM",
    "CM-%",
    "% by mass",
    "pH",
    "lux",
    "N",
    "N/mm",
    "g/m² 24 h",
    "lb/1000 ft² 24 h",
)
"""Units a limit may be given in."""
COUNTED = (
    "edges",
    "rolls",
    "drops",
    "pieces",
    "places",
    "readings",
    "times",
    "fixings",
    "grade",
    "of a full bead",
    "of a tile",
)
"""Things a limit may count, and shares."""


def unknown_unit(rules: Rules, cases: Sequence[Case]) -> Iterator[Problem]:
    """A limit is given in a unit that the record can be converted to."""
    known = (*UNITS, *COUNTED)
    for limit in rules.limits.values():
        if limit.unit not in known:
            text = f"limit {limit.id} is given in {limit.unit!r}, which is no known unit"
            yield Problem(limit.at, text, near(limit.unit, known) or "known: " + ", ".join(known))


def limit_that_limits_nothing(rules: Rules, cases: Sequence[Case]) -> Iterator[Problem]:
    """Each value of a limit has a bound, the lower one below, and floors that exist."""
    for limit in rules.limits.values():
        for value in limit.values:
            if value.low is None and value.high is None:
                text = f"a value of limit {limit.id} has neither low nor high"
                yield Problem(value.at, text, "give one bound or both")
            elif value.low is not None and value.high is not None and value.low > value.high:
                text = f"a value of limit {limit.id} runs from {value.low:g} down to {value.high:g}"
                yield Problem(value.at, text, "low is the least value, high the greatest")
            for key, words in value.when.items():
                if key in tuple(Facet):
                    allowed = FACET_VALUES[Facet(key)]
                    for word in words:
                        if word not in allowed:
                            text = f"limit {limit.id} holds for the {key} {word!r}, which is none"
                            yield Problem(value.at, text, near(word, allowed))


def unknown_part(rules: Rules, cases: Sequence[Case]) -> Iterator[Problem]:
    """A check looks at a part of the record that exists."""
    for check in rules.checks.values():
        if check.looks_at not in LOOKS_AT:
            text = f"check {check.id} looks at {check.looks_at!r}, which is no part of a record"
            yield Problem(check.at, text, near(check.looks_at, LOOKS_AT))


def unexplained_short_form(rules: Rules, cases: Sequence[Case]) -> Iterator[Problem]:
    """A short form stands in abbreviations.yaml with what it means."""
    for kind, item, key, short in short_forms(rules):
        if short not in rules.abbreviations:
            text = f"{called(kind, item)} uses {short} in {key} without saying what it means"
            hint = "write it out, or add it to abbreviations.yaml"
            yield Problem(item.at, text, hint)


def short_forms(rules: Rules) -> Iterator[tuple[RuleKind, Any, str, str]]:
    """Yield (kind, item, key, short form) for every short form that is used.

    Titles of sources are left out: they stand as printed.
    """
    for kind, item in items(rules):
        if kind.key in ("sources", "abbreviations"):
            continue
        for key, text in texts(kind.record, item):
            for short in short_forms_in(text):
                yield kind, item, key, short
