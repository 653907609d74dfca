"""Proper scores for stated beliefs, and the regret of a choice.

References
----------
.. [1] Brier (1950) for the quadratic score; the logarithmic score after Good
   (1952); confidence marks 1/2/3 and 0/-2/-6 after Gardner-Medwin (2005).
   Read as restated in teaching pages.
"""

from __future__ import annotations

import math

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


def surprise_bits(probability: float) -> float:
    """Return the logarithmic score in bits: 0 when certain and right.

    A probability of nought is counted as one in a thousand, as certainty can
    be typed by a slip.
    """
    return -math.log2(max(probability, 0.001))


def regret(own: float, best: float) -> float:
    """Return by how much a choice falls short of the best one."""
    return max(0.0, best - own)


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
