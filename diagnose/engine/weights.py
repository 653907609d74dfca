"""How much each item of evidence weighs for a cause or an explanation.

Two weights are kept.  The *sequential* ones add up exactly to posterior minus
prior log odds, so that the trail closes; the *leave-one-out* one compares the
odds with all evidence to the odds without the item, so that it does not depend
on the order.  Both are log10 likelihood ratios: 1 means ten times.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from diagnose.engine.evidence import Evidence
from diagnose.engine.network import Network
from diagnose.engine.posterior import Posterior, infer_chances

Chance = Callable[[Posterior], float]
"""What is weighed: the probability of a cause or of an explanation."""


@dataclass(frozen=True, slots=True)
class Weight:
    """Weight of one item, as log10 of a likelihood ratio."""

    key: str
    item: Evidence
    log10: float


def chance_of(cause: str) -> Chance:
    """Return the function that reads the probability of one cause."""
    return lambda posterior: posterior.of(cause)


def sequential(network: Network, evidence: Sequence[Evidence], chance: Chance) -> list[Weight]:
    """Return the weight of each item when taken one after the other."""
    before = _log10_odds(chance(infer_chances(network, ())))
    weights = []
    for number, item in enumerate(evidence, start=1):
        after = _log10_odds(chance(infer_chances(network, evidence[:number])))
        weights.append(Weight(item.key, item, after - before))
        before = after
    return weights


@dataclass(frozen=True, slots=True)
class LeaveOneOut:
    """The posterior with all evidence, and without each item in turn."""

    whole: Posterior
    rest: tuple[tuple[Evidence, Posterior], ...]

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
    """Infer once without each item; `whole` is the posterior with all of them."""
    items = list(evidence)
    rest = tuple(
        (item, infer_chances(network, [other for other in items if other.key != item.key]))
        for item in items
    )
    return LeaveOneOut(whole, rest)


def _log10_odds(probability: float) -> float:
    p = min(max(probability, 1e-300), 1.0 - 1e-16)
    return math.log10(p) - math.log10(1.0 - p)
