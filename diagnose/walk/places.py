"""Several places complained of at once: one set of results for all of them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from diagnose.checks.run import WORST_FIRST, trusted
from diagnose.model import CheckResult


def worst_of(results: Iterable[Iterable[CheckResult]]) -> tuple[CheckResult, ...]:
    """Return one result for each check: that of the place where it came out worst.

    Where it came out alike, the place named first stands.
    """
    heard: dict[str, list[CheckResult]] = {}
    for at_one_place in results:
        for result in at_one_place:
            heard.setdefault(result.check, []).append(result)
    return tuple(_worst(each) for each in heard.values())


def _worst(results: list[CheckResult]) -> CheckResult:
    worst = min(results, key=lambda result: WORST_FIRST.index(result.outcome))
    said = [(result.outcome, result.provenance) for result in results]
    return replace(worst, provenance=trusted(worst.outcome, said))


def all_words(words: Iterable[Mapping[str, frozenset[str]]]) -> dict[str, frozenset[str]]:
    """Return everything recorded of each field at any of the places."""
    found: dict[str, frozenset[str]] = {}
    for at_one_place in words:
        for path, values in at_one_place.items():
            found[path] = found.get(path, frozenset()) | values
    return found
