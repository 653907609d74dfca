"""Look for checks that could never say anything: what the rules alone cannot see."""

from __future__ import annotations

from collections.abc import Iterator
from difflib import get_close_matches

from diagnose.checks.parts import COLLECTIONS
from diagnose.checks.registry import CALCULATIONS
from diagnose.errors import Problem
from diagnose.record.fields import field_of, field_table
from diagnose.rulebook.model import Check, Rules

OPTIONS_NEEDED = {
    "yes-or-no": ("field", "good", "bad"),
    "word-allowed": ("field",),
    "number-within-limit": ("field", "what"),
}
"""Options that a general calculation cannot do without."""
OF_ANOTHER_PART = {
    "edges-yes": "drops.*.edges.*",
    "worst-later": "later.*",
}
"""Calculations whose `field` is not one of the part that the check looks at."""


def flaws(rules: Rules) -> tuple[Problem, ...]:
    """Return every check with an unknown calculation or field, or without an option."""
    return tuple(flaw for check in rules.checks.values() for flaw in _flaws(check))


def _flaws(check: Check) -> Iterator[Problem]:
    if check.calculation not in CALCULATIONS:
        text = f"check {check.id}: no calculation is called {check.calculation}"
        yield Problem(check.at, text, _near(check.calculation, list(CALCULATIONS)))
        return
    for option in OPTIONS_NEEDED.get(check.calculation, ()):
        if not check.options.get(option):
            text = (
                f"check {check.id}: the calculation {check.calculation} lacks the option {option}"
            )
            yield Problem(check.at, text)
    field = check.options.get("field")
    if field and not _is_field(check, field):
        part = check.looks_at
        known = [pattern.rsplit(".", 1)[-1] for pattern in field_table()]
        text = f"check {check.id}: {part} has no field {field}"
        yield Problem(check.at, text, _near(field, known))


def _is_field(check: Check, field: str) -> bool:
    base = OF_ANOTHER_PART.get(check.calculation)
    if base is None:
        collection = COLLECTIONS.get(check.looks_at)
        base = f"{collection}.*" if collection else ""
    path = f"{base}.{field}" if base else field
    return field_of(path.replace("*", "X")) is not None


def _near(word: str, known: list[str]) -> str:
    near = get_close_matches(word, known, n=2, cutoff=0.6)
    return f"did you mean {' or '.join(near)}?" if near else ""
