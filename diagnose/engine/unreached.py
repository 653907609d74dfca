"""Chances of the mechanisms that no evidence reached, worked out when asked for.

Such a mechanism tells nothing about its causes, so that it does not couple
them; but its causes may well be coupled.  It stays off with the chance
leak * prod of off over those of its causes that are present.  The mean of that
product over a part is the evidence that the part would give if each cause's
being there weighed so much less, over the evidence that it gives: sums without
a list of sets, so that nothing is left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from diagnose.engine.explanations import Sets
from diagnose.engine.network import Network
from diagnose.engine.numbers import Array
from diagnose.engine.plan import Part, Step
from diagnose.engine.sweep_rows import Rows, log_evidence_rows


@dataclass(frozen=True, eq=False, slots=True)
class SweptPart:
    """A part as it was swept, and the evidence that it gave."""

    part: Part
    steps: Sequence[Step]
    log_evidence: float


@dataclass(eq=False, slots=True)
class Unreached:
    """What is needed to work the chances out."""

    network: Network
    prior: Array
    """Of the variables without parents, what single causes say taken in."""
    log_on: Array
    swept: list[SweptPart] = field(default_factory=list)
    listed: list[tuple[Part, Sets]] = field(default_factory=list)
    """Parts of which only a list of sets is known."""

    def completed(self, reached: Array) -> Array:
        """Return the chances with those of the unreached mechanisms filled in."""
        network, chance = self.network, reached.copy()
        there = {v for each in self.swept for v in each.part.mechanisms}
        there |= {v for part, _ in self.listed for v in part.mechanisms}
        nodes = {
            number + network.roots: node
            for number, node in enumerate(network.mechanisms)
            if number + network.roots not in there
        }
        drives = {
            variable: dict(zip(node.parents.tolist(), node.off.tolist(), strict=True))
            for variable, node in nodes.items()
        }
        off = np.array([node.leak_off for node in nodes.values()])
        coupled: set[int] = set()
        for each in self.swept:
            if each.part.factors or each.part.tables or each.part.mechanisms:
                coupled |= set(each.part.causes)
                off *= self._mean_off(each, list(drives.values()))
        for part, sets in self.listed:
            coupled |= set(part.causes)
            logs = [
                [np.log(driven.get(v, 1.0)) for driven in drives.values()] for v in sets.variables
            ]
            off *= sets.mean(np.array(logs))
        for number, driven in enumerate(drives.values()):
            for cause, factor in driven.items():
                if cause not in coupled:
                    off[number] *= 1.0 - chance[cause] * (1.0 - factor)
        chance[list(drives)] = 1.0 - off
        return chance

    def _mean_off(self, swept: SweptPart, drives: Sequence[dict[int, float]]) -> Array:
        """Mean of what the causes of one part leave of each mechanism's being off."""
        inside = set(swept.part.causes)
        mean = np.ones(len(drives))
        acts = [n for n, driven in enumerate(drives) if not inside.isdisjoint(driven)]
        if not acts:
            return mean
        prior = np.tile(self.prior[:, None], len(acts))
        log_weight = np.zeros(len(acts))
        for row, number in enumerate(acts):
            for cause in inside & drives[number].keys():
                p, stays_off = float(self.prior[cause]), drives[number][cause]
                left = 1.0 - p * (1.0 - stays_off)
                prior[cause, row] = p * stays_off / left
                log_weight[row] += np.log(left)
        on = {
            v: np.full(len(acts), np.exp(self.log_on[v - self.network.roots]))
            for v in swept.part.mechanisms
        }
        log_evidence = log_evidence_rows(swept.steps, Rows(prior, on, {}))
        mean[acts] = np.exp(log_evidence + log_weight - swept.log_evidence)
        return mean
