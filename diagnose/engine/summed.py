"""Cumulative chances given each listed set, with all else summed out exactly.

Causes outside the listed sets are independent of them and of each other, or
hang together in parts of their own, so that they come out as factors, also
where they act both directly and through a mechanism that no evidence reached.
"""

from __future__ import annotations

import itertools

import numpy as np
from numpy.typing import NDArray

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
        inside = np.zeros(network.size, dtype=bool)
        inside[self.listed] = True
        self.apart = [(np.array(s.variables, dtype=np.intp), s) for s in posterior.apart]
        coupled = inside.copy()
        for variables, _ in self.apart:
            coupled[variables] = True
        self.outside = np.flatnonzero(~coupled & (np.arange(network.size) < network.roots))
        self.unreached = [v for v in range(network.roots, network.size) if not coupled[v]]
        self.is_outside = np.isin(np.arange(network.size), self.outside)
        self.moving = [
            v for v in self.unreached if inside[network.mechanisms[v - network.roots].parents].any()
        ]

    def moved(self, tells: NDArray[np.bool_]) -> NDArray[np.bool_]:
        """Columns that come out differently from set to set, of (variables, columns)."""
        return np.asarray(tells[[*self.listed, *self.moving]].any(axis=0))

    def cumulative(self, dense: Array, log_base: Array, count: int | None = None) -> Array:
        """Return (sets, columns) of cumulative chances.

        `dense` holds the log net chance of every variable (row) for every
        column, 0 where it is no parent.  With `count` only so many sets.
        """
        present = self.present[:count]
        rows, columns = np.nonzero(dense[self.outside])
        net = dense[self.outside[rows], columns]
        p = self.posterior.chance[self.outside[rows]]
        outside = np.bincount(columns, np.log1p(p * np.expm1(net)), minlength=len(log_base))
        result = present @ dense[self.listed]
        result += log_base + outside
        np.exp(result, out=result)
        for variables, sets in self.apart:
            acts = np.flatnonzero((dense[variables] != 0.0).any(axis=0))
            if len(acts):
                result[:, acts] *= sets.mean(dense[variables][:, acts])
        for group, mechanisms in self._driven(dense):
            result[:, group] *= self._factor(dense, group, mechanisms)[:count]
        return result

    def _driven(self, dense: Array) -> list[tuple[Index, list[int]]]:
        """Columns with the unreached mechanisms that drive them, like with like."""
        driven = dense[self.unreached] != 0.0
        groups: dict[bytes, list[int]] = {}
        marks = np.packbits(driven, axis=0).T
        for column in np.flatnonzero(driven.any(axis=0)).tolist():
            groups.setdefault(marks[column].tobytes(), []).append(column)
        return [
            (
                np.array(columns, dtype=np.intp),
                [self.unreached[row] for row in np.flatnonzero(driven[:, columns[0]])],
            )
            for columns in groups.values()
        ]

    def _factor(self, dense: Array, columns: Index, mechanisms: list[int]) -> Array:
        """(sets, columns): what the mechanisms make of the cumulative chances.

        Each mechanism contributes its net chance a if on and 1 if off, which is
        a + (1 - a) [off]; multiplied out, only chances that some of them are
        all off are needed, and those are products over their causes.
        """
        network = self.posterior.network
        nodes = [network.mechanisms[v - network.roots] for v in mechanisms]
        net = np.exp(dense[mechanisms][:, columns])
        total = np.zeros((self.count, len(columns)))
        for chosen in itertools.product([False, True], repeat=len(mechanisms)):
            inside = np.zeros(len(self.listed))
            off: dict[int, float] = {}
            weight = np.ones(len(columns))
            for node, row, is_off in zip(nodes, net, chosen, strict=True):
                weight = weight * ((1.0 - row) * node.leak_off if is_off else row)
                if not is_off:
                    continue
                for parent, stays_off in zip(node.parents.tolist(), node.off.tolist(), strict=True):
                    if parent in self.place:
                        inside[self.place[parent]] += np.log(stays_off)
                    else:
                        off[parent] = off.get(parent, 1.0) * stays_off
            weight = weight * self._apart_ratio(dense, columns, off)
            off = {v: factor for v, factor in off.items() if self.is_outside[v]}
            if off:
                parents = np.array(list(off), dtype=np.intp)
                p = self.posterior.chance[parents][:, None]
                direct = np.exp(dense[parents][:, columns])
                stays = np.array(list(off.values()))[:, None]
                weight = weight * np.prod(
                    (1.0 - p + p * direct * stays) / (1.0 - p + p * direct), axis=0
                )
            total += np.exp(self.present @ inside)[:, None] * weight
        return total

    def _apart_ratio(self, dense: Array, columns: Index, off: dict[int, float]) -> Array:
        """What being off does to the factors of the parts that stand apart."""
        ratio = np.ones(len(columns))
        for variables, sets in self.apart:
            logs = np.log([off.get(v, 1.0) for v in sets.variables])
            if logs.any():
                direct = dense[variables][:, columns]
                ratio *= sets.mean(direct + logs[:, None]) / sets.mean(direct)
        return ratio
