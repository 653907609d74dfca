"""Which stages of the work could go wrong in a job, by the rules and by its record.

A stage is at risk in a job when one of its causes can hold for the method of
the floor, and when the record names a part that one of its checks looks at:
no bonding where the carpet is stretched in, no sealing in tiles or where no
seam is recorded.  Parts that every floor has need not be recorded.  A lot is a
material that several stages use, so it tells nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Set
from functools import lru_cache

from diagnose.checks.parts import COLLECTIONS
from diagnose.checks.run import ALWAYS_THERE
from diagnose.model import FACET_VALUES, Facet, Floor
from diagnose.rulebook.applies import applies_to
from diagnose.rulebook.model import Rules
from diagnose.store.casefold import CLOSED
from diagnose.store.cases import list_cases, show_case
from diagnose.store.engine import all_rows
from diagnose.store.entry import VALUE_KINDS, WITHDRAWAL
from diagnose.store.fold import fold_values, values_in
from diagnose.store.journal import Casebook
from diagnose.store.parse import stored

NOT_KNOWN = "not-known"
_TELLS_NOTHING = frozenset({"lot"})


class Stages:
    """The stages of the rules: where each cause belongs, and what is at risk on a floor."""

    def __init__(self, rules: Rules) -> None:
        self._rules = rules
        self.of_cause: Mapping[str, str] = {id_: each.stage for id_, each in rules.causes.items()}
        self._looks_at = frozenset(
            check.looks_at
            for check in rules.checks.values()
            if check.looks_at not in (*ALWAYS_THERE, *_TELLS_NOTHING)
        )
        self.telling = frozenset(COLLECTIONS[kind] for kind in self._looks_at)
        """Parts of a record, such as `seams`, whose absence takes a stage out."""
        self.at_risk = lru_cache(maxsize=None)(self._at_risk)

    def _at_risk(self, method: str | None, recorded: frozenset[str]) -> frozenset[str]:
        """Return the stages at risk, given the method and the parts of `telling` on record."""
        known = method in FACET_VALUES[Facet.METHOD]
        floor = Floor({Facet.METHOD: method} if method and known else {})
        can = {
            each.stage for each in self._rules.causes.values() if applies_to(each.applies, floor)
        }
        checks = [
            check
            for check in self._rules.checks.values()
            if check.looks_at not in _TELLS_NOTHING and applies_to(check.applies, floor)
        ]
        done = {
            check.stage
            for check in checks
            if check.looks_at in ALWAYS_THERE or COLLECTIONS[check.looks_at] in recorded
        }
        return frozenset(can & (done | (can - {check.stage for check in checks})))


def faults(casebook: Casebook, stages: Stages, symptom: str | None = None) -> dict[str, set[str]]:
    """Return, by job, the stages in which established causes of its closed cases lie."""
    found: dict[str, set[str]] = {}
    for line in list_cases(casebook, status=CLOSED, symptom=symptom):
        causes = show_case(casebook, line.id).causes if line.job else ()
        known = {stages.of_cause[cause] for cause in causes if cause in stages.of_cause}
        if line.job and known:
            found.setdefault(line.job, set()).update(known)
    return found


def risks(
    casebook: Casebook, stages: Stages, methods: Mapping[str, str | None]
) -> dict[str, frozenset[str]]:
    """Return the stages at risk in every job; `methods` gives all jobs with their method."""
    recorded = _recorded(casebook, stages.telling)
    return {
        job: stages.at_risk(method, frozenset(recorded.get(job, ())))
        for job, method in methods.items()
    }


def _recorded(casebook: Casebook, telling: Set[str]) -> dict[str, set[str]]:
    """Return, by job, which of the telling parts its record names now."""
    marks = tuple(f'"{name}.' for name in telling)
    found: dict[str, set[str]] = {}
    again: set[str] = set()
    for row in all_rows(casebook.engine):
        text, kind, job = str(row[3]), str(row[7]), row[8]
        if job is None:
            continue
        if kind == WITHDRAWAL:
            again.add(str(job))
        elif kind in VALUE_KINDS and any(mark in text for mark in marks):
            values = values_in(stored(text, str(row[2])))
            if None in values.values():
                again.add(str(job))
            found.setdefault(str(job), set()).update(_parts(values, telling))
    # Where something was taken out again, only the order of the entries tells what stands.
    for job in again:
        found[job] = _parts(fold_values(casebook.entries(job=job)).values, telling)
    return found


def _parts(paths: Iterable[str], telling: Set[str]) -> set[str]:
    return {path.split(".", 1)[0] for path in paths} & telling


def causes_by_stage(casebook: Casebook, stages: Mapping[str, str]) -> dict[str, int]:
    """Return how many established causes of closed cases belong to each stage.

    `stages` gives the stage of a cause; a cause it does not know counts under
    `not-known`.  Here nothing is compared: see `trends` for that.
    """
    counts: dict[str, int] = {}
    for line in list_cases(casebook, status=CLOSED):
        for cause in show_case(casebook, line.id).causes:
            stage = stages.get(cause, NOT_KNOWN)
            counts[stage] = counts.get(stage, 0) + 1
    return counts
