"""Exact chances of counts, and their adjustment where many are looked at (pure).

References
----------
.. [1] Fisher, "The Logic of Inductive Inference" (1935): the chance of a table
   of two by two with its margins held fixed.
.. [2] Benjamini and Hochberg, "Controlling the False Discovery Rate" (1995).
.. [3] Cochran (1954) and Mantel and Haenszel (1959): tables of several strata,
   each with its own margins held fixed.  From memory, to be verified.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence

EQUAL = 1e-9
"""Counts whose chances differ by less than this, in the logarithm, are equally likely."""


def exact_chance(a: int, b: int, c: int, d: int) -> float:
    """Return the two-sided exact chance of a table of two by two, margins held fixed.

    Summed are the chances of all tables that are no likelier than this one.

    Examples
    --------
    >>> round(exact_chance(3, 1, 1, 3), 6)
    0.485714
    """
    row, column, total = a + b, a + c, a + b + c + d
    low, high = max(0, row + column - total), min(row, column)
    base = _log_choose(total, column)
    logs = [
        _log_choose(row, k) + _log_choose(total - row, column - k) - base
        for k in range(low, high + 1)
    ]
    # Tables that are equally likely differ in the last digits of their logarithms.
    limit = logs[a - low] + EQUAL
    return min(1.0, math.fsum(math.exp(log) for log in logs if log <= limit))


def count_chance(count: int, chances: Iterable[float]) -> float:
    """Return the two-sided exact chance of a count of events, each with its own chance.

    Summed are the chances of all counts that are no likelier than this one.

    Examples
    --------
    >>> round(count_chance(2, [0.5, 0.5]), 6)
    0.5
    """
    import numpy as np

    spread = np.ones(1)
    for chance, number in sorted(Counter(chances).items()):
        spread = np.convolve(spread, _binomial(number, chance))
    limit = spread[count] * math.exp(EQUAL)
    return min(1.0, math.fsum(spread[spread <= limit]))


def _binomial(number: int, chance: float) -> list[float]:
    """Return the chance of each count from 0 to `number`."""
    if chance >= 1:
        return [0.0] * number + [1.0]
    if chance <= 0:
        return [1.0] + [0.0] * number
    yes, no = math.log(chance), math.log1p(-chance)
    return [
        math.exp(_log_choose(number, k) + k * yes + (number - k) * no) for k in range(number + 1)
    ]


def adjust(chances: Sequence[float]) -> list[float]:
    """Return chances adjusted for false discovery, in the same order.

    Examples
    --------
    >>> adjust([0.01, 0.04, 0.03])
    [0.03, 0.04, 0.04]
    """
    order = sorted(range(len(chances)), key=lambda index: chances[index], reverse=True)
    adjusted = [0.0] * len(chances)
    least = 1.0
    for place, index in enumerate(order):
        rank = len(chances) - place
        least = min(least, chances[index] * len(chances) / rank)
        adjusted[index] = least
    return adjusted


def _log_choose(n: int, k: int) -> float:
    return math.lgamma(n + 1) - math.lgamma(k + 1) - math.lgamma(n - k + 1)
