"""Turn the words of scale.yaml into the figures that the engine counts with.

A weight becomes a probability in three steps.

1.  *Background.*  Every listed answer of a question is given by a floor on
    which none of the question's causes is present with the chance
    `background`; an answer marked as usual has `usual_background` (shared if
    there are several), an answer that is a sighting of a cause has the small
    `sighting_background`.  What is left is "none of these".
2.  *One cause present.*  An answer that speaks for the cause gets the figure
    of `answer_for`; an answer that speaks against it gets its background
    divided by the figure of `answer_against`; the rest is shared among the
    other answers in proportion to their background.
3.  *Several causes present.*  The rule of the question says how they act
    together: graded (noisy-MAX), ticks (a noisy-OR each), either-or (mixture).

In the graded and the ticked rule no cause can make an answer rarer than its
background: there a weight against works as the contrast with what the cause
would have shown, and a graded answer against a cause lifts the answers above
it.  The either-or rule takes weights against as they are.

All figures are judgements until counted cases replace them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diagnose.rulebook.model import AnswerRule, Question, Scale
from diagnose.rulebook.stand_in import STAND_IN

Array = NDArray[np.float64]
Index = NDArray[np.intp]

NONE_OF_THESE = "none-of-these"

TOP = 0.95
LEAST = 1e-6


@dataclass(frozen=True, slots=True)
class Figures:
    """The scale of a rule edition, asked by word."""

    scale: Scale

    def number(self, name: str) -> float:
        """Return a figure of `numbers`, or its documented default."""
        return float(self.scale.numbers.get(name, STAND_IN[name]))

    def prior(self, word: str) -> float:
        """Chance that a cause is present in an install, 0.0001 to 0.5."""
        return float(min(max(self.scale.how_common.words[word], 1e-4), 0.5))

    def link(self, word: str) -> float:
        """Chance that a cause alone, without the leak, gives a symptom."""
        return _inside(self.scale.link_strength.words[word])

    def answer_for(self, word: str) -> float:
        """Chance of an answer when only the cause it speaks for is present."""
        return _inside(self.scale.answer_for.words[word])

    def answer_against(self, word: str) -> float:
        """Divisor of the background for an answer that speaks against."""
        return float(max(self.scale.answer_against.words[word], 1.0))

    def check_backs(self, word: str) -> float:
        """Chance that the record deviates when the cause is present."""
        return _inside(self.scale.check_backs.words[word])

    def trust(self, provenance: str) -> float:
        """How far an entry of this provenance is believed, 0 to 1."""
        return float(min(max(self.scale.trust.words.get(provenance, 1.0), 0.0), 1.0))

    def damage_minutes(self, damage: str) -> float:
        """Minutes that damage to the floor is counted as."""
        return float(self.scale.damage_minutes.words.get(damage, 0.0))


def _inside(value: float) -> float:
    """Keep a chance off 0 and 1, which would make evidence impossible."""
    return float(min(max(value, 0.001), 0.99))


def background(question: Question, figures: Figures) -> Array:
    """Chances of "none of these" and of each listed answer, no cause present."""
    usual = sum(answer.usual for answer in question.answers)
    chances = [0.0]
    for answer in question.answers:
        if answer.usual:
            chances.append(figures.number("usual_background") / usual)
        elif "sighting" in answer.speaks_for.values():
            chances.append(figures.number("sighting_background"))
        else:
            chances.append(figures.number("background"))
    listed = np.array(chances)
    listed *= min(1.0, 0.97 / listed.sum())
    listed[0] = 1.0 - listed.sum()
    return listed


def speaks_for(question: Question, cause: str, figures: Figures) -> dict[int, float]:
    """Level of each answer that speaks for a cause, with its figure."""
    return {
        level: figures.answer_for(answer.speaks_for[cause])
        for level, answer in enumerate(question.answers, start=1)
        if cause in answer.speaks_for
    }


def speaks_against(question: Question, cause: str, figures: Figures) -> dict[int, float]:
    """Level of each answer that speaks against a cause, with its divisor."""
    return {
        level: figures.answer_against(answer.speaks_against[cause])
        for level, answer in enumerate(question.answers, start=1)
        if cause in answer.speaks_against
    }


def one_cause(
    base: Array, for_: Mapping[int, float], against: Mapping[int, float], rule: AnswerRule
) -> Array | None:
    """Chances of the answers when one cause alone is present.

    Returns None where the weights say nothing that the rule can express.
    """
    if not for_ and rule is AnswerRule.GRADED:
        return _lifted(base, against)
    chances = base.copy()
    fixed = np.zeros(len(base), dtype=bool)
    for level, divisor in against.items():
        chances[level], fixed[level] = base[level] / divisor, True
    scale = min(1.0, TOP / max(sum(for_.values()), TOP))
    for level, figure in for_.items():
        chances[level], fixed[level] = figure * scale, True
    rest = 1.0 - chances[fixed].sum()
    if rest < 0:
        chances[fixed] *= TOP / chances[fixed].sum()
        rest = 1.0 - TOP
    chances[~fixed] *= rest / chances[~fixed].sum()
    return chances


def _lifted(base: Array, against: Mapping[int, float]) -> Array | None:
    """Move what a graded answer loses to the answers above it, if there are any."""
    above = max(against, default=len(base)) + 1
    if above >= len(base):
        return None
    chances = base.copy()
    for level, divisor in against.items():
        chances[level] = base[level] / divisor
    chances[above:] *= 1.0 + (1.0 - chances.sum()) / chances[above:].sum()
    return chances


def graded_net(chances: Array, base: Array) -> Array:
    """Net cumulative chances c(x) of a cause in a noisy-MAX.

    The elicited figures include the background; dividing the cumulative
    chances takes it out (Diez 1993 calls the result net).  Where the quotient
    would exceed 1 or fall with x, the cause would make an answer rarer than
    its background; it is then cut to what the rule allows.
    """
    net = np.cumsum(chances) / np.cumsum(base)
    net = np.minimum.accumulate(net[::-1])[::-1]
    net = np.clip(net, LEAST, 1.0)
    net[-1] = 1.0
    return net


def tick_net(figure: float, base: float) -> float:
    """Chance that a cause alone does not bring about a tick, leak taken out."""
    return float(min(max((1.0 - figure) / (1.0 - base), LEAST), 1.0))
