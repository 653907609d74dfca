"""Mark a finished round against the engine's own best path."""

from __future__ import annotations

from dataclasses import dataclass

from diagnose.engine.posterior import Posterior, infer
from diagnose.errors import DiagnoseError
from diagnose.practice.best import BestPath, best_path
from diagnose.practice.draw import network_of
from diagnose.practice.measures import brier, surprise_bits
from diagnose.practice.play import (
    Round,
    Stated,
    evidence,
    spent,
)
from diagnose.practice.steps import Step, weighed
from diagnose.rulebook.model import Rules

POINTS = {
    "cause": 40,
    "order": 16,
    "minutes": 6,
    "harm": 8,
    "cautions": 14,
    "belief": 10,
    "remedy": 6,
}
"""Points to be had for each part of a round; they add up to 100."""
TOLERATED_MINUTES = 1.1
"""Share of the engine's minutes that costs nothing."""
OVERCLAIM = 2.0
"""Share of the belief points lost for each unit of belief beyond what the answers allow."""
SAFE_ONLY = 0.5
"""Credit for a remedy that only makes the place safe, where others mend the cause."""
WIDER_CREDIT = 0.5
"""Credit for naming the wider cause of which the true one is a kind."""


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
    steps = weighed(rules, network, round_)
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
        _belief_part(sure, on_evidence),
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
    why = _found_words(len(truth & named), len(truth), len(named - truth))
    if share < 0.5 and as_engine:
        share, why = 0.5, "not what was there, but what these answers pointed to"
    return _part("cause", share, why)


def _found_words(hit: int, there: int, wrong: int) -> str:
    """Say how much of what was there was named, and what else.

    >>> _found_words(0, 1, 1), _found_words(1, 2, 0)
    ('the cause was not named; 1 named that was not there', '1 of 2 causes named')
    """
    found = f"{hit} of {there} causes named" if there > 1 else "the cause was named"
    if there == 1 and not hit:
        found = "the cause was not named"
    were = "was" if wrong == 1 else "were"
    return f"{found}; {wrong} named that {were} not there" if wrong else found


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
    noun = "question" if len(steps) == 1 else "questions"
    why = f"{good} of {len(steps)} {noun} as good as the best"
    return _part("order", sum(shares) / len(shares), why)


def _minutes_part(minutes: float, best: BestPath, right: bool) -> Part:
    allowed = TOLERATED_MINUTES * best.minutes
    share = 1.0 if minutes <= allowed else allowed / minutes
    why = f"{minutes:g} min"
    if not right and minutes < best.minutes:
        share = minutes / best.minutes
        why += ", stopped too soon"
    return _part("minutes", share, f"{why}; the program took {best.minutes:g}")


def _harm_part(harm: float, best: BestPath, allowed: int) -> Part:
    extra = max(0.0, harm - best.harm)
    share = 1.0 - extra / allowed if allowed else float(extra == 0)
    why = "no more harm than needed" if not extra else f"harm worth {extra:g} min more than needed"
    return _part("harm", max(0.0, share), why)


def _cautions_part(skipped: tuple[str, ...]) -> Part:
    """One caution skipped costs all there is: nobody is half hurt."""
    why = "every caution read" if not skipped else f"{len(skipped)} skipped"
    return _part("cautions", float(not skipped), why)


def _belief_part(sure: float, allowed: float) -> Part:
    """Mark the belief by what the answers allow, so that a lucky guess earns nothing here.

    `allowed` is the engine's probability on the same answers.  Too little
    belief costs the expected loss of the Brier score, as a share of that of a
    coin; too much costs more, and in proportion.
    """
    gap = sure - allowed
    share = 1.0 - (OVERCLAIM * gap if gap > 0 else 4.0 * gap**2)
    return _part("belief", share, f"{_percent(sure)} stated; the answers allow {_percent(allowed)}")


def _percent(probability: float) -> str:
    return f"{round(probability * 100)} %"


def _remedy_part(rules: Rules, stated: Stated, truth: tuple[str, ...]) -> Part:
    """Mark the remedy; it counts only for a true cause that was found."""
    if not stated.remedy:
        return _part("remedy", 0.0, "no remedy named")
    served = [cause for cause in truth if stated.remedy in rules.causes[cause].remedies]
    if not served:
        return _part("remedy", 0.0, "does not mend what was there")
    credit = max(_credit(rules, cause, set(stated.causes)) for cause in served)
    if not credit:
        return _part("remedy", 0.0, "belongs to a cause that you did not name")
    mends = [
        remedy
        for cause in served
        for remedy in rules.causes[cause].remedies
        if not rules.remedies[remedy].make_safe
    ]
    if rules.remedies[stated.remedy].make_safe and mends:
        return _part("remedy", SAFE_ONLY * credit, "makes it safe, but does not mend it")
    return _part("remedy", credit, "fits the cause")


def _part(name: str, share: float, why: str) -> Part:
    return Part(name, round(POINTS[name] * min(1.0, max(0.0, share))), POINTS[name], why)
