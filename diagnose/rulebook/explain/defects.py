"""Pages about what is seen and what brought it about."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.model import STAGES
from diagnose.rulebook.explain.page import Explanation, Row, Section
from diagnose.rulebook.explain.parts import (
    answer_rows,
    by_weight,
    cautions,
    facts,
    floors,
    in_hundred,
    listed,
    named,
    plain,
    remedies,
    section,
    sources,
    teaching,
    weights_in_words,
)
from diagnose.rulebook.model import Cause, Link, LookAlike, Rules, Symptom


def symptom_page(rules: Rules, item: Symptom) -> Explanation:
    """Return the page of a symptom: what it is, what gives it, how to make it safe."""
    safe = [name for remedy in item.make_safe for name in rules.remedies[remedy].cautions]
    return Explanation(
        id=item.id,
        kind="symptom",
        name=item.name,
        text=item.looks_like,
        cautions=cautions(rules, item.cautions, safe),
        sections=(
            *facts(
                (
                    ("Where", item.where),
                    ("Shows at", listed(map(plain, item.shows_at))),
                    ("Floors", floors(item.applies)),
                    ("How to measure", item.measure),
                    ("What is allowed", item.tolerance),
                    ("Normal and no fault", item.normal),
                )
            ),
            *remedies(rules, item.make_safe, "Make safe at once"),
            *section("What gives it", _causes_of(rules, item)),
            *section("Taken for", _taken_for(rules, item)),
            *_look_alikes(rules, (p for p in rules.look_alikes.values() if p.symptom == item.id)),
            *teaching(rules, item.id),
        ),
        sources=sources(rules, item.sources),
    )


def cause_page(rules: Rules, item: Cause) -> Explanation:
    """Return the page of a cause: what happened, what shows it, what to do about it."""
    cures = [name for remedy in item.remedies for name in rules.remedies[remedy].cautions]
    scale, pairs = rules.scale, rules.look_alikes.values()
    return Explanation(
        id=item.id,
        kind="cause",
        name=item.name,
        text=item.happened,
        cautions=cautions(rules, item.cautions, cures),
        sections=(
            *facts(
                (
                    ("Why that gives it", item.mechanism),
                    ("Stage", plain(item.stage)),
                    ("Floors", floors(item.applies)),
                    ("How common", f"{in_hundred(scale.how_common, item.how_common)} floors"),
                    ("Asked to explain it", f"{item.answers_for} Guidance, never a verdict."),
                    ("On the record", item.on_record),
                )
            ),
            *section("A kind of", named(rules.causes, [item.kind_of] if item.kind_of else [])),
            *section("Kinds of it", named(rules.causes, _kinds_of(rules, item))),
            *section("What it gives", _symptoms_of(rules, item)),
            *section("What speaks for it", _for(rules, item), weights_in_words(scale.answer_for)),
            *section(
                "What speaks against it",
                by_weight(scale.answer_against, answer_rows(rules, item.id, against=True)),
            ),
            *_look_alikes(rules, (p for p in pairs if item.id in (p.cause, p.taken_for))),
            *remedies(rules, item.remedies, "What to do about it"),
            *facts((("Next time", item.prevention),), "Prevention"),
            *teaching(rules, item.id),
        ),
        sources=sources(rules, item.sources),
    )


def link_page(rules: Rules, item: Link) -> Explanation:
    """Return the page of a link: how often a cause gives a symptom, and why."""
    return Explanation(
        id=item.id,
        kind="link",
        name=f"{rules.causes[item.cause].name} gives {rules.symptoms[item.symptom].name}",
        text=item.because,
        cautions=(),
        sections=(
            *facts(
                (
                    ("How often", in_hundred(rules.scale.link_strength, item.strength)),
                    ("Floors", floors(item.applies)),
                    ("Places", listed(map(plain, item.shows_at))),
                )
            ),
            *section("The cause", named(rules.causes, [item.cause])),
            *section("The symptom", named(rules.symptoms, [item.symptom])),
        ),
        sources=sources(rules, item.sources),
    )


def stage_page(rules: Rules, stage: str) -> Explanation:
    """Return the page of a stage of the work: its causes and its checks."""
    number = STAGES.index(stage) + 1
    causes = [cause.id for cause in rules.causes.values() if cause.stage == stage]
    checks = [check.id for check in rules.checks.values() if check.stage == stage]
    return Explanation(
        id=stage,
        kind="stage",
        name=plain(stage).capitalize(),
        text=f"Stage {number} of {len(STAGES)} a cause can belong to.",
        cautions=(),
        sections=(
            *section("What can go wrong", named(rules.causes, causes)),
            *section("Checks of the record", named(rules.checks, checks)),
        ),
        sources=(),
    )


def look_alike_page(rules: Rules, item: LookAlike) -> Explanation:
    """Return the page of two causes that are taken for each other."""
    return Explanation(
        id=item.id,
        kind="look-alike",
        name=f"{rules.causes[item.cause].name}, or {rules.causes[item.taken_for].name}?",
        text=item.separates,
        cautions=(),
        sections=(
            *section("Seen as", named(rules.symptoms, [item.symptom])),
            *section("The two causes", named(rules.causes, [item.cause, item.taken_for])),
            *section("Ask", _questions(rules, item)),
        ),
        sources=sources(rules, item.sources),
    )


def _causes_of(rules: Rules, item: Symptom) -> tuple[Row, ...]:
    scale = rules.scale.link_strength
    return by_weight(
        scale,
        (
            (
                link.strength,
                Row(
                    rules.causes[link.cause].name,
                    link.cause,
                    f"{in_hundred(scale, link.strength)}. {link.because}",
                ),
            )
            for link in rules.links.values()
            if link.symptom == item.id
        ),
    )


def _symptoms_of(rules: Rules, item: Cause) -> tuple[Row, ...]:
    scale = rules.scale.link_strength
    return by_weight(
        scale,
        (
            (
                link.strength,
                Row(
                    rules.symptoms[link.symptom].name,
                    link.symptom,
                    f"{in_hundred(scale, link.strength)}. {link.because}",
                ),
            )
            for link in rules.links.values()
            if link.cause == item.id
        ),
    )


def _for(rules: Rules, item: Cause) -> tuple[Row, ...]:
    pairs = list(answer_rows(rules, item.id))
    for check in rules.checks.values():
        if item.id in check.backs:
            word = check.backs[item.id]
            pairs.append((word, Row(f"The record deviates: {check.name}", check.id, plain(word))))
    for mechanism in rules.mechanisms.values():
        if item.id in mechanism.brought_about_by:
            word = mechanism.brought_about_by[item.id]
            note = f"{plain(word)} brings it about"
            pairs.append(("", Row(f"What is hidden: {mechanism.name}", mechanism.id, note)))
    return by_weight(rules.scale.answer_for, pairs)


def _kinds_of(rules: Rules, item: Cause) -> list[str]:
    return [cause.id for cause in rules.causes.values() if cause.kind_of == item.id]


def _taken_for(rules: Rules, item: Symptom) -> Iterator[Row]:
    for name in item.taken_for:
        found = rules.symptoms.get(name) or rules.causes[name]
        yield Row(found.name, name)


def _look_alikes(rules: Rules, pairs: Iterator[LookAlike]) -> Iterator[Section]:
    rows = (
        Row(
            f"{rules.causes[pair.cause].name}, or {rules.causes[pair.taken_for].name}"
            f" ({rules.symptoms[pair.symptom].name})",
            pair.id,
            pair.separates,
        )
        for pair in pairs
    )
    yield from section("Look-alikes, and what parts them", rows)


def _questions(rules: Rules, item: LookAlike) -> Iterator[Row]:
    for name in item.questions:
        yield Row(rules.questions[name].ask, name)
