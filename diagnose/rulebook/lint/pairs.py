"""Pairs of causes of one symptom that nothing in the rules can part."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

from diagnose.errors import Problem
from diagnose.model import FACET_VALUES, Facet, Floor
from diagnose.rulebook.applies import applies_to, overlap
from diagnose.rulebook.cases import Case
from diagnose.rulebook.lint.telling import (
    check_gain,
    figure,
    question_gain,
    through_mechanisms,
)
from diagnose.rulebook.model import Applies, Inseparable, Link, Rules

Pair = tuple[str, str]
"""Two cause ids in alphabetical order."""


@dataclass(frozen=True, slots=True)
class Separation:
    """How well two causes of one symptom can be parted with one method."""

    symptom: str
    pair: Pair
    method: str
    best: str
    """The question or check that parts them best; empty if none touches them."""
    bits: float


def separations(
    rules: Rules, symptoms: Iterable[str] | None = None, *, enough: float = 1.0
) -> Iterator[Separation]:
    """Yield every pair of causes of every symptom, with each method it can meet on.

    The search for the best look ends with the first that gives `enough` bits.

    A pair whose floors exclude each other (loop against cut pile), or whose
    places do, is told apart before any question and is not yielded.
    """
    wanted = rules.symptoms if symptoms is None else symptoms
    looks = _Looks(rules)
    for symptom in wanted:
        links = [link for link in rules.links.values() if link.symptom == symptom]
        for method in FACET_VALUES[Facet.METHOD]:
            here = [link for link in links if _holds(rules, link, method)]
            for one, other in combinations(here, 2):
                floor = _shared_floor(rules, one, other, method)
                places = _shared_places(rules, one, other)
                if floor is not None and places:
                    pair = _pair(one.cause, other.cause)
                    best, bits = looks.best(pair, floor, places, enough)
                    yield Separation(symptom, pair, method, best, bits)


class _Looks:
    """Questions and checks by the causes they speak of, with gains kept."""

    def __init__(self, rules: Rules) -> None:
        self.rules = rules
        self.hidden = through_mechanisms(rules)
        self.questions: dict[str, set[str]] = {}
        self.checks: dict[str, set[str]] = {}
        self.gains: dict[tuple[str, str, str], float] = {}
        for question in rules.questions.values():
            for answer in question.answers:
                carried = self.hidden.get(f"{question.id}.{answer.id}", {})
                for cause in {*answer.speaks_for, *answer.speaks_against, *carried}:
                    self.questions.setdefault(cause, set()).add(question.id)
        for check in rules.checks.values():
            for cause in check.backs:
                self.checks.setdefault(cause, set()).add(check.id)

    def best(
        self, pair: Pair, floor: Applies, places: set[str], enough: float
    ) -> tuple[str, float]:
        """Return the look that parts two causes best on a floor, and its bits."""
        found: tuple[str, float] = ("", 0.0)
        for name, bits in self._all(pair, floor, places):
            if bits > found[1]:
                found = (name, bits)
            if bits >= enough:
                break
        return found

    def _all(self, pair: Pair, floor: Applies, places: set[str]) -> Iterator[tuple[str, float]]:
        one, other = pair
        for name in sorted(self.questions.get(one, set()) | self.questions.get(other, set())):
            question = self.rules.questions[name]
            is_asked = not question.asks_at or bool(places & {*question.asks_at})
            if is_asked and overlap(question.applies, floor) is not None:
                yield name, self._gain(name, one, other)
        for name in sorted(self.checks.get(one, set()) | self.checks.get(other, set())):
            check = self.rules.checks[name]
            if overlap(check.applies, floor) is not None:
                yield name, check_gain(self.rules.scale, check, one, other)

    def _gain(self, name: str, one: str, other: str) -> float:
        key = (name, one, other)
        if key not in self.gains:
            question = self.rules.questions[name]
            self.gains[key] = question_gain(self.rules.scale, question, one, other, self.hidden)
        return self.gains[key]


def _holds(rules: Rules, link: Link, method: str) -> bool:
    floor = Floor({Facet.METHOD: method})
    applies = (link.applies, rules.causes[link.cause].applies, rules.symptoms[link.symptom].applies)
    return all(applies_to(each, floor) for each in applies)


def _shared_floor(rules: Rules, one: Link, other: Link, method: str) -> Applies | None:
    floor: Applies | None = {Facet.METHOD: (method,)}
    parts = [rules.symptoms[one.symptom].applies, one.applies, other.applies]
    parts += [rules.causes[link.cause].applies for link in (one, other)]
    for part in parts:
        floor = overlap(floor, part) if floor is not None else None
    return floor


def _shared_places(rules: Rules, one: Link, other: Link) -> set[str]:
    shown = set(rules.symptoms[one.symptom].shows_at)
    for link in (one, other):
        shown &= set(link.shows_at) or shown
    return shown


def hardest_pairs(rules: Rules, count: int) -> tuple[Separation, ...]:
    """Return the pairs that are parted worst, each once with its worst method."""
    worst: dict[tuple[str, Pair], Separation] = {}
    for found in separations(rules):
        key = (found.symptom, found.pair)
        if key not in worst or found.bits < worst[key].bits:
            worst[key] = found
    return tuple(sorted(worst.values(), key=lambda each: each.bits)[:count])


def inseparable_pairs(rules: Rules, cases: Sequence[Case]) -> Iterator[Problem]:
    """A pair that nothing parts has to be accepted with a reason, and only such a pair."""
    least = figure(rules.scale, "least_gain_bit")
    stuck: dict[tuple[str, Pair], list[Separation]] = {}
    for found in separations(rules, enough=least):
        if found.bits < least:
            stuck.setdefault((found.symptom, found.pair), []).append(found)
    accepted = {(each.symptom, _pair(*each.causes)): each for each in rules.inseparable}
    for key, methods in stuck.items():
        if key not in accepted:
            yield _not_parted(rules, *key, methods)
    for key, each in accepted.items():
        if key not in stuck:
            yield _parted_after_all(each)


def _pair(one: str, other: str) -> Pair:
    return (one, other) if one < other else (other, one)


def _not_parted(rules: Rules, symptom: str, pair: Pair, found: list[Separation]) -> Problem:
    one, other = pair
    methods = ", ".join(each.method for each in found)
    best = max(found, key=lambda each: each.bits)
    close = f" (nearest: {best.best}, {best.bits:.3f} bit)" if best.best else ""
    return Problem(
        rules.causes[one].at,
        f"{one} and {other} both give {symptom}, and no question or check parts them; "
        f"method: {methods}{close}",
        "let one answer speak for one of them only, or accept the pair in inseparable.yaml "
        "with the reason",
    )


def _parted_after_all(each: Inseparable) -> Problem:
    one, other = each.causes
    return Problem(
        each.at,
        f"{one} and {other} are accepted as inseparable at {each.symptom}, but they can be parted "
        "or never meet there",
        "remove the pair",
    )
