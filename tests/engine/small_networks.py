"""Random small networks, and their posteriors by counting every set of causes.

The counting knows nothing of absorption or sweeps: it multiplies the chance of
each item for each set of causes, shared looks and mechanisms.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

from diagnose.engine.evidence import (
    Answered,
    CheckSaid,
    Evidence,
    NotMentioned,
    SymptomAbsent,
    SymptomFound,
    SymptomSeen,
)
from diagnose.engine.network import AskedQuestion, Finding, MechanismNode, Network
from diagnose.engine.numbers import Figures
from diagnose.model import Outcome, Provenance
from diagnose.rulebook.model import AnswerRule, Scale, WordScale

TRUST = {"on-the-day": 1.0, "late": 0.8, "after-the-complaint": 0.5, "statement": 0.3}


def figures(**numbers: float) -> Figures:
    """A scale with the trust words and the numbers given."""
    empty = WordScale(name="none", words={}, source="test")
    names = [name for name in Scale.__dataclass_fields__ if name != "numbers"]
    scales = dict.fromkeys(names, empty) | {
        "trust": WordScale(name="trust", words=TRUST, source="test")
    }
    return Figures(Scale(**scales, numbers=numbers))


@dataclass
class Drawn:
    """A network with evidence of every type."""

    network: Network
    evidence: tuple[Evidence, ...]


def draw(
    seed: int,
    *,
    causes: int = 12,
    mechanisms: int = 2,
    shared: int = 1,
    symptoms: int = 5,
    questions: int = 6,
    checks: int = 5,
) -> Drawn:
    """Return a random network and evidence on most of its findings."""
    rng = np.random.default_rng(seed)
    names = tuple(f"cause-{n}" for n in range(causes))
    roots = causes + shared
    variables = np.arange(roots + mechanisms)

    def parents(among: np.ndarray, least: int, most: int) -> np.ndarray:
        count = int(rng.integers(least, min(most, len(among)) + 1))
        return np.sort(rng.choice(among, size=count, replace=False))

    def product(key: str, among: np.ndarray, levels: int, most: int = 5) -> Finding:
        chosen = parents(among, 1, most)
        net = np.sort(rng.uniform(0.05, 1.0, (len(chosen), levels)), axis=1)
        net[:, -1] = 1.0
        base = np.sort(rng.uniform(0.4, 0.99, levels))
        base[-1] = 1.0
        return Finding(key, chosen, net, base)

    symptom_findings = {}
    for n in range(symptoms):
        symptom_findings[f"symptom-{n}"] = product(f"symptom:symptom-{n}", variables[:causes], 3)
    asked = {}
    for n in range(questions):
        name = f"question-{n}"
        answers = tuple(f"answer-{k}" for k in range(int(rng.integers(1, 4))))
        rule = (AnswerRule.GRADED, AnswerRule.TICKS, AnswerRule.EITHER_OR)[n % 3]
        if rule is AnswerRule.TICKS:
            found = tuple(product(f"question:{name}.{a}", variables, 2) for a in answers)
        elif rule is AnswerRule.GRADED:
            found = (product(f"question:{name}", variables, len(answers) + 1),)
        else:
            chosen = parents(variables, 1, 4)
            rows = rng.dirichlet(np.ones(len(answers) + 1), len(chosen) + 1)
            found = (Finding(f"question:{name}", chosen, rows[1:], rows[0], mixture=True),)
        asked[name] = AskedQuestion(name, rule, answers, found, float(rng.integers(1, 9)), "ask")
    check_findings = {
        f"check-{n}": product(f"check:check-{n}", variables[:causes], 2, most=1 + n % 3)
        for n in range(checks)
    }
    nodes = []
    for n in range(mechanisms):
        chosen = parents(variables[:causes], 1, 4)
        nodes.append(
            MechanismNode(f"mechanism-{n}", chosen, rng.uniform(0.1, 0.9, len(chosen)), 0.97)
        )
    network = Network(
        figures=figures(not_recorded_in_order=0.1, not_recorded_deviation=0.3),
        causes=names,
        shared=tuple(f"act-{n}" for n in range(shared)),
        mechanisms=tuple(nodes),
        prior=rng.uniform(0.01, 0.4, roots),
        symptoms=symptom_findings,
        questions=asked,
        checks=check_findings,
        acts={},
        complained=("symptom-0",),
    )
    evidence: list[Evidence] = [SymptomSeen("symptom-0"), NotMentioned()]
    evidence.append(SymptomFound("symptom-1") if seed % 2 else SymptomAbsent("symptom-1"))
    for question in list(asked.values())[:-1]:
        given = rng.choice(question.answers)
        evidence.append(Answered(question.id, () if rng.random() < 0.2 else (str(given),)))
    for check in check_findings:
        outcome = (Outcome.DEVIATES, Outcome.IN_ORDER, Outcome.NOT_RECORDED)[int(rng.integers(3))]
        provenance = Provenance(str(rng.choice(list(TRUST))))
        evidence.append(CheckSaid(check, outcome, provenance))
    return Drawn(network, tuple(evidence))


def level_chances(finding: Finding, present: np.ndarray) -> np.ndarray:
    """(states, levels): chance of each level for sets of variables, from the definition."""
    on = present[:, finding.parents]
    if finding.mixture:
        means = np.tile(finding.base, (len(on), 1))
        for row, some in enumerate(on):
            if some.any():
                means[row] = finding.net[some].mean(axis=0)
        return means
    cumulative = np.tile(finding.base, (len(on), 1))
    for parent, net in enumerate(finding.net):
        cumulative[on[:, parent]] *= net
    return np.diff(cumulative, prepend=0.0, axis=1)


def _item_chance(
    network: Network, item: Evidence, present: np.ndarray, seen: set[str]
) -> np.ndarray:
    match item:
        case SymptomSeen(symptom):
            return level_chances(network.symptoms[symptom], present)[:, 2]
        case SymptomFound(symptom):
            return level_chances(network.symptoms[symptom], present)[:, 1]
        case SymptomAbsent(symptom):
            return level_chances(network.symptoms[symptom], present)[:, 0]
        case NotMentioned():
            chance = np.ones(len(present))
            for symptom, finding in network.symptoms.items():
                if symptom not in seen:
                    chance *= level_chances(finding, present)[:, :2].sum(axis=1)
            return chance
        case Answered(question, answers):
            asked = network.questions[question]
            if asked.rule is AnswerRule.TICKS:
                chance = np.ones(len(present))
                for answer, finding in zip(asked.answers, asked.findings, strict=True):
                    chance *= level_chances(finding, present)[:, int(answer in answers)]
                return chance
            level = asked.answers.index(answers[0]) + 1 if answers else 0
            return level_chances(asked.findings[0], present)[:, level]
        case CheckSaid(check, outcome, provenance):
            return _check_chance(network, network.checks[check], outcome, provenance, present)
    raise AssertionError(item)


def _check_chance(
    network: Network, finding: Finding, outcome: Outcome, provenance: Provenance, on: np.ndarray
) -> np.ndarray:
    unrecorded_ok = network.figures.number("not_recorded_in_order")
    unrecorded_bad = network.figures.number("not_recorded_deviation")
    in_order = level_chances(finding, on)[:, 0]
    if outcome is Outcome.NOT_RECORDED:
        return unrecorded_ok * in_order + unrecorded_bad * (1 - in_order)
    trust = TRUST[str(provenance)]
    factors = np.where(on[:, finding.parents], 1 - trust * (1 - finding.net[:, 0]), 1.0)
    believed = finding.base[0] * factors.prod(axis=1)
    if outcome is Outcome.IN_ORDER:
        return (1 - unrecorded_ok) * believed
    return (1 - unrecorded_bad) * (1 - believed)


@dataclass
class Counted:
    """Posteriors by counting: of each variable, of each set of candidate causes."""

    chance: np.ndarray
    log_evidence: float
    explanations: dict[tuple[str, ...], float]
    joint: np.ndarray
    states: np.ndarray


def count(network: Network, evidence: tuple[Evidence, ...]) -> Counted:
    """Sum over every state of causes, shared looks and mechanisms."""
    states = np.array(list(itertools.product([False, True], repeat=network.size)))
    seen = {item.symptom for item in evidence if hasattr(item, "symptom")}
    roots = states[:, : network.roots]
    joint = np.where(roots, network.prior, 1 - network.prior).prod(axis=1)
    for n, node in enumerate(network.mechanisms):
        off = node.leak_off * np.where(states[:, node.parents], node.off, 1.0).prod(axis=1)
        joint *= np.where(states[:, network.roots + n], 1 - off, off)
    for item in evidence:
        joint *= _item_chance(network, item, states, seen)
    total = joint.sum()
    among = [v for v in range(len(network.causes)) if v in network.candidates]
    codes = states[:, among] @ (1 << np.arange(len(among)))
    masses = np.bincount(codes, joint / total, minlength=2 ** len(among))
    explained = {
        tuple(sorted(network.causes[v] for k, v in enumerate(among) if code >> k & 1)): mass
        for code, mass in enumerate(masses)
    }
    return Counted(joint @ states / total, float(np.log(total)), explained, joint / total, states)
