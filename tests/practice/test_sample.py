"""The sampler follows the network: its chances are the engine's, its shares the chances."""

from __future__ import annotations

import numpy as np
import pytest

from diagnose.engine.network import build
from diagnose.engine.nodes import level_chances
from diagnose.model import Floor
from diagnose.practice import sample
from diagnose.practice.chance import level, pick_weighted, shuffled, stream


@pytest.fixture(scope="module")
def network(rules):
    return build(rules, Floor(), symptoms=["seam-peaking"], place_kind="seam")


@pytest.mark.parametrize("seed", range(5))
def test_chances_are_those_of_the_engine(network, seed):
    rng = stream("chances", seed)
    on = frozenset(n for n in range(network.size) if rng.random() < 0.05)
    present = np.array([n in on for n in range(network.size)])
    findings = [f for q in network.questions.values() for f in q.findings]
    for finding in [*findings, *network.symptoms.values(), *network.checks.values()]:
        assert sample.chances(finding, on) == pytest.approx(level_chances(finding, present))


def test_no_trust_leaves_the_background(network):
    finding = next(iter(network.checks.values()))
    on = frozenset(int(parent) for parent in finding.parents)
    assert sample.chances(finding, on, trust=0.0) == pytest.approx(
        [finding.base[0], 1 - finding.base[0]]
    )


def test_shares_follow_chances():
    rng = stream("shares")
    drawn = [level(rng, [0.1, 0.6, 0.3]) for _ in range(6000)]
    for number, chance in enumerate([0.1, 0.6, 0.3]):
        assert drawn.count(number) / 6000 == pytest.approx(chance, abs=0.025)
    weighed = [pick_weighted(rng, {"a": 1.0, "b": 4.0}) for _ in range(4000)]
    assert weighed.count("b") / 4000 == pytest.approx(0.8, abs=0.03)


def test_a_mechanism_follows_its_causes(network):
    node = max(network.mechanisms, key=lambda each: len(each.parents))
    number = network.roots + network.mechanisms.index(node)
    cause = network.causes[int(node.parents[0])]
    chance = 1 - node.leak_off * float(node.off[0])
    drawn = [number in sample.states(network, [cause], stream("m", n)) for n in range(3000)]
    assert sum(drawn) / 3000 == pytest.approx(chance, abs=0.04)


def test_the_stream_of_a_seed_never_changes():
    assert [int(stream("case", 7).random() * 1e6), *shuffled(stream("x", 1), range(6))] == [
        int(stream("case", 7).random() * 1e6),
        *shuffled(stream("x", 1), range(6)),
    ]
    assert shuffled(stream("x", 1), range(6)) != shuffled(stream("x", 2), range(6))
