"""List the likeliest sets of causes of one part, with the left-out mass known.

Prefixes (what is decided of the causes taken so far) are carried through the
same steps as the sweep.  The exact posterior mass of everything below a prefix
is its weight times the backward message over the states its bits may have, so
that dropping the lightest prefixes adds to a left-out mass that is known.

A variable that nobody needs to tell apart is summed out as soon as all its bits
are closed: prefixes that then agree on all the others are added up.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diagnose.engine.numbers import Array
from diagnose.engine.plan import (
    Bit,
    CloseFactor,
    CloseMechanism,
    CloseTable,
    OpenBit,
    Step,
    TakeCause,
)
from diagnose.engine.sweep import Message, Swept

MOST_SETS = 5000


@dataclass(frozen=True, eq=False, slots=True)
class Sets:
    """Sets of variables with their posterior masses.

    `present[s, j]` tells whether `variables[j]` is in set s; masses add up to
    1 - cut.
    """

    variables: tuple[int, ...]
    present: NDArray[np.bool_]
    mass: Array
    cut: float

    def mean(self, log_factors: Array) -> Array:
        """Return, for each column, the mean product of the factors of those present.

        `log_factors` is (variables, columns).
        """
        products = np.exp(self.present.astype(np.float64) @ log_factors)
        return np.asarray(self.mass @ products / self.mass.sum())

    def grouped(
        self, among: Collection[int], count: int | None = None
    ) -> tuple[NDArray[np.intp], int]:
        """Number the sets (the first `count`) by which variables of `among` they hold.

        Returns the number of each set and how many numbers there are.
        """
        columns = [j for j, variable in enumerate(self.variables) if variable in among]
        if len(columns) == len(self.variables):
            rows = len(self.present[:count])
            return np.arange(rows), rows
        packed = np.packbits(self.present[:count, columns], axis=1)
        numbers: dict[bytes, int] = {}
        labels = [numbers.setdefault(row.tobytes(), len(numbers)) for row in packed]
        return np.array(labels, dtype=np.intp), len(numbers)


class _Prefixes:
    """Prefixes as columns: weights, chance that each open bit is still 0, members."""

    def __init__(self, variables: Sequence[int], kept: Collection[int]) -> None:
        self.column = {variable: number for number, variable in enumerate(variables)}
        self.passing = {variable for variable in variables if variable not in kept}
        self.reaches: dict[int, set[Bit]] = {}
        """Open bits of each variable that is still to be summed out."""
        self.bits: list[Bit] = []
        self.log_weight = np.zeros(1)
        self.off = np.ones((1, 0))
        self.present = np.zeros((1, len(self.column)), dtype=bool)
        self.cut = 0.0

    def apply(self, step: Step, prior: Array) -> None:
        match step:
            case OpenBit(bit, off):
                self.bits.append(bit)
                column = np.full((len(self.off), 1), off)
                self.off = np.hstack([self.off, column])
            case TakeCause(variable, r):
                p = float(prior[variable])
                ones = np.ones(len(self.log_weight))
                self._branch(variable, (1.0 - p) * ones, p * ones, r)
                self._sum_out()
            case CloseFactor(bit):
                self._weigh(1.0 - self._drop(bit))
                self._sum_out()
            case CloseMechanism(bit, on, r):
                still_off = self._drop(bit)
                self._branch(bit[1], still_off, (1.0 - still_off) * on, r)
                self._sum_out()
            case CloseTable(bits, table):
                states = [self._drop(bit) < 0.5 for bit in bits]
                self._weigh(table.values[tuple(state.astype(np.intp) for state in states)])
                self._sum_out()

    def _drop(self, bit: Bit) -> Array:
        axis = self.bits.index(bit)
        column: Array = self.off[:, axis]
        self.off = np.delete(self.off, axis, axis=1)
        del self.bits[axis]
        for bits in self.reaches.values():
            bits.discard(bit)
        return column

    def _weigh(self, weight: Array) -> None:
        with np.errstate(divide="ignore"):
            self.log_weight = self.log_weight + np.log(weight)

    def _branch(self, variable: int, absent: Array, present: Array, r: Mapping[Bit, float]) -> None:
        off = self.off.copy()
        for bit, stays_off in r.items():
            off[:, self.bits.index(bit)] *= stays_off
        members = self.present.copy()
        members[:, self.column[variable]] = True
        with np.errstate(divide="ignore"):
            weights = [self.log_weight + np.log(absent), self.log_weight + np.log(present)]
        self.log_weight = np.concatenate(weights)
        self.off = np.vstack([self.off, off])
        self.present = np.vstack([self.present, members])
        if variable in self.passing:
            self.reaches[variable] = set(r)

    def _sum_out(self) -> None:
        """Add up the prefixes that differ only in variables whose bits are all closed."""
        done = [variable for variable, bits in self.reaches.items() if not bits]
        if not done:
            return
        for variable in done:
            del self.reaches[variable]
            self.present[:, self.column[variable]] = False
        first, label = _alike(self.present)
        if len(first) == len(label):
            return
        most = float(self.log_weight.max())
        weight = np.bincount(label, np.exp(self.log_weight - most))
        with np.errstate(divide="ignore"):
            self.log_weight = np.log(weight) + most
        self.off, self.present = self.off[first], self.present[first]

    def masses(self, backward: Message, log_evidence: float) -> Array:
        """Posterior mass of everything below each prefix."""
        assert tuple(self.bits) == backward.bits
        count = len(self.bits)
        half = count // 2
        left, right = self._states(0, half), self._states(half, count)
        grid = backward.values.reshape(2**half, -1)
        with np.errstate(divide="ignore"):
            log_mass = self.log_weight + np.log(((left @ grid) * right).sum(axis=1))
        return np.asarray(np.exp(log_mass + backward.log_scale - log_evidence))

    def _states(self, first: int, last: int) -> Array:
        states = np.ones((len(self.off), 1))
        for axis in range(first, last):
            off = self.off[:, axis : axis + 1]
            both = np.stack([states * off, states * (1.0 - off)], axis=2)
            states = both.reshape(len(states), -1)
        return states

    def keep(self, which: NDArray[np.intp]) -> None:
        self.log_weight = self.log_weight[which]
        self.off = self.off[which]
        self.present = self.present[which]


def _alike(present: NDArray[np.bool_]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """First row of each kind of row, and the number of its kind for every row."""
    packed = np.packbits(present, axis=1)
    padded = np.zeros((len(packed), -(-packed.shape[1] // 8) * 8), dtype=np.uint8)
    padded[:, : packed.shape[1]] = packed
    words = padded.view(np.uint64)
    order = np.lexsort(words.T)
    ordered = words[order]
    new = np.ones(len(order), dtype=bool)
    new[1:] = (ordered[1:] != ordered[:-1]).any(axis=1)
    label = np.empty(len(order), dtype=np.intp)
    label[order] = np.cumsum(new) - 1
    return order[new], label


def explanations(
    steps: Sequence[Step],
    prior: Array,
    swept: Swept,
    *,
    delta: float,
    kept: Collection[int] | None = None,
    most: int = MOST_SETS,
) -> Sets:
    """Return the sets of one part that leave out at most `delta` of the mass.

    The sets tell the variables in `kept` apart, by default all; the others are
    summed out exactly.  Where more than `most` sets would be needed, `cut` is
    larger and says so.
    """
    variables = [
        step.variable if isinstance(step, TakeCause) else step.bit[1]
        for step in steps
        if isinstance(step, TakeCause | CloseMechanism)
    ]
    kept = variables if kept is None else [v for v in variables if v in kept]
    prefixes = _Prefixes(variables, kept)
    branchings, taken = len(variables), 0
    for number, step in enumerate(steps):
        prefixes.apply(step, prior)
        if not isinstance(step, TakeCause | CloseMechanism):
            continue
        taken += 1
        mass = prefixes.masses(swept.backward[number], swept.log_evidence)
        last = taken == branchings
        allowed = delta if last else delta / 2 * taken / branchings
        order = np.argsort(mass)
        dropped = prefixes.cut + np.cumsum(mass[order])
        many = int(np.searchsorted(dropped, allowed, side="right"))
        many = min(max(many, len(order) - most), len(order) - 1)
        if many:
            prefixes.cut = float(dropped[many - 1])
            prefixes.keep(np.sort(order[many:]))
    mass = prefixes.masses(swept.backward[-1], swept.log_evidence)
    by_mass = np.argsort(-mass, kind="stable")
    columns = [prefixes.column[variable] for variable in kept]
    return Sets(tuple(kept), prefixes.present[by_mass][:, columns], mass[by_mass], prefixes.cut)


def merged(lists: Sequence[Sets], *, delta: float, most: int = MOST_SETS) -> Sets:
    """Return the sets of independent parts combined, the likeliest first."""
    total = Sets((), np.zeros((1, 0), dtype=bool), np.ones(1), 0.0)
    for sets in sorted(lists, key=lambda each: len(each.mass)):
        mass = np.outer(total.mass, sets.mass).ravel()
        order = np.argsort(-mass, kind="stable")[:most]
        kept = np.cumsum(mass[order])
        enough = int(np.searchsorted(kept, kept[-1] - delta / max(len(lists), 1))) + 1
        order = order[:enough]
        first, second = np.divmod(order, len(sets.mass))
        present = np.hstack([total.present[first], sets.present[second]])
        total = Sets((*total.variables, *sets.variables), present, mass[order], 0.0)
    cut = max(0.0, 1.0 - math.fsum(total.mass))
    return Sets(total.variables, total.present, total.mass, cut)
