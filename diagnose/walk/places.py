"""Several places complained of at once: one set of results for all of them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from diagnose.model import CheckResult, Outcome

_WORST = (Outcome.DEVIATES, Outcome.NOT_RECORDED, Outcome.IN_ORDER, Outcome.DOES_NOT_APPLY)


def worst_of(results: Iterable[Iterable[CheckResult]]) -> tuple[CheckResult, ...]:
    """Return one result for each check: that of the place where it came out worst.

    Where it came out alike, the place named first stands.
    """
    found: dict[str, CheckResult] = {}
    for at_one_place in results:
        for result in at_one_place:
            other = found.get(result.check)
            if other is None or _WORST.index(result.outcome) < _WORST.index(other.outcome):
                found[result.check] = result
    return tuple(found.values())


def all_words(words: Iterable[Mapping[str, frozenset[str]]]) -> dict[str, frozenset[str]]:
    """Return everything recorded of each field at any of the places."""
    found: dict[str, frozenset[str]] = {}
    for at_one_place in words:
        for path, values in at_one_place.items():
            found[path] = found.get(path, frozenset()) | values
    return found
