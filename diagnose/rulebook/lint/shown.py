"""Cases and look-alikes: the rules show what they claim."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from diagnose.errors import Problem
from diagnose.rulebook.cases import Case
from diagnose.rulebook.model import Rules

HEADLINE = (
    "seam-peaking",
    "fraying-edge",
    "adhesive-bleed",
    "edge-lift-at-seam",
    "edge-lift-at-perimeter",
    "shading",
)
"""Symptoms that most complaints are about."""


def headline_without_cases(rules: Rules, cases: Sequence[Case]) -> Iterator[Problem]:
    """Each of the commonest symptoms has a case that comes out and a near miss."""
    for name in HEADLINE:
        symptom = rules.symptoms.get(name)
        if symptom is None:
            continue
        told = {word for case in cases if name in case.seen for word in case.expect}
        for word, what in (("first", "comes out"), ("not_first", "is a near miss")):
            if word not in told:
                text = f"symptom {name} has no case that {what}"
                yield Problem(symptom.at, text, f"add a case with {word} to a .cases.yaml file")


def look_alike_off_the_graph(rules: Rules, cases: Sequence[Case]) -> Iterator[Problem]:
    """A look-alike agrees with the links, and its questions speak of one of the two."""
    for pair in rules.look_alikes.values():
        if f"{pair.cause}.{pair.symptom}" not in rules.links:
            text = f"look-alike {pair.id}: {pair.cause} does not give {pair.symptom}"
            yield Problem(pair.at, text, "add the link, or name the cause that does")
        if (f"{pair.taken_for}.{pair.symptom}" in rules.links) != pair.gives_it:
            does = "does not give" if pair.gives_it else "gives"
            text = f"look-alike {pair.id}: by the links {pair.taken_for} {does} {pair.symptom}"
            yield Problem(pair.at, text, f"write gives_it: {'no' if pair.gives_it else 'yes'}")
        for name in pair.questions:
            spoken = {
                cause
                for answer in rules.questions[name].answers
                for cause in (*answer.speaks_for, *answer.speaks_against)
            }
            if not spoken & {pair.cause, pair.taken_for}:
                text = f"look-alike {pair.id}: question {name} speaks of neither cause"
                yield Problem(pair.at, text, "name a question that parts them")
