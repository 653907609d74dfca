"""Items that nothing in the rules uses."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from diagnose.errors import Problem
from diagnose.rulebook.cases import Case
from diagnose.rulebook.lint.items import called, cites, items
from diagnose.rulebook.model import Rules


def unused_limit(rules: Rules, cases: Sequence[Case]) -> Iterator[Problem]:
    """A limit is there to be compared with."""
    used = [name for c in rules.checks.values() for name in (c.limit, *c.more_limits)]
    yield from _unused(rules, "limits", used, "name it in a check, or remove it")


def unused_remedy(rules: Rules, cases: Sequence[Case]) -> Iterator[Problem]:
    """A remedy belongs to a cause, or makes a symptom safe."""
    used = [name for cause in rules.causes.values() for name in cause.remedies]
    used += [name for symptom in rules.symptoms.values() for name in symptom.make_safe]
    yield from _unused(rules, "remedies", used, "name it in a cause or a symptom, or remove it")


def unused_caution(rules: Rules, cases: Sequence[Case]) -> Iterator[Problem]:
    """A caution nobody is shown protects nobody."""
    used = [name for _, item in items(rules) for name in getattr(item, "cautions", ())]
    yield from _unused(rules, "cautions", used, "name it where the hazard is met, or remove it")


def unused_source(rules: Rules, cases: Sequence[Case]) -> Iterator[Problem]:
    """A source is cited by a rule, or it says nothing here."""
    used = [cite.source for _, _, cite in cites(rules)]
    yield from _unused(rules, "sources", used, "cite it, or remove it")


def unused_act(rules: Rules, cases: Sequence[Case]) -> Iterator[Problem]:
    """An act opens a question."""
    used = ["ask", *(question.act for question in rules.questions.values())]
    yield from _unused(rules, "acts", used, "name it as the act of a question, or remove it")


def unused_mechanism(rules: Rules, cases: Sequence[Case]) -> Iterator[Problem]:
    """A hidden state is brought about by causes and shown by answers."""
    for mechanism in rules.mechanisms.values():
        for words, lacks in (
            (mechanism.brought_about_by, "is brought about by no cause"),
            (mechanism.answers, "is shown by no answer"),
        ):
            if not words:
                text = f"mechanism {mechanism.id} {lacks}"
                yield Problem(mechanism.at, text, "complete it, or remove it")


def unused_abbreviation(rules: Rules, cases: Sequence[Case]) -> Iterator[Problem]:
    """A short form that no text uses needs no explaining."""
    from diagnose.rulebook.lint.words import short_forms

    used = [short for _, _, _, short in short_forms(rules)]
    yield from _unused(rules, "abbreviations", used, "remove it")


def _unused(rules: Rules, key: str, used: Iterable[str], hint: str) -> Iterator[Problem]:
    known = set(used)
    for kind, item in items(rules, key):
        if item.id not in known:
            yield Problem(item.at, f"{called(kind, item)} is used by nothing", hint)
