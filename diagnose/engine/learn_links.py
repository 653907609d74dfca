"""What closed cases say about the links of a finding to its causes.

A graded answer counts for each of its levels, as whether it goes beyond it.
Mechanisms and shared looks are hidden: what they do keeps its chance and is
taken into account, but is not learnt.  Either-or answers are not learnt.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.engine import em
from diagnose.engine.adjust import BACKGROUND, name_of
from diagnose.engine.evidence import (
    Answered,
    CheckSaid,
    Evidence,
    SymptomAbsent,
    SymptomFound,
)
from diagnose.engine.network import Finding, Network
from diagnose.engine.numbers import Array
from diagnose.model import Outcome, Provenance
from diagnose.rulebook.model import AnswerRule

PSEUDO_CASES = 10.0
"""Cases that an elicited link is worth."""


@dataclass(frozen=True, slots=True)
class ClosedCase:
    """A case whose causes were established, and what was known of it.

    `established` holds one set of causes with weight 1, or several with the
    weights of an explanation list when it was only partly confirmed.
    """

    evidence: tuple[Evidence, ...]
    established: tuple[tuple[frozenset[str], float], ...]

    def chance(self, cause: str) -> float:
        """How far a cause is established, 0 to 1."""
        return sum(weight for causes, weight in self.established if cause in causes)


@dataclass(frozen=True, slots=True)
class LinkProposal:
    """A chance that a finding goes beyond a level, which the cases would change."""

    about: str
    """Key of the finding."""
    level: int
    """The chance is that of going beyond this level."""
    of: str
    """Cause, or `background`."""
    elicited: float
    proposed: float
    cases: float
    """Cases with the cause in which it was looked at."""


def learn_links(
    network: Network, cases: Sequence[ClosedCase], *, pseudo_cases: float = PSEUDO_CASES
) -> tuple[LinkProposal, ...]:
    """Return every link that some case says something about."""
    looked: dict[str, list[tuple[ClosedCase, int]]] = {}
    by_key: dict[str, Finding] = {}
    for case in cases:
        for finding, level in _seen(network, case.evidence):
            by_key[finding.key] = finding
            looked.setdefault(finding.key, []).append((case, level))
    proposals = []
    for key, found in looked.items():
        proposals += _finding_links(network, by_key[key], found, pseudo_cases)
    return tuple(proposals)


def _seen(network: Network, evidence: Iterable[Evidence]) -> Iterable[tuple[Finding, int]]:
    """Findings that were looked at, with the level seen; never the complaint."""
    for item in evidence:
        match item:
            case SymptomFound(symptom):
                yield network.symptoms[symptom], 1
            case SymptomAbsent(symptom):
                yield network.symptoms[symptom], 0
            case CheckSaid(check, outcome, Provenance.ON_THE_DAY):
                if outcome in (Outcome.DEVIATES, Outcome.IN_ORDER):
                    yield network.checks[check], int(outcome is Outcome.DEVIATES)
            case Answered(name):
                question = network.questions[name]
                if question.rule is AnswerRule.TICKS:
                    for answer, finding in zip(question.answers, question.findings, strict=True):
                        yield finding, int(answer in item.given)
                elif question.rule is AnswerRule.GRADED:
                    levels = [question.answers.index(answer) + 1 for answer in item.given]
                    yield question.findings[0], levels[0] if levels else 0


def _finding_links(
    network: Network,
    finding: Finding,
    found: Sequence[tuple[ClosedCase, int]],
    pseudo_cases: float,
) -> list[LinkProposal]:
    causes = [j for j, v in enumerate(finding.parents.tolist()) if v < len(network.causes)]
    hidden = [j for j, v in enumerate(finding.parents.tolist()) if v >= len(network.causes)]
    names = [name_of(network, int(finding.parents[j])) for j in causes]
    rows = [
        (level, causes_there, weight)
        for case, level in found
        for causes_there, weight in case.established
    ]
    on = np.array([[name in there for name in names] for _, there, _ in rows], dtype=bool)
    on = on.reshape(len(rows), len(names))
    weight = np.array([w for _, _, w in rows])
    proposals = []
    # Symptoms were looked for, so only whether they are there counts, not whether mentioned.
    top = 1 if finding.key.startswith("symptom:") else len(finding.base) - 1
    for level in range(top):
        besides = np.array([_hidden_off(network, finding, hidden, level, s) for _, s, _ in rows])
        yes = np.array([seen > level for seen, _, _ in rows])
        elicited = em.Links(1.0 - finding.net[causes, level], 1.0 - float(finding.base[level]))
        trials = em.Trials(on, besides, yes, weight)
        learnt = em.fit(trials, elicited, pseudo_cases=pseudo_cases)[-1]
        many = weight @ on
        for name, old, new, cases in zip(
            names, elicited.strength, learnt.strength, many, strict=True
        ):
            if cases > 0.0:
                proposals.append(
                    LinkProposal(finding.key, level, name, float(old), float(new), float(cases))
                )
        total = float(weight.sum())
        proposals.append(
            LinkProposal(finding.key, level, BACKGROUND, elicited.leak, learnt.leak, total)
        )
    return proposals


def _hidden_off(
    network: Network, finding: Finding, hidden: Sequence[int], level: int, causes: frozenset[str]
) -> float:
    """Chance that no mechanism or shared look takes the finding beyond the level."""
    chance = 1.0
    there = {network.index[cause] for cause in causes}
    for j in hidden:
        variable = int(finding.parents[j])
        if variable < network.roots:
            on = float(network.prior[variable])
        else:
            node = network.mechanisms[variable - network.roots]
            off = node.leak_off
            for parent, stays_off in zip(node.parents.tolist(), node.off.tolist(), strict=True):
                off *= stays_off if parent in there else 1.0
            on = 1.0 - off
        chance *= 1.0 - on * (1.0 - float(finding.net[j, level]))
    return chance


def with_links(network: Network, finding: Finding, links: Sequence[LinkProposal]) -> Finding:
    """Return the finding with the proposed chances in place of the elicited ones."""
    if not links:
        return finding
    net, base = finding.net.copy(), finding.base.copy()
    place = {name_of(network, int(v)): j for j, v in enumerate(finding.parents)}
    for link in links:
        row: Array = base if link.of == BACKGROUND else net[place[link.of]]
        row[link.level] = 1.0 - link.proposed
        if finding.key.startswith("symptom:"):
            # The mention rate stays: of what is there, as much is mentioned as before.
            row[1] = 1.0 - network.figures.number("mention_rate") * link.proposed
    # Levels learnt apart must still follow each other.
    return dataclasses.replace(
        finding,
        net=np.maximum.accumulate(net, axis=1),
        base=np.maximum.accumulate(base),
    )
