"""Take evidence into the causes' odds; keep apart only what couples causes.

Evidence that a finding is at most at some level multiplies the odds of each
of its causes and is gone.  Evidence that it is exactly at a level above the
least leaves one *coupling factor* behind, 1 - L * prod r over the causes
present; only causes that share such a factor are dependent.  An answered
either-or question leaves a small table over its causes.

References
----------
.. [1] The factor form is the difference of two cumulative products of a
   noisy-MAX (Diez 1993, IJAR; Takikawa and D'Ambrosio 1999, UAI).  Read as
   abstracts; derivation in the tests by brute force.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import TypeVar

import numpy as np

from diagnose.engine.evidence import (
    Answered,
    CheckSaid,
    Evidence,
    NotMentioned,
    SymptomAbsent,
    SymptomFound,
    SymptomSeen,
)
from diagnose.engine.network import AskedQuestion, Finding, Network
from diagnose.engine.numbers import Array
from diagnose.errors import NotFoundError
from diagnose.model import Outcome
from diagnose.rulebook.model import AnswerRule

Asked = TypeVar("Asked", Finding, AskedQuestion)

_ABSENT, _UNMENTIONED, _MENTIONED = 0, 1, 2


@dataclass(slots=True)
class Factor:
    """1 - leak * prod of r over the variables that are present."""

    key: str
    leak: float
    r: dict[int, float]


@dataclass(slots=True)
class Table:
    """Chance of an either-or answer for each set of its causes; axis j is `variables[j]`."""

    key: str
    variables: tuple[int, ...]
    values: Array


@dataclass(slots=True)
class Absorbed:
    """What is left of network and evidence: odds, factors and tables."""

    log_odds: Array
    """Of the variables without parents."""
    log_on: Array
    """Of each mechanism: log of the weight that its being on gets."""
    log_constant: float = 0.0
    factors: list[Factor] = field(default_factory=list)
    tables: list[Table] = field(default_factory=list)


def absorb(network: Network, evidence: Iterable[Evidence]) -> Absorbed:
    """Return what the evidence leaves of the network; order does not matter.

    Raises
    ------
    NotFoundError
        An item names a symptom, question, answer or check that the network
        does not have, or two items contradict each other about the same thing.
    """
    items = sorted(set(evidence), key=lambda item: item.key)
    for first, second in itertools.pairwise(items):
        if first.key == second.key:
            raise NotFoundError(f"{first.key} is stated twice, in two ways")
    state = Absorbed(
        log_odds=np.log(network.prior) - np.log1p(-network.prior),
        log_on=np.zeros(len(network.mechanisms)),
    )
    state.log_constant = float(np.log1p(-network.prior).sum())
    work = _Absorber(network, state)
    for item in items:
        work.take(item, items)
    return state


class _Absorber:
    """Holds the network and the state while items are taken in."""

    def __init__(self, network: Network, state: Absorbed) -> None:
        self.network, self.state = network, state

    def take(self, item: Evidence, items: list[Evidence]) -> None:
        match item:
            case SymptomSeen():
                self._exactly(self._of(self.network.symptoms, item.symptom, "symptom"), _MENTIONED)
            case SymptomFound():
                found = self._of(self.network.symptoms, item.symptom, "symptom")
                self._exactly(found, _UNMENTIONED)
            case SymptomAbsent():
                self._at_most(self._of(self.network.symptoms, item.symptom, "symptom"), _ABSENT)
            case NotMentioned():
                said = {other.key for other in items}
                for symptom, finding in self.network.symptoms.items():
                    if f"symptom:{symptom}" not in said:
                        self._at_most(finding, _UNMENTIONED)
            case Answered():
                self._answer(self._of(self.network.questions, item.question, "question"), item)
            case CheckSaid():
                self._check(item)

    def _of(self, among: Mapping[str, Asked], name: str, kind: str) -> Asked:
        if name not in among:
            raise NotFoundError(f"{kind} {name} does not apply to this floor")
        return among[name]

    def _answer(self, question: AskedQuestion, item: Answered) -> None:
        unknown = sorted(item.given - set(question.answers))
        if unknown:
            raise NotFoundError(f"question {question.id} has no answer {unknown[0]}")
        if question.rule is AnswerRule.TICKS:
            for answer, finding in zip(question.answers, question.findings, strict=True):
                self._exactly(finding, int(answer in item.given))
            return
        if len(item.given) > 1:
            raise NotFoundError(f"question {question.id} takes one answer, not {len(item.given)}")
        level = next((n for n, a in enumerate(question.answers, 1) if a in item.given), 0)
        finding = question.findings[0]
        if finding.mixture:
            self._mixture(finding, level)
        else:
            self._exactly(finding, level)

    def _check(self, item: CheckSaid) -> None:
        finding = self._of(self.network.checks, item.check, "check")
        figures = self.network.figures
        in_order = figures.number("not_recorded_in_order")
        deviates = figures.number("not_recorded_deviation")
        match item.outcome:
            case Outcome.DEVIATES:
                self.state.log_constant += math.log1p(-deviates)
                self._exactly(_believed(finding, figures.trust(item.provenance)), 1)
            case Outcome.IN_ORDER:
                self.state.log_constant += math.log1p(-in_order)
                self._at_most(_believed(finding, figures.trust(item.provenance)), 0)
            case Outcome.NOT_RECORDED if deviates > in_order:
                self.state.log_constant += math.log(deviates)
                leak = float(finding.base[0]) * (1.0 - in_order / deviates)
                r = {int(v): float(c[0]) for v, c in zip(finding.parents, finding.net, strict=True)}
                self._couple(finding.key, leak, r)

    def _at_most(self, finding: Finding, level: int) -> None:
        """Take in that the finding is at `level` or less."""
        if level >= len(finding.base) - 1:
            return
        self.state.log_constant += math.log(finding.base[level])
        self._multiply(finding, level)

    def _exactly(self, finding: Finding, level: int) -> None:
        """Take in that the finding is at `level`."""
        self._at_most(finding, level)
        if level == 0:
            return
        leak = float(finding.base[level - 1] / finding.base[level])
        r = {
            int(v): float(c[level - 1] / c[level])
            for v, c in zip(finding.parents, finding.net, strict=True)
        }
        self._couple(finding.key, leak, r)

    def _multiply(self, finding: Finding, level: int) -> None:
        roots = self.network.roots
        weights = np.log(finding.net[:, level])
        on_causes = finding.parents < roots
        self.state.log_odds[finding.parents[on_causes]] += weights[on_causes]
        self.state.log_on[finding.parents[~on_causes] - roots] += weights[~on_causes]

    def _couple(self, key: str, leak: float, r: dict[int, float]) -> None:
        """Add 1 - leak * prod r; with one cause without parents it goes into the odds."""
        telling = {v: value for v, value in r.items() if value < 1.0 - 1e-12}
        if len(telling) > 1 or any(v >= self.network.roots for v in telling):
            self.state.factors.append(Factor(key, leak, telling))
            return
        self.state.log_constant += math.log1p(-leak)
        for variable, value in telling.items():
            self.state.log_odds[variable] += math.log1p(-leak * value) - math.log1p(-leak)

    def _mixture(self, finding: Finding, level: int) -> None:
        """Keep the chance of an either-or answer for every set of its causes."""
        count = len(finding.parents)
        values = np.empty((2,) * count)
        for present in np.ndindex(*values.shape):
            rows = finding.net[np.array(present, dtype=bool), level]
            values[present] = rows.mean() if len(rows) else finding.base[level]
        self.state.tables.append(Table(finding.key, tuple(map(int, finding.parents)), values))


def _believed(finding: Finding, trust: float) -> Finding:
    """Weaken every cause of a check by how far the entry is believed.

    An entry of trust t shows what a cause does with t of its usual chance, so
    an entry nobody believes (t = 0) leaves the causes as they were.
    """
    if trust >= 1.0:
        return finding
    net = 1.0 - trust * (1.0 - finding.net)
    return Finding(finding.key, finding.parents, net, finding.base, finding.mixture)
