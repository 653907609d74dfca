"""Expected information and answer chances against counting every set."""

import numpy as np
import pytest

from diagnose.engine.evidence import Answered
from diagnose.engine.posterior import infer
from diagnose.engine.ranking import rank
from diagnose.rulebook.model import AnswerRule
from tests.engine.small_networks import count, draw, level_chances


def counted_gain(network, counted, question):
    """Mutual information of explanation and answer, from every state."""
    keys = [
        tuple(v for v in np.flatnonzero(state) if v in network.candidates)
        for state in counted.states
    ]
    rows = {key: n for n, key in enumerate(dict.fromkeys(keys))}
    width = 2 ** len(question.findings) if question.rule is AnswerRule.TICKS else 0
    joint = np.zeros((len(rows), width or len(question.answers) + 1))
    if question.rule is AnswerRule.TICKS:
        chances = np.ones((len(keys), 1))
        for finding in question.findings:
            tick = level_chances(finding, counted.states)
            chances = (chances[:, :, None] * tick[:, None, :]).reshape(len(keys), -1)
    else:
        chances = level_chances(question.findings[0], counted.states)
    np.add.at(joint, [rows[key] for key in keys], counted.joint[:, None] * chances)
    outer = joint.sum(1, keepdims=True) * joint.sum(0, keepdims=True)
    with np.errstate(divide="ignore", invalid="ignore"):
        terms = joint * np.log2(joint / outer)
    return np.nansum(terms), joint.max(axis=0).sum()


@pytest.mark.parametrize("seed", range(12))
def test_gain_and_hope_equal_the_count(seed):
    drawn = draw(seed, causes=7, mechanisms=1, shared=seed % 2)
    asked = {item.question for item in drawn.evidence if isinstance(item, Answered)}
    kept = [item for item in drawn.evidence if not isinstance(item, Answered)][: 3 + seed % 5]
    kept = tuple(kept)
    counted = count(drawn.network, kept)
    posterior = infer(drawn.network, kept, delta=1e-12)
    for worth in rank(posterior, sorted(asked)):
        question = drawn.network.questions[worth.question]
        gain, hope = counted_gain(drawn.network, counted, question)
        # A tick that differs only through a shared look is left out: a lower bound.
        slack = 1e-4 if question.rule is AnswerRule.TICKS else 0.0
        assert gain - slack - 1e-9 <= worth.gain_bit <= gain + 1e-9
        assert hope - slack - 1e-9 <= worth.hope <= hope + 1e-9


@pytest.mark.parametrize("seed", range(6))
def test_the_chances_of_the_answers_are_those_the_posterior_gives(seed):
    drawn = draw(seed, causes=8, mechanisms=1)
    base = tuple(item for item in drawn.evidence if not isinstance(item, Answered))
    before = infer(drawn.network, base, delta=1e-12)
    for worth in rank(before, list(drawn.network.questions)):
        question = drawn.network.questions[worth.question]
        if question.rule is AnswerRule.TICKS:
            continue
        for answer, chance in zip(question.answers, worth.answers, strict=True):
            after = infer(drawn.network, (*base, Answered(question.id, (answer,))))
            ratio = np.exp(after.log_evidence - before.log_evidence)
            assert chance == pytest.approx(ratio, abs=1e-6)
