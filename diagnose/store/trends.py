"""What closed and open cases say together: is a batch, lot, product or method worse than the rest?

For each group the jobs with a case are set against the jobs without, inside
the group and outside it, by Fisher's exact test, two-sided (Fisher, "The Logic
of Inductive Inference", 1935).  Where many groups are looked at, some look bad
by chance; the chances are therefore adjusted by the method of Benjamini and
Hochberg (1995), within each kind of group.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass

from diagnose.store import sql
from diagnose.store.casefold import CLOSED
from diagnose.store.cases import list_cases, show_case
from diagnose.store.journal import Casebook

FEWEST_JOBS = 5
"""A group of fewer jobs is too few to say anything."""
FEWEST_CASES = 2
ALLOWED_FALSE = 0.05
"""Share of false alarms that is accepted among the groups that are named."""

KINDS = ("batch", "lot", "product", "method")


@dataclass(frozen=True, slots=True)
class Trend:
    """One group of jobs against all others."""

    kind: str
    """batch, lot, product or method."""
    value: str
    cases: int
    """Jobs of the group with a case."""
    jobs: int
    """Jobs of the group: those at risk."""
    other_cases: int
    other_jobs: int
    chance: float | None
    """Two-sided chance of a difference at least as rare, if there were none; None: too few."""
    adjusted: float | None
    """`chance` adjusted for the number of groups looked at."""

    @property
    def stands_out(self) -> bool:
        """True when the group differs by more than chance explains."""
        return self.adjusted is not None and self.adjusted <= ALLOWED_FALSE

    @property
    def sentence(self) -> str:
        """The comparison in plain words."""
        counts = (
            f"{self.kind} {self.value}: {self.cases} of {self.jobs} jobs with a case, "
            f"{self.other_cases} of {self.other_jobs} elsewhere"
        )
        if self.adjusted is None:
            return f"{counts}; too few to say"
        if not self.stands_out:
            return f"{counts}; that can well be chance"
        worse = self.cases * self.other_jobs > self.other_cases * self.jobs
        return f"{counts}; {'more' if worse else 'fewer'} than chance explains"


def trends(casebook: Casebook, *, symptom: str | None = None) -> tuple[Trend, ...]:
    """Compare every batch, lot, product and method; those that stand out come first.

    A job counts once, however many cases it has; withdrawn and open cases are
    counted as the casebook lists them.
    """
    with casebook.reading():
        groups = _groups(casebook)
        jobs = {str(row[0]) for row in casebook.engine.rows(sql.GET_JOB_HEADS)}
        troubled = {line.job for line in list_cases(casebook, symptom=symptom) if line.job}
    found: list[Trend] = []
    for kind in KINDS:
        found += compare(kind, groups[kind], jobs, troubled & jobs)
    return tuple(
        sorted(
            found,
            key=lambda trend: (
                math.inf if trend.adjusted is None else trend.adjusted,
                KINDS.index(trend.kind),
                trend.value,
            ),
        )
    )


def causes_by_stage(casebook: Casebook, stages: Mapping[str, str]) -> dict[str, int]:
    """Return how many established causes of closed cases belong to each stage.

    `stages` gives the stage of a cause; a cause it does not know counts under
    `not-known`.  Every job passes every stage, so there is nothing to compare with.
    """
    counts: dict[str, int] = {}
    for line in list_cases(casebook, status=CLOSED):
        for cause in show_case(casebook, line.id).causes:
            stage = stages.get(cause, "not-known")
            counts[stage] = counts.get(stage, 0) + 1
    return counts


def compare(
    kind: str, groups: Mapping[str, Set[str]], jobs: Set[str], troubled: Set[str]
) -> tuple[Trend, ...]:
    """Compare each group with all jobs outside it; pure."""
    rows: list[tuple[str, int, int, int, int, float | None]] = []
    for value, members in sorted(groups.items()):
        cases = len(members & troubled)
        others = len(jobs) - len(members)
        other_cases = len(troubled) - cases
        enough = (
            len(members) >= FEWEST_JOBS
            and others >= FEWEST_JOBS
            and cases + other_cases >= FEWEST_CASES
        )
        chance = (
            exact_chance(cases, len(members) - cases, other_cases, others - other_cases)
            if enough
            else None
        )
        rows.append((value, cases, len(members), other_cases, others, chance))
    adjusted = iter(adjust([row[5] for row in rows if row[5] is not None]))
    return tuple(
        Trend(kind, *row, adjusted=None if row[5] is None else next(adjusted)) for row in rows
    )


def exact_chance(a: int, b: int, c: int, d: int) -> float:
    """Return the two-sided exact chance of a table of two by two, margins held fixed.

    Summed are the chances of all tables that are no likelier than this one.

    Examples
    --------
    >>> round(exact_chance(3, 1, 1, 3), 6)
    0.485714
    """
    row, column, total = a + b, a + c, a + b + c + d
    low, high = max(0, row + column - total), min(row, column)
    base = _log_choose(total, column)
    logs = [
        _log_choose(row, k) + _log_choose(total - row, column - k) - base
        for k in range(low, high + 1)
    ]
    # Tables that are equally likely differ in the last digits of their logarithms.
    limit = logs[a - low] + 1e-9
    return min(1.0, math.fsum(math.exp(log) for log in logs if log <= limit))


def adjust(chances: Sequence[float]) -> list[float]:
    """Return chances adjusted for false discovery, in the same order.

    Examples
    --------
    >>> adjust([0.01, 0.04, 0.03])
    [0.03, 0.04, 0.04]
    """
    order = sorted(range(len(chances)), key=lambda index: chances[index], reverse=True)
    adjusted = [0.0] * len(chances)
    least = 1.0
    for place, index in enumerate(order):
        rank = len(chances) - place
        least = min(least, chances[index] * len(chances) / rank)
        adjusted[index] = least
    return adjusted


def _log_choose(n: int, k: int) -> float:
    return math.lgamma(n + 1) - math.lgamma(k + 1) - math.lgamma(n - k + 1)


def _groups(casebook: Casebook) -> dict[str, dict[str, set[str]]]:
    groups: dict[str, dict[str, set[str]]] = {kind: {} for kind in KINDS}
    for job, path, mark in casebook.engine.rows(sql.GET_MARKS):
        kind = "batch" if str(path).startswith("rolls.") else "lot"
        groups[kind].setdefault(str(mark), set()).add(str(job))
    for job, _, method, product, _ in casebook.engine.rows(sql.GET_JOB_HEADS):
        _put(groups["product"], product, job)
        _put(groups["method"], method, job)
    return groups


def _put(group: dict[str, set[str]], value: str | None, job: str) -> None:
    if value:
        group.setdefault(value, set()).add(job)
