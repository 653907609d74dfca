"""A generated graph many times the size of the real one, with links across the copies."""

from __future__ import annotations

import dataclasses

import numpy as np

from diagnose.engine.network import AskedQuestion, Finding, MechanismNode, Network
from diagnose.engine.sampling import draw
from tests.bench.simulate import Case


def copies(network: Network, times: int, *, across: float = 0.1, seed: int = 1) -> Network:
    """So many copies of a network, a tenth of the links leading into another copy.

    Priors are divided by `times`, so that as many causes are present as before.
    """
    rng = np.random.default_rng(seed)
    causes, shared = len(network.causes), len(network.shared)
    roots = times * (causes + shared)

    def variable(old: int, copy: int) -> int:
        if old < causes:
            if rng.random() < across:
                copy = int(rng.integers(times))
            return copy * causes + old
        if old < network.roots:
            return times * causes + copy * shared + old - causes
        return roots + copy * len(network.mechanisms) + old - network.roots

    def moved(parents: np.ndarray, copy: int) -> np.ndarray:
        return np.array([variable(int(v), copy) for v in parents], dtype=np.intp)

    def finding(each: Finding, copy: int) -> Finding:
        key = each.key.replace(":", f":c{copy}-", 1)
        return dataclasses.replace(each, key=key, parents=moved(each.parents, copy))

    def question(each: AskedQuestion, copy: int) -> AskedQuestion:
        found = tuple(finding(f, copy) for f in each.findings)
        return dataclasses.replace(each, id=f"c{copy}-{each.id}", findings=found)

    numbers = range(times)
    prior = np.concatenate(
        [np.tile(network.prior[:causes] / times, times), np.tile(network.prior[causes:], times)]
    )
    asked = [question(q, copy) for copy in numbers for q in network.questions.values()]
    return dataclasses.replace(
        network,
        causes=tuple(f"c{copy}-{cause}" for copy in numbers for cause in network.causes),
        shared=tuple(f"c{copy}-{act}" for copy in numbers for act in network.shared),
        prior=prior,
        mechanisms=tuple(
            MechanismNode(f"c{copy}-{m.id}", moved(m.parents, copy), m.off, m.leak_off)
            for copy in numbers
            for m in network.mechanisms
        ),
        symptoms={
            f"c{copy}-{name}": finding(f, copy)
            for copy in numbers
            for name, f in network.symptoms.items()
        },
        questions={q.id: q for q in asked},
        checks={
            f"c{copy}-{name}": finding(f, copy)
            for copy in numbers
            for name, f in network.checks.items()
        },
    )


def cases(network: Network, number: int) -> list[Case]:
    """Complaints about the large graph."""
    rng = np.random.default_rng(41)
    found = []
    for _ in range(number):
        floor = draw(network, rng)
        found.append(Case(floor, dataclasses.replace(network, complained=floor.mentioned)))
    return found
