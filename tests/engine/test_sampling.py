"""Drawn floors follow the model that the engine reasons with."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from diagnose.engine.posterior import infer
from diagnose.engine.sampling import draw
from diagnose.errors import ImpossibleEvidenceError, NotFoundError
from diagnose.model import Outcome
from diagnose.rulebook.model import AnswerRule
from tests.engine import small_networks


@pytest.fixture(scope="module")
def network():
    return small_networks.draw(3, causes=6, mechanisms=2, shared=1).network


def test_the_same_seed_draws_the_same_floor(network):
    one, two = (draw(network, np.random.default_rng(7)) for _ in range(2))
    assert one.causes == two.causes
    assert one.answers == two.answers
    assert one.outcomes == two.outcomes
    assert one.symptom_levels == two.symptom_levels


def test_something_is_always_mentioned_and_answers_do_not_change(network):
    rng = np.random.default_rng(1)
    for _ in range(50):
        floor = draw(network, rng)
        assert floor.mentioned
        assert set(floor.mentioned) <= set(floor.there)
        for question in network.questions:
            assert floor.answer(question) == floor.answer(question)
            given = floor.answer(question).answers
            assert set(given) <= set(network.questions[question].answers)
            if network.questions[question].rule is not AnswerRule.TICKS:
                assert len(given) <= 1


def test_causes_are_as_frequent_as_the_engine_says(network):
    """Mean of the posteriors of drawn floors against how often causes were there."""
    rng = np.random.default_rng(11)
    said, right = [], []
    for _ in range(1500):
        floor = draw(network, rng)
        about = dataclasses.replace(network, complained=floor.mentioned)
        asked = [floor.answer(q) for q in list(network.questions)[:3]]
        found = infer(about, [*floor.complaint(), *floor.record(), *asked])
        said.append(found.chance[: network.roots])
        right.append(floor.present[: network.roots])
    p, y = np.array(said), np.array(right, dtype=float)
    z = (y - p).sum(axis=0) / np.sqrt((p * (1 - p)).sum(axis=0))
    assert np.abs(z).max() < 3.5


def test_causes_that_are_wanted_are_there(network):
    rng = np.random.default_rng(2)
    wanted = network.causes[:2]
    symptom = next(iter(network.symptoms))
    for _ in range(20):
        floor = draw(network, rng, having=wanted, mentioning=[symptom])
        assert set(wanted) <= set(floor.causes)
        assert symptom in floor.mentioned
    for _ in range(20):
        assert len(draw(network, rng, faults=(1, 2)).causes) in (1, 2)


def test_missing_entries_come_at_the_rates_given(network):
    rng = np.random.default_rng(4)
    floors = [draw(network, rng, missing=(0.5, 0.5)) for _ in range(400)]
    missing = [o is Outcome.NOT_RECORDED for floor in floors for o in floor.outcomes.values()]
    assert np.mean(missing) == pytest.approx(0.5, abs=0.05)
    sure = draw(network, rng, missing=(0.0, 0.0))
    assert Outcome.NOT_RECORDED not in sure.outcomes.values()


def test_what_is_not_there_is_refused(network):
    rng = np.random.default_rng(5)
    with pytest.raises(NotFoundError, match="cause nonesuch"):
        draw(network, rng, having=["nonesuch"])
    with pytest.raises(NotFoundError, match="symptom nonesuch"):
        draw(network, rng, mentioning=["nonesuch"])
    with pytest.raises(NotFoundError, match="question nonesuch"):
        draw(network, rng).answer("nonesuch")
    with pytest.raises(ImpossibleEvidenceError, match="mentioned"):
        draw(network, rng, faults=[99])
