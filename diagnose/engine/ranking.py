"""What each open question is worth before it is asked.

The gain is the expected information about the *explanation* (the set of causes
that could have given the complaint), in bits.  The hope is the probability
that the likeliest explanation is expected to have after the answer.

References
----------
.. [1] Expected information and expected value of a test as in Raiffa (1968);
   choice by gain per cost after Heckerman, Breese and Rommelse (1995),
   CACM 38, 49-57.  Read as outlines.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from diagnose.engine.answers import AnswerChances, answer_chances
from diagnose.engine.network import AskedQuestion
from diagnose.engine.numbers import Array
from diagnose.engine.posterior import Posterior
from diagnose.rulebook.model import AnswerRule

MOST_TICKS_TOGETHER = 7


@dataclass(frozen=True, slots=True)
class Worth:
    """Expected effect of one question."""

    question: str
    gain_bit: float
    hope: float
    """Expected probability of the likeliest explanation after the answer."""
    answers: tuple[float, ...]
    """Chance of each listed answer, in their order (of each tick by itself)."""


def rank(posterior: Posterior, questions: Iterable[str]) -> tuple[Worth, ...]:
    """Return the worth of the questions, in the order given."""
    chances = answer_chances(posterior)
    groups = _groups(chances, posterior)
    return tuple(
        _worth(chances, groups, posterior.network.questions[question]) for question in questions
    )


def _groups(chances: AnswerChances, posterior: Posterior) -> Array:
    """(explanations, sets): mass of a set in its explanation's row, else 0."""
    sets, count = chances.sets, len(chances.mass)
    among = [j for j, v in enumerate(sets.variables) if v in posterior.network.candidates]
    _, row = np.unique(sets.present[:count][:, among], axis=0, return_inverse=True)
    grouped = np.zeros((int(row.max()) + 1, count))
    grouped[row.ravel(), np.arange(count)] = chances.mass
    return grouped


def _worth(chances: AnswerChances, groups: Array, question: AskedQuestion) -> Worth:
    tables = [chances.of(finding) for finding in question.findings]
    if question.rule is not AnswerRule.TICKS:
        joint = groups @ tables[0]
        answers = tuple(float(p) for p in joint.sum(axis=0)[1:])
    else:
        each = [float(p) for p in (chances.mass @ np.stack([t[:, 1] for t in tables], axis=1))]
        answers = tuple(each)
        joint = groups @ _together([t[:, 1] for t in tables], groups)
    return Worth(question.id, _gain(joint), float(joint.max(axis=0).sum()), answers)


def _together(ticks: list[Array], groups: Array) -> Array:
    """Chance of every combination of ticks for each set.

    With more than a few ticks only the most telling are combined, so that the
    gain is a lower bound.
    """
    if len(ticks) > MOST_TICKS_TOGETHER:
        gains = [_gain(groups @ np.stack([1.0 - t, t], axis=1)) for t in ticks]
        best = sorted(range(len(ticks)), key=lambda n: -gains[n])[:MOST_TICKS_TOGETHER]
        ticks = [ticks[n] for n in sorted(best)]
    states = np.ones((len(ticks[0]), 1))
    for tick in ticks:
        both = np.stack([states * (1.0 - tick)[:, None], states * tick[:, None]], axis=2)
        states = both.reshape(len(states), -1)
    return states


def _gain(joint: Array) -> float:
    """Mutual information of rows and columns of a joint table, in bits."""
    total = joint / joint.sum()
    rows, columns = total.sum(axis=1, keepdims=True), total.sum(axis=0, keepdims=True)
    with np.errstate(divide="ignore", invalid="ignore"):
        terms = total * np.log2(total / (rows * columns))
    return float(max(0.0, np.nansum(terms)))
