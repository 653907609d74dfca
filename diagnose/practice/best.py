"""The engine playing the same case: its path, its minutes, its finding."""

from __future__ import annotations

from dataclasses import dataclass

from diagnose.engine.network import Network
from diagnose.engine.policy import advise
from diagnose.engine.posterior import Explanation, infer
from diagnose.practice.play import (
    Round,
    answered_by_record,
    ask,
    evidence,
    open_questions,
    spent,
    start,
)
from diagnose.rulebook.model import Rules

LONGEST_PATH = 16
"""Questions; nobody is let ask more of a floor in one visit."""


@dataclass(frozen=True, slots=True)
class BestPath:
    """What the engine would have asked, in order, and what it would have found."""

    questions: tuple[str, ...]
    minutes: float
    harm: float
    found: Explanation
    stop: str
    """Why it stopped: settled, not-worth-it, nothing-left."""


def best_path(rules: Rules, network: Network, round_: Round) -> BestPath:
    """Play the case of a round by the engine's own advice, within the same allowance."""
    own = start(round_.case, round_.allowed)
    told = answered_by_record(rules, round_.case)
    reason = "nothing-left"
    for _ in range(LONGEST_PATH):
        posterior = infer(network, evidence(network, own))
        doing = [network.questions[name].act for name in own.asked]
        open_now = [name for name in open_questions(rules, network, own) if name not in told]
        advice = advise(posterior, open_now, doing)
        if advice.stop is not None or not advice.candidates:
            reason = advice.stop.value if advice.stop else reason
            break
        own = ask(rules, network, own, advice.candidates[0].question)
    found = infer(network, evidence(network, own)).explanations[0]
    minutes, harm = spent(rules, own)
    return BestPath(own.asked, minutes, harm, found, reason)
