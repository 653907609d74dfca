"""What must hold for every network and every evidence, looked for by drawing many."""

from __future__ import annotations

import contextlib
import dataclasses
import math

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from diagnose.engine import explanations
from diagnose.engine.evidence import Answered, SymptomFound
from diagnose.engine.nodes import Finding
from diagnose.engine.posterior import infer, infer_chances
from diagnose.engine.ranking import rank
from diagnose.engine.weights import leave_one_out
from tests.engine.small_networks import draw

seeds = st.integers(0, 10_000)
quick = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@contextlib.contextmanager
def room():
    """Room for the messages of every set, so that none is left out for want of it."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(explanations, "MOST_ENTRIES", 2**24)
        yield


def small(seed):
    return draw(seed, causes=7, mechanisms=seed % 3, shared=seed % 2)


@quick
@given(seeds, st.randoms(use_true_random=False))
def test_the_order_of_the_evidence_does_not_matter(seed, random):
    drawn = small(seed)
    mixed = list(drawn.evidence)
    random.shuffle(mixed)
    one, other = infer(drawn.network, drawn.evidence), infer(drawn.network, mixed)
    np.testing.assert_array_equal(one.chance, other.chance)
    assert one.explanations == other.explanations
    assert one.log_evidence == other.log_evidence


@quick
@given(seeds)
def test_leaving_an_item_out_is_inferring_without_it(seed):
    """Exactly, however it is worked out; items of parts that it does not touch included."""
    drawn = draw(seed, causes=9, mechanisms=seed % 3, shared=seed % 2, questions=4 + seed % 5)
    network, evidence = drawn.network, drawn.evidence[: 4 + seed % 12]
    found = leave_one_out(network, evidence, whole=infer(network, evidence))
    assert [item for item, _ in found.rest] == list(evidence)
    for item, left in found.rest:
        anew = infer_chances(network, [other for other in evidence if other.key != item.key])
        np.testing.assert_allclose(left.roots, anew.reached[: network.roots], rtol=0, atol=1e-12)
        assert left.log_evidence == pytest.approx(anew.log_evidence, abs=1e-11)


def relabelled(network, order, names):
    """The same network with its causes renamed and in another order."""
    count = len(network.causes)
    new = {old: place for place, old in enumerate(order)}
    number = np.array([new.get(v, v) for v in range(network.size)])

    def moved(finding):
        return dataclasses.replace(finding, parents=number[finding.parents])

    return dataclasses.replace(
        network,
        causes=tuple(names[old] for old in order),
        prior=np.concatenate([network.prior[list(order)], network.prior[count:]]),
        mechanisms=tuple(
            dataclasses.replace(node, parents=number[node.parents]) for node in network.mechanisms
        ),
        symptoms={key: moved(finding) for key, finding in network.symptoms.items()},
        checks={key: moved(finding) for key, finding in network.checks.items()},
        questions={
            key: dataclasses.replace(
                question, findings=tuple(moved(finding) for finding in question.findings)
            )
            for key, question in network.questions.items()
        },
    )


@quick
@given(seeds, st.permutations(range(7)))
def test_names_and_order_of_the_causes_do_not_matter(seed, order):
    drawn = small(seed)
    names = [f"renamed-{7 - n}" for n in range(7)]
    other = relabelled(drawn.network, order, names)
    with room():
        one = infer(drawn.network, drawn.evidence, delta=1e-12)
        two = infer(other, drawn.evidence, delta=1e-12)
    assert two.log_evidence == pytest.approx(one.log_evidence, abs=1e-10)
    for old, name in zip(drawn.network.causes, names, strict=True):
        assert two.of(name) == pytest.approx(one.of(old), abs=1e-10)
    questions = list(drawn.network.questions)
    for first, second in zip(rank(one, questions), rank(two, questions), strict=True):
        assert second.gain_bit == pytest.approx(first.gain_bit, abs=1e-8)


@quick
@given(seeds)
def test_a_question_never_loses_information_nor_expected_certainty(seed):
    drawn = small(seed)
    known = drawn.evidence[: 3 + seed % 6]
    before = infer(drawn.network, known, delta=1e-9)
    asked = {item.question for item in known if isinstance(item, Answered)}
    for worth in rank(before, [q for q in drawn.network.questions if q not in asked]):
        assert worth.gain_bit >= 0.0
        assert worth.hope >= before.leading.probability - 1e-6
        assert all(-1e-12 <= chance <= 1 + 1e-12 for chance in worth.answers)


@quick
@given(seeds)
def test_what_is_certain_anyway_changes_nothing(seed):
    """A level that cannot be exceeded, or an answer nobody can give: "X <= top"."""
    drawn = small(seed)
    sure = Finding("symptom:sure", np.array([0, 1]), np.ones((2, 3)), np.array([1.0, 1.0, 1.0]))
    symptoms = {**drawn.network.symptoms, "sure": sure}
    other = dataclasses.replace(drawn.network, symptoms=symptoms)
    one, two = infer(drawn.network, drawn.evidence), infer(other, drawn.evidence)
    np.testing.assert_allclose(one.chance, two.chance, rtol=0, atol=1e-12)
    assert one.log_evidence == pytest.approx(two.log_evidence, abs=1e-12)


@quick
@given(seeds, st.sampled_from([0.2, 0.05, 0.01, 1e-4]))
def test_the_left_out_mass_keeps_its_bound(seed, delta):
    """Where no cap is hit: with room for the messages of every prefix."""
    drawn = small(seed)
    with room():
        found = infer(drawn.network, drawn.evidence, delta=delta)
    assert 0.0 <= found.cut <= delta + 1e-12
    listed = math.fsum(each.probability for each in found.explanations)
    assert listed == pytest.approx(1.0 - found.cut, abs=1e-9)
    whole = infer(drawn.network, drawn.evidence, delta=1e-12)
    np.testing.assert_allclose(
        found.chance[: drawn.network.roots],
        whole.chance[: drawn.network.roots],
        rtol=0,
        atol=1e-10,
    )


@quick
@given(seeds)
def test_a_symptom_found_supports_each_of_its_causes_taken_alone(seed):
    drawn = small(seed)
    for symptom, finding in drawn.network.symptoms.items():
        before = infer(drawn.network, ())
        after = infer(drawn.network, [SymptomFound(symptom)])
        for parent, net in zip(finding.parents, finding.net, strict=True):
            cause = drawn.network.causes[int(parent)]
            shows = (net[1] - net[0]) >= 0 and net[0] / max(net[1], 1e-300) <= 1 and net[1] == 1
            if shows:
                assert after.of(cause) >= before.of(cause) - 1e-12


@quick
@given(seeds)
def test_taking_everything_back_gives_the_priors(seed):
    drawn = small(seed)
    found = infer(drawn.network, ())
    roots = drawn.network.roots
    np.testing.assert_allclose(found.chance[:roots], drawn.network.prior, rtol=0, atol=1e-12)
    assert found.log_evidence == pytest.approx(0.0, abs=1e-12)
