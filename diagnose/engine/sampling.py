"""Draw floors from the rules: causes, what they show, what the record says.

A draw follows the model the engine reasons with: causes by their priors,
mechanisms by the causes, symptoms, record and answers by both.  It is kept
only if the customer mentions something, because no one inspects a floor that
nobody complains of.  Everything of one floor is drawn at once, so that a
question asked twice has one answer.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from diagnose.engine.evidence import Answered, CheckSaid, Evidence, NotMentioned, SymptomSeen
from diagnose.engine.network import AskedQuestion, Finding, Network
from diagnose.engine.nodes import level_chances
from diagnose.engine.numbers import Array
from diagnose.errors import ImpossibleEvidenceError, NotFoundError
from diagnose.model import Outcome
from diagnose.rulebook.model import AnswerRule

Bools = NDArray[np.bool_]
LevelChances = Callable[[Finding, Bools], Array]
"""Chance of each level of a finding given the variables present."""

ABSENT, UNMENTIONED, MENTIONED = 0, 1, 2
_AT_ONCE, _MOST_BATCHES = 256, 400


@dataclass(frozen=True, eq=False, slots=True)
class Drawn:
    """One drawn floor; nothing of it is hidden."""

    network: Network
    present: Bools
    """Of every variable: causes, shared looks, mechanisms."""
    symptom_levels: Mapping[str, int]
    """0 absent, 1 there but not mentioned, 2 mentioned."""
    outcomes: Mapping[str, Outcome]
    answers: Mapping[str, tuple[str, ...]]
    """Answers given to each question; empty for none of these."""

    @property
    def causes(self) -> tuple[str, ...]:
        """Causes that are present, in file order."""
        return tuple(c for c, on in zip(self.network.causes, self.present, strict=False) if on)

    @property
    def mechanisms(self) -> tuple[str, ...]:
        """Mechanisms that are at work."""
        on = self.present[self.network.roots :]
        return tuple(m.id for m, works in zip(self.network.mechanisms, on, strict=True) if works)

    @property
    def mentioned(self) -> tuple[str, ...]:
        """Symptoms the customer complains of."""
        return tuple(s for s, level in self.symptom_levels.items() if level == MENTIONED)

    @property
    def there(self) -> tuple[str, ...]:
        """Symptoms that are on the floor, mentioned or not."""
        return tuple(s for s, level in self.symptom_levels.items() if level != ABSENT)

    def complaint(self) -> tuple[Evidence, ...]:
        """What is known when the complaint is taken."""
        return (*(SymptomSeen(symptom) for symptom in self.mentioned), NotMentioned())

    def record(self) -> tuple[Evidence, ...]:
        """What the record says of every check, missing entries included."""
        return tuple(CheckSaid(check, outcome) for check, outcome in self.outcomes.items())

    def answer(self, question: str) -> Answered:
        """Return the floor's answer to a question.

        Raises
        ------
        NotFoundError
            The question does not apply to this floor.
        """
        if question not in self.answers:
            raise NotFoundError(f"question {question} does not apply to this floor")
        return Answered(question, self.answers[question])


def draw(
    network: Network,
    rng: Generator,
    *,
    faults: Collection[int] | None = None,
    having: Iterable[str] = (),
    mentioning: Iterable[str] = (),
    missing: tuple[float, float] | None = None,
    chances: LevelChances = level_chances,
) -> Drawn:
    """Draw a floor with at least one symptom mentioned.

    Parameters
    ----------
    network : Network
    rng : numpy.random.Generator
        The only source of chance.
    faults : numbers, optional
        How many causes may be present; the floor is drawn from those with as many.
    having : ids
        Causes that are present for certain.
    mentioning : ids
        Symptoms of which at least one is mentioned; none given means any.
    missing : two chances, optional
        That an entry is missing when in order and when it deviates; by default
        the figures of the scale.
    chances : function
        How answers come about; another than the engine's own tests its robustness.

    Raises
    ------
    ImpossibleEvidenceError
        Nothing was mentioned in about a hundred thousand draws.
    NotFoundError
        An id that the network does not have.
    """
    forced = [_number(network.index, cause, "cause") for cause in having]
    names = list(network.symptoms)
    wanted = [_number({s: n for n, s in enumerate(names)}, s, "symptom") for s in mentioning]
    cumulative = _Cumulative(network.symptoms.values(), network.roots)
    for _ in range(_MOST_BATCHES):
        roots = rng.random((_AT_ONCE, network.roots)) < network.prior
        roots[:, forced] = True
        levels = cumulative.levels(roots, rng)
        kept = (levels[:, wanted or slice(None)] == MENTIONED).any(axis=1)
        if faults is not None:
            kept &= np.isin(roots[:, : len(network.causes)].sum(axis=1), list(faults))
        if kept.any():
            row = int(np.argmax(kept))
            present = _with_mechanisms(network, roots[row], rng)
            return Drawn(
                network=network,
                present=present,
                symptom_levels=dict(zip(names, map(int, levels[row]), strict=True)),
                outcomes=_record(network, present, rng, missing),
                answers={
                    question.id: _answer(question, present, rng, chances)
                    for question in network.questions.values()
                },
            )
    raise ImpossibleEvidenceError("no symptom was mentioned, however often a floor was drawn")


class _Cumulative:
    """Symptoms side by side, to draw their levels for many floors at once."""

    def __init__(self, findings: Iterable[Finding], roots: int) -> None:
        listed = list(findings)
        self.log_net = np.zeros((2, roots, len(listed)))
        self.base = np.ones((2, len(listed)))
        for number, finding in enumerate(listed):
            for level in (0, 1):
                self.log_net[level, finding.parents, number] = np.log(finding.net[:, level])
                self.base[level, number] = finding.base[level]

    def levels(self, roots: Bools, rng: Generator) -> NDArray[np.intp]:
        """Draw the level of each symptom (columns) for each floor (rows)."""
        on = roots.astype(np.float64)
        thrown = rng.random((len(roots), self.base.shape[1]))
        below = [np.exp(on @ self.log_net[level]) * self.base[level] for level in (0, 1)]
        return np.asarray(np.add(thrown > below[0], thrown > below[1], dtype=np.intp))


def _number(index: Mapping[str, int], name: str, kind: str) -> int:
    if name not in index:
        raise NotFoundError(f"{kind} {name} does not apply to this floor")
    return index[name]


def _with_mechanisms(network: Network, roots: Bools, rng: Generator) -> Bools:
    off = [node.leak_off * math.prod(node.off[roots[node.parents]]) for node in network.mechanisms]
    return np.concatenate([roots, rng.random(len(off)) >= np.array(off)])


def _record(
    network: Network, present: Bools, rng: Generator, missing: tuple[float, float] | None
) -> dict[str, Outcome]:
    figures = network.figures
    in_order, deviates = missing or (
        figures.number("not_recorded_in_order"),
        figures.number("not_recorded_deviation"),
    )
    outcomes = {}
    for check, finding in network.checks.items():
        slipped = rng.random() >= level_chances(finding, present)[0]
        if rng.random() < (deviates if slipped else in_order):
            outcomes[check] = Outcome.NOT_RECORDED
        else:
            outcomes[check] = Outcome.DEVIATES if slipped else Outcome.IN_ORDER
    return outcomes


def _answer(
    question: AskedQuestion, present: Bools, rng: Generator, chances: LevelChances
) -> tuple[str, ...]:
    if question.rule is AnswerRule.TICKS:
        return tuple(
            answer
            for answer, finding in zip(question.answers, question.findings, strict=True)
            if rng.random() < chances(finding, present)[1]
        )
    cumulative = np.cumsum(chances(question.findings[0], present))
    level = int(np.searchsorted(cumulative, rng.random()))
    level = min(level, len(question.answers))
    return (question.answers[level - 1],) if level else ()
