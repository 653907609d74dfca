"""Which question to ask next, and when to stop asking.

Cost is counted in minutes: those of the question, those of the act that opens
it (paid once), and the harm to the floor turned into minutes by scale.yaml.
A bit of expected information is worth the share `bit_of_wrong_finding` of what a
wrong finding costs; the next question is the one worth most after its cost.
Where none is worth its cost, the most information per minute goes first.  Ties
go to the larger gain, then to the order of the rule files.  A floor is looked
at before it is harmed: the first question opens nothing, if any such is worth
its cost.

The walk stops when the likeliest explanation reaches `settle_at`, or when no
question is worth its cost, also not together with the best one after it.

References
----------
.. [1] Heckerman, Breese, Rommelse (1995), CACM 38, 49-57; Jensen et al. (2001),
   AI EDAM 15, 321-333 (two-step look-ahead).  Read as abstracts.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from diagnose.engine.answers import answer_chances
from diagnose.engine.posterior import Posterior
from diagnose.engine.ranking import Ranking, Worth
from diagnose.rulebook.model import Damage

LOOK_AHEAD = 5


@dataclass(frozen=True, slots=True)
class Budget:
    """What the inspector allows: time and harm to the floor."""

    minutes: float | None = None
    most_damage: Damage = Damage.CUTS_OR_CORES


@dataclass(frozen=True, slots=True)
class Candidate:
    """A question that could be asked now, with its worth and its cost."""

    worth: Worth
    minutes: float
    """Real minutes, the act included where it is not done yet."""
    cost_minutes: float
    """The same with the harm to the floor turned into minutes."""
    bit_minutes: float
    """Minutes that a bit of information is worth."""

    @property
    def question(self) -> str:
        """Id of the question."""
        return self.worth.question

    @property
    def per_minute(self) -> float:
        """Expected information per minute of cost, in bits."""
        return self.worth.gain_bit / max(self.cost_minutes, 0.25)

    @property
    def left_over_minutes(self) -> float:
        """What its information is worth in minutes, less its cost."""
        return self.bit_minutes * self.worth.gain_bit - self.cost_minutes


class Stop(StrEnum):
    """Why no further question is proposed."""

    SETTLED = "settled"
    NOT_WORTH_IT = "not-worth-it"
    NOTHING_LEFT = "nothing-left"


@dataclass(frozen=True, slots=True)
class Advice:
    """The open questions, best first, and the reason to stop if there is one."""

    candidates: tuple[Candidate, ...]
    stop: Stop | None


_ORDER_OF_DAMAGE = tuple(Damage)


def candidates(
    posterior: Posterior,
    questions: Sequence[str],
    acts_done: Collection[str],
    budget: Budget | None = None,
    ranking: Ranking | None = None,
) -> tuple[Candidate, ...]:
    """Return the questions within the budget, the one to ask next first."""
    budget = budget or Budget()
    network = posterior.network
    wrong = network.figures.number("wrong_finding_minutes")
    bit_minutes = wrong * network.figures.number("bit_of_wrong_finding")
    ranking = ranking or Ranking(answer_chances(posterior))
    found = []
    for place, name in enumerate(questions):
        worth = ranking.worth(network.questions[name])
        question = network.questions[worth.question]
        minutes, cost = question.minutes, question.minutes
        act = network.acts.get(question.act)
        if act is not None and act.id not in acts_done:
            if _ORDER_OF_DAMAGE.index(act.damage) > _ORDER_OF_DAMAGE.index(budget.most_damage):
                continue
            minutes += act.minutes
            cost += act.minutes + network.figures.damage_minutes(act.damage)
        if budget.minutes is not None and minutes > budget.minutes:
            continue
        found.append((place, Candidate(worth, minutes, cost, bit_minutes)))
    first = not acts_done
    found.sort(key=lambda item: (first and _waits(item[1]), *_rank(item[1]), item[0]))
    return tuple(candidate for _, candidate in found)


def _waits(candidate: Candidate) -> bool:
    return candidate.cost_minutes > candidate.minutes or candidate.left_over_minutes <= 0


def _rank(candidate: Candidate) -> tuple[float, float, float]:
    return (
        -max(0.0, candidate.left_over_minutes),
        -candidate.per_minute,
        -candidate.worth.gain_bit,
    )


def advise(
    posterior: Posterior,
    questions: Sequence[str],
    acts_done: Collection[str],
    budget: Budget | None = None,
    ranking: Ranking | None = None,
) -> Advice:
    """Return the open questions in order, and whether to stop.

    `ranking` is that of the posterior, where the caller has it already.
    """
    network = posterior.network
    ranking = ranking or Ranking(answer_chances(posterior))
    found = candidates(posterior, questions, acts_done, budget, ranking)
    if posterior.leading.probability >= network.figures.number("settle_at"):
        return Advice(found, Stop.SETTLED)
    leading = ranking.leading
    telling = [each for each in found if each.worth.gain_bit > 1e-4]
    if not telling:
        return Advice(found, Stop.NOTHING_LEFT)
    if max(each.worth.gain_bit for each in telling) < network.figures.number("least_gain_bit"):
        return Advice(found, Stop.NOT_WORTH_IT)
    wrong = network.figures.number("wrong_finding_minutes")
    if any(_net(each, leading, wrong) > 0 for each in telling):
        return Advice(found, None)
    seconds = telling[: 2 * LOOK_AHEAD]
    for each in telling[:LOOK_AHEAD]:
        if _two_step(ranking, each, seconds, acts_done) > 0:
            return Advice(found, None)
    return Advice(found, Stop.NOT_WORTH_IT)


def _net(candidate: Candidate, leading: float, wrong_minutes: float) -> float:
    """Minutes a question saves on average by making the finding surer, less its cost."""
    return wrong_minutes * (candidate.worth.hope - leading) - candidate.cost_minutes


def _two_step(
    ranking: Ranking,
    first: Candidate,
    seconds: Sequence[Candidate],
    acts_done: Collection[str],
) -> float:
    """Net minutes of a question followed, after each answer, by the best one then."""
    network, leading = ranking.network, ranking.leading
    wrong = network.figures.number("wrong_finding_minutes")
    asked = network.questions[first.question]
    table = ranking.table(asked)
    if table is None:
        return -first.cost_minutes
    chances = ranking.mass[:, 0] @ table
    best = wrong * ranking.hope_of_pair(table, None)
    for second in seconds:
        if second.question == first.question:
            continue
        question = network.questions[second.question]
        cost = second.cost_minutes
        if question.act == asked.act and question.act not in acts_done:
            cost = question.minutes
        hope = ranking.hope_of_pair(table, ranking.table(question))
        best = np.maximum(best, wrong * hope - cost * chances)
    return float(best.sum()) - wrong * leading - first.cost_minutes
