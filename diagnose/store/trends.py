"""What the cases say together: is a batch, lot, product, method or stage worse than the rest?

For a batch, lot, product or method, the jobs with a case are set against the
jobs without, inside the group and outside it, by Fisher's exact test.  Only
jobs whose record names that kind of thing take part: a job whose batch nobody
wrote down may be of any batch.

A stage is at fault in a job when an established cause of a closed case lies in
it.  Jobs differ in which stages they have, and some have more wrong with them
than others; so the stages of one job are set against each other, and the jobs
are taken together: given how many stages of a job were at fault, each stage
that was at risk there is as likely as the next to be among them.

Both tests are exact and two-sided.  Where many groups are looked at, some look
bad by chance; the chances are therefore adjusted, within each kind of group.
`exact` tells the methods.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Set
from dataclasses import dataclass, replace

from diagnose.store import sql
from diagnose.store.cases import list_cases
from diagnose.store.exact import adjust, count_chance, exact_chance
from diagnose.store.journal import Casebook
from diagnose.store.stages import Stages, faults, risks

FEWEST_JOBS = 5
"""A group of fewer jobs is too few to say anything."""
FEWEST_CASES = 2
ALLOWED_FALSE = 0.05
"""Share of false alarms that is accepted among the groups that are named."""

STAGE = "stage"
KINDS = ("batch", "lot", "product", "method", STAGE)


@dataclass(frozen=True, slots=True)
class Trend:
    """One group of jobs against all others, or one stage against the others of its jobs."""

    kind: str
    """batch, lot, product, method or stage."""
    value: str
    cases: int
    """Jobs of the group with a case; of a stage, jobs in which it was at fault."""
    jobs: int
    """Jobs of the group, or jobs that had the stage: those at risk."""
    other_cases: int
    """Jobs with a case outside the group; of a stage, other stages at fault in its jobs."""
    other_jobs: int
    """Jobs outside the group; of a stage, other stages at risk in its jobs, job by job."""
    chance: float | None
    """Two-sided chance of a difference at least as rare, if there were none; None: too few."""
    adjusted: float | None
    """`chance` adjusted for the number of groups looked at."""
    expected: float | None = None
    """Of a stage: `cases` to be expected if every stage of its jobs were as likely."""

    @property
    def stands_out(self) -> bool:
        """True when the group differs by more than chance explains."""
        return self.adjusted is not None and self.adjusted <= ALLOWED_FALSE

    @property
    def sentence(self) -> str:
        """The comparison in plain words."""
        if self.adjusted is None:
            return f"{self._counts}; too few to say"
        if not self.stands_out:
            return f"{self._counts}; that can well be chance"
        if self.expected is not None:
            worse = self.cases > self.expected
        else:
            worse = self.cases * self.other_jobs > self.other_cases * self.jobs
        return f"{self._counts}; {'more' if worse else 'fewer'} than chance explains"

    @property
    def _counts(self) -> str:
        if self.expected is not None:
            return (
                f"stage {self.value.replace('-', ' ')}: at fault in {self.cases} of {self.jobs} "
                f"jobs that had it, {self.expected:.1f} to be expected if every stage of "
                "those jobs were as likely"
            )
        return (
            f"{self.kind} {self.value}: {self.cases} of {self.jobs} jobs with a case, "
            f"{self.other_cases} of {self.other_jobs} elsewhere"
        )


def trends(
    casebook: Casebook, *, symptom: str | None = None, stages: Stages | None = None
) -> tuple[Trend, ...]:
    """Compare every batch, lot, product, method and stage; those that stand out come first.

    A job counts once, however many cases it has; withdrawn and open cases are
    counted as the casebook lists them, but only a closed case says which stage
    was at fault.  Without `stages` no stage is compared.
    """
    with casebook.reading():
        methods = {str(row[0]): row[2] for row in casebook.engine.rows(sql.GET_JOB_HEADS)}
        groups = _groups(casebook)
        lines = list_cases(casebook, symptom=symptom)
        faulty = faults(casebook, stages, symptom) if stages else {}
        at_risk = risks(casebook, stages, methods) if stages and faulty else {}
    troubled = {line.job for line in lines if line.job}
    found: list[Trend] = []
    for kind, members in groups.items():
        known = set().union(*members.values())
        found += compare(kind, members, known, troubled & known)
    found += compare_stages(at_risk, faulty)
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


def compare(
    kind: str, groups: Mapping[str, Set[str]], jobs: Set[str], troubled: Set[str]
) -> tuple[Trend, ...]:
    """Compare each group with all jobs outside it; pure."""
    found: list[Trend] = []
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
        found.append(
            Trend(kind, value, cases, len(members), other_cases, others, chance, adjusted=None)
        )
    return _adjusted(found)


def compare_stages(
    at_risk: Mapping[str, Set[str]], faulty: Mapping[str, Set[str]]
) -> tuple[Trend, ...]:
    """Compare each stage with the other stages of the jobs that had it; pure.

    Both mappings go from job to stages.  A stage at fault was there, whatever
    the record says; a job that nobody knows is left out.
    """
    had = {job: stages | faulty.get(job, frozenset()) for job, stages in at_risk.items()}
    wrong = {job: stages for job, stages in faulty.items() if job in had}
    jobs: dict[str, int] = {}
    others: dict[str, int] = {}
    for stages in had.values():
        for stage in stages:
            jobs[stage] = jobs.get(stage, 0) + 1
            others[stage] = others.get(stage, 0) + len(stages) - 1
    found: list[Trend] = []
    for stage in sorted(jobs):
        with_it = [job for job in wrong if stage in had[job]]
        chances = [len(wrong[job]) / len(had[job]) for job in with_it]
        cases = sum(stage in wrong[job] for job in with_it)
        other_cases = sum(len(wrong[job]) for job in with_it) - cases
        enough = (
            jobs[stage] >= FEWEST_JOBS
            and others[stage] >= FEWEST_JOBS
            and cases + other_cases >= FEWEST_CASES
        )
        chance = count_chance(cases, chances) if enough else None
        found.append(
            Trend(
                STAGE,
                stage,
                cases,
                jobs[stage],
                other_cases,
                others[stage],
                chance,
                adjusted=None,
                expected=math.fsum(chances),
            )
        )
    return _adjusted(found)


def _adjusted(found: list[Trend]) -> tuple[Trend, ...]:
    adjusted = iter(adjust([trend.chance for trend in found if trend.chance is not None]))
    return tuple(
        trend if trend.chance is None else replace(trend, adjusted=next(adjusted))
        for trend in found
    )


def _groups(casebook: Casebook) -> dict[str, dict[str, set[str]]]:
    groups: dict[str, dict[str, set[str]]] = {kind: {} for kind in KINDS if kind != STAGE}
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
