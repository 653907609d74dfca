"""Counts of the rules: how many of each kind, by stage, and how well sourced."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from diagnose.model import STAGES
from diagnose.rulebook.cases import Case
from diagnose.rulebook.kinds import KINDS
from diagnose.rulebook.model import Rules


@dataclass(frozen=True, slots=True)
class Stats:
    """What the rules hold, as counts."""

    edition: str
    kinds: Mapping[str, int]
    causes_by_stage: Mapping[str, int]
    checks_by_stage: Mapping[str, int]
    links_by_support: Mapping[str, int]
    links_by_strength: Mapping[str, int]
    questions_by_rule: Mapping[str, int]
    answers: int
    weights: int
    limit_values_by_sure: Mapping[str, int]
    cases: int
    causes_that_come_first: int
    """Causes that a case expects to come first."""
    causes_with_near_miss: int
    without_case: tuple[str, ...]
    """Causes that lack a case that comes out, or a near miss."""


def stats(rules: Rules, cases: Sequence[Case]) -> Stats:
    """Return the counts of the rules and of the cases beside them."""
    answers = [answer for question in rules.questions.values() for answer in question.answers]
    first = {case.expect["first"] for case in cases if "first" in case.expect}
    missed = {case.expect["not_first"] for case in cases if "not_first" in case.expect}
    values = [value for limit in rules.limits.values() for value in limit.values]
    return Stats(
        edition=rules.edition,
        kinds={kind.key: len(getattr(rules, kind.key)) for kind in KINDS},
        causes_by_stage=_counted((each.stage for each in rules.causes.values()), STAGES),
        checks_by_stage=_counted((each.stage for each in rules.checks.values()), STAGES),
        links_by_support=_counted(
            (link.support for link in rules.links.values()), ("stated", "inferred", "none")
        ),
        links_by_strength=_counted(
            (link.strength for link in rules.links.values()), rules.scale.link_strength.words
        ),
        questions_by_rule=_counted(str(each.rule) for each in rules.questions.values()),
        answers=len(answers),
        weights=sum(len(each.speaks_for) + len(each.speaks_against) for each in answers),
        limit_values_by_sure=_counted(value.sure for value in values),
        cases=len(cases),
        causes_that_come_first=len(first),
        causes_with_near_miss=len(missed),
        without_case=tuple(name for name in rules.causes if name not in first & missed),
    )


def _counted(words: Iterable[str], order: Iterable[str] = ()) -> dict[str, int]:
    counts = Counter(words)
    return {word: counts[word] for word in (*order, *(w for w in counts if w not in {*order}))}
