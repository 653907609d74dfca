"""Cumulative chances given each listed set, with all else summed out exactly.

Causes outside the listed sets are independent of them and of each other, or
hang together in parts of their own, so that they come out as factors, also
where they act both directly and through a mechanism that no evidence reached.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
from numpy.typing import NDArray

from diagnose.engine.explanations import Sets
from diagnose.engine.layout import Columns
from diagnose.engine.numbers import Array, Index
from diagnose.engine.posterior import Posterior


class Summed:
    """The first `count` sets of a posterior, and what is outside them."""

    def __init__(self, posterior: Posterior, count: int) -> None:
        network, sets = posterior.network, posterior.sets
        self.posterior, self.sets, self.count = posterior, sets, count
        self.listed = np.array(sets.variables, dtype=np.intp)
        self.place = {variable: number for number, variable in enumerate(sets.variables)}
        self.present = sets.present[:count].astype(np.float64)
        coupled = np.zeros(network.size, dtype=bool)
        coupled[self.listed] = True
        inside = coupled.copy()
        self.apart: list[tuple[Index, NDArray[np.bool_], Sets]] = []
        for each in posterior.apart:
            variables = np.array(each.variables, dtype=np.intp)
            marked = np.zeros(network.size, dtype=bool)
            marked[variables] = True
            coupled |= marked
            self.apart.append((variables, marked, each))
        self.is_unreached = ~coupled & (np.arange(network.size) >= network.roots)
        self.is_outside = ~coupled & ~self.is_unreached
        self.moving = [
            v
            for v in np.flatnonzero(self.is_unreached).tolist()
            if inside[network.mechanisms[v - network.roots].parents].any()
        ]

    def moved(self, columns: Columns) -> NDArray[np.bool_]:
        """Columns that come out differently from set to set."""
        marked = np.zeros(self.posterior.network.size, dtype=bool)
        marked[[*self.listed, *self.moving]] = True
        return columns.about(marked)

    def cumulative(self, columns: Columns, count: int | None = None) -> Array:
        """Return (sets, columns) of cumulative chances; with `count` only so many sets."""
        size = self.posterior.network.size
        result = self.present[:count] @ columns.rows(self.listed, size)
        chosen = self.is_outside[columns.variable]
        p = self.posterior.reached[columns.variable[chosen]]
        summed = np.log1p(p * np.expm1(columns.log[chosen]))
        outside = np.bincount(columns.column[chosen], summed, minlength=columns.width)
        result += columns.log_base + outside
        np.exp(result, out=result)
        for variables, marked, sets in self.apart:
            acts = np.flatnonzero(columns.about(marked))
            if len(acts):
                result[:, acts] *= sets.mean(columns.select(acts).rows(variables, size))
        for group, mechanisms in self._driven(columns):
            result[:, group] *= self._factor(columns.select(group), mechanisms)[:count]
        return result

    def _driven(self, columns: Columns) -> list[tuple[Index, tuple[int, ...]]]:
        """Columns with the unreached mechanisms that drive them, like with like."""
        chosen = self.is_unreached[columns.variable]
        by_column: dict[int, list[int]] = {}
        for column, variable in zip(
            columns.column[chosen].tolist(), columns.variable[chosen].tolist(), strict=True
        ):
            by_column.setdefault(column, []).append(variable)
        groups: dict[tuple[int, ...], list[int]] = {}
        for column, by in by_column.items():
            groups.setdefault(tuple(sorted(by)), []).append(column)
        return [(np.array(driven, dtype=np.intp), by) for by, driven in groups.items()]

    def _factor(self, columns: Columns, mechanisms: tuple[int, ...]) -> Array:
        """(sets, columns): what the mechanisms make of the cumulative chances.

        Each mechanism contributes its net chance a if on and 1 if off, which is
        a + (1 - a) [off]; multiplied out, only chances that some of them are
        all off are needed, and those are products over their causes.
        """
        network = self.posterior.network
        nodes = [network.mechanisms[v - network.roots] for v in mechanisms]
        net = np.exp(columns.rows(np.array(mechanisms, dtype=np.intp), network.size))
        total = np.zeros((self.count, columns.width))
        for chosen in itertools.product([False, True], repeat=len(mechanisms)):
            inside = np.zeros(len(self.listed))
            off: dict[int, float] = {}
            weight = np.ones(columns.width)
            for node, row, is_off in zip(nodes, net, chosen, strict=True):
                weight = weight * ((1.0 - row) * node.leak_off if is_off else row)
                if not is_off:
                    continue
                for parent, stays_off in zip(node.parents.tolist(), node.off.tolist(), strict=True):
                    if parent in self.place:
                        inside[self.place[parent]] += math.log(stays_off)
                    else:
                        off[parent] = off.get(parent, 1.0) * stays_off
            weight = weight * self._outside_ratio(columns, off) * self._apart_ratio(columns, off)
            total += np.exp(self.present @ inside)[:, None] * weight
        return total

    def _outside_ratio(self, columns: Columns, off: dict[int, float]) -> Array:
        """What being off does to the factors of single causes outside the sets."""
        parents = np.array([v for v in off if self.is_outside[v]], dtype=np.intp)
        if not len(parents):
            return np.ones(columns.width)
        p = self.posterior.reached[parents][:, None]
        direct = np.exp(columns.rows(parents, self.posterior.network.size))
        stays = np.array([off[v] for v in parents.tolist()])[:, None]
        factors = (1.0 - p + p * direct * stays) / (1.0 - p + p * direct)
        return np.asarray(np.prod(factors, axis=0))

    def _apart_ratio(self, columns: Columns, off: dict[int, float]) -> Array:
        """What being off does to the factors of the parts that stand apart."""
        ratio = np.ones(columns.width)
        for variables, marked, sets in self.apart:
            if not any(marked[v] for v in off):
                continue
            logs = np.log([off.get(v, 1.0) for v in sets.variables])
            direct = columns.rows(variables, self.posterior.network.size)
            ratio *= sets.mean(direct + logs[:, None]) / sets.mean(direct)
        return ratio
