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

    @property
    def regret(self) -> float:
        """Bits per minute given away."""
        return regret(self.per_minute, self.best_per_minute)

    @property
    def good(self) -> bool:
        """Within 5 % of the best, and not told by the record already."""
        return not self.on_record and as_good_as(self.per_minute, self.best_per_minute)


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
        steps.append(
            Step(
                question=move.question,
                gain_bit=own.worth.gain_bit,
                per_minute=own.per_minute,
                best=fresh[0].question,
                best_per_minute=fresh[0].per_minute,
                after_settled=posterior.explanations[0].probability >= settle,
                on_record=move.question in told,
            )
        )
        so_far = replace(so_far, moves=(*so_far.moves, move))
    return tuple(steps)
