"""What the graph says of two causes or of a picture in words: the proof of an item."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence

from diagnose.engine.evidence import Evidence, NotMentioned, SymptomSeen, answered
from diagnose.engine.network import AskedQuestion, Finding, MechanismNode, Network, build
from diagnose.engine.posterior import infer_chances
from diagnose.model import Floor
from diagnose.practice.sample import chances
from diagnose.rulebook.model import Rules

CLEARLY = 4.0
"""How many times likelier the key has to be than any wrong option."""
SEPARATES = 0.15
"""Difference of the answers' chances from which a question parts two causes."""
SAME = 0.02
"""Difference up to which it does not."""


class Graph:
    """The rules compiled for floors of which nothing but the complaint is known."""

    def __init__(self, rules: Rules) -> None:
        self.rules = rules
        self._networks: dict[tuple[str, ...], Network] = {}
        self._distances: dict[tuple[str, str, str], float] = {}

    def network(self, *symptoms: str) -> Network:
        """Return the network of a complaint; kept for the next time."""
        if symptoms not in self._networks:
            self._networks[symptoms] = build(self.rules, Floor(), symptoms=symptoms)
        return self._networks[symptoms]

    def chances(
        self, symptom: str, shown: Iterable[tuple[str, str]], causes: Sequence[str]
    ) -> list[float]:
        """Return the probability of each cause after a complaint and some answers."""
        network = self.network(symptom)
        said: list[Evidence] = [answered(question, answer) for question, answer in shown]
        posterior = infer_chances(network, [SymptomSeen(symptom), NotMentioned(), *said])
        return [posterior.of(cause) if cause in network.index else 0.0 for cause in causes]

    def distance(self, question: str, first: str, second: str) -> float:
        """Return how differently a question is answered under two causes, 0 to 1.

        The total variation distance of its answers with either cause alone.
        """
        network = self.network()
        asked = network.questions.get(question)
        if asked is None or first not in network.index or second not in network.index:
            return 0.0
        key = (question, first, second)
        if key not in self._distances:
            self._distances[key] = _distance(network, asked, first, second)
        return self._distances[key]


_KEPT: list[Graph] = []


def graph(rules: Rules) -> Graph:
    """Return the compiled graph of the rules; kept for the rules used last."""
    for known in _KEPT:
        if known.rules is rules:
            return known
    _KEPT[:] = [Graph(rules), *_KEPT[:1]]
    return _KEPT[0]


def _distance(network: Network, asked: AskedQuestion, first: str, second: str) -> float:
    pair = {network.index[first], network.index[second]}
    # A mechanism that neither cause brings about works alike under both.
    moved = [
        (network.roots + number, node)
        for number, node in enumerate(network.mechanisms)
        if pair & {int(parent) for parent in node.parents}
    ]
    found = 0.0
    for finding in asked.findings:
        shown = {int(parent) for parent in finding.parents}
        if not shown & (pair | {variable for variable, _ in moved}):
            continue
        here = [(variable, node) for variable, node in moved if variable in shown]
        own, other = (_alone(finding, network.index[cause], here) for cause in (first, second))
        found = max(found, sum(abs(a - b) for a, b in zip(own, other, strict=True)) / 2)
    return found


def _alone(
    finding: Finding, cause: int, mechanisms: Sequence[tuple[int, MechanismNode]]
) -> list[float]:
    """Return the chances of the levels with one cause alone, mechanisms summed out."""
    works = []
    for variable, node in mechanisms:
        off = node.leak_off
        for parent, stays_off in zip(node.parents, node.off, strict=True):
            off *= float(stays_off) if int(parent) == cause else 1.0
        works.append((variable, 1.0 - off))
    total = [0.0] * len(finding.base)
    for state in itertools.product([False, True], repeat=len(works)):
        weight, on = 1.0, {cause}
        for (variable, chance), working in zip(works, state, strict=True):
            weight *= chance if working else 1.0 - chance
            on |= {variable} if working else set()
        for level, value in enumerate(chances(finding, frozenset(on))):
            total[level] += weight * value
    return total
