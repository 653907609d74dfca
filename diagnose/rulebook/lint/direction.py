"""Weights, floors and places that contradict each other."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from diagnose.errors import Problem
from diagnose.rulebook.applies import apart
from diagnose.rulebook.cases import Case
from diagnose.rulebook.model import AnswerRule, Applies, Question, Rules
from diagnose.text import one

MOST_EITHER_OR = 4
"""Causes of an either-or question; beyond them the engine's exact sum grows too large."""


def both_ways(rules: Rules, cases: Sequence[Case]) -> Iterator[Problem]:
    """One answer cannot speak both for and against one cause."""
    for question in rules.questions.values():
        for answer in question.answers:
            for cause in answer.speaks_for:
                if cause in answer.speaks_against:
                    name = f"{question.id}.{answer.id}"
                    text = f"answer {name} speaks both for and against {cause}"
                    yield Problem(answer.at, text, "keep the direction that is meant")


def answer_given_twice(rules: Rules, cases: Sequence[Case]) -> Iterator[Problem]:
    """The answers of one question have ids of their own."""
    for question in rules.questions.values():
        seen: set[str] = set()
        for answer in question.answers:
            if answer.id in seen or answer.id in ("none-of-these", "cannot-tell"):
                text = f"question {question.id} has the answer {answer.id} already"
                yield Problem(answer.at, text, "give it an id of its own")
            seen.add(answer.id)


def alone_without_ticks(rules: Rules, cases: Sequence[Case]) -> Iterator[Problem]:
    """Only where several answers can be ticked does one have to stand alone."""
    for question in rules.questions.values():
        for answer in question.answers:
            if answer.alone and question.rule is not AnswerRule.TICKS:
                text = f"answer {question.id}.{answer.id} stands alone in a question of one answer"
                yield Problem(answer.at, text, "take alone out")


def age_that_never_is(rules: Rules, cases: Sequence[Case]) -> Iterator[Problem]:
    """An answer that the age of the floor gives has an age to give it."""
    for question in rules.questions.values():
        for answer in question.answers:
            if answer.age_days and answer.age_days[0] >= answer.age_days[1]:
                first, last = answer.age_days
                text = f"answer {question.id}.{answer.id} holds from {first:g} to {last:g} days"
                yield Problem(answer.at, text, "the first figure is the smaller one")


def settled_by_a_stranger(rules: Rules, cases: Sequence[Case]) -> Iterator[Problem]:
    """A check makes a question needless only if both speak of one cause."""
    for question in rules.questions.values():
        for name in question.settled_by:
            if not _causes(question) & {*rules.checks[name].backs}:
                text = f"question {question.id} is settled by {name}, which speaks of other causes"
                yield Problem(question.at, text, "name a check of the same thing, or none")


def either_or_too_wide(rules: Rules, cases: Sequence[Case]) -> Iterator[Problem]:
    """An either-or question weighs few causes against each other."""
    for question in rules.questions.values():
        causes = sorted(_causes(question))
        if question.rule is AnswerRule.EITHER_OR and len(causes) > MOST_EITHER_OR:
            text = (
                f"either-or question {question.id} speaks of {len(causes)} causes; "
                f"at most {MOST_EITHER_OR} are allowed"
            )
            yield Problem(question.at, text, "write rule: graded, or split the question")


def link_on_no_floor(rules: Rules, cases: Sequence[Case]) -> Iterator[Problem]:
    """A link holds on a floor that its cause and its symptom hold on too."""
    for link in rules.links.values():
        ends = (
            ("cause", link.cause, rules.causes[link.cause].applies),
            ("symptom", link.symptom, rules.symptoms[link.symptom].applies),
        )
        for word, name, applies in ends:
            if facet := apart(link.applies, applies):
                text = f"link {link.id} and its {word} {name} share no {facet}"
                yield Problem(link.at, text, _floors(link.applies, applies))
        if facet := apart(ends[0][2], ends[1][2]):
            text = f"link {link.id} joins a cause and a symptom that share no {facet}"
            yield Problem(link.at, text, _floors(ends[0][2], ends[1][2]))


def weight_on_no_floor(rules: Rules, cases: Sequence[Case]) -> Iterator[Problem]:
    """An answer or check can speak for a cause only on a floor that both hold on."""
    for question in rules.questions.values():
        for answer in question.answers:
            for cause in (*answer.speaks_for, *answer.speaks_against):
                applies = rules.causes[cause].applies
                if facet := apart(question.applies, applies):
                    text = f"question {question.id} and {cause} in its answer {answer.id}"
                    hint = _floors(question.applies, applies)
                    yield Problem(answer.at, f"{text} share no {facet}", hint)
    for check in rules.checks.values():
        for cause in check.backs:
            applies = rules.causes[cause].applies
            if facet := apart(check.applies, applies):
                text = f"check {check.id} and {cause}, which it backs, share no {facet}"
                yield Problem(check.at, text, _floors(check.applies, applies))


def place_never_met(rules: Rules, cases: Sequence[Case]) -> Iterator[Problem]:
    """A place named in `at` is one where the symptom shows, or where the question can matter."""
    places: dict[str, set[str]] = {}
    for link in rules.links.values():
        shown = rules.symptoms[link.symptom].shows_at
        for place in link.shows_at:
            if place not in shown:
                text = f"link {link.id} holds at {one(place)}, where {link.symptom} never shows"
                yield Problem(link.at, text, "it shows at: " + ", ".join(shown))
        places.setdefault(link.cause, set()).update(link.shows_at or shown)
    brought: dict[str, set[str]] = {}
    for mechanism in rules.mechanisms.values():
        for name in mechanism.answers:
            asked = name.partition(".")[0]
            brought.setdefault(asked, set()).update(mechanism.brought_about_by)
    for question in rules.questions.values():
        causes = _causes(question) | brought.get(question.id, set())
        met = {place for cause in causes for place in places.get(cause, ())}
        for place in question.asks_at:
            if met and place not in met and place != "job":
                text = f"question {question.id} is asked at {one(place)}, where none of its causes acts"
                yield Problem(question.at, text, "they act at: " + ", ".join(sorted(met)))


def _causes(question: Question) -> set[str]:
    return {c for a in question.answers for c in (*a.speaks_for, *a.speaks_against)}


def _floors(one: Applies, other: Applies) -> str:
    facet = apart(one, other)
    assert facet is not None
    return f"{', '.join(one[facet])} against {', '.join(other[facet])}"
