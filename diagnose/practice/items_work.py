"""Short questions about the work: cautions, records, limits, steps, what comes first."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from dataclasses import replace
from random import Random

from diagnose.practice.chance import pick, shuffled
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
from diagnose.rulebook.model import Act, Limit, LimitValue, Remedy, Rules, Source

LEAST_STEPS, MOST_STEPS = 3, 6
KNOWN = ("seen", "second-hand", "computed")
"""How surely a figure has to be known to be asked for."""
SETTERS: Mapping[str, str] = {
    "contract-code": "a code that a contract can name",
    "code": "a general code",
    "common-practice": "common practice",
}
UNPUBLISHED = "common-practice"
"""Source of figures that stand nowhere, so that nobody can be asked where they stand."""
MOST_POSSIBLE: Mapping[str, float] = {
    "%": 100,
    "% RH": 100,
    "pH": 14,
    "edges": 2,
    "grade": 8,
    "of a tile": 1,
}
"""Figures that nobody would believe beyond; a seam has two edges."""
COUNTED = ("edges", "fixings", "grade", "rolls")
"""Units that come in whole numbers only."""
LONG = 90
"""Characters of a title from which its part before a colon is enough."""
BY_STEPS: Mapping[str, tuple[float, ...]] = {"°C": (-6, -3, 3, 5, 8)}
"""Units without a nought to multiply from: a wrong figure lies so much beside the right one."""
WHOLE_FROM = 4.0
"""Figures from here up are whole where the right one is."""
NEAR = 4.0
"""A wrong figure is at most so many times the right one, or so many times less."""


def which_caution(rules: Rules, rng: Random, subjects: Collection[str]) -> Item | None:
    """Make: which caution comes before this act or remedy?"""
    steps: list[Act | Remedy] = [*rules.acts.values(), *rules.remedies.values()]
    steps = [step for step in steps if step.cautions and _wanted(f"caution:{step.id}", subjects)]
    if not steps:
        return None
    step = pick(rng, steps)
    right = rules.cautions[pick(rng, step.cautions)]
    others = [caution for caution in rules.cautions.values() if caution.id not in step.cautions]
    if len(others) < WRONG_OPTIONS:
        return None
    wrong = [Option(caution.name, caution.id) for caution in shuffled(rng, others)[:WRONG_OPTIONS]]
    options, key = with_options(rng, Option(right.name, right.id), wrong)
    return Item(
        kind=ItemKind.WHICH_CAUTION,
        ask=f'Before "{step.name}": which of these cautions belongs to it?',
        options=options,
        key=key,
        why=right.text,
        subject=f"caution:{step.id}",
        rules=(step.id, right.id),
        sources=source_ids(right.sources),
    )


def what_to_record(rules: Rules, rng: Random, subjects: Collection[str]) -> Item | None:
    """Make: what would you write down, so that this can be told later?"""
    checks = [
        check
        for check in rules.checks.values()
        if check.record_now and any(_wanted(f"cause:{cause}", subjects) for cause in check.backs)
    ]
    if not checks:
        return None
    check = pick(rng, checks)
    cause = pick(rng, [cause for cause in check.backs if _wanted(f"cause:{cause}", subjects)])
    related = kin(rules, cause)
    near = [
        other
        for other in shuffled(rng, rules.checks.values())
        if other.record_now
        and not related & {*other.backs}
        and not alike(other.record_now, check.record_now)
    ]
    near.sort(key=lambda other: other.stage != check.stage)
    told = {other.record_now.lower(): Option(other.record_now, other.id) for other in near}
    wrong = list(told.values())[:WRONG_OPTIONS]
    if len(wrong) < WRONG_OPTIONS:
        return None
    options, key = with_options(rng, Option(check.record_now, check.id), wrong)
    return Item(
        kind=ItemKind.WHAT_TO_RECORD,
        ask=(
            "What do you write down on the day, so that it can be told later whether it was "
            f'"{rules.causes[cause].name}"?'
        ),
        options=options,
        key=key,
        why=f'The check "{check.name}" needs: {", ".join(check.needs) or check.record_now}.',
        subject=f"cause:{cause}",
        rules=(check.id, cause),
        sources=source_ids(check.sources),
        stage=check.stage,
    )


def steps_in_order(rules: Rules, rng: Random, subjects: Collection[str]) -> Item | None:
    """Make: put these steps in order."""
    remedies = [
        remedy
        for remedy in rules.remedies.values()
        if LEAST_STEPS <= len(set(remedy.steps)) == len(remedy.steps) <= MOST_STEPS
        and _wanted(f"remedy:{remedy.id}", subjects)
    ]
    if not remedies:
        return None
    remedy = pick(rng, remedies)
    order = shuffled(rng, range(len(remedy.steps)))
    if order == sorted(order):
        order = order[1:] + order[:1]
    return Item(
        kind=ItemKind.STEPS_IN_ORDER,
        ask=f'Put the steps of "{remedy.name}" in order.',
        options=tuple(Option(remedy.steps[number], remedy.id) for number in order),
        key=tuple(order.index(number) for number in range(len(order))),
        why=" ".join(f"{n}. {step}" for n, step in enumerate(remedy.steps, start=1)),
        subject=f"remedy:{remedy.id}",
        rules=(remedy.id,),
        sources=source_ids(remedy.sources),
    )


def what_first(rules: Rules, rng: Random, subjects: Collection[str]) -> Item | None:
    """Make: people are walking there; what do you do first?"""
    symptoms = [
        symptom
        for symptom in rules.symptoms.values()
        if symptom.make_safe and _wanted(f"symptom:{symptom.id}", subjects)
    ]
    if not symptoms:
        return None
    symptom = pick(rng, symptoms)
    right = rules.remedies[pick(rng, symptom.make_safe)]
    causes = [link.cause for link in rules.links.values() if link.symptom == symptom.id]
    later = {remedy for cause in causes for remedy in rules.causes[cause].remedies}
    near = [
        remedy
        for remedy in shuffled(rng, rules.remedies.values())
        if remedy.id in later and not remedy.make_safe and remedy.id not in symptom.make_safe
    ]
    if len(near) < WRONG_OPTIONS:
        return None
    wrong = [Option(remedy.name, remedy.id) for remedy in near[:WRONG_OPTIONS]]
    options, key = with_options(rng, Option(right.name, right.id), wrong)
    return Item(
        kind=ItemKind.WHAT_FIRST,
        ask=f"{symptom.name}, and people walk there every day. What do you do first?",
        options=options,
        key=key,
        why=f"Make the place safe first: {' '.join(right.steps)}",
        subject=f"symptom:{symptom.id}",
        rules=(symptom.id, right.id),
        sources=source_ids([*right.sources, *symptom.sources]),
    )


def which_limit(rules: Rules, rng: Random, subjects: Collection[str]) -> Item | None:
    """Make: which figure holds?"""
    values = [
        (limit, value)
        for limit in rules.limits.values()
        for value in limit.values
        if value.sure in KNOWN
        and value.cite.source != UNPUBLISHED
        and (value.low is not None or value.high is not None)
        and _wanted(f"limit:{limit.id}", subjects)
    ]
    if not values:
        return None
    limit, value = pick(rng, values)
    right = Option(figure_words(value, limit.unit), limit.id)
    taken = {figure_words(each, limit.unit) for each in limit.values}
    wrong: list[Option] = []
    for other in shuffled(rng, _other_figures(rules, limit, value)):
        if other not in taken:
            taken.add(other)
            wrong.append(Option(other, ""))
    if len(wrong) < WRONG_OPTIONS:
        return None
    options, key = with_options(rng, right, wrong[:WRONG_OPTIONS])
    source = rules.sources.get(value.cite.source)
    by = _titled(source) if source else value.cite.source
    when = "; ".join(
        f"{name}: {', '.join(words)}".replace("-", " ") for name, words in value.when.items()
    )
    return Item(
        kind=ItemKind.WHICH_LIMIT,
        ask=(
            f"{limit.name[:1].upper()}{limit.name[1:]} ({limit.quantity}): which figure is set by "
            f"{SETTERS.get(value.set_by, value.set_by)}, {by}"
            + (f", for {when}" if when else "")
            + "?"
        ),
        options=options,
        key=key,
        why=f"{right.text[:1].upper()}{right.text[1:]}: so says {by}. The job's own data sheet comes before it.",
        subject=f"limit:{limit.id}",
        rules=(limit.id,),
        sources=(value.cite.source,),
    )


def figure_words(value: LimitValue, unit: str) -> str:
    """Return such as "at most 75 % RH" or "5 to 30 min"."""
    if value.low is None:
        return f"at most {value.high:g} {unit}"
    if value.high is None:
        return f"at least {value.low:g} {unit}"
    return f"{value.low:g} to {value.high:g} {unit}"


def _other_figures(rules: Rules, limit: Limit, value: LimitValue) -> list[str]:
    """Return figures of the same form: of other limits in this unit, and moved ones."""
    figures = [
        figure_words(each, limit.unit)
        for other in rules.limits.values()
        if other.unit == limit.unit and other.id != limit.id
        for each in other.values
        if (each.low is None, each.high is None) == (value.low is None, value.high is None)
        if _close(value, each, limit.unit)
    ]
    figures += [
        figure_words(replace(value, low=low, high=high), limit.unit)
        for low, high in _moved(value, limit.unit)
    ]
    return figures


def _moved(value: LimitValue, unit: str) -> list[tuple[float | None, float | None]]:
    """Return the edges of a figure moved up and down, as far as somebody might believe them."""
    edges = (value.low, value.high)
    if unit in COUNTED:
        moved = [[None if e is None else e + step for e in edges] for step in (-2, -1, 1, 2, 3)]
    elif unit in BY_STEPS:
        moved = [[None if e is None else e + step for e in edges] for step in BY_STEPS[unit]]
    else:
        moved = [
            [None if e is None else _rounded(e * factor, e) for e in edges]
            for factor in (0.5, 0.75, 1.25, 1.5, 2.0)
        ]
    most = MOST_POSSIBLE.get(unit, float("inf"))
    return [
        (low, high)
        for low, high in moved
        if all(0 < e <= most for e in (low, high) if e is not None)
    ]


def _rounded(figure: float, like: float) -> float:
    """Return a figure with no more digits than a sheet would print beside `like`.

    >>> _rounded(6.75, 9.0), _rounded(1.35, 1.8), _rounded(0.75, 1.0)
    (7.0, 1.4, 0.75)
    """
    whole = like == round(like) and figure >= WHOLE_FROM
    return float(round(figure)) if whole else float(f"{figure:.2g}")


def _close(value: LimitValue, other: LimitValue, unit: str) -> bool:
    """Return whether a figure of another limit could be believed in place of this one."""
    own, theirs = ([e for e in (v.low, v.high) if e is not None] for v in (value, other))
    most = MOST_POSSIBLE.get(unit, float("inf"))
    return all(
        0 < b <= most and a / NEAR <= b <= a * NEAR for a, b in zip(own, theirs, strict=True)
    )


def _titled(source: Source) -> str:
    """Return a source's title with its year, where the title does not tell it."""
    edition = source.edition or source.year
    told = edition == "n.d." or re.search(r"\b(19|20)\d\d\b", source.title)
    title = source.title if len(source.title) <= LONG else source.title.partition(":")[0]
    return title if told else f"{title}, {edition}"


def _wanted(subject: str, subjects: Collection[str]) -> bool:
    return not subjects or subject in subjects
