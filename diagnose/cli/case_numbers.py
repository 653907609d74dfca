"""The judged numbers that a finding hangs on most, in words and as JSON.

`case firm --numbers` and `explain --sensitivity` show the same.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from diagnose.engine.adjust import BACKGROUND, PRIOR, Dial, figure, turned
from diagnose.engine.evidence import Answered
from diagnose.engine.sensitivity import SHIFT, Effect, Turn, sensitivity, turning_point
from diagnose.engine.words import in_hundred
from diagnose.reports.blocks import Block, Heading, Item, Paragraph
from diagnose.rulebook.model import Rules
from diagnose.walk.inspection import Inspection
from diagnose.walk.reason_to_ask import named
from diagnose.walk.steps import in_short

MOST_NUMBERS = 10
LEAST_RANGE = 0.005
"""Numbers that move the finding by less are not worth a line."""


@dataclass(frozen=True, slots=True)
class Number:
    """One judged number, with what it does to the finding."""

    effect: Effect
    words: str
    now: float
    halved: float
    """The number at half its odds."""
    doubled: float
    turn: Turn | None

    @property
    def of_itself(self) -> bool:
        """False for a graded answer that other answers cover: its own odds need not halve."""
        return self.halved <= self.now <= self.doubled


def numbers_of(inspection: Inspection) -> tuple[Number, ...]:
    """Return the numbers that the leading explanation hangs on most, the weightiest first."""
    network, evidence = inspection.network, inspection.evidence
    effects = [e for e in sensitivity(network, evidence) if e.range >= LEAST_RANGE]
    return tuple(
        Number(
            effect=effect,
            words=_words(inspection, effect.dial),
            now=figure(network, effect.dial, evidence),
            halved=figure(turned(network, {effect.dial: -SHIFT}), effect.dial, evidence),
            doubled=figure(turned(network, {effect.dial: SHIFT}), effect.dial, evidence),
            turn=turning_point(network, evidence, effect.dial),
        )
        for effect in effects[:MOST_NUMBERS]
    )


def number_blocks(inspection: Inspection) -> Iterator[Block]:
    """Yield a heading and an item for each number."""
    rules, first = inspection.rules, inspection.posterior.explanations[0]
    yield Heading(f"The numbers it hangs on most: {named(rules, first.causes)}")
    yield Paragraph(
        f"Likeliest now: {in_hundred(first.probability)}. Each number is a judgement. Here one at "
        "a time is taken as wrong and all others as right; odds of 1 to 4 are 20 in 100."
    )
    found = numbers_of(inspection)
    if not found:
        yield Paragraph("No single number moves it by as much as one in a hundred.")
    for place, number in enumerate(found, start=1):
        yield Item(f"{number.words}: {in_hundred(number.now)}.", f"{place}.", _below(rules, number))


def numbers_dict(inspection: Inspection) -> dict[str, Any]:
    """Return the same for JSON."""
    first = inspection.posterior.explanations[0]
    return {
        "causes": list(first.causes),
        "probability": first.probability,
        "numbers": [_dict(number) for number in numbers_of(inspection)],
    }


def _dict(number: Number) -> dict[str, Any]:
    effect, turn = number.effect, number.turn
    return {
        "about": effect.dial.about,
        "of": effect.dial.of,
        "words": number.words,
        "now": number.now,
        "at_half_odds": {"number": number.halved, "probability": effect.lower},
        "at_double_odds": {"number": number.doubled, "probability": effect.higher},
        "another_comes_first": turn
        and {
            "number": turn.figure,
            "odds_times": math.exp(turn.shift),
            "causes": list(turn.leading),
        },
    }


def _below(rules: Rules, number: Number) -> tuple[str, str]:
    effect = number.effect
    odds = "the odds" if number.of_itself else "the odds of a stronger answer"
    return (
        f"With {in_hundred(number.halved)} (half {odds}) the finding would be "
        f"{in_hundred(effect.lower)}; with {in_hundred(number.doubled)} (double), "
        f"{in_hundred(effect.higher)}.",
        _turn(rules, number),
    )


def _turn(rules: Rules, number: Number) -> str:
    if number.turn is None:
        return "Even a thousandth of the odds, or a thousand times them, would leave it first."
    turn = number.turn
    at = in_hundred(turn.figure)
    if not at.startswith(("under", "over")):
        at = f"{at} or {'less' if turn.figure < number.now else 'more'}"
    odds = "odds" if number.of_itself else "odds of a stronger answer"
    times = math.exp(abs(turn.shift))
    far = f"{times:.1f}" if times < 10 else f"{times:.0f}"
    smaller = "smaller" if turn.shift < 0 else "larger"
    return f"At {at} ({odds} {far} times {smaller}) {named(rules, turn.leading)} would come first."


def _words(inspection: Inspection, dial: Dial) -> str:
    """Say which number a dial stands for."""
    rules = inspection.rules
    kind, _, about = dial.about.partition(":")
    of = _name(rules, dial.of)
    alone = dial.of == BACKGROUND
    if dial.about == PRIOR:
        if dial.of in rules.causes:
            return f"How common it is: {of}"
        return f"How often a place shows such things for other reasons: {of}"
    if kind == "symptom":
        name = _small(rules.symptoms[about].name)
        if alone:
            return f"How often there is {name} without any cause that the rules know"
        return f"How often {of} gives {name}"
    if kind == "check":
        name = rules.checks[about].name
        if alone:
            return f"How often the record is out of order with nothing amiss: {name}"
        return f"How often the record is out of order with {of}: {name}"
    if kind == "mechanism":
        name = _small(rules.mechanisms[about].name)
        return f"How often there is {name} by itself" if alone else f"How often {of} gives {name}"
    said = _said(inspection, about)
    if alone:
        return f"{said}: how often with none of the causes that the question is about"
    if dial.of in inspection.network.shared:
        return f"{said}: how often where the place shows such things for other reasons"
    return f"{said}: how often with {of}"


def _said(inspection: Inspection, about: str) -> str:
    """Return the question, and the answer that the number is about."""
    name, _, ticked = about.partition(".")
    asked = inspection.rules.questions[name]
    items: Sequence[Answered] = [e for e in inspection.evidence if isinstance(e, Answered)]
    given = next((item.given for item in items if item.question == name), frozenset[str]())
    texts = {answer.id: answer.text for answer in asked.answers}
    if ticked:
        return (
            f"{in_short(asked.ask)} {texts[ticked] if ticked in given else f'not: {texts[ticked]}'}"
        )
    said = [texts[answer] for answer in texts if answer in given]
    return f"{in_short(asked.ask)} {'; '.join(said) or 'none of these'}"


def _name(rules: Rules, name: str) -> str:
    for known in (rules.causes, rules.mechanisms, rules.acts):
        if name in known:
            return _small(known[name].name)
    return name


def _small(name: str) -> str:
    return name[:1].lower() + name[1:]
