"""Many findings on the same causes: the width guard, against counting every set."""

from __future__ import annotations

import time

import numpy as np
import pytest

from diagnose.engine.evidence import Answered
from diagnose.engine.network import AskedQuestion
from diagnose.engine.plan import WIDEST
from diagnose.engine.posterior import infer, infer_chances
from diagnose.engine.weights import leave_one_out
from diagnose.rulebook.model import AnswerRule
from tests.engine.by_hand import finding, network
from tests.engine.small_networks import count

CAUSES = 14


def wide(number, seed=1):
    """So many findings, all seen, each of which most of the causes can give."""
    rng = np.random.default_rng(seed)
    asked = []
    for n in range(number):
        chosen = np.sort(rng.choice(CAUSES, 10, replace=False))
        rows = {int(v): (off := float(rng.uniform(0.2, 0.95)), 1 - off) for v in chosen}
        found = finding(f"question:q{n}.yes", rows, (0.95, 0.05))
        asked.append(AskedQuestion(f"q{n}", AnswerRule.TICKS, ("yes",), (found,), 1.0, "ask"))
    symptom = finding(
        "symptom:s", dict.fromkeys(range(CAUSES), (0.5, 0.1, 0.4)), (0.98, 0.01, 0.01)
    )
    priors = {f"c{n}": float(p) for n, p in enumerate(rng.uniform(0.01, 0.1, CAUSES))}
    net = network(priors, symptoms={"s": symptom}, questions=asked)
    return net, tuple(Answered(f"q{n}", ("yes",)) for n in range(number))


@pytest.mark.parametrize("number", [8, 12, WIDEST - 1])
def test_within_the_width_everything_is_exact(number):
    net, evidence = wide(number)
    found, counted = infer(net, evidence), count(net, evidence)
    assert found.exact
    np.testing.assert_allclose(found.chance, counted.chance, rtol=0, atol=1e-10)


def test_beyond_the_width_the_error_is_small_and_owned_up_to():
    net, evidence = wide(18)
    start = time.process_time()
    found = infer(net, evidence)
    assert time.process_time() - start < 5.0
    assert not found.exact
    counted = count(net, evidence)
    np.testing.assert_allclose(found.chance, counted.chance, rtol=0, atol=0.06)


@pytest.mark.parametrize("number", [WIDEST - 2, WIDEST + 1])
def test_leaving_out_is_inferring_anew_within_the_width_and_beyond(number):
    net, evidence = wide(number)
    found = leave_one_out(net, evidence, whole=infer(net, evidence))
    for item, left in found.rest[:6]:
        anew = infer_chances(net, [other for other in evidence if other is not item])
        np.testing.assert_allclose(left.roots, anew.reached, rtol=0, atol=1e-12)
