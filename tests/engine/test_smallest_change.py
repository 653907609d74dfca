"""The smallest change that turns a finding, against trying every change by counting.

Check: no outside figures; every one and every two swaps on small networks, each
counted out over all sets of causes.
"""

from __future__ import annotations

import itertools
import math

import pytest

from diagnose.engine.evidence import Answered, CheckSaid
from diagnose.engine.smallest_change import smallest_change
from diagnose.model import Outcome
from diagnose.rulebook.model import AnswerRule
from tests.engine.small_networks import count, draw


def swaps(network, item):
    """Everything else that could have been said, written down anew; None takes it back."""
    if isinstance(item, CheckSaid) and item.outcome is not Outcome.NOT_RECORDED:
        outcomes = {Outcome.DEVIATES, Outcome.IN_ORDER} - {item.outcome}
        return [None, *(CheckSaid(item.check, o, item.provenance) for o in outcomes)]
    if not isinstance(item, Answered):
        return []
    asked = network.questions[item.question]
    if asked.rule is AnswerRule.TICKS:
        return [None, *(Answered(item.question, tuple(item.given ^ {a})) for a in asked.answers)]
    said = [(), *((answer,) for answer in asked.answers)]
    return [None, *(Answered(item.question, s) for s in said if set(s) != item.given)]


def swap(pair):
    """What is said instead; ticks in any order."""
    key, other = pair
    return key, other.given if isinstance(other, Answered) else other


def first(counted):
    return max(counted.explanations, key=counted.explanations.get)


def turning(network, evidence, number):
    """Log10 cost of every change of so many items that turns the finding."""
    before = count(network, evidence)
    costs = {}
    for items in itertools.combinations(evidence, number):
        for new in itertools.product(*(swaps(network, item) for item in items)):
            said = dict(zip((i.key for i in items), new, strict=True))
            changed = tuple(kept for e in evidence if (kept := said.get(e.key, e)) is not None)
            after = count(network, changed)
            if first(after) != first(before):
                key = frozenset(map(swap, said.items()))
                costs[key] = (before.log_evidence - after.log_evidence) / math.log(10)
    return costs


@pytest.mark.parametrize("seed", [*range(30), 75, 114, 133])
def test_no_smaller_change_turns_the_finding(seed):
    drawn = draw(seed, causes=6, mechanisms=seed % 3, shared=seed % 2, questions=5, checks=4)
    network, evidence = drawn.network, drawn.evidence
    found = smallest_change(network, evidence)
    for number in (1, 2):
        costs = turning(network, evidence, number)
        if costs:
            break
    else:
        assert found is None
        return
    assert found is not None
    assert len(found.instead) == number
    swapped = frozenset(swap((item.key, other)) for item, other in found.instead)
    assert swapped in costs
    assert found.log10_cost == pytest.approx(costs[swapped], abs=1e-6)
    assert found.log10_cost == pytest.approx(min(costs.values()), abs=1e-6)
