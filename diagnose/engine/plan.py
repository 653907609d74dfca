"""Split coupled causes into independent parts and plan the sweep over each.

A part holds every variable, factor and table that hang together.  Its plan is
a list of steps: open a bit, take a cause, close a factor, a mechanism or a
table.  The fewer bits are open at once, the cheaper the sweep; the order is
chosen greedily (fewest newly opened less closed bits, then the cause whose
bits have the fewest causes left).
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TypeAlias

from diagnose.engine.absorb import Absorbed, Factor, Table
from diagnose.engine.network import Network

WIDEST = 16
"""Most bits open at once; beyond it the weakest factor leaves the messages."""

SMALL_PART = 14
LIKELY, STRONG = 0.05, 2.0
"""A cause that is likely and at least doubles what a factor gives is told apart."""

Bit: TypeAlias = tuple[str, int]
"""("factor", n), ("mechanism", variable) or ("table", position), where a
table's bits are numbered over all tables of the part."""


@dataclass(frozen=True, slots=True)
class OpenBit:
    """Add a bit that is 0 with the chance `off` before any cause is taken."""

    bit: Bit
    off: float


@dataclass(frozen=True, slots=True)
class TakeCause:
    """Take a variable without parents; present, it leaves bit b at 0 with r[b]."""

    variable: int
    r: Mapping[Bit, float]


@dataclass(frozen=True, slots=True)
class CloseFactor:
    """Evidence says that the bit is 1."""

    bit: Bit


@dataclass(frozen=True, slots=True)
class CloseMechanism:
    """Weigh the mechanism's being on, and let it act on the bits it drives."""

    bit: Bit
    on: float
    r: Mapping[Bit, float]


@dataclass(frozen=True, slots=True)
class CloseTable:
    """Weigh every state of a table's bits and drop them."""

    bits: tuple[Bit, ...]
    table: Table


Step: TypeAlias = OpenBit | TakeCause | CloseFactor | CloseMechanism | CloseTable


@dataclass(slots=True)
class Part:
    """Variables that hang together, and what couples them."""

    causes: list[int] = field(default_factory=list)
    mechanisms: list[int] = field(default_factory=list)
    factors: list[Factor] = field(default_factory=list)
    tables: list[Table] = field(default_factory=list)
    set_aside: list[Factor] = field(default_factory=list)
    """Factors taken out of the messages by the width guard."""


def parts(network: Network, state: Absorbed) -> list[Part]:
    """Return the independent parts, the coupled ones first.

    A cause that an explanation is made of but that nothing couples to another
    is a part by itself, so that explanations name every one of them.
    """
    roots = network.roots
    groups: list[set[int]] = [set(f.r) for f in state.factors]
    groups += [set(t.variables) for t in state.tables]
    touched = set().union(*groups) if groups else set()
    weighed = {n + roots for n, weight in enumerate(state.log_on) if weight}
    live = sorted(weighed | {v for v in touched if v >= roots})
    for mechanism in live:
        groups.append({mechanism, *map(int, network.mechanisms[mechanism - roots].parents)})
    found = []
    for members in _merge(groups):
        part = Part(
            causes=sorted(v for v in members if v < roots),
            mechanisms=sorted(v for v in members if v >= roots),
            factors=[f for f in state.factors if members & f.r.keys()],
            tables=[t for t in state.tables if members & set(t.variables)],
        )
        found.append(part)
    coupled = {variable for part in found for variable in part.causes}
    return found + [Part(causes=[cause]) for cause in sorted(network.candidates - coupled)]


def told_apart(network: Network, part: Part, chance: Mapping[int, float]) -> set[int]:
    """Return the variables of a part that its sets have to tell apart.

    All in a small part.  In a large one the causes an explanation is made of,
    the mechanisms, and what is likely enough and could well stand in for one of
    them in a factor or table.  What is left hangs on these so loosely that only
    its chance matters for the answers still to come.
    """
    variables = {*part.causes, *part.mechanisms}
    if len(variables) <= SMALL_PART:
        return variables
    central = variables & network.candidates
    kept = central | set(part.mechanisms)
    for table in part.tables:
        kept |= set(table.variables)
    for factor in part.factors:
        if not central.isdisjoint(factor.r):
            kept |= {
                variable
                for variable, r in factor.r.items()
                if chance[variable] >= LIKELY
                and (1.0 - factor.leak * r) > STRONG * (1.0 - factor.leak)
            }
    return kept


def _merge(groups: Sequence[set[int]]) -> list[set[int]]:
    merged: list[set[int]] = []
    for group in groups:
        apart = []
        together = set(group)
        for other in merged:
            if other & together:
                together |= other
            else:
                apart.append(other)
        merged = [*apart, together]
    return [group for group in merged if group]


def plan(network: Network, state: Absorbed, part: Part, *, widest: int = WIDEST) -> list[Step]:
    """Return the steps of the sweep over one part.

    Where more than `widest` bits would be open at once, the factor that says
    least is moved to `part.set_aside` and the plan is made again.
    """
    while True:
        steps, width = _Planner(network, state, part).steps()
        if width <= widest or not part.factors:
            return steps
        weakest = min(part.factors, key=_says)
        part.factors.remove(weakest)
        part.set_aside.append(weakest)


def _says(factor: Factor) -> float:
    """How far a factor can move the odds: log of its largest over its least value."""
    least = 1.0 - factor.leak
    most = 1.0 - factor.leak * math.prod(factor.r.values())
    return math.log(most) - math.log(max(least, 1e-300))


class _Planner:
    """Orders the causes of one part and writes down the steps."""

    def __init__(self, network: Network, state: Absorbed, part: Part) -> None:
        self.network, self.state, self.part = network, state, part
        self.drives: dict[int, dict[Bit, float]] = defaultdict(dict)
        self.off: dict[Bit, float] = {}
        self.table_bits: list[tuple[Bit, ...]] = []
        for number, factor in enumerate(part.factors):
            self.off["factor", number] = factor.leak
            for variable, r in factor.r.items():
                self.drives[variable]["factor", number] = r
        for table in part.tables:
            bits: list[Bit] = []
            for variable in table.variables:
                bit: Bit = ("table", sum(map(len, self.table_bits)) + len(bits))
                bits.append(bit)
                self.off[bit] = 1.0
                self.drives[variable][bit] = 0.0
            self.table_bits.append(tuple(bits))
        for mechanism in part.mechanisms:
            node = network.mechanisms[mechanism - network.roots]
            self.off["mechanism", mechanism] = node.leak_off
            for cause, off in zip(node.parents, node.off, strict=True):
                self.drives[int(cause)]["mechanism", mechanism] = float(off)
        self.left: dict[Bit, int] = defaultdict(int)
        for bits_of in self.drives.values():
            for bit in bits_of:
                self.left[bit] += 1
        self.driven_by: dict[Bit, list[int]] = defaultdict(list)
        for variable, driven in self.drives.items():
            for bit in driven:
                self.driven_by[bit].append(variable)
        self.open: list[Bit] = []
        self.done: set[Bit] = set()
        self.widest = 0
        self.written: list[Step] = []

    def steps(self) -> tuple[list[Step], int]:
        """Return the steps and the most bits open at once."""
        for mechanism in self.part.mechanisms:
            if not self.left["mechanism", mechanism]:
                self._open(("mechanism", mechanism))
                self._close_what_is_done()
        waiting = set(self.part.causes)
        while waiting:
            near = {cause for bit in self.open for cause in self.driven_by[bit]}
            cause = min(near & waiting or waiting, key=self._cost)
            waiting.remove(cause)
            self._take(cause)
        return self.written, self.widest

    def _cost(self, cause: int) -> tuple[int, int, int]:
        opened = closed = left = 0
        for bit in self.drives[cause]:
            opened += bit not in self.open
            closed += self.left[bit] == 1
            left += self.left[bit]
        return opened - closed, left, cause

    def _take(self, cause: int) -> None:
        for bit in self.drives[cause]:
            self._open(bit)
        self.written.append(TakeCause(cause, dict(self.drives[cause])))
        for bit in self.drives[cause]:
            self.left[bit] -= 1
        self._close_what_is_done()

    def _open(self, bit: Bit) -> None:
        if bit not in self.open:
            self.open.append(bit)
            self.written.append(OpenBit(bit, self.off[bit]))
            self.widest = max(self.widest, len(self.open))

    def _close_what_is_done(self) -> None:
        finished = [b for b in self.open if b[0] == "mechanism" and not self.left[b]]
        for bit in finished:
            self._close_mechanism(bit)
        for bit in [b for b in self.open if b[0] == "factor" and not self.left[b]]:
            self.open.remove(bit)
            self.written.append(CloseFactor(bit))
        for bits, table in zip(self.table_bits, self.part.tables, strict=True):
            if bits[0] in self.done or any(self.left[b] or b not in self.open for b in bits):
                continue
            self.done.update(bits)
            self.open = [b for b in self.open if b not in bits]
            self.written.append(CloseTable(bits, table))

    def _close_mechanism(self, bit: Bit) -> None:
        driven = self.drives[bit[1]]
        for other in driven:
            self._open(other)
        self.open.remove(bit)
        on = math.exp(float(self.state.log_on[bit[1] - self.network.roots]))
        self.written.append(CloseMechanism(bit, on, dict(driven)))
        for other in driven:
            self.left[other] -= 1
