"""Proposals from closed cases of a known truth."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from diagnose.engine.adjust import dials, turned
from diagnose.engine.evidence import Answered, SymptomAbsent, SymptomFound, SymptomSeen
from diagnose.engine.learning import ClosedCase, learn_links, learn_priors, propose, with_numbers
from diagnose.engine.posterior import infer_chances
from diagnose.engine.sampling import draw
from diagnose.engine.scores import log_score
from diagnose.errors import NotFoundError
from tests.engine import small_networks
from tests.engine.by_hand import finding, network, question


def closed(truth, rng, number):
    cases = []
    for _ in range(number):
        floor = draw(truth, rng)
        asked = [floor.answer(q) for q in list(truth.questions)[:4]]
        evidence = (*floor.complaint(), *floor.record(), *asked)
        cases.append(ClosedCase(evidence, ((frozenset(floor.causes), 1.0),)))
    return cases


def held_out(model, cases):
    said, right = [], []
    for case in cases:
        said += list(infer_chances(model, case.evidence).chance[: len(model.causes)])
        right += [case.chance(cause) for cause in model.causes]
    return log_score(said, right)


@pytest.fixture(scope="module")
def truth():
    net = small_networks.draw(8, causes=8, mechanisms=1, shared=1, questions=6).network
    return dataclasses.replace(net, prior=np.linspace(0.05, 0.3, net.roots))


@pytest.mark.parametrize("number", [50, 200])
def test_learning_never_hurts_on_floors_not_seen(truth, number):
    rng = np.random.default_rng(number)
    expert = turned(truth, {dial: float(rng.normal(0, 0.7)) for dial in dials(truth)})
    cases = closed(truth, rng, number)
    # Nearly every floor of this truth complains: installs and complaints differ little.
    found = propose(expert, cases, installs=round(number * 1.05))
    fresh = closed(truth, rng, 200)
    assert held_out(found.network, fresh) < held_out(expert, fresh)
    assert found.better
    assert found.learnt_score < found.elicited_score


def test_learning_from_an_expert_who_is_right_changes_little(truth):
    rng = np.random.default_rng(3)
    cases = closed(truth, rng, 100)
    found = propose(truth, cases, installs=110)
    fresh = closed(truth, rng, 200)
    assert held_out(found.network, fresh) < held_out(truth, fresh) + 0.01


def test_frequencies_by_hand():
    net = network({"a": 0.02, "b": 0.5})
    cases = [ClosedCase((), ((frozenset({"a"}), 1.0),)), ClosedCase((), ((frozenset({"a"}), 0.5),))]
    first, second = learn_priors(net, cases, installs=100, occurrences=2.0)
    assert first.proposed == pytest.approx((2 + 1.5) / (2 / 0.02 + 100))
    assert second.proposed == pytest.approx(2 / (2 / 0.5 + 100))
    assert first.interval[0] < first.proposed < first.interval[1]
    assert first.seen == 1.5


def test_a_link_of_one_cause_by_hand():
    """One cause, no background to speak of: the share of yes, pulled to the elicited chance."""
    asked = question("look", ["yes"], finding("question:look", {0: (0.5, 0.5)}, (1 - 1e-6, 1e-6)))
    net = network({"a": 0.3}, questions=[asked])
    there = ((frozenset({"a"}), 1.0),)
    cases = [ClosedCase((Answered("look", ("yes",)),), there)] * 9
    cases += [ClosedCase((Answered("look"),), there)] * 1
    links = {link.of: link for link in learn_links(net, cases, pseudo_cases=10)}
    assert links["a"].proposed == pytest.approx((10 * 0.5 + 9) / 20, abs=1e-3)
    assert links["a"].cases == 10


def test_the_complaint_is_no_trial_of_its_links():
    symptom = finding("symptom:s", {0: (0.5, 0.4, 0.1)}, (0.99, 0.008, 0.002))
    net = network({"a": 0.3}, symptoms={"s": symptom}, mention_rate=0.2)
    there = ((frozenset({"a"}), 1.0),)
    assert learn_links(net, [ClosedCase((SymptomSeen("s"),), there)]) == ()
    looked = learn_links(net, [ClosedCase((SymptomAbsent("s"),), there)] * 20)
    link = next(each for each in looked if each.of == "a")
    assert link.proposed < link.elicited == pytest.approx(0.5)
    more = learn_links(net, [ClosedCase((SymptomFound("s"),), there)] * 20)
    assert next(each for each in more if each.of == "a").proposed > 0.5
    lowered = with_numbers(net, [], looked).symptoms["s"]
    assert lowered.net[0, 0] == pytest.approx(1 - link.proposed)
    assert lowered.net[0, 1] == pytest.approx(1 - 0.2 * link.proposed)


def test_what_cannot_be_learnt_from_is_refused():
    net = network({"a": 0.3})
    with pytest.raises(NotFoundError, match="installs"):
        propose(net, [ClosedCase((), ())] * 3, installs=2)
    with pytest.raises(NotFoundError, match="nonesuch"):
        propose(net, [ClosedCase((), ((frozenset({"nonesuch"}), 1.0),))], installs=2)
