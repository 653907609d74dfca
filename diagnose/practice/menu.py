"""What a learner can choose from in a round, in an order that gives nothing away."""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.engine.network import Network
from diagnose.practice.chance import shuffled, stream
from diagnose.practice.play import Price, Round, open_questions, price
from diagnose.rulebook.model import Rules

MOST_REMEDIES = 6
GROUP_WORDS: Mapping[str, str] = {
    "moisture-climate": "moisture and climate",
    "soil-stain-colour-smell": "soil, stains, colour and smell",
    "further": "lines, tufts and repairs",
}
"""Groups whose name does not read as it stands."""


def group_words(group: str) -> str:
    """Return the name of a group of questions in words.

    >>> group_words("at-the-seam")
    'at the seam'
    """
    return GROUP_WORDS.get(group, group.replace("-", " "))


def questions_by_group(
    rules: Rules, network: Network, round_: Round
) -> Mapping[str, tuple[tuple[int, str, Price], ...]]:
    """Return the questions that can still be asked, by group, with number and price.

    A question has the same number all through the round.
    """
    open_now = set(open_questions(rules, network, round_))
    found: dict[str, list[tuple[int, str, Price]]] = {}
    for number, name in enumerate(network.questions, start=1):
        if name in open_now:
            row = (number, name, price(rules, round_, name))
            found.setdefault(rules.questions[name].group, []).append(row)
    return {group: tuple(rows) for group, rows in found.items()}


def question_of(network: Network, typed: str) -> str:
    """Return the question that a number or an id names; the text itself if neither does."""
    names = list(network.questions)
    if typed.isascii() and typed.isdigit() and 1 <= int(typed) <= len(names):
        return names[int(typed) - 1]
    return typed


def possible_causes(rules: Rules, network: Network) -> tuple[str, ...]:
    """Return the causes that could give the complaint, by name."""
    names = {network.causes[number] for number in network.candidates}
    return tuple(sorted(names, key=lambda cause: rules.causes[cause].name))


def possible_remedies(rules: Rules, network: Network, round_: Round) -> tuple[str, ...]:
    """Return a few remedies to choose from: those that fit, and those of other causes."""
    rng = stream("remedies", round_.case.name)
    case = round_.case
    right = [remedy for cause in case.truth for remedy in rules.causes[cause].remedies]
    others = [
        remedy
        for cause in possible_causes(rules, network)
        for remedy in rules.causes[cause].remedies
        if remedy not in right
    ]
    wrong = shuffled(rng, dict.fromkeys(others))
    kept = list(dict.fromkeys(right))[:2]
    return tuple(shuffled(rng, [*kept, *wrong[: MOST_REMEDIES - len(kept)]]))
