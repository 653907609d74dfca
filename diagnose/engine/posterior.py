"""What the evidence makes of a network: causes, explanations, left-out mass.

An *explanation* is the set of those causes present that could have given a
symptom of the complaint; which causes these are is fixed when the complaint is
taken, so that the target does not move while answers come in.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from diagnose.engine.absorb import Absorbed, Factor, absorb
from diagnose.engine.evidence import Evidence
from diagnose.engine.explanations import Sets, explanations, merged
from diagnose.engine.network import Network
from diagnose.engine.numbers import Array
from diagnose.engine.plan import Part, parts, plan, told_apart
from diagnose.engine.sweep import sweep
from diagnose.engine.unreached import SweptPart, Unreached

DELTA = 0.01
_GUARD_SWEEPS, _LISTED_WELL = 3, 0.05


@dataclass(frozen=True, slots=True)
class Explanation:
    """A set of causes and its probability; the empty set is "none of these"."""

    causes: tuple[str, ...]
    probability: float


@dataclass(frozen=True, eq=False)
class Posterior:
    """What is believed of one floor after some evidence."""

    network: Network
    reached: Array
    """Chance of every cause, shared look and mechanism; 0 for a mechanism that no evidence
    reached."""
    unreached: Unreached
    log_evidence: float
    sets: Sets
    """Sets of the variables coupled to a cause that an explanation is made of."""
    apart: tuple[Sets, ...]
    """Sets of each other part of coupled variables, independent of all the rest."""
    cut: float
    """Mass of the sets that are not listed."""
    exact: bool
    """False where the width guard left a factor out of the chances."""

    @cached_property
    def chance(self) -> Array:
        """Chance of every variable: causes, shared looks, all mechanisms."""
        return self.unreached.completed(self.reached)

    @cached_property
    def explanations(self) -> tuple[Explanation, ...]:
        """All that are listed, likeliest first; they add up to 1 - cut."""
        return _explained(self.network, self.sets)

    @cached_property
    def leading(self) -> Explanation:
        """The likeliest explanation."""
        return _explained(self.network, self.sets, most=1)[0]

    def of(self, cause: str) -> float:
        """Probability that a cause is present."""
        return float(self.reached[self.network.index[cause]])

    def causes(self) -> Mapping[str, float]:
        """Probability of each cause, most likely first."""
        chances = {cause: self.of(cause) for cause in self.network.causes}
        return dict(sorted(chances.items(), key=lambda item: -item[1]))


def infer(network: Network, evidence: Iterable[Evidence], *, delta: float = DELTA) -> Posterior:
    """Return the exact posterior of the causes and the likeliest explanations.

    Raises
    ------
    NotFoundError
        An item does not belong to the network.
    ImpossibleEvidenceError
        The items cannot all be true under the rules.
    """
    state = absorb(network, evidence)
    prior = 1.0 / (1.0 + np.exp(-state.log_odds))
    chance = np.concatenate([prior, np.zeros(len(network.mechanisms))])
    log_evidence = state.log_constant + float(np.logaddexp(0.0, state.log_odds).sum())
    lists: list[Sets] = []
    apart: list[Sets] = []
    exact = True
    found = parts(network, state)
    unreached = Unreached(network, prior, state.log_on)
    explaining = [not network.candidates.isdisjoint(part.causes) for part in found]
    for part, explains in zip(found, explaining, strict=True):
        allowed = delta / 2 / sum(explaining) if explains else delta / 10
        log_part, sets = _part(network, state, part, prior, chance, allowed, unreached)
        log_evidence += log_part
        exact = exact and not part.set_aside
        if explains:
            lists.append(sets)
        elif sets.variables:
            apart.append(sets)
    sets = merged(lists, delta=delta / 2)
    return Posterior(
        network=network,
        reached=chance,
        unreached=unreached,
        log_evidence=log_evidence,
        sets=sets,
        apart=tuple(apart),
        cut=sets.cut,
        exact=exact,
    )


def infer_chances(network: Network, evidence: Iterable[Evidence]) -> Posterior:
    """Return the chances alone, without listing explanations: much quicker.

    `sets` and `explanations` are empty, `cut` is 1.
    """
    evidence = tuple(evidence)
    state = absorb(network, evidence)
    prior = 1.0 / (1.0 + np.exp(-state.log_odds))
    chance = np.concatenate([prior, np.zeros(len(network.mechanisms))])
    log_evidence = state.log_constant + float(np.logaddexp(0.0, state.log_odds).sum())
    unreached = Unreached(network, prior, state.log_on)
    for part in parts(network, state):
        steps = plan(network, state, part)
        if part.set_aside:
            return infer(network, evidence)
        swept = sweep(steps, prior)
        unreached.swept.append(SweptPart(part, steps, swept.log_evidence))
        log_evidence += swept.log_evidence
        for variable, probability in swept.chance.items():
            chance[variable] = probability
    none = Sets((), np.zeros((0, 0), dtype=bool), np.zeros(0), 1.0)
    return Posterior(network, chance, unreached, log_evidence, none, (), 1.0, True)


def _part(
    network: Network,
    state: Absorbed,
    part: Part,
    prior: Array,
    chance: Array,
    delta: float,
    unreached: Unreached,
) -> tuple[float, Sets]:
    """Sweep one part; write its chances into `chance`."""
    steps = plan(network, state, part)
    if part.set_aside:
        log_part, sets = _guarded(network, state, part, chance, delta)
        unreached.listed.append((part, sets))
        return log_part, sets
    swept = sweep(steps, prior)
    unreached.swept.append(SweptPart(part, steps, swept.log_evidence))
    for variable, probability in swept.chance.items():
        chance[variable] = probability
    kept = told_apart(network, part, swept.chance)
    return swept.log_evidence, explanations(steps, prior, swept, delta=delta, kept=kept)


def _guarded(
    network: Network, state: Absorbed, part: Part, chance: Array, delta: float
) -> tuple[float, Sets]:
    """Sweep without the factors set aside, then put them back on every set.

    In the messages each such factor stands as a product of single-cause ratios,
    taken with the other causes at the chances of the sweep before; every listed
    set gets its exact weight back, and the chances are those of the list unless
    it leaves too much out.
    """
    again = Part(part.causes, part.mechanisms, part.factors, part.tables)
    ratios: list[dict[int, float]] = [{} for _ in part.set_aside]
    for _ in range(_GUARD_SWEEPS):
        stand_in = Absorbed(state.log_odds.copy(), state.log_on.copy())
        for ratio in ratios:
            for variable, log_ratio in ratio.items():
                if variable < network.roots:
                    stand_in.log_odds[variable] += log_ratio
                else:
                    stand_in.log_on[variable - network.roots] += log_ratio
        prior = 1.0 / (1.0 + np.exp(-stand_in.log_odds))
        steps = plan(network, stand_in, again)
        swept = sweep(steps, prior)
        used = ratios
        ratios = [_ratios(factor, swept.chance) for factor in part.set_aside]
    sets = explanations(steps, prior, swept, delta=delta)
    log_weight = np.log(np.maximum(sets.mass, 1e-300))
    for factor, ratio in zip(part.set_aside, used, strict=True):
        off = np.zeros(len(sets.mass))
        for column, variable in enumerate(sets.variables):
            if variable in factor.r:
                off += sets.present[:, column] * math.log(factor.r[variable])
                log_weight -= sets.present[:, column] * ratio[variable]
        log_weight += np.log1p(-factor.leak * np.exp(off))
    weight = np.exp(log_weight)
    total = float(weight.sum())
    mass = weight / total * (1.0 - sets.cut)
    order = np.argsort(-mass, kind="stable")
    sets = Sets(sets.variables, sets.present[order], mass[order], sets.cut)
    for column, variable in enumerate(sets.variables):
        if sets.cut <= _LISTED_WELL:
            chance[variable] = float(sets.mass @ sets.present[:, column]) / float(sets.mass.sum())
        else:
            chance[variable] = swept.chance[variable]
    shift = np.logaddexp(0.0, stand_in.log_odds) - np.logaddexp(0.0, state.log_odds)
    listed = math.log(total) - math.log1p(-sets.cut)
    return swept.log_evidence + listed + float(shift.sum()), sets


def _ratios(factor: Factor, chance: Mapping[int, float]) -> dict[int, float]:
    """Log ratio of a factor with each cause present and absent, the others at their chances."""
    mean = {v: 1.0 - chance.get(v, 0.0) * (1.0 - r) for v, r in factor.r.items()}
    whole = factor.leak * math.prod(mean.values())
    return {
        v: math.log1p(-whole / mean[v] * r) - math.log1p(-whole / mean[v])
        for v, r in factor.r.items()
    }


def _explained(network: Network, sets: Sets, *, most: int | None = None) -> tuple[Explanation, ...]:
    """Sum the sets over everything but the causes an explanation is made of.

    Equal chances stand in the order of the causes' names.
    """
    among = [j for j, variable in enumerate(sets.variables) if variable in network.candidates]
    among.sort(key=lambda j: network.causes[sets.variables[j]])
    labels, count = sets.grouped(network.candidates)
    summed = np.bincount(labels, sets.mass, minlength=count)
    _, first = np.unique(labels, return_index=True)
    if most is not None:
        best = np.flatnonzero(summed >= np.sort(summed)[-most])
        first, summed = first[best], summed[best]
    names = [network.causes[sets.variables[j]] for j in among]
    members: list[list[str]] = [[] for _ in range(len(first))]
    for row, column in np.argwhere(sets.present[first][:, among]).tolist():
        members[row].append(names[column])
    found = [Explanation(tuple(m), p) for m, p in zip(members, summed.tolist(), strict=True)]
    return tuple(sorted(found, key=lambda each: (-each.probability, each.causes)))
