"""Chances of every answer of every question, for each listed set of causes.

The questions of a network are laid out once as columns (one a level of a
finding); for a posterior the chances of all columns are one matrix product.
Causes outside the listed sets are independent and are summed out exactly; a
mechanism that no evidence reached is summed out for each set.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from diagnose.engine.explanations import Sets
from diagnose.engine.network import Finding, Network
from diagnose.engine.numbers import Array, Index
from diagnose.engine.posterior import Posterior

MOST_SETS_RANKED = 600


@dataclass(frozen=True, eq=False, slots=True)
class Layout:
    """All product-rule findings of the questions side by side.

    `entry_*` are the parents that tell: variable, column and log net chance.
    """

    keys: tuple[str, ...]
    starts: Index
    """First column of each finding."""
    log_base: Array
    entry_variable: Index
    entry_column: Index
    entry_log: Array
    dense: Array
    """(variables, columns) log net chances, 0 where a variable is no parent."""
    tells: NDArray[np.bool_]
    """Where `dense` is not 0."""
    finding: Index
    """Number of the finding that each column belongs to."""
    place: Mapping[str, int]


@lru_cache(maxsize=8)
def layout(network: Network) -> Layout:
    """Lay out the questions of a network; kept for the networks used last."""
    findings = [
        finding
        for question in network.questions.values()
        for finding in question.findings
        if not finding.mixture
    ]
    starts, column = [], 0
    variables, columns, logs, bases = [], [], [], []
    for finding in findings:
        levels = len(finding.base)
        starts.append(column)
        bases.append(np.log(finding.base))
        rows, cols = np.nonzero(finding.net < 1.0)
        variables.append(finding.parents[rows])
        columns.append(cols + column)
        logs.append(np.log(finding.net[rows, cols]))
        column += levels
    entry_variable = np.concatenate(variables) if variables else np.zeros(0, dtype=np.intp)
    entry_column = np.concatenate(columns) if columns else np.zeros(0, dtype=np.intp)
    entry_log = np.concatenate(logs) if logs else np.zeros(0)
    dense = np.zeros((network.size, column))
    dense[entry_variable, entry_column] = entry_log
    return Layout(
        keys=tuple(finding.key for finding in findings),
        starts=np.array(starts, dtype=np.intp),
        log_base=np.concatenate(bases) if bases else np.zeros(0),
        entry_variable=entry_variable,
        entry_column=entry_column,
        entry_log=entry_log,
        dense=dense,
        tells=dense != 0.0,
        finding=np.repeat(np.arange(len(findings)), [len(f.base) for f in findings]),
        place={finding.key: number for number, finding in enumerate(findings)},
    )


@dataclass(frozen=True, eq=False, slots=True)
class AnswerChances:
    """Chance of each level of each finding given each set (rows).

    Findings that come out alike whatever the set are kept apart, with one row.
    """

    sets: Sets
    mass: Array
    """Of the sets used, adding up to 1."""
    levels: Array
    """(sets, columns that differ between sets)."""
    columns: Index
    """Which columns of the layout those are; whole findings, in order."""
    alike: Array
    """Chances of all columns of the layout, right where they do not differ."""
    laid: Layout
    posterior: Posterior

    def mixture(self, finding: Finding) -> Array:
        """Return (sets, levels) of an either-or finding."""
        return _mixture(self.posterior, self.sets, len(self.mass), finding)


def answer_chances(posterior: Posterior) -> AnswerChances:
    """Return the chances of all answers given each of the likeliest sets."""
    network, sets = posterior.network, posterior.sets
    laid = layout(network)
    count = min(len(sets.mass), MOST_SETS_RANKED)
    listed = np.zeros(network.size, dtype=bool)
    listed[list(sets.variables)] = True
    variables = np.array(sets.variables, dtype=np.intp)
    varies = np.asarray(laid.tells[variables].any(axis=0))
    alike = laid.log_base.copy()
    outside = ~listed & (np.arange(network.size) < network.roots)
    chosen = outside[laid.entry_variable]
    chance = posterior.chance[laid.entry_variable[chosen]]
    summed_out = np.log1p(chance * np.expm1(laid.entry_log[chosen]))
    alike += np.bincount(laid.entry_column[chosen], summed_out, minlength=len(alike))
    unreached = [
        number + network.roots
        for number in range(len(network.mechanisms))
        if not listed[number + network.roots]
    ]
    for variable in unreached:
        if listed[network.mechanisms[variable - network.roots].parents].any():
            varies |= laid.tells[variable]
    if len(varies):
        varies = np.bincount(laid.finding, varies)[laid.finding] > 0
    columns = np.flatnonzero(varies)
    present = sets.present[:count].astype(np.float64)
    dense = laid.dense[np.ix_(variables, columns)]
    cumulative = np.exp(present @ dense + alike[columns])
    single = np.exp(alike)
    at = np.zeros(len(alike), dtype=np.intp)
    at[columns] = np.arange(len(columns))
    for variable in unreached:
        node = network.mechanisms[variable - network.roots]
        off = _off(posterior, node.parents, node.off, node.leak_off, count)
        driven = np.flatnonzero(laid.tells[variable])
        net = np.exp(laid.dense[variable, driven])
        moving = varies[driven]
        factor = off[:, None] + (1.0 - off)[:, None] * net[moving]
        cumulative[:, at[driven[moving]]] *= factor
        single[driven[~moving]] *= off[0] + (1.0 - off[0]) * net[~moving]
    levels = cumulative.copy()
    first = laid.starts[varies[laid.starts]]
    np.subtract(cumulative[:, 1:], cumulative[:, :-1], out=levels[:, 1:])
    levels[:, at[first]] = cumulative[:, at[first]]
    np.maximum(levels, 0.0, out=levels)
    alone = np.diff(single, prepend=0.0)
    alone[laid.starts] = single[laid.starts]
    mass = sets.mass[:count] / sets.mass[:count].sum()
    return AnswerChances(sets, mass, levels, columns, np.maximum(alone, 0.0), laid, posterior)


def _off(posterior: Posterior, parents: Index, off: Array, leak_off: float, count: int) -> Array:
    """Chance, for each set, that an unreached mechanism is off."""
    sets = posterior.sets
    column = {variable: number for number, variable in enumerate(sets.variables)}
    result = np.full(count, leak_off)
    for parent, stays_off in zip(parents, off, strict=True):
        if int(parent) in column:
            result[sets.present[:count, column[int(parent)]]] *= stays_off
        else:
            result *= 1.0 - posterior.chance[parent] * (1.0 - stays_off)
    return result


def _mixture(posterior: Posterior, sets: Sets, count: int, finding: Finding) -> Array:
    """Either-or answers: average over the causes present, others summed out."""
    column = {variable: number for number, variable in enumerate(sets.variables)}
    inside = [j for j, v in enumerate(finding.parents) if int(v) in column]
    outside = [j for j, v in enumerate(finding.parents) if int(v) not in column]
    present = (
        np.stack([sets.present[:count, column[int(finding.parents[j])]] for j in inside], axis=1)
        if inside
        else np.zeros((count, 0), dtype=bool)
    )
    chances = np.zeros((count, len(finding.base)))
    for state in itertools.product([False, True], repeat=len(outside)):
        weight, extra, number = 1.0, np.zeros(len(finding.base)), 0
        for j, on in zip(outside, state, strict=True):
            p = float(posterior.chance[finding.parents[j]])
            weight *= p if on else 1.0 - p
            extra = extra + finding.net[j] * on
            number += on
        total = present.astype(np.float64) @ finding.net[inside] + extra
        causes = present.sum(axis=1) + number
        some = total / np.maximum(causes, 1)[:, None]
        chances += weight * np.where(causes[:, None] > 0, some, finding.base)
    return chances
