"""The chances without each item of evidence in turn, without starting anew each time.

What an item does to the odds is known from taking it in alone, so that leaving
it out is a subtraction; the factor or table it left behind does not hold then.
A part that an item does nothing to keeps its chances; all the items that do
something to a part are swept over it together.

Symptoms are apart: whether one was mentioned changes what silence about the
others means, so that they are taken in anew.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diagnose.engine.absorb import Absorbed, absorb
from diagnose.engine.evidence import Answered, CheckSaid, Evidence
from diagnose.engine.network import Network
from diagnose.engine.numbers import Array
from diagnose.engine.plan import Bit, Part, Step, parts, plan
from diagnose.engine.posterior import infer_chances
from diagnose.engine.sweep_rows import Rows, sweep_rows


@dataclass(frozen=True, eq=False, slots=True)
class _Each:
    """What is left of network and evidence without each item; the rows are the items."""

    log_odds: Array
    log_on: Array
    log_constant: Array
    lost: tuple[frozenset[str], ...]
    """Keys of the factors and tables that do not hold."""


@dataclass(frozen=True, eq=False, slots=True)
class Left:
    """What is believed without one item."""

    network: Network
    roots: Array
    """Chance of every cause and shared look."""
    log_evidence: float

    def of(self, cause: str) -> float:
        """Probability that a cause is present."""
        return float(self.roots[self.network.index[cause]])


def without_each(network: Network, items: Sequence[Evidence]) -> tuple[Left, ...]:
    """Return for each item what all the others leave, as inferred anew.

    Raises
    ------
    NotFoundError
        An item does not belong to the network.
    ImpossibleEvidenceError
        The items cannot all be true under the rules.
    """
    if not items:
        return ()
    state = absorb(network, items)
    found = parts(network, state)
    steps = [plan(network, state, part) for part in found]
    each = _each(network, items, state)
    alive = {variable for part in found for variable in part.mechanisms}
    still = [n for n in range(len(network.mechanisms)) if n + network.roots not in alive]
    guarded = any(part.set_aside for part in found)
    if guarded or np.any(each.log_on[:, still]) or not np.all(np.isfinite(each.log_odds)):
        return tuple(_anew(network, items, item) for item in items)
    chance = np.hstack([_chance(each.log_odds), np.zeros((len(items), len(network.mechanisms)))])
    log_evidence = each.log_constant + np.logaddexp(0.0, each.log_odds).sum(axis=1)
    for part, part_steps in zip(found, steps, strict=True):
        log_evidence += _part(network, state, each, part, part_steps, chance)
    return tuple(
        Left(network, row[: network.roots], float(log))
        for row, log in zip(chance, log_evidence, strict=True)
    )


def _anew(network: Network, items: Sequence[Evidence], without: Evidence) -> Left:
    posterior = infer_chances(network, [item for item in items if item.key != without.key])
    return Left(network, posterior.reached[: network.roots], posterior.log_evidence)


def _each(network: Network, items: Sequence[Evidence], state: Absorbed) -> _Each:
    """Take what each item did out of what all of them left."""
    symptoms = [item for item in items if not isinstance(item, Answered | CheckSaid)]
    nothing, of_symptoms = absorb(network, ()), absorb(network, symptoms)
    keys = _keys(state)
    log_odds = np.tile(state.log_odds, (len(items), 1))
    log_on = np.tile(state.log_on, (len(items), 1))
    log_constant = np.full(len(items), state.log_constant)
    lost = []
    for row, item in enumerate(items):
        if isinstance(item, Answered | CheckSaid):
            more, less = absorb(network, [item]), nothing
        else:
            more, less = of_symptoms, absorb(network, [s for s in symptoms if s.key != item.key])
        log_odds[row] -= more.log_odds - less.log_odds
        log_on[row] -= more.log_on - less.log_on
        log_constant[row] -= more.log_constant - less.log_constant
        lost.append((_keys(more) - _keys(less)) & keys)
    return _Each(log_odds, log_on, log_constant, tuple(lost))


def _keys(state: Absorbed) -> frozenset[str]:
    factors = frozenset(factor.key for factor in state.factors)
    return factors | {table.key for table in state.tables}


def _part(
    network: Network, state: Absorbed, each: _Each, part: Part, steps: Sequence[Step], chance: Array
) -> Array:
    """Write the chances of a part for each item; return its log evidence."""
    keys = [factor.key for factor in part.factors] + [table.key for table in part.tables]
    moved = _moved(network, state, each, part, keys)
    # The first row is that of all items: what every other item leaves as it was.
    whole = np.concatenate([[-1], np.flatnonzero(moved)])
    log_odds = np.vstack([state.log_odds, each.log_odds[moved]])
    log_on = np.vstack([state.log_on, each.log_on[moved]])
    rows = Rows(
        prior=_chance(log_odds).T,
        on={v: np.exp(log_on[:, v - network.roots]) for v in part.mechanisms},
        holds={
            key: np.array([n < 0 or key not in each.lost[n] for n in whole.tolist()])
            for key in keys
        },
    )
    factors: dict[Bit, str] = {("factor", n): f.key for n, f in enumerate(part.factors)}
    log_evidence, chances = sweep_rows(steps, rows, factors)
    for variable, found in chances.items():
        chance[:, variable] = found[0]
        chance[moved, variable] = found[1:]
    result = np.full(len(moved), log_evidence[0])
    result[moved] = log_evidence[1:]
    return result


def _moved(
    network: Network, state: Absorbed, each: _Each, part: Part, keys: Sequence[str]
) -> NDArray[np.bool_]:
    """Tell which items do anything to a part."""
    mechanisms = [v - network.roots for v in part.mechanisms]
    moved = (each.log_odds[:, part.causes] != state.log_odds[part.causes]).any(axis=1)
    moved |= (each.log_on[:, mechanisms] != state.log_on[mechanisms]).any(axis=1)
    moved |= [not lost.isdisjoint(keys) for lost in each.lost]
    return np.asarray(moved)


def _chance(log_odds: Array) -> Array:
    return np.asarray(1.0 / (1.0 + np.exp(-log_odds)))
