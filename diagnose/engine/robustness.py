"""How far a finding survives errors in the judged numbers, and other answers.

References
----------
.. [1] Henrion et al. (1996), Artificial Intelligence 85: normal noise on the
   log odds of the numbers of a diagnostic network.  From memory.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.engine.adjust import dials, findings, touched, turned
from diagnose.engine.evidence import Answered, CheckSaid, Evidence
from diagnose.engine.network import Network
from diagnose.engine.posterior import Explanation, Posterior, infer
from diagnose.errors import ImpossibleEvidenceError
from diagnose.model import Outcome
from diagnose.rulebook.model import AnswerRule

NOISES = (0.5, 1.0)
"""Standard deviations in log odds: moderate and gross errors of judgement."""
MOST_PAIRED = 16


@dataclass(frozen=True, slots=True)
class Survival:
    """How often the leading explanation stayed first under one size of error."""

    noise: float
    draws: int
    stayed: int
    others: tuple[tuple[tuple[str, ...], int], ...]
    """What came first instead, and how often, the most frequent first."""

    @property
    def share(self) -> float:
        """Share of the draws in which it stayed first."""
        return self.stayed / self.draws


@dataclass(frozen=True, slots=True)
class Change:
    """Answers or entries that, had they been otherwise, would put another cause first."""

    instead: tuple[tuple[Evidence, Evidence | None], ...]
    """What was said, and what would have to be said; None means taken back."""
    leading: Explanation
    """What would then come first."""
    log10_cost: float
    """How much less likely the changed evidence is, as log10; 0 or less is likelier."""


def survival(
    network: Network,
    evidence: Iterable[Evidence],
    *,
    seed: int,
    draws: int = 60,
    noises: Sequence[float] = NOISES,
) -> tuple[Survival, ...]:
    """Disturb every judged number and count how often the explanation stays first.

    Every number gets its own normal error in log odds; the same seed gives the
    same draws.

    Raises
    ------
    ImpossibleEvidenceError
        The evidence has no chance at all under the rules.
    """
    items = tuple(evidence)
    first = infer(network, items).leading.causes
    numbers = dials(network, items)
    found = []
    for noise in noises:
        rng = np.random.default_rng(seed)
        instead: dict[tuple[str, ...], int] = {}
        for _ in range(draws):
            errors = rng.normal(0.0, noise, len(numbers)).tolist()
            disturbed = turned(network, dict(zip(numbers, errors, strict=True)))
            leading = infer(disturbed, items).leading.causes
            instead[leading] = instead.get(leading, 0) + 1
        stayed = instead.pop(first, 0)
        others = tuple(sorted(instead.items(), key=lambda item: (-item[1], item[0])))
        found.append(Survival(noise, draws, stayed, others))
    return tuple(found)


def sentence(found: Sequence[Survival]) -> str:
    """Say in one plain sentence how far the finding survives errors of judgement."""
    moderate, gross = found[0], found[-1]
    if gross.share >= 0.9:
        return "The finding does not hang on the exact numbers: even gross errors leave it first."
    if moderate.share >= 0.9:
        return (
            "Moderate errors in the judged numbers leave the finding first; "
            f"gross ones do in {_in_ten(gross.share)}."
        )
    return (
        "The finding hangs on the judged numbers: with moderate errors in them it stays "
        f"first in {_in_ten(moderate.share)}, with gross ones in {_in_ten(gross.share)}."
    )


def _in_ten(share: float) -> str:
    tenths = round(share * 10)
    if tenths == 0:
        return "hardly any case"
    return "nearly every case" if tenths == 10 else f"{tenths} cases in ten"


def smallest_change(
    network: Network,
    evidence: Sequence[Evidence],
    *,
    may_change: Callable[[Evidence], bool] | None = None,
) -> Change | None:
    """Return the fewest answers or entries that would put another cause first.

    One change is looked for among all, two among the `MOST_PAIRED` that by
    themselves come closest.  Of several with as few, the one that makes the
    evidence least surprising.  Complaints stay as they are, and so do items for
    which `may_change` says False.  None where no such change is found.
    """
    search = _Search(network, tuple(evidence))
    alternatives = [
        (item, other)
        for item in search.evidence
        if (may_change is None or may_change(item)) and search.matters(item)
        for other in _alternatives(network, item)
    ]
    found = search.best([(each,) for each in alternatives])
    if found is not None or not alternatives:
        return found
    close = sorted(alternatives, key=lambda each: search.lead[(each,)])[:MOST_PAIRED]
    pairs = [pair for pair in itertools.combinations(close, 2) if pair[0][0] is not pair[1][0]]
    return search.best(pairs)


_Swap = tuple[Evidence, Evidence | None]


class _Search:
    """Tries changes of the evidence against what leads without them."""

    def __init__(self, network: Network, evidence: tuple[Evidence, ...]) -> None:
        self.network, self.evidence = network, evidence
        self.before = infer(network, evidence)
        self.coupled = set(self.before.sets.variables)
        self.lead: dict[tuple[_Swap, ...], float] = {}
        """By how much the explanation still leads after a change that was tried."""

    def matters(self, item: Evidence) -> bool:
        """True where the item is about a cause coupled to the complaint."""
        keys = touched(self.network, [item])
        parents = {int(v) for f in findings(self.network) if f.key in keys for v in f.parents}
        return not self.coupled.isdisjoint(parents)

    def best(self, tries: Iterable[tuple[_Swap, ...]]) -> Change | None:
        """Return the likeliest of the changes that put another explanation first."""
        found: Change | None = None
        for changes in tries:
            new = {item.key: other for item, other in changes}
            items = [kept for item in self.evidence if (kept := new.get(item.key, item))]
            try:
                after = infer(self.network, items)
            except ImpossibleEvidenceError:
                self.lead[changes] = 1.0
                continue
            first = self.before.leading.causes
            self.lead[changes] = _lead(after, first)
            cost = (self.before.log_evidence - after.log_evidence) / math.log(10.0)
            if after.leading.causes != first and (found is None or cost < found.log10_cost):
                found = Change(changes, after.leading, cost)
        return found


def _lead(posterior: Posterior, causes: tuple[str, ...]) -> float:
    """Probability of an explanation less that of the likeliest other one."""
    own = next((e.probability for e in posterior.explanations if e.causes == causes), 0.0)
    other = max((e.probability for e in posterior.explanations if e.causes != causes), default=0.0)
    return own - other


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
