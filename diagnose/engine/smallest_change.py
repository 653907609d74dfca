"""The fewest answers or entries that, had they been otherwise, put another cause first."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.engine.absorb import absorb
from diagnose.engine.adjust import findings, touched
from diagnose.engine.evidence import Answered, CheckSaid, Evidence
from diagnose.engine.network import Network
from diagnose.engine.plan import parts
from diagnose.engine.posterior import Explanation, Posterior, infer
from diagnose.errors import ImpossibleEvidenceError
from diagnose.model import Outcome
from diagnose.rulebook.model import AnswerRule

MOST_PAIRS = 80
"""Pairs of changes that are worked out."""
FAR = math.log(1e4)
"""Log odds by which an explanation that is not listed counts as behind."""
_FINE, _LEAST = 1e-5, 1e-12


@dataclass(frozen=True, slots=True)
class Change:
    """Answers or entries that, had they been otherwise, would put another cause first."""

    instead: tuple[tuple[Evidence, Evidence | None], ...]
    """What was said, and what would have to be said; None means taken back."""
    leading: Explanation
    """What would then come first."""
    log10_cost: float
    """How much less likely the changed evidence is, as log10; 0 or less is likelier."""


def smallest_change(
    network: Network,
    evidence: Sequence[Evidence],
    *,
    may_change: Callable[[Evidence], bool] | None = None,
) -> Change | None:
    """Return the fewest answers or entries that would put another cause first.

    Every single change is tried; of the pairs, the `MOST_PAIRS` that come
    closest by what each of the two does alone.  Of several with as few, the one that makes the evidence
    least surprising.  Complaints stay as they are, and so do items for which
    `may_change` says False.  None where no such change is found.
    """
    search = _Search(network, tuple(evidence))
    alternatives = [
        (item, other)
        for item in _that_matter(network, search.evidence)
        if may_change is None or may_change(item)
        for other in _alternatives(network, item)
    ]
    found = search.best([(each,) for each in alternatives])
    return found or search.best(search.pairs(alternatives))


_Swap = tuple[Evidence, Evidence | None]


class _Search:
    """Tries changes of the evidence against what leads without them."""

    def __init__(self, network: Network, evidence: tuple[Evidence, ...]) -> None:
        self.network, self.evidence = network, evidence
        self.before = infer(network, evidence)
        self.first = self.before.leading.causes
        self.behind = _behind(self.before, self.first)
        self.moved: dict[_Swap, dict[tuple[str, ...], float]] = {}
        """By how much each single change brings the other explanations closer, in log odds."""
        self.cost: dict[_Swap, float] = {}

    def best(self, tries: Iterable[tuple[_Swap, ...]]) -> Change | None:
        """Return the likeliest of the changes that put another explanation first."""
        found: Change | None = None
        for changes in tries:
            after = self._after(changes)
            if after is None:
                continue
            cost = (self.before.log_evidence - after.log_evidence) / math.log(10.0)
            if len(changes) == 1:
                self.cost[changes[0]] = cost
                behind = _behind(after, self.first)
                self.moved[changes[0]] = {
                    causes: self.behind.get(causes, FAR) - behind.get(causes, FAR)
                    for causes in behind.keys() | self.behind.keys()
                }
            if after.leading.causes != self.first and (found is None or cost < found.log10_cost):
                found = Change(changes, after.leading, cost)
        return found

    def pairs(self, alternatives: Sequence[_Swap]) -> list[tuple[_Swap, ...]]:
        """Return the pairs that together bring another explanation close, the likeliest first.

        What two changes do to the odds of two explanations adds up, but for the
        causes that neither of them names.
        """
        tried = [swap for swap in alternatives if swap in self.moved]
        others = sorted({causes for swap in tried for causes in self.moved[swap]})
        if not tried or not others:
            return []
        moved = np.array([[self.moved[swap].get(c, 0.0) for c in others] for swap in tried])
        behind = np.array([self.behind.get(causes, FAR) for causes in others])
        short = np.array([(behind - moved - row).min(axis=1) for row in moved])
        rows, columns = np.triu_indices(len(tried), 1)
        cost = np.array([self.cost[swap] for swap in tried])
        close = [
            (max(float(short[row, column]), 0.0), float(cost[row] + cost[column]), row, column)
            for row, column in zip(rows.tolist(), columns.tolist(), strict=True)
            if tried[row][0] is not tried[column][0]
        ]
        return [(tried[row], tried[column]) for _, _, row, column in sorted(close)[:MOST_PAIRS]]

    def _after(self, changes: tuple[_Swap, ...]) -> Posterior | None:
        """Return the posterior after the changes; None where they cannot all be true.

        Where what is left out of the list could decide which explanation leads,
        a longer list is made.
        """
        new = {item.key: other for item, other in changes}
        items = [kept for item in self.evidence if (kept := new.get(item.key, item))]
        try:
            after = infer(self.network, items)
            if _margin(after) < after.cut:
                after = infer(self.network, items, delta=_FINE)
        except ImpossibleEvidenceError:
            return None
        return after


def _margin(posterior: Posterior) -> float:
    """By how much the leading explanation leads."""
    first, *others = posterior.explanations[:2]
    return first.probability - (others[0].probability if others else 0.0)


def _behind(posterior: Posterior, first: tuple[str, ...]) -> dict[tuple[str, ...], float]:
    """Log odds by which an explanation leads each other one that is listed."""
    chances = {each.causes: each.probability for each in posterior.explanations}
    own = math.log(max(chances.pop(first, 0.0), _LEAST))
    return {causes: own - math.log(max(chance, _LEAST)) for causes, chance in chances.items()}


def _that_matter(network: Network, items: Sequence[Evidence]) -> list[Evidence]:
    """Return the items about a cause that hangs together with one of the complaint."""
    state = absorb(network, items)
    coupled = {
        variable
        for part in parts(network, state)
        if not network.candidates.isdisjoint(part.causes)
        for variable in (*part.causes, *part.mechanisms)
    }
    about = {f.key: {int(v) for v in f.parents} for f in findings(network)}
    return [
        item
        for item in items
        if any(not coupled.isdisjoint(about[key]) for key in touched(network, [item]))
    ]


def _alternatives(network: Network, item: Evidence) -> list[Evidence | None]:
    """What else could have been said, or the item taken back."""
    if isinstance(item, Answered):
        question = network.questions[item.question]
        others: list[Evidence | None] = [None]
        if question.rule is AnswerRule.TICKS:
            for answer in question.answers:
                given = sorted(item.given ^ {answer}, key=question.answers.index)
                others.append(Answered(item.question, tuple(given)))
            return others
        for answer in question.answers:
            if answer not in item.given:
                others.append(Answered(item.question, (answer,)))
        if item.given:
            others.append(Answered(item.question))
        return others
    if isinstance(item, CheckSaid) and item.outcome in (Outcome.DEVIATES, Outcome.IN_ORDER):
        deviates = item.outcome is Outcome.DEVIATES
        other = Outcome.IN_ORDER if deviates else Outcome.DEVIATES
        return [None, CheckSaid(item.check, other, item.provenance)]
    return []
