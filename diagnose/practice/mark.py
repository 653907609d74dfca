"""Mark a finished round against the engine's own best path."""

from __future__ import annotations

from dataclasses import dataclass, replace

from diagnose.engine.network import Network
from diagnose.engine.policy import candidates
from diagnose.engine.posterior import Posterior, infer
from diagnose.errors import DiagnoseError
from diagnose.practice.best import BestPath, best_path
from diagnose.practice.draw import network_of
from diagnose.practice.measures import as_good_as, brier, regret, surprise_bits
from diagnose.practice.play import (
    Round,
    Stated,
    acts_done,
    answered_by_record,
    evidence,
    open_questions,
    spent,
)
from diagnose.rulebook.model import Rules

POINTS = {
    "cause": 40,
    "order": 20,
    "minutes": 8,
    "harm": 8,
    "cautions": 8,
    "belief": 8,
    "remedy": 8,
}
"""Points to be had for each part of a round; they add up to 100."""
TOLERATED_MINUTES = 1.1
"""Share of the engine's minutes that costs nothing."""
WIDER_CREDIT = 0.5
"""Credit for naming the wider cause of which the true one is a kind."""


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


@dataclass(frozen=True, slots=True)
class Part:
    """Points for one part of the round, with the reason."""

    name: str
    points: int
    of: int
    why: str


@dataclass(frozen=True, slots=True)
class Mark:
    """How a round went, measured."""

    stated: Stated
    truth: tuple[str, ...]
    right: bool
    """All causes named and no other."""
    missed: tuple[str, ...]
    wrongly_named: tuple[str, ...]
    steps: tuple[Step, ...]
    minutes: float
    harm: float
    best: BestPath
    parts: tuple[Part, ...]
    brier: float
    log_score_bits: float
    """Surprise at what was the case: bits that the stated belief missed by."""
    on_evidence: float
    """Probability the engine gives the named causes on the answers the learner had."""
    leading: tuple[str, ...]
    """What the engine would have said on the same answers."""
    leading_probability: float
    skipped_cautions: tuple[str, ...]
    """Acts that were done without reading the caution."""

    @property
    def total(self) -> int:
        """Points out of 100."""
        return sum(part.points for part in self.parts)


def mark(rules: Rules, round_: Round, *, best: BestPath | None = None) -> Mark:
    """Return the mark of a finished round.

    `best` is the engine's own path through the case, where it is known already.

    Raises
    ------
    DiagnoseError
        The round is not finished.
    """
    stated = round_.stated
    if stated is None:
        raise DiagnoseError("the round is not finished: no cause has been stated yet")
    network = network_of(rules, round_.case)
    last = infer(network, evidence(network, round_))
    best = best or best_path(rules, network, round_)
    steps = _steps(rules, network, round_)
    minutes, harm = spent(rules, round_)
    truth, named = set(round_.case.truth), set(stated.causes)
    right = truth == named
    sure = stated.percent / 100
    leading = last.explanations[0]
    skipped = _skipped(rules, round_)
    on_evidence = _named_probability(last, stated)
    as_engine = set(leading.causes) == named and leading.probability > 0.5
    parts = (
        _cause_part(rules, truth, named, as_engine),
        _order_part(steps, best),
        _minutes_part(minutes, best, right),
        _harm_part(harm, best, round_.allowed.harm),
        _cautions_part(skipped),
        _belief_part(sure, right),
        _remedy_part(rules, stated, round_.case.truth),
    )
    return Mark(
        stated=stated,
        truth=round_.case.truth,
        right=right,
        missed=tuple(cause for cause in round_.case.truth if cause not in named),
        wrongly_named=tuple(cause for cause in stated.causes if cause not in truth),
        steps=steps,
        minutes=minutes,
        harm=harm,
        best=best,
        parts=parts,
        brier=brier(sure, right),
        log_score_bits=surprise_bits(sure if right else 1.0 - sure),
        on_evidence=on_evidence,
        leading=leading.causes,
        leading_probability=leading.probability,
        skipped_cautions=skipped,
    )


def _steps(rules: Rules, network: Network, round_: Round) -> tuple[Step, ...]:
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


def _skipped(rules: Rules, round_: Round) -> tuple[str, ...]:
    return tuple(
        rules.questions[move.question].act for move in round_.moves if not move.caution_read
    )


def _named_probability(posterior: Posterior, stated: Stated) -> float:
    """Return the probability of exactly the named causes, 0 if it was cut off."""
    named = set(stated.causes)
    return sum(each.probability for each in posterior.explanations if set(each.causes) == named)


def _credit(rules: Rules, cause: str, named: set[str]) -> float:
    """Return 1 for a cause named, or one that nothing can tell from it; less for the wider one."""
    if cause in named:
        return 1.0
    for pair in rules.inseparable:
        if cause in pair.causes and named & set(pair.causes):
            return 1.0
    return WIDER_CREDIT if rules.causes[cause].kind_of in named else 0.0


def _cause_part(rules: Rules, truth: set[str], named: set[str], as_engine: bool) -> Part:
    credit = sum(_credit(rules, cause, named) for cause in truth)
    share = 2 * credit / (len(truth) + len(named))
    hit = len(truth & named)
    why = f"{hit} of {len(truth)} causes named, {len(named - truth)} named that were not there"
    if share < 0.5 and as_engine:
        share, why = 0.5, "not what was there, but what these answers pointed to"
    return _part("cause", share, why)


def _order_part(steps: tuple[Step, ...], best: BestPath) -> Part:
    if not steps:
        share = 0.0 if best.questions else 1.0
        return _part("order", share, "nothing was asked")
    shares = [
        0.0
        if step.after_settled or step.on_record or step.best_per_minute <= 0
        else 1.0
        if step.good
        else step.per_minute / step.best_per_minute
        for step in steps
    ]
    good = sum(step.good and not step.after_settled for step in steps)
    return _part(
        "order", sum(shares) / len(shares), f"{good} of {len(steps)} questions as good as the best"
    )


def _minutes_part(minutes: float, best: BestPath, right: bool) -> Part:
    allowed = TOLERATED_MINUTES * best.minutes
    share = 1.0 if minutes <= allowed else allowed / minutes
    if not right and minutes < best.minutes:
        share = minutes / best.minutes
    return _part("minutes", share, f"{minutes:g} min; the engine took {best.minutes:g}")


def _harm_part(harm: float, best: BestPath, allowed: int) -> Part:
    extra = max(0.0, harm - best.harm)
    share = 1.0 - extra / allowed if allowed else float(extra == 0)
    why = "no more harm than needed" if not extra else f"harm worth {extra:g} min more than needed"
    return _part("harm", max(0.0, share), why)


def _cautions_part(skipped: tuple[str, ...]) -> Part:
    why = "every caution read" if not skipped else f"{len(skipped)} skipped"
    return _part("cautions", max(0.0, 1.0 - 0.5 * len(skipped)), why)


def _belief_part(sure: float, right: bool) -> Part:
    score = brier(sure, right)
    return _part("belief", 1.0 - score, f"{round(sure * 100)} % stated; Brier score {score:.2f}")


def _remedy_part(rules: Rules, stated: Stated, truth: tuple[str, ...]) -> Part:
    fitting = {remedy for cause in truth for remedy in rules.causes[cause].remedies}
    if not stated.remedy:
        return _part("remedy", 0.0, "no remedy named")
    why = "fits the cause" if stated.remedy in fitting else "does not mend what was there"
    return _part("remedy", float(stated.remedy in fitting), why)


def _part(name: str, share: float, why: str) -> Part:
    return Part(name, round(POINTS[name] * min(1.0, max(0.0, share))), POINTS[name], why)
