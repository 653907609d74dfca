"""Exact chances of what is supposed on top of the evidence, many at a time.

A symptom that is absent multiplies the odds of each of its causes, so that
supposing it costs no new plan: the engine's plan of the evidence is run once
with one row for every supposition.  Only the forward half of the sweep is
needed.

References
----------
.. [1] The steps are those of `diagnose.engine.plan`.  A factor that its width
   guard sets aside, 1 - L * prod r, is put back exactly as the difference of
   two sums.  Checked against the engine's own evidence items in the tests.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.engine.absorb import Absorbed, absorb
from diagnose.engine.evidence import Evidence
from diagnose.engine.network import Network
from diagnose.engine.numbers import Array
from diagnose.engine.plan import (
    Bit,
    CloseFactor,
    CloseMechanism,
    CloseTable,
    OpenBit,
    Part,
    Step,
    TakeCause,
    parts,
    plan,
)
from diagnose.errors import ImpossibleEvidenceError, NotFoundError


@dataclass(frozen=True, slots=True)
class Supposed:
    """These symptoms and these causes are all absent; empty supposes nothing."""

    symptoms: tuple[str, ...] = ()
    causes: frozenset[str] = frozenset()


def chances(
    network: Network, evidence: Iterable[Evidence], supposed: Sequence[Supposed]
) -> tuple[float, Array]:
    """Return the log chance of the evidence and, given it, the chance of each supposition.

    `evidence` may say nothing of a symptom that is supposed absent.

    Raises
    ------
    NotFoundError
        The evidence or a supposition names what the network does not have.
    ImpossibleEvidenceError
        The evidence cannot be true under the rules.
    """
    items = tuple(evidence)
    said = {item.key for item in items}
    for each in supposed:
        for symptom in each.symptoms:
            if f"symptom:{symptom}" in said or "not-mentioned" in said:
                raise NotFoundError(f"the evidence already speaks of symptom {symptom}")
    state = absorb(network, items)
    log_odds, log_constant = _rows(network, state, (Supposed(), *supposed))
    log_joint = log_constant + np.logaddexp(0.0, log_odds).sum(axis=1)
    for part in parts(network, state):
        if part.factors or part.tables or part.mechanisms:
            log_joint += _log_part(network, state, part, log_odds)
    if not np.isfinite(log_joint[0]):
        raise ImpossibleEvidenceError("what is recorded cannot happen under the rules")
    return float(log_joint[0]), np.exp(log_joint[1:] - log_joint[0])


def _rows(network: Network, state: Absorbed, supposed: Sequence[Supposed]) -> tuple[Array, Array]:
    """Return the log odds of the causes (columns) and the constant for each supposition."""
    log_odds = np.tile(state.log_odds, (len(supposed), 1))
    log_constant = np.full(len(supposed), state.log_constant)
    for row, each in enumerate(supposed):
        for symptom in each.symptoms:
            if symptom not in network.symptoms:
                raise NotFoundError(f"symptom {symptom} does not apply to this floor")
            finding = network.symptoms[symptom]
            log_constant[row] += math.log(finding.base[0])
            log_odds[row, finding.parents] += np.log(finding.net[:, 0])
        for cause in each.causes:
            if cause not in network.index:
                raise NotFoundError(f"cause {cause} does not apply to this floor")
            log_odds[row, network.index[cause]] = -np.inf
    return log_odds, log_constant


def _log_part(network: Network, state: Absorbed, part: Part, log_odds: Array) -> Array:
    """Return the log of the sum over one part for each row; alike rows are summed once."""
    steps = plan(network, state, part)
    with np.errstate(over="ignore"):
        present = 1.0 / (1.0 + np.exp(-log_odds[:, part.causes]))
    alike, where = np.unique(present, axis=0, return_inverse=True)
    total = np.zeros(len(alike))
    for sign, ratio in _signed(part):
        weights = _Weights(part, alike, ratio, network.roots)
        total += sign * _forward(steps, weights)
    with np.errstate(divide="ignore"):
        return np.asarray(np.log(np.maximum(total, 0.0))[where.ravel()])


def _signed(part: Part) -> list[tuple[float, dict[int, float]]]:
    """Write out the product of the factors set aside: sign and ratios of each term."""
    terms: list[tuple[float, dict[int, float]]] = [(1.0, {})]
    for factor in part.set_aside:
        more = []
        for sign, ratio in terms:
            both = {v: ratio.get(v, 1.0) * factor.r.get(v, 1.0) for v in {*ratio, *factor.r}}
            more.append((-sign * factor.leak, both))
        terms += more
    return terms


class _Weights:
    """Weight of each variable's being absent and present, one row a supposition."""

    def __init__(self, part: Part, present: Array, ratio: dict[int, float], roots: int) -> None:
        column = {variable: number for number, variable in enumerate(part.causes)}
        self.count = len(present)
        self.off = {v: 1.0 - present[:, n] for v, n in column.items()}
        self.on = {v: present[:, n] * ratio.get(v, 1.0) for v, n in column.items()}
        self.works = {v: ratio.get(v, 1.0) for v in part.mechanisms if v >= roots}


def _forward(steps: Sequence[Step], weights: _Weights) -> Array:
    """Run the steps for all rows together and return the sum of each."""
    values: Array = np.ones(weights.count)
    bits: list[Bit] = []
    for step in steps:
        match step:
            case OpenBit(bit, off):
                values = values[..., None] * np.array([off, 1.0 - off])
                bits.append(bit)
            case TakeCause(variable, r):
                shape = (-1, *(1,) * len(bits))
                on = values
                for bit, stays_off in r.items():
                    on = _switched(on, 1 + bits.index(bit), stays_off)
                off_weight = weights.off[variable].reshape(shape)
                values = off_weight * values + weights.on[variable].reshape(shape) * on
            case CloseFactor(bit):
                values = _at(values, 1 + bits.index(bit), 1)
                bits.remove(bit)
            case CloseMechanism(bit, weight, r):
                axis = 1 + bits.index(bit)
                bits.remove(bit)
                on = _at(values, axis, 1) * (weight * weights.works[bit[1]])
                for other, stays_off in r.items():
                    on = _switched(on, 1 + bits.index(other), stays_off)
                values = _at(values, axis, 0) + on
            case CloseTable(gone, table):
                rest = [bit for bit in bits if bit not in gone]
                order = [0, *(1 + bits.index(bit) for bit in (*rest, *gone))]
                lined = values.transpose(order).reshape(-1, table.values.size)
                values = (lined @ table.values.ravel()).reshape(-1, *(2,) * len(rest))
                bits = rest
    return values


def _at(values: Array, axis: int, state: int) -> Array:
    return np.asarray(values.take(state, axis=axis), dtype=np.float64)


def _switched(values: Array, axis: int, stays_off: float) -> Array:
    """Let a present variable switch a bit on: new(0) = r old(0), the rest goes to 1."""
    halves = values.reshape(math.prod(values.shape[:axis]), 2, -1)
    new = halves.copy()
    new[:, 0] *= stays_off
    new[:, 1] += halves[:, 0] * (1.0 - stays_off)
    return new.reshape(values.shape)
