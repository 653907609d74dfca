"""Chances of every answer of every question, for each listed set of causes.

The questions of a network are laid out once as columns (one a level of a
finding); for a posterior the chances of all columns are one matrix product.
Causes outside the listed sets are independent and are summed out exactly, also
where they act both directly and through mechanisms that no evidence reached.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diagnose.engine.either_or import either_or_chances
from diagnose.engine.explanations import Sets
from diagnose.engine.layout import Layout, layout
from diagnose.engine.network import Finding
from diagnose.engine.numbers import Array, Index
from diagnose.engine.posterior import Posterior

MOST_SETS_RANKED = 600


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
        return either_or_chances(self.posterior, len(self.mass), finding)


def answer_chances(posterior: Posterior) -> AnswerChances:
    """Return the chances of all answers given each of the likeliest sets."""
    return _Summed(posterior, layout(posterior.network)).chances()


class _Summed:
    """Sums causes outside the sets, and mechanisms no evidence reached, out of the answers."""

    def __init__(self, posterior: Posterior, laid: Layout) -> None:
        self.posterior, self.laid, self.sets = posterior, laid, posterior.sets
        network = posterior.network
        self.count = min(len(self.sets.mass), MOST_SETS_RANKED)
        self.listed = np.array(self.sets.variables, dtype=np.intp)
        inside = np.zeros(network.size, dtype=bool)
        inside[self.listed] = True
        self.outside = ~inside & (np.arange(network.size) < network.roots)
        self.unreached = [v for v in range(network.roots, network.size) if not inside[v]]
        self.parents_inside = {
            v: inside[network.mechanisms[v - network.roots].parents] for v in self.unreached
        }

    def chances(self) -> AnswerChances:
        laid, sets = self.laid, self.sets
        varies = self._varies()
        columns = np.flatnonzero(varies)
        at = np.zeros(len(varies), dtype=np.intp)
        at[columns] = np.arange(len(columns))
        alike = np.exp(self._log_outside())
        present = sets.present[: self.count].astype(np.float64)
        cumulative = np.exp(present @ laid.dense[np.ix_(self.listed, columns)]) * alike[columns]
        for group, mechanisms in self._driven():
            factor = self._factor(group, mechanisms)
            moving = varies[group]
            cumulative[:, at[group[moving]]] *= factor[:, moving]
            alike[group[~moving]] *= factor[0, ~moving]
        starts = laid.starts
        levels = _differences(cumulative, at[starts[varies[starts]]])
        return AnswerChances(
            sets=sets,
            mass=sets.mass[: self.count] / sets.mass[: self.count].sum(),
            levels=levels,
            columns=columns,
            alike=_differences(alike[None, :], starts)[0],
            laid=laid,
            posterior=self.posterior,
        )

    def _varies(self) -> NDArray[np.bool_]:
        """Columns of the findings that come out differently from set to set."""
        laid = self.laid
        moved = [v for v, inside in self.parents_inside.items() if inside.any()]
        varies = np.asarray(laid.tells[[*self.listed, *moved]].any(axis=0))
        if not len(varies):
            return varies
        return np.asarray(np.bincount(laid.finding, varies)[laid.finding] > 0)

    def _log_outside(self) -> Array:
        """Log cumulative chances with the direct causes outside the sets summed out."""
        laid = self.laid
        chosen = self.outside[laid.entry_variable]
        chance = self.posterior.chance[laid.entry_variable[chosen]]
        summed = np.log1p(chance * np.expm1(laid.entry_log[chosen]))
        width = len(laid.log_base)
        return laid.log_base + np.bincount(laid.entry_column[chosen], summed, minlength=width)

    def _driven(self) -> list[tuple[Index, list[int]]]:
        """Columns with the unreached mechanisms that drive them, like with like."""
        driven = self.laid.tells[self.unreached]
        groups: dict[tuple[int, ...], list[int]] = {}
        for column in np.flatnonzero(driven.any(axis=0)).tolist():
            by = tuple(self.unreached[row] for row in np.flatnonzero(driven[:, column]))
            groups.setdefault(by, []).append(column)
        return [(np.array(columns, dtype=np.intp), list(by)) for by, columns in groups.items()]

    def _factor(self, columns: Index, mechanisms: list[int]) -> Array:
        """(sets, columns): what the mechanisms make of the cumulative chances.

        Each mechanism contributes its net chance a if on and 1 if off, which is
        a + (1 - a) [off]; multiplied out, only chances that some of them are
        all off are needed, and those are products over their causes.
        """
        nodes = [
            self.posterior.network.mechanisms[v - self.posterior.network.roots] for v in mechanisms
        ]
        net = np.exp(self.laid.dense[mechanisms][:, columns])
        place = {int(v): n for n, v in enumerate(self.listed)}
        total = np.zeros((self.count, len(columns)))
        for chosen in itertools.product([False, True], repeat=len(mechanisms)):
            inside = np.ones(self.count)
            off: dict[int, float] = {}
            weight = np.ones(len(columns))
            for node, row, is_off in zip(nodes, net, chosen, strict=True):
                weight = weight * ((1.0 - row) * node.leak_off if is_off else row)
                if not is_off:
                    continue
                for parent, stays_off in zip(node.parents.tolist(), node.off.tolist(), strict=True):
                    if parent in place:
                        inside[self.sets.present[: self.count, place[parent]]] *= stays_off
                    else:
                        off[parent] = off.get(parent, 1.0) * stays_off
            if off:
                parents = np.array(list(off), dtype=np.intp)
                p = self.posterior.chance[parents][:, None]
                direct = np.exp(self.laid.dense[np.ix_(parents, columns)])
                stays = np.array(list(off.values()))[:, None]
                weight = weight * np.prod(
                    (1.0 - p + p * direct * stays) / (1.0 - p + p * direct), axis=0
                )
            total += inside[:, None] * weight
        return total


def _differences(cumulative: Array, starts: Index) -> Array:
    """Chances of the levels from cumulative chances side by side."""
    levels = cumulative.copy()
    np.subtract(cumulative[:, 1:], cumulative[:, :-1], out=levels[:, 1:])
    levels[:, starts] = cumulative[:, starts]
    return np.maximum(levels, 0.0, out=levels)
