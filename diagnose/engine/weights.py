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
from diagnose.engine.posterior import Posterior, infer

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
    before = _log10_odds(chance(infer(network, ())))
    weights = []
    for number, item in enumerate(evidence, start=1):
        after = _log10_odds(chance(infer(network, evidence[:number])))
        weights.append(Weight(item.key, item, after - before))
        before = after
    return weights


def leave_one_out(
    network: Network, evidence: Iterable[Evidence], chance: Chance, *, whole: Posterior
) -> list[Weight]:
    """Return each item's weight given all the others, the weightiest first.

    `whole` is the posterior with all of the evidence.
    """
    items = list(evidence)
    full = _log10_odds(chance(whole))
    weights = []
    for item in items:
        rest = infer(network, [other for other in items if other is not item])
        weights.append(Weight(item.key, item, full - _log10_odds(chance(rest))))
    return sorted(weights, key=lambda weight: (-abs(weight.log10), weight.key))


def _log10_odds(probability: float) -> float:
    p = min(max(probability, 1e-300), 1.0 - 1e-16)
    return math.log10(p) - math.log10(1.0 - p)
