"""The same network and evidence for an independent Bayesian-network library.

Every finding with few parents becomes a plain table; one with many becomes a
chain of maxima (each parent's own level, then the larger of it and what came
before), which is what a noisy-MAX means.  Evidence that a finding is at most
at a level is given to the library as a likelihood of each parent, without
which its tables would not fit into memory; the brute-force tests check that
step by itself.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np
import pyagrum as gum

from diagnose.engine.evidence import (
    Answered,
    CheckSaid,
    Evidence,
    NotMentioned,
    SymptomAbsent,
    SymptomFound,
    SymptomSeen,
)
from diagnose.engine.network import Finding, Network
from diagnose.engine.nodes import level_chances
from diagnose.model import Outcome
from diagnose.rulebook.model import AnswerRule

MOST_IN_A_TABLE = 6


class Exported:
    """A network of the library, with the likelihoods that the evidence gives."""

    def __init__(self, network: Network, evidence: Iterable[Evidence]) -> None:
        self.network = network
        self.net = gum.BayesNet()
        self.likelihood: dict[str, np.ndarray] = {}
        self.log_constant = 0.0
        for variable in range(network.roots):
            self._root(self.name(variable), float(network.prior[variable]))
        for number, node in enumerate(network.mechanisms):
            base = np.array([node.leak_off, 1.0])
            rows = np.stack([node.off, np.ones(len(node.off))], axis=1)
            finding = Finding("mechanism", node.parents, rows, base)
            self.add(self.name(network.roots + number), finding)
        items = list(evidence)
        seen = {item.symptom for item in items if hasattr(item, "symptom")}
        for item in items:
            self._take(item, seen)

    def name(self, variable: int) -> str:
        """Name of a variable in the library."""
        return f"v{variable}"

    def engine(self, kind: type = gum.LazyPropagation) -> gum.LazyPropagation:
        """An inference with the evidence set and not yet run."""
        found = kind(self.net)
        for name, weights in self.likelihood.items():
            found.addEvidence(name, (weights / weights.max()).tolist())
        return found

    def chances(self) -> tuple[np.ndarray, float]:
        """Posterior of every variable, and the log probability of the evidence."""
        run = self.engine()
        run.makeInference()
        found = [run.posterior(self.name(v))[1] for v in range(self.network.size)]
        scale = sum(math.log(weights.max()) for weights in self.likelihood.values())
        log_evidence = math.log(run.evidenceProbability()) + scale + self.log_constant
        return np.array(found), log_evidence

    def _root(self, name: str, chance: float) -> None:
        self.net.add(gum.LabelizedVariable(name, name, 2))
        self.net.cpt(name).fillWith([1.0 - chance, chance])

    def add(self, name: str, finding: Finding) -> str:
        """Add a node of a finding below its parents."""
        parents = [self.name(int(v)) for v in finding.parents]
        if finding.mixture or len(parents) <= MOST_IN_A_TABLE:
            self._table(name, parents, finding)
            return name
        levels = len(finding.base)
        before = f"{name}-0"
        self.net.add(gum.LabelizedVariable(before, before, levels))
        self.net.cpt(before).fillWith(np.diff(finding.base, prepend=0.0).tolist())
        for number, parent in enumerate(parents, start=1):
            after = name if number == len(parents) else f"{name}-{number}"
            self.net.add(gum.LabelizedVariable(after, after, levels))
            self.net.addArc(before, after)
            self.net.addArc(parent, after)
            own = np.diff(finding.net[number - 1], prepend=0.0)
            table = np.zeros((2, levels, levels))
            for low in range(levels):
                table[0, low, low] = 1.0
                for level in range(levels):
                    table[1, low, max(low, level)] += own[level]
            self.net.cpt(after).fillWith(table.ravel().tolist())
            before = after
        return name

    def _table(self, name: str, parents: list[str], finding: Finding) -> None:
        self.net.add(gum.LabelizedVariable(name, name, len(finding.base)))
        for parent in parents:
            self.net.addArc(parent, name)
        shape = (2,) * len(parents)
        local = Finding("", np.arange(len(parents)), finding.net, finding.base, finding.mixture)
        states = np.array(list(np.ndindex(shape)), dtype=bool).reshape(
            2 ** len(parents), len(parents)
        )
        # The library wants the first parent to vary quickest.
        rows = level_chances(local, states[:, ::-1])
        self.net.cpt(name).fillWith(rows.ravel().tolist())

    def _at_most(self, finding: Finding, level: int) -> None:
        self.log_constant += math.log(finding.base[level])
        for variable, row in zip(finding.parents, finding.net, strict=True):
            name = self.name(int(variable))
            weights = self.likelihood.setdefault(name, np.ones(2))
            self.likelihood[name] = weights * np.array([1.0, row[level]])

    def _level(self, key: str, finding: Finding, weights: np.ndarray) -> None:
        self.likelihood[self.add(key.replace(":", "-"), finding)] = weights

    def _exactly(self, finding: Finding, level: int) -> None:
        if level == 0 and not finding.mixture:
            self._at_most(finding, 0)
        else:
            self._level(finding.key, finding, np.eye(len(finding.base))[level])

    def _take(self, item: Evidence, seen: set[str]) -> None:
        network = self.network
        match item:
            case SymptomSeen(symptom):
                self._exactly(network.symptoms[symptom], 2)
            case SymptomFound(symptom):
                self._exactly(network.symptoms[symptom], 1)
            case SymptomAbsent(symptom):
                self._exactly(network.symptoms[symptom], 0)
            case NotMentioned():
                for symptom, finding in network.symptoms.items():
                    if symptom not in seen:
                        self._at_most(finding, 1)
            case Answered(question):
                asked = network.questions[question]
                if asked.rule is AnswerRule.TICKS:
                    for answer, finding in zip(asked.answers, asked.findings, strict=True):
                        self._exactly(finding, int(answer in item.given))
                else:
                    level = [asked.answers.index(a) + 1 for a in item.given]
                    self._exactly(asked.findings[0], level[0] if level else 0)
            case CheckSaid(check, outcome, provenance):
                finding = network.checks[check]
                figures = network.figures
                missing = np.array(
                    [
                        figures.number("not_recorded_in_order"),
                        figures.number("not_recorded_deviation"),
                    ]
                )
                if outcome is Outcome.NOT_RECORDED:
                    self._level(finding.key, finding, missing)
                    return
                trust = figures.trust(provenance)
                weak = Finding(
                    finding.key, finding.parents, 1 - trust * (1 - finding.net), finding.base
                )
                level = int(outcome is Outcome.DEVIATES)
                self.log_constant += math.log(1.0 - missing[level])
                self._exactly(weak, level)
