"""Each question of a round weighed against the best one that was open at that moment."""

from __future__ import annotations

from dataclasses import dataclass, replace

from diagnose.engine.network import Network
from diagnose.engine.policy import candidates
from diagnose.engine.posterior import infer
from diagnose.practice.measures import as_good_as, regret
from diagnose.practice.play import Round, acts_done, answered_by_record, evidence, open_questions
from diagnose.rulebook.model import Rules


@dataclass(frozen=True, slots=True)
class Step:
    """One question of the learner's, beside the best one at that moment."""

    question: str
    gain_bit: float
    per_minute: float
    """Expected information per minute of cost, in bits."""
    best: str
    best_per_minute: float
    after_settled: bool
    """It was asked although the finding was settled already."""
    on_record: bool = False
    """The record had answered it already, on the day or soon after."""
    as_the_engine: bool = False
    """The engine would have asked it then: worth most after its cost, if not the most a minute."""

    @property
    def regret(self) -> float:
        """Bits per minute given away; none where the engine would have asked the same."""
        return 0.0 if self.as_the_engine else regret(self.per_minute, self.best_per_minute)

    @property
    def good(self) -> bool:
        """The engine's choice or within 5 % of the best, and not told by the record already."""
        near = as_good_as(self.per_minute, self.best_per_minute)
        return not self.on_record and (self.as_the_engine or near)


def weighed(rules: Rules, network: Network, round_: Round) -> tuple[Step, ...]:
    """Weigh each question against the best one that was open at that moment."""
    settle = network.figures.number("settle_at")
    so_far = replace(round_, moves=(), stated=None)
    told = answered_by_record(rules, round_.case)
    steps = []
    for move in round_.moves:
        posterior = infer(network, evidence(network, so_far))
        open_now = open_questions(rules, network, so_far)
        found = candidates(posterior, open_now, acts_done(rules, so_far))
        own = next(each for each in found if each.question == move.question)
        fresh = [each for each in found if each.question not in told] or [own]
        best = max(fresh, key=lambda each: each.per_minute)
        steps.append(
            Step(
                question=move.question,
                gain_bit=own.worth.gain_bit,
                per_minute=own.per_minute,
                best=best.question,
                best_per_minute=best.per_minute,
                after_settled=posterior.explanations[0].probability >= settle,
                on_record=move.question in told,
                as_the_engine=move.question == fresh[0].question,
            )
        )
        so_far = replace(so_far, moves=(*so_far.moves, move))
    return tuple(steps)
