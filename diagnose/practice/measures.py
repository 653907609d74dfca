"""Proper scores for stated beliefs, and the regret of a question.

References
----------
.. [1] Brier (1950) for the quadratic score; the logarithmic score after Good
   (1952); confidence marks 1/2/3 and 0/-2/-6 after Gardner-Medwin (2005).
   Read as restated in teaching pages.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence

AS_GOOD_AS = 0.95
"""A question with at least this share of the best one's worth counts as best."""

RIGHT_MARKS = {1: 1, 2: 2, 3: 3}
WRONG_MARKS = {1: 0, 2: -2, 3: -6}


def brier(probability: float, happened: bool) -> float:
    """Return the squared distance of a stated probability from what was the case.

    >>> round(brier(0.8, True), 3)
    0.04
    """
    return (probability - float(happened)) ** 2


def brier_over(beliefs: Mapping[str, float], truth: str) -> float:
    """Return the squared distance of beliefs over causes from the truth."""
    return sum((p - float(cause == truth)) ** 2 for cause, p in beliefs.items())


def surprise_bits(probability: float) -> float:
    """Return the logarithmic score in bits: 0 when certain and right.

    A probability of nought is counted as one in a thousand, as certainty can
    be typed by a slip.
    """
    return -math.log2(max(probability, 0.001))


def entropy_bits(chances: Iterable[float]) -> float:
    """Return the entropy of a distribution, in bits."""
    return -sum(p * math.log2(p) for p in chances if p > 0)


def regrets(per_minute: Sequence[float]) -> list[float]:
    """Return how much each choice falls short of the best one."""
    best = max(per_minute, default=0.0)
    return [best - each for each in per_minute]


def as_good_as(worth: float, best: float) -> bool:
    """Return whether a choice counts as the best one (within 5 %)."""
    return worth >= AS_GOOD_AS * best


def confidence_marks(right: bool, confidence: int) -> int:
    """Return the marks of a short question: right 1, 2, 3; wrong 0, -2, -6.

    Raises
    ------
    ValueError
        The confidence is not 1, 2 or 3.
    """
    if confidence not in RIGHT_MARKS:
        raise ValueError(f"confidence {confidence} is not 1, 2 or 3")
    return RIGHT_MARKS[confidence] if right else WRONG_MARKS[confidence]
