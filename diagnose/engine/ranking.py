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

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.engine.answers import AnswerChances, answer_chances
from diagnose.engine.network import AskedQuestion, Finding
from diagnose.engine.numbers import Array
from diagnose.engine.posterior import Posterior
from diagnose.rulebook.model import AnswerRule

MOST_TICKS_TOGETHER = 5


@dataclass(frozen=True, slots=True)
class Worth:
    """Expected effect of one question."""

    question: str
    gain_bit: float
    hope: float
    """Expected probability of the likeliest explanation after the answer."""
    answers: tuple[float, ...]
    """Chance of each listed answer, in their order (of each tick by itself)."""


@dataclass(frozen=True, slots=True)
class After:
    """What would come first after an answer."""

    chance: float
    """Of the answer being given."""
    causes: tuple[str, ...]
    probability: float


def rank(posterior: Posterior, questions: Iterable[str]) -> tuple[Worth, ...]:
    """Return the worth of the questions, in the order given."""
    ranking = Ranking(answer_chances(posterior))
    return tuple(ranking.worth(posterior.network.questions[question]) for question in questions)


class Ranking:
    """Joint chances of explanation and answer, all findings side by side."""

    def __init__(self, chances: AnswerChances) -> None:
        self.chances = chances
        self.network = chances.summed.posterior.network
        labels, self.explained = chances.sets.grouped(self.network.candidates, len(chances.mass))
        self.order = np.argsort(labels, kind="stable")
        self.bounds = np.searchsorted(labels[self.order], np.arange(self.explained))
        self.mass = chances.mass[self.order, None]
        self.levels = chances.levels[self.order]
        self.explanation = self._joint(np.ones_like(self.mass))
        self.leading = float(self.explanation.max())
        self.spread = float(_information(self.explanation).sum())
        laid = chances.laid
        self.place = np.full(len(laid.starts), -1)
        self.gains, self.hopes = np.zeros(0), np.zeros(0)
        self.answered = chances.alike.copy()
        if len(chances.columns):
            joint = self._joint(self.levels)
            kept = laid.finding[chances.columns]
            self.begins = np.flatnonzero(np.diff(kept, prepend=-1))
            self.place[kept[self.begins]] = np.arange(len(self.begins))
            columns = joint.sum(axis=0)
            self.answered[chances.columns] = columns
            bits = _information(joint).sum(axis=0) - _information(columns)
            self.gains = np.maximum(0.0, np.add.reduceat(bits, self.begins) - self.spread)
            self.hopes = np.add.reduceat(joint.max(axis=0), self.begins)

    def _joint(self, table: Array) -> Array:
        """(explanations, columns) from (sets in order, columns)."""
        weighed = table * self.mass
        if self.explained == len(weighed):
            return weighed
        return np.asarray(np.add.reduceat(weighed, self.bounds, axis=0))

    def worth(self, question: AskedQuestion) -> Worth:
        """Return the worth of one question.

        Of many ticks only the most telling are combined: a lower bound of the gain.
        """
        if question.findings[0].mixture:
            table = self.chances.mixture(question.findings[0])[self.order]
            return self._whole(question, table, tuple(map(float, self.mass[:, 0] @ table))[1:])
        numbers = [self.chances.laid.place[finding.key] for finding in question.findings]
        starts = [int(self.chances.laid.starts[number]) for number in numbers]
        if question.rule is not AnswerRule.TICKS:
            stop = starts[0] + len(question.answers) + 1
            answers = tuple(map(float, self.answered[starts[0] + 1 : stop]))
            place = int(self.place[numbers[0]])
            if place < 0:
                return Worth(question.id, 0.0, self.leading, answers)
            return Worth(question.id, float(self.gains[place]), float(self.hopes[place]), answers)
        answers = tuple(float(self.answered[start + 1]) for start in starts)
        telling = self._telling(numbers)
        if not telling:
            return Worth(question.id, 0.0, self.leading, answers)
        return self._whole(question, self.chances.ticks(telling)[self.order], answers)

    def _telling(self, numbers: Sequence[int]) -> list[int]:
        """The ticks that differ from set to set, at most the most telling of them.

        One that tells only of a shared look, and through it of another tick, is
        left out, so that the gain is a lower bound.
        """
        telling = [number for number in numbers if self.place[number] >= 0]
        return sorted(telling, key=lambda n: -self.gains[self.place[n]])[:MOST_TICKS_TOGETHER]

    def table(self, question: AskedQuestion) -> Array | None:
        """(sets in order, answers) of a question; None where the sets do not matter.

        Of a ticked question, every combination of its most telling ticks.
        """
        if question.findings[0].mixture:
            return self.chances.mixture(question.findings[0])[self.order]
        numbers = [self.chances.laid.place[finding.key] for finding in question.findings]
        telling = self._telling(numbers)
        if not telling:
            return None
        if question.rule is AnswerRule.TICKS:
            return self.chances.ticks(telling)[self.order]
        first = int(self.begins[self.place[telling[0]]])
        return self.levels[:, first : first + len(question.answers) + 1]

    def hope_of_pair(self, first: Array, second: Array | None) -> Array:
        """Expected probability of the likeliest explanation, for each answer of the first.

        Entry a is the chance of answer a times the probability that the
        likeliest explanation has after a and then the second question; without
        a second one, after a alone.  Given the causes, two answers are taken as
        independent, so no new inference is needed.
        """
        if second is None:
            return np.asarray(self._joint(first).max(axis=0))
        pairs = (first[:, :, None] * second[:, None, :]).reshape(len(first), -1)
        best = self._joint(pairs).max(axis=0)
        return np.asarray(best.reshape(first.shape[1], -1).sum(axis=1))

    def after_answers(self, question: AskedQuestion) -> tuple[After, ...]:
        """Return what would come first after each listed answer, then after none of them.

        Of a ticked question, what would come first were that answer ticked,
        whatever the others; "none of these" is left out.
        """
        return tuple(self._after(table) for table in self._answer_columns(question))

    def _answer_columns(self, question: AskedQuestion) -> list[Array]:
        """One column of chances (sets in order) for each answer, none of these last."""
        if question.rule is AnswerRule.TICKS:
            return [self._levels_of(finding)[:, 1] for finding in question.findings]
        table = self._levels_of(question.findings[0])
        return [table[:, level] for level in (*range(1, table.shape[1]), 0)]

    def _levels_of(self, finding: Finding) -> Array:
        if finding.mixture:
            return self.chances.mixture(finding)[self.order]
        laid = self.chances.laid
        number = laid.place[finding.key]
        place, width = int(self.place[number]), len(finding.base)
        if place < 0:
            start = int(laid.starts[number])
            alike = self.chances.alike[start : start + width]
            return np.broadcast_to(alike, (len(self.mass), width))
        first = int(self.begins[place])
        return self.levels[:, first : first + width]

    def _after(self, column: Array) -> After:
        joint = self._joint(column[:, None])[:, 0]
        chance = float(joint.sum())
        best = int(joint.argmax())
        sets, network = self.chances.sets, self.network
        row = sets.present[self.order[self.bounds[best]]]
        causes = (
            network.causes[variable]
            for variable, present in zip(sets.variables, row, strict=True)
            if present and variable in network.candidates
        )
        return After(chance, tuple(sorted(causes)), float(joint[best]) / max(chance, 1e-300))

    def _whole(self, question: AskedQuestion, table: Array, answers: tuple[float, ...]) -> Worth:
        joint = self._joint(table)
        columns = _information(joint.sum(axis=0)).sum()
        gain = max(0.0, float(_information(joint).sum() - columns) - self.spread)
        return Worth(question.id, gain, float(joint.max(axis=0).sum()), answers)


def _information(table: Array) -> Array:
    """p log2 p of each entry, 0 where p is 0."""
    return np.asarray(table * np.log2(np.maximum(table, 1e-300)))
