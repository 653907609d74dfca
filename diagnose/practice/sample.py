"""Draw what a floor with known causes would show, finding by finding.

Ancestral sampling: shared looks by their prior, mechanisms given the causes,
then each finding given all of them.  Answers of one floor are drawn once, so
that asking again gives the same answer.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from random import Random

from diagnose.engine.network import AskedQuestion, Finding, Network
from diagnose.practice.chance import level
from diagnose.rulebook.model import AnswerRule


def states(network: Network, causes: Iterable[str], rng: Random) -> frozenset[int]:
    """Return the variables that are on: the causes given, and what follows from them."""
    on = {network.index[cause] for cause in causes}
    for variable in range(len(network.causes), network.roots):
        if rng.random() < float(network.prior[variable]):
            on.add(variable)
    found = set(on)
    for number, node in enumerate(network.mechanisms):
        off = node.leak_off
        for parent, stays_off in zip(node.parents, node.off, strict=True):
            if int(parent) in on:
                off *= float(stays_off)
        if rng.random() >= off:
            found.add(network.roots + number)
    return frozenset(found)


def chances(finding: Finding, on: frozenset[int], *, trust: float = 1.0) -> list[float]:
    """Return the chance of each level of a finding when these variables are on.

    `trust` weakens every parent, as for an entry that is not fully believed.
    """
    rows = [
        row for parent, row in zip(finding.parents, finding.net, strict=True) if int(parent) in on
    ]
    if finding.mixture:
        if not rows:
            return [float(value) for value in finding.base]
        return [float(sum(row[x] for row in rows)) / len(rows) for x in range(len(finding.base))]
    cumulative = []
    for x, value in enumerate(finding.base):
        total = float(value)
        for row in rows:
            total *= 1.0 - trust * (1.0 - float(row[x]))
        cumulative.append(total)
    return [max(0.0, high - low) for low, high in zip([0.0, *cumulative], cumulative, strict=False)]


def answer(
    question: AskedQuestion,
    on: frozenset[int],
    rng: Random,
    ruled_out: Collection[str] = (),
) -> tuple[str, ...] | None:
    """Return the answers the floor gives; empty for none of these.

    None where all that it could say is ruled out.
    """
    if question.rule is AnswerRule.TICKS:
        return tuple(
            name
            for name, finding in zip(question.answers, question.findings, strict=True)
            if level(rng, chances(finding, on)) == 1 and name not in ruled_out
        )
    left = [
        0.0 if x and question.answers[x - 1] in ruled_out else chance
        for x, chance in enumerate(chances(question.findings[0], on))
    ]
    if sum(left) <= 0:
        return None
    drawn = level(rng, left)
    return (question.answers[drawn - 1],) if drawn else ()


def mentioned(
    network: Network, on: frozenset[int], rng: Random, known: Sequence[str]
) -> tuple[str, ...]:
    """Return the symptoms a caller mentions of their own accord, beside the known ones."""
    return tuple(
        symptom
        for symptom, finding in network.symptoms.items()
        if symptom not in known and level(rng, chances(finding, on)) == len(finding.base) - 1
    )
