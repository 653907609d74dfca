"""Short questions about causes: which fits, what parts two, what people say."""

from __future__ import annotations

import itertools
from collections.abc import Collection
from random import Random

from diagnose.model import Floor
from diagnose.practice.chance import pick, shuffled
from diagnose.practice.consistent import about_another, on_one_floor, ruled_out
from diagnose.practice.fault import one_floor
from diagnose.practice.graph import CLEARLY, SAME, SEPARATES, graph
from diagnose.practice.item import (
    WRONG_OPTIONS,
    Item,
    ItemKind,
    Option,
    alike,
    kin,
    source_ids,
    with_options,
)
from diagnose.rulebook.model import Link, Rules
from diagnose.walk.steps import in_short

TELLING_WORDS = ("sighting", "strong", "moderate")
MOST_SHOWN = 3


def which_cause(rules: Rules, rng: Random, subjects: Collection[str]) -> Item | None:
    """Make a picture in words of one cause; which cause is it?"""
    links = [
        link
        for link in rules.links.values()
        if link.strength != "rarely" and _wanted(f"cause:{link.cause}", subjects)
    ]
    if not links:
        return None
    link = pick(rng, links)
    shown = _telling(rules, rng, link)
    if not shown:
        return None
    others = shuffled(rng, _rivals(rules, link))
    others.sort(key=lambda cause: not _look_alike(rules, link.cause, cause))
    compiled = graph(rules)
    own, *theirs = compiled.chances(link.symptom, shown, [link.cause, *others])
    wrong = [
        cause for cause, chance in zip(others, theirs, strict=True) if own >= CLEARLY * chance
    ][:WRONG_OPTIONS]
    if len(wrong) < WRONG_OPTIONS:
        return None
    cause = rules.causes[link.cause]
    right = Option(cause.name, cause.id)
    options, key = with_options(rng, right, (Option(rules.causes[w].name, w) for w in wrong))
    told = "\n".join(
        f'"{in_short(rules.questions[q].ask)}" - {_answer(rules, q, a)}.' for q, a in shown
    )
    symptom = rules.symptoms[link.symptom]
    return Item(
        kind=ItemKind.WHICH_CAUSE,
        ask=(
            f"{symptom.name}: {symptom.looks_like}\nYou ask, and this is what you find:\n{told}\n"
            "Which cause fits?"
        ),
        options=options,
        key=key,
        why=f"{cause.name}: {link.because or cause.mechanism}",
        subject=f"cause:{cause.id}",
        rules=(link.id, *(question for question, _ in shown)),
        sources=source_ids([*link.sources, *cause.sources]),
        stage=cause.stage,
        shown=(("", link.symptom), *shown),
    )


def what_separates(rules: Rules, rng: Random, subjects: Collection[str]) -> Item | None:
    """Make: what separates these two?"""
    pairs = [
        pair for pair in rules.look_alikes.values() if _wanted(f"look-alike:{pair.id}", subjects)
    ]
    if not pairs:
        return None
    pair = pick(rng, pairs)
    compiled = graph(rules)

    def apart(question: str) -> float:
        return compiled.distance(question, pair.cause, pair.taken_for)

    telling = [question for question in pair.questions if apart(question) >= SEPARATES]
    if not telling:
        return None
    right = rules.questions[pick(rng, telling)]
    others = [
        question
        for question in shuffled(rng, rules.questions.values())
        if question.id not in pair.questions
        and one_floor([question.applies, rules.causes[pair.cause].applies])
    ]
    others.sort(key=lambda question: question.group != right.group)
    mute = (question for question in others if apart(question.id) <= SAME)
    wrong = [Option(in_short(each.ask), each.id) for each in itertools.islice(mute, WRONG_OPTIONS)]
    if len(wrong) < WRONG_OPTIONS:
        return None
    options, key = with_options(rng, Option(in_short(right.ask), right.id), wrong)
    first, second = rules.causes[pair.cause], rules.causes[pair.taken_for]
    return Item(
        kind=ItemKind.WHAT_SEPARATES,
        ask=(
            f"{rules.symptoms[pair.symptom].name}. Which question tells "
            f'"{first.name}" from "{second.name}"?'
        ),
        options=options,
        key=key,
        why=pair.separates,
        subject=f"look-alike:{pair.id}",
        rules=(pair.id, right.id),
        sources=source_ids(pair.sources),
        stage=first.stage,
    )


def heard_on_site(rules: Rules, rng: Random, subjects: Collection[str]) -> Item | None:
    """Make: sound or not sound?"""
    points = [
        point for point in rules.teaching.values() if _wanted(f"teaching:{point.id}", subjects)
    ]
    if not points:
        return None
    point = pick(rng, points)
    stages = [rules.causes[each].stage for each in point.about if each in rules.causes]
    sound = rng.random() < 0.4
    told = point.better if sound else point.heard
    return Item(
        kind=ItemKind.HEARD_ON_SITE,
        ask=f'Somebody on site says: "{told}" Is that sound?',
        options=(Option("Sound", point.id), Option("Not sound", point.id)),
        key=(0 if sound else 1,),
        why=f'Often heard instead: "{point.heard}"' if sound else point.better,
        subject=f"teaching:{point.id}",
        rules=(point.id,),
        sources=source_ids(point.sources),
        stage=stages[0] if stages else "",
    )


def where_on_record(rules: Rules, rng: Random, subjects: Collection[str]) -> Item | None:
    """Make: where in an install record would this show?"""
    causes = [
        cause
        for cause in rules.causes.values()
        if cause.on_record and _wanted(f"cause:{cause.id}", subjects)
    ]
    if not causes:
        return None
    cause = pick(rng, causes)
    same = kin(rules, cause.id)
    near = [
        other
        for other in shuffled(rng, rules.causes.values())
        if other.on_record
        and other.on_record != cause.on_record
        and other.id not in same
        and not shares_a_check(rules, cause.id, other.id)
        and not alike(cause.on_record, other.on_record)
    ]
    near.sort(key=lambda other: other.stage != cause.stage)
    told = {other.on_record.lower(): Option(other.on_record, other.id) for other in near}
    wrong = list(told.values())[:WRONG_OPTIONS]
    if len(wrong) < WRONG_OPTIONS:
        return None
    options, key = with_options(rng, Option(cause.on_record, cause.id), wrong)
    return Item(
        kind=ItemKind.WHERE_ON_RECORD,
        ask=f'What would a good install record tell you about "{cause.name}"?',
        options=options,
        key=key,
        why=f"{cause.happened} {cause.on_record}",
        subject=f"cause:{cause.id}",
        rules=(cause.id,),
        sources=source_ids(cause.sources),
        stage=cause.stage,
    )


def shares_a_check(rules: Rules, first: str, second: str) -> bool:
    """Return whether one check of the record speaks for both causes."""
    return any(first in check.backs and second in check.backs for check in rules.checks.values())


def _telling(rules: Rules, rng: Random, link: Link) -> tuple[tuple[str, str], ...]:
    """Return up to three answers that speak for a cause, as one floor with this complaint gives.

    Each is to another question, and none to a question about another complaint.
    """
    applies = [link.applies, rules.causes[link.cause].applies]
    found = [
        (question.id, answer.id)
        for question in rules.questions.values()
        for answer in question.answers
        if answer.speaks_for.get(link.cause) in TELLING_WORDS
        and not answer.usual
        and not about_another(link.symptom, question.id)
        and answer.id not in ruled_out(Floor(), [link.symptom], question.id)
    ]
    chosen: dict[str, str] = {}
    for question, answer in shuffled(rng, found):
        if question in chosen or not on_one_floor([*chosen.items(), (question, answer)]):
            continue
        if one_floor([*applies, rules.questions[question].applies]):
            applies.append(rules.questions[question].applies)
            chosen[question] = answer
        if len(chosen) == MOST_SHOWN:
            break
    return tuple(chosen.items())


def _rivals(rules: Rules, link: Link) -> list[str]:
    """Return causes that could be thought of: same symptom, or taken for this one."""
    own, related = rules.causes[link.cause], kin(rules, link.cause)
    same = {other.cause for other in rules.links.values() if other.symptom == link.symptom}
    paired = {
        name
        for pair in rules.look_alikes.values()
        if link.cause in (pair.cause, pair.taken_for)
        for name in (pair.cause, pair.taken_for)
    }
    return [
        cause.id
        for cause in rules.causes.values()
        if cause.id in same | paired
        and cause.id not in related
        and one_floor([own.applies, cause.applies, link.applies])
    ]


def _look_alike(rules: Rules, first: str, second: str) -> bool:
    return any(
        {first, second} == {pair.cause, pair.taken_for} for pair in rules.look_alikes.values()
    )


def _answer(rules: Rules, question: str, answer: str) -> str:
    texts = {each.id: each.text for each in rules.questions[question].answers}
    return texts[answer].rstrip(".")


def _wanted(subject: str, subjects: Collection[str]) -> bool:
    return not subjects or subject in subjects
