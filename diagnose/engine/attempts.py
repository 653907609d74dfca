"""In which order to try remedies or decisive checks when one thing is wrong.

Each attempt has a chance that it is the right one and a cost.  With one fault
and costs that do not depend on the order, trying by chance over cost is the
cheapest order there is.

References
----------
.. [1] Kadane, Simon (1977), Annals of Statistics 5, 237-255.  Read as a statement
   in later abstracts; held against all orders in the tests.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Attempt:
    """Something that can be tried, once."""

    name: str
    chance: float
    """Probability that this is what is wrong."""
    cost: float


def cheapest_order(attempts: Sequence[Attempt]) -> tuple[Attempt, ...]:
    """Return the order that costs least on average; equals stay in the order given."""
    return tuple(sorted(attempts, key=lambda each: -each.chance / max(each.cost, 1e-12)))


def expected_cost(order: Sequence[Attempt]) -> float:
    """Return the mean cost of trying in this order until the right one is found.

    Where the chances add up to less than 1, the rest pays for every attempt.
    """
    total, left = 0.0, 1.0
    for attempt in order:
        total += left * attempt.cost
        left -= attempt.chance
    return total
