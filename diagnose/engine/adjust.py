"""The elicited numbers of a network one by one, and networks with them changed.

A *dial* is one number that somebody judged: a prior, a link, a background, what
brings a mechanism about.  Turning a dial shifts its chances by so much in log
odds, the same for every level of an answer, so that the order of dominance
stays.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from diagnose.engine.evidence import Answered, CheckSaid, Evidence, NotMentioned
from diagnose.engine.network import AskedQuestion, Finding, MechanismNode, Network
from diagnose.engine.nodes import level_chances
from diagnose.engine.numbers import Array
from diagnose.rulebook.model import AnswerRule

PRIOR, BACKGROUND = "prior", "background"


@dataclass(frozen=True, slots=True)
class Dial:
    """One elicited number: `of` a cause (or `background`), `about` a finding's key.

    `about` is `prior` for how common something is, or `mechanism:<id>`.
    """

    of: str
    about: str


def name_of(network: Network, variable: int) -> str:
    """Return the id of a cause, shared look (its act) or mechanism."""
    if variable < len(network.causes):
        return network.causes[variable]
    if variable < network.roots:
        return network.shared[variable - len(network.causes)]
    return network.mechanisms[variable - network.roots].id


def dials(network: Network, evidence: Iterable[Evidence] | None = None) -> tuple[Dial, ...]:
    """Return every elicited number; with evidence, those that it can touch."""
    keys = None if evidence is None else touched(network, evidence)
    found = [Dial(name_of(network, variable), PRIOR) for variable in range(network.roots)]
    for node in network.mechanisms:
        found.append(Dial(BACKGROUND, f"mechanism:{node.id}"))
        found += [Dial(name_of(network, int(v)), f"mechanism:{node.id}") for v in node.parents]
    for finding in findings(network):
        if keys is None or finding.key in keys:
            found.append(Dial(BACKGROUND, finding.key))
            found += [Dial(name_of(network, int(v)), finding.key) for v in finding.parents]
    return tuple(found)


def findings(network: Network) -> Iterable[Finding]:
    """Yield every finding: of symptoms, of questions, of checks."""
    yield from network.symptoms.values()
    for question in network.questions.values():
        yield from question.findings
    yield from network.checks.values()


def turned(network: Network, shifts: Mapping[Dial, float]) -> Network:
    """Return the network with some numbers shifted, each by its log odds.

    A positive shift makes the cause commoner, or what it shows more likely.
    """
    by_key: dict[str, dict[str, float]] = {}
    for dial, shift in shifts.items():
        by_key.setdefault(dial.about, {})[dial.of] = shift

    def changed(finding: Finding) -> Finding:
        moved = by_key.get(finding.key)
        return finding if moved is None else _turned_finding(network, finding, moved)

    moved = by_key.get(PRIOR, {})
    priors = np.array([moved.get(name_of(network, v), 0.0) for v in range(network.roots)])
    return dataclasses.replace(
        network,
        prior=_shifted(network.prior, priors),
        mechanisms=tuple(
            _turned_mechanism(network, node, by_key.get(f"mechanism:{node.id}"))
            for node in network.mechanisms
        ),
        symptoms={key: changed(finding) for key, finding in network.symptoms.items()},
        checks={key: changed(finding) for key, finding in network.checks.items()},
        questions={
            key: _turned_question(question, [changed(f) for f in question.findings])
            for key, question in network.questions.items()
        },
    )


def _turned_question(question: AskedQuestion, changed: list[Finding]) -> AskedQuestion:
    if all(new is old for new, old in zip(changed, question.findings, strict=True)):
        return question
    return dataclasses.replace(question, findings=tuple(changed))


def _turned_mechanism(
    network: Network, node: MechanismNode, moved: Mapping[str, float] | None
) -> MechanismNode:
    if moved is None:
        return node
    shift = np.array([moved.get(name_of(network, int(v)), 0.0) for v in node.parents])
    leak = _shifted(np.array([node.leak_off]), -moved.get(BACKGROUND, 0.0))
    return MechanismNode(node.id, node.parents, _shifted(node.off, -shift), float(leak[0]))


def _turned_finding(network: Network, finding: Finding, moved: Mapping[str, float]) -> Finding:
    shift = np.array([moved.get(name_of(network, int(v)), 0.0) for v in finding.parents])[:, None]
    least = moved.get(BACKGROUND, 0.0)
    if finding.mixture:
        net = _tilted(finding.net, shift)
        return dataclasses.replace(finding, net=net, base=_tilted(finding.base[None], least)[0])
    return dataclasses.replace(
        finding,
        net=_shifted(finding.net, np.broadcast_to(-shift, finding.net.shape)),
        base=_shifted(finding.base, -least),
    )


def _shifted(chances: Array, shift: Array | float) -> Array:
    """Shift log odds; chances of exactly 1 stay (the highest level, or no effect)."""
    with np.errstate(divide="ignore"):
        odds = np.log(chances) - np.log1p(-chances)
    moved = 1.0 / (1.0 + np.exp(-(odds + shift)))
    return np.asarray(np.where(chances >= 1.0, 1.0, np.clip(moved, 1e-9, 1.0 - 1e-12)))


def _tilted(rows: Array, shift: Array | float) -> Array:
    """Either-or rows: shift the odds of any listed answer against "none of these"."""
    listed = 1.0 - rows[:, :1]
    new = _shifted(listed, shift)
    scaled = rows * new / np.maximum(listed, 1e-12)
    return np.asarray(np.hstack([1.0 - new, scaled[:, 1:]]))


def figure(network: Network, dial: Dial, evidence: Iterable[Evidence]) -> float:
    """Return the chance that a dial stands for, as the network has it now.

    How common something is; how often a cause, present alone, gives a symptom,
    a mechanism or a deviation of the record; for a question the chance of what
    was answered with that cause alone.  For the background, the same with none
    of the causes there.
    """
    if dial.about == PRIOR:
        names = [name_of(network, v) for v in range(network.roots)]
        return float(network.prior[names.index(dial.of)])
    for node in network.mechanisms:
        if dial.about == f"mechanism:{node.id}":
            if dial.of == BACKGROUND:
                return 1.0 - node.leak_off
            return 1.0 - float(node.off[_row(network, node.parents.tolist(), dial.of)])
    finding = next(each for each in findings(network) if each.key == dial.about)
    asked = next((q for q in network.questions.values() if finding in q.findings), None)
    if asked is None:
        if dial.of == BACKGROUND:
            return 1.0 - float(finding.base[0])
        return 1.0 - float(finding.net[_row(network, finding.parents.tolist(), dial.of), 0])
    on = np.zeros(network.size, dtype=bool)
    if dial.of != BACKGROUND:
        on[finding.parents[_row(network, finding.parents.tolist(), dial.of)]] = True
    return float(level_chances(finding, on)[_level_said(asked, finding, evidence)])


def _row(network: Network, parents: list[int], name: str) -> int:
    return next(row for row, variable in enumerate(parents) if name_of(network, variable) == name)


def _level_said(asked: AskedQuestion, finding: Finding, evidence: Iterable[Evidence]) -> int:
    """Return the level that was answered; the highest where the question was not."""
    given = next(
        (i.given for i in evidence if isinstance(i, Answered) and i.question == asked.id), None
    )
    if given is None:
        return len(finding.base) - 1
    if asked.rule is AnswerRule.TICKS:
        return int(asked.answers[asked.findings.index(finding)] in given)
    return next((n for n, answer in enumerate(asked.answers, 1) if answer in given), 0)


def touched(network: Network, evidence: Iterable[Evidence]) -> set[str]:
    """Return the keys of the findings that the evidence is about."""
    keys: set[str] = set()
    for item in evidence:
        if isinstance(item, NotMentioned):
            keys |= {finding.key for finding in network.symptoms.values()}
        elif isinstance(item, Answered):
            keys |= {finding.key for finding in network.questions[item.question].findings}
        elif isinstance(item, CheckSaid):
            keys.add(network.checks[item.check].key)
        else:
            keys.add(network.symptoms[item.symptom].key)
    return keys
