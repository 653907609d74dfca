"""The order of questions and the stop against the optimum by dynamic programming."""

from __future__ import annotations

import functools

import numpy as np
import pytest

from diagnose.engine.evidence import Answered, SymptomSeen
from diagnose.engine.network import AskedQuestion
from diagnose.engine.nodes import level_chances
from diagnose.engine.policy import advise
from diagnose.engine.posterior import infer
from diagnose.rulebook.model import AnswerRule
from tests.engine.by_hand import finding, network

CAUSES, QUESTIONS = 5, 6


def drawn(seed, wrong):
    """Five causes, all of which can have given the complaint, and six yes-or-no questions."""
    rng = np.random.default_rng(seed)
    symptom = finding(
        "symptom:s",
        {v: (q, 0.0, 1 - q) for v, q in enumerate(rng.uniform(0.1, 0.6, CAUSES))},
        (0.98, 0.0, 0.02),
    )
    asked = []
    for n in range(QUESTIONS):
        chosen = sorted(rng.choice(CAUSES, int(rng.integers(1, 4)), replace=False))
        rows = {int(v): (off := float(rng.uniform(0.1, 0.5)), 1 - off) for v in chosen}
        found = finding(f"question:q{n}", rows, (0.9, 0.1))
        asked.append(
            AskedQuestion(
                f"q{n}", AnswerRule.GRADED, ("yes",), (found,), float(rng.integers(1, 6)), "ask"
            )
        )
    return network(
        {f"c{n}": p for n, p in enumerate(rng.uniform(0.05, 0.3, CAUSES))},
        symptoms={"s": symptom},
        questions=asked,
        settle_at=0.999,
        wrong_finding_minutes=wrong,
    )


class Tree:
    """Every state of knowledge: what each question gave, or that it was not asked."""

    def __init__(self, net, wrong):
        self.net, self.wrong = net, wrong
        states = np.array(list(np.ndindex((2,) * CAUSES)), dtype=bool)
        prior = np.where(states, net.prior, 1 - net.prior).prod(axis=1)
        self.start = prior * level_chances(net.symptoms["s"], states)[:, 2]
        self.levels = [level_chances(q.findings[0], states) for q in net.questions.values()]
        self.minutes = [q.minutes for q in net.questions.values()]

    def weights(self, known):
        weights = self.start.copy()
        for levels, level in zip(self.levels, known, strict=True):
            if level is not None:
                weights *= levels[:, level]
        return weights

    def after(self, known, number, value):
        """Mean of a value over the answers of a question, with its cost."""
        total = self.weights(known).sum()
        cost = self.minutes[number]
        for level in (0, 1):
            then = (*known[:number], level, *known[number + 1 :])
            cost += self.weights(then).sum() / total * value(then)
        return cost

    def stopped(self, known):
        weights = self.weights(known)
        return self.wrong * (1 - weights.max() / weights.sum())

    def optimum(self):
        @functools.cache
        def value(known):
            open_ = [n for n, level in enumerate(known) if level is None]
            return min([self.stopped(known), *(self.after(known, n, value) for n in open_)])

        return value((None,) * QUESTIONS)

    def policy(self):
        names = list(self.net.questions)

        @functools.cache
        def value(known):
            said = [SymptomSeen("s")]
            said += [
                Answered(name, ("yes",) if level else ())
                for name, level in zip(names, known, strict=True)
                if level is not None
            ]
            open_ = [name for name, level in zip(names, known, strict=True) if level is None]
            advice = advise(infer(self.net, said), open_, set())
            if advice.stop is not None or not open_:
                return self.stopped(known)
            return self.after(known, names.index(advice.candidates[0].question), value)

        return value((None,) * QUESTIONS)


@pytest.mark.parametrize("wrong", [20.0, 60.0])
def test_the_policy_is_close_to_the_optimum(wrong):
    excess = []
    for seed in range(12):
        tree = Tree(drawn(seed, wrong), wrong)
        best, own = tree.optimum(), tree.policy()
        assert own >= best - 1e-9
        excess.append(own / best - 1)
    assert np.mean(excess) <= 0.03, np.round(excess, 3)
    assert max(excess) <= 0.12, np.round(excess, 3)
