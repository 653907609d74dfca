"""How much each item of evidence weighs for a cause or an explanation.

The weight compares the odds with all evidence to the odds without the item, so
that it does not depend on an order.  It is a log10 likelihood ratio: 1 means
ten times.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Protocol

from diagnose.engine.evidence import Evidence
from diagnose.engine.left_out import Left, without_each
from diagnose.engine.network import Network
from diagnose.engine.posterior import Posterior


class Believed(Protocol):
    """Anything that tells how likely a cause is."""

    def of(self, cause: str) -> float:
        """Probability that a cause is present."""


Chance = Callable[[Believed], float]
"""What is weighed: the probability of a cause, say."""


@dataclass(frozen=True, slots=True)
class Weight:
    """Weight of one item, as log10 of a likelihood ratio."""

    key: str
    item: Evidence
    log10: float


def chance_of(cause: str) -> Chance:
    """Return the function that reads the probability of one cause."""
    return lambda posterior: posterior.of(cause)


@dataclass(frozen=True, slots=True)
class LeaveOneOut:
    """The posterior with all evidence, and what is left without each item in turn."""

    whole: Posterior
    rest: tuple[tuple[Evidence, Left], ...]

    def weights(self, chance: Chance) -> list[Weight]:
        """Return each item's weight given all the others, the weightiest first."""
        full = _log10_odds(chance(self.whole))
        found = [
            Weight(item.key, item, full - _log10_odds(chance(without)))
            for item, without in self.rest
        ]
        return sorted(found, key=lambda weight: (-abs(weight.log10), weight.key))


def leave_one_out(
    network: Network, evidence: Iterable[Evidence], *, whole: Posterior
) -> LeaveOneOut:
    """Return the chances without each item; `whole` is the posterior with all of them."""
    items = list(evidence)
    return LeaveOneOut(whole, tuple(zip(items, without_each(network, items), strict=True)))


def _log10_odds(probability: float) -> float:
    p = min(max(probability, 1e-300), 1.0 - 1e-16)
    return math.log10(p) - math.log10(1.0 - p)
