"""Whether a walk can get from a symptom to each cause, and hear of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from diagnose.errors import Problem
from diagnose.rulebook.cases import Case
from diagnose.rulebook.model import Rules


def cause_without_link(rules: Rules, cases: Sequence[Case]) -> Iterator[Problem]:
    """A cause that gives no symptom can never be found."""
    linked = {link.cause for link in rules.links.values()}
    for cause in rules.causes.values():
        if cause.id not in linked:
            text = f"cause {cause.id} gives no symptom"
            yield Problem(cause.at, text, f"add a link to links/{cause.stage}.yaml")


def symptom_with_few_causes(rules: Rules, cases: Sequence[Case]) -> Iterator[Problem]:
    """With fewer than two causes there is nothing to find out."""
    for symptom in rules.symptoms.values():
        found = [link.cause for link in rules.links.values() if link.symptom == symptom.id]
        if len(found) < 2:
            text = f"symptom {symptom.id} has {len(found)} cause{'' if found else 's'}"
            yield Problem(symptom.at, text, "link two causes or more to it")


def cause_nothing_speaks_for(rules: Rules, cases: Sequence[Case]) -> Iterator[Problem]:
    """A cause that no answer, check or hidden state speaks for stays a guess."""
    spoken = {c for q in rules.questions.values() for a in q.answers for c in a.speaks_for}
    spoken |= {cause for check in rules.checks.values() for cause in check.backs}
    spoken |= {c for m in rules.mechanisms.values() if m.answers for c in m.brought_about_by}
    for cause in rules.causes.values():
        if cause.id not in spoken:
            text = f"no question or check speaks for cause {cause.id}"
            yield Problem(cause.at, text, "let an answer speak for it")


def question_that_says_nothing(rules: Rules, cases: Sequence[Case]) -> Iterator[Problem]:
    """A question whose answers speak for nothing wastes the asking."""
    shown = {name.partition(".")[0] for m in rules.mechanisms.values() for name in m.answers}
    for question in rules.questions.values():
        if question.id not in shown and not any(a.speaks_for for a in question.answers):
            text = f"no answer of question {question.id} speaks for a cause"
            yield Problem(question.at, text, "let an answer speak for a cause, or remove it")


def circle_of_kinds(rules: Rules, cases: Sequence[Case]) -> Iterator[Problem]:
    """A cause is no kind of itself, by whatever detour."""
    told: set[str] = set()
    for cause in rules.causes.values():
        path = [cause.id]
        while (wider := rules.causes[path[-1]].kind_of) in rules.causes and wider not in path:
            path.append(wider)
        if wider == cause.id and not told & {*path}:
            told.update(path)
            text = "kind_of runs in a circle: " + " is a kind of ".join([*path, wider])
            yield Problem(cause.at, text, "take one kind_of out")
