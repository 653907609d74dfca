"""List the likeliest sets of causes of one part, with the left-out mass known.

Prefixes (what is decided of the causes taken so far) are carried through the
same steps as the sweep, each with its own message.  The exact posterior mass of
everything below a prefix is the product of its message and the backward one, so
that dropping the lightest prefixes adds to a left-out mass that is known.
Variables that nobody needs to tell apart are summed out in the messages.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diagnose.engine.numbers import Array
from diagnose.engine.plan import Bit, CloseMechanism, Step, TakeCause
from diagnose.engine.sweep import Message, Swept, forward, mechanism_halves, scaled, switch

MOST_SETS = 2000
MOST_ENTRIES = 2**16
"""Most numbers in the messages of all prefixes together; beyond it fewer are kept."""


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


PREFIX: Bit = ("prefix", 0)
"""Stands for the axis of the prefixes where a message has its open bits."""


class _Prefixes:
    """What is decided of the kept variables taken so far, with a message each."""

    def __init__(self, kept: Sequence[int]) -> None:
        self.column = {variable: number for number, variable in enumerate(kept)}
        self.message = Message((PREFIX,), np.ones(1), 0.0)
        self.present = np.zeros((1, len(kept)), dtype=bool)
        self.cut = 0.0

    def apply(self, step: Step, prior: Array) -> bool:
        """Take a step; return whether the prefixes have branched."""
        message = self.message
        match step:
            case TakeCause(variable, r) if variable in self.column:
                p = float(prior[variable])
                self._branch(variable, (1.0 - p) * message.values, p * switch(message, r))
            case CloseMechanism(bit) if bit[1] in self.column:
                rest = tuple(other for other in message.bits if other != bit)
                self.message = Message(rest, message.values, message.log_scale)
                self._branch(bit[1], *mechanism_halves(step, message))
            case _:
                self.message = scaled(*forward(step, message, prior))
                return False
        return True

    def _branch(self, variable: int, absent: Array, present: Array) -> None:
        bits, log_scale = self.message.bits, self.message.log_scale
        self.message = scaled(bits, np.concatenate([absent, present]), log_scale)
        members = self.present.copy()
        members[:, self.column[variable]] = True
        self.present = np.concatenate([self.present, members])

    def masses(self, backward: Message, log_evidence: float) -> Array:
        """Posterior mass of everything below each prefix."""
        rows = self.message.values.reshape(len(self.present), -1)
        log_scale = self.message.log_scale + backward.log_scale - log_evidence
        return np.asarray(rows @ backward.values.ravel() * math.exp(log_scale))

    def keep(self, which: NDArray[np.intp]) -> None:
        """Go on with some of the prefixes only."""
        values = self.message.values[which]
        self.message = Message(self.message.bits, values, self.message.log_scale)
        self.present = self.present[which]


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
    taken = [
        step.variable if isinstance(step, TakeCause) else step.bit[1]
        for step in steps
        if isinstance(step, TakeCause | CloseMechanism)
    ]
    listed = taken if kept is None else [variable for variable in taken if variable in kept]
    prefixes = _Prefixes(listed)
    branched = 0
    for number, step in enumerate(steps):
        if not prefixes.apply(step, prior):
            continue
        branched += 1
        mass = prefixes.masses(swept.backward[number], swept.log_evidence)
        last = branched == len(listed)
        allowed = delta if last else delta / 2 * branched / len(listed)
        room = max(32, min(most, MOST_ENTRIES * len(mass) // prefixes.message.values.size))
        order = np.argsort(mass)
        dropped = prefixes.cut + np.cumsum(mass[order])
        many = int(np.searchsorted(dropped, allowed, side="right"))
        many = min(max(many, len(order) - room), len(order) - 1)
        if many:
            prefixes.cut = float(dropped[many - 1])
            prefixes.keep(np.sort(order[many:]))
    mass = prefixes.masses(swept.backward[-1], swept.log_evidence)
    by_mass = np.argsort(-mass, kind="stable")
    return Sets(tuple(listed), prefixes.present[by_mass], mass[by_mass], prefixes.cut)


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
