"""Chances of an either-or question's answers for each listed set of causes.

One of the causes present made what is looked at, each with the same chance.
Causes outside the sets are summed out by how many of them are present and what
their rows then add up to; a mechanism that no evidence reached by what being
off means for the causes that would have switched it on.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator

import numpy as np

from diagnose.engine.network import Finding
from diagnose.engine.numbers import Array
from diagnose.engine.posterior import Posterior


def either_or_chances(posterior: Posterior, count: int, finding: Finding) -> Array:
    """Return (the first `count` sets, levels); exact."""
    return _EitherOr(posterior, count, finding).chances()


class _EitherOr:
    """One finding, its parents parted into those in the sets and those outside."""

    def __init__(self, posterior: Posterior, count: int, finding: Finding) -> None:
        self.posterior, self.count, self.finding = posterior, count, finding
        self.place = {variable: n for n, variable in enumerate(posterior.sets.variables)}
        rows = dict(zip(finding.parents.tolist(), finding.net, strict=True))
        roots = posterior.network.roots
        self.inside = {v: row for v, row in rows.items() if v in self.place}
        outside = {v: row for v, row in rows.items() if v not in self.place}
        apart = {v for sets in posterior.apart for v in sets.variables}
        self.outside = {v: row for v, row in outside.items() if v < roots or v in apart}
        self.single = {v: row for v, row in self.outside.items() if v not in apart}
        self.unreached = {v: row for v, row in outside.items() if v not in self.outside}
        self.apart = apart

    def chances(self) -> Array:
        total = np.zeros((self.count, len(self.finding.base)))
        for states in itertools.product([False, True], repeat=len(self.unreached)):
            on = [v for v, is_on in zip(self.unreached, states, strict=True) if is_on]
            off = [v for v, is_on in zip(self.unreached, states, strict=True) if not is_on]
            for size in range(len(on) + 1):
                for also in itertools.combinations(on, size):
                    total += (-1) ** size * self._with(on, [*off, *also])
        return np.maximum(total, 0.0)

    def _present(self, variable: int) -> Array:
        return self.posterior.sets.present[: self.count, self.place[variable]].astype(np.float64)

    def _with(self, counted: list[int], off: list[int]) -> Array:
        """Chance of each level while the mechanisms `off` are off.

        The mechanisms `counted` are taken as present, whether they are or not.
        """
        number = np.full(self.count, float(len(counted)))
        rows = np.zeros((self.count, len(self.finding.base)))
        for mechanism in counted:
            rows += self.unreached[mechanism]
        for variable, row in self.inside.items():
            on = self._present(variable)
            number += on
            rows += on[:, None] * row
        weight, stays_off = self._off(off)
        many, summed = self._summed(stays_off)
        counts = number[:, None] + np.arange(len(many))
        some = many[:, None] * rows[:, None, :] + summed
        some /= np.maximum(counts, 1.0)[:, :, None]
        none = many[:, None] * self.finding.base
        mixed = np.where(counts[:, :, None] > 0, some, none).sum(axis=1)
        return np.asarray(weight[:, None] * mixed)

    def _off(self, mechanisms: list[int]) -> tuple[Array, dict[int, float]]:
        """Weight of each set, and factor of each outside cause of the finding, for being off."""
        network, chance = self.posterior.network, self.posterior.reached
        weight = np.ones(self.count)
        stays: dict[int, float] = {}
        for mechanism in mechanisms:
            node = network.mechanisms[mechanism - network.roots]
            weight *= node.leak_off
            for parent, factor in zip(node.parents.tolist(), node.off.tolist(), strict=True):
                if parent in self.place:
                    weight *= np.where(self._present(parent) > 0, factor, 1.0)
                else:
                    stays[parent] = stays.get(parent, 1.0) * factor
        for parent in stays.keys() - self.single.keys() - self.apart:
            weight *= 1.0 - chance[parent] * (1.0 - stays[parent])
        return weight, stays

    def _summed(self, stays_off: dict[int, float]) -> tuple[Array, Array]:
        """By how many outside causes are present: weight, and weighted sum of their rows."""
        many = np.zeros(len(self.outside) + 1)
        rows = np.zeros((len(self.outside) + 1, len(self.finding.base)))
        many[0] = 1.0
        for patterns in self._units(stays_off):
            old_many, old_rows = many, rows
            many, rows = np.zeros_like(many), np.zeros_like(rows)
            for weight, number, row in patterns:
                stop = len(many) - number
                many[number:] += weight * old_many[:stop]
                rows[number:] += weight * (old_rows[:stop] + old_many[:stop, None] * row)
        return many, rows

    def _units(self, stays_off: dict[int, float]) -> Iterator[list[tuple[float, int, Array]]]:
        """What is outside, unit by independent unit: weight, number present, sum of rows."""
        none = np.zeros(len(self.finding.base))
        for variable, row in self.single.items():
            p = float(self.posterior.reached[variable])
            yield [(1.0 - p, 0, none), (p * stays_off.get(variable, 1.0), 1, row)]
        for sets in self.posterior.apart:
            if not self.outside.keys() & set(sets.variables) and not stays_off.keys() & set(
                sets.variables
            ):
                continue
            logs = np.log([stays_off.get(v, 1.0) for v in sets.variables])
            mass = sets.mass * np.exp(sets.present.astype(np.float64) @ logs) / sets.mass.sum()
            labels, count = sets.grouped(self.outside.keys())
            _, first = np.unique(labels, return_index=True)
            weights = np.bincount(labels, mass, minlength=count)
            patterns = []
            for weight, present in zip(weights, sets.present[first], strict=True):
                on = [v for v, is_on in zip(sets.variables, present, strict=True) if is_on]
                shown = [self.outside[v] for v in on if v in self.outside]
                patterns.append((float(weight), len(shown), np.asarray(sum(shown, none))))
            yield patterns
