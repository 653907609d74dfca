"""The sweep over one part for many bodies of evidence at once, one a row.

All rows share the steps and what the causes do; they differ in the chances of
the causes, in the weights of the mechanisms, and in which factors and tables
hold.  A factor that does not hold in a row has the leak 0 there, which makes it
1 whatever is present.  Every message carries the rows as its first axis, so
that a hundred rows cost little more than one.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diagnose.engine.absorb import Table
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
from diagnose.engine.sweep import Message, switch, unswitched
from diagnose.errors import ImpossibleEvidenceError

MOST_ENTRIES = 2**15
"""Most numbers in the widest message; more rows are swept in turns."""

_ROW: Bit = ("row", 0)
"""Stands for the axis of the rows where a message has its open bits."""


@dataclass(frozen=True, eq=False, slots=True)
class Rows:
    """In what the bodies of evidence differ; the last axis of each array is the rows."""

    prior: Array
    """(variables without parents, rows): their chances."""
    on: Mapping[int, Array]
    """Weight of each mechanism's being on."""
    holds: Mapping[str, NDArray[np.bool_]]
    """Key of a factor or table to whether it holds."""

    def some(self, which: slice) -> Rows:
        """Return some of the rows."""
        return Rows(
            self.prior[:, which],
            {variable: weight[which] for variable, weight in self.on.items()},
            {key: holds[which] for key, holds in self.holds.items()},
        )


@dataclass(frozen=True, eq=False, slots=True)
class _Messages:
    """Weights over rows and states of the open bits; true weight = values * e^log_scale."""

    bits: tuple[Bit, ...]
    """The rows, then the open bits."""
    values: Array
    log_scale: Array

    @property
    def flat(self) -> Array:
        """(rows, states)."""
        return self.values.reshape(len(self.log_scale), -1)


def sweep_rows(
    steps: Sequence[Step], rows: Rows, factors: Mapping[Bit, str]
) -> tuple[Array, dict[int, Array]]:
    """Return the log evidence of each row and each row's chances of every variable.

    `factors` names the factor that a bit of the steps belongs to.

    Raises
    ------
    ImpossibleEvidenceError
        In some row the evidence has no chance at all under the rules.
    """
    count = rows.prior.shape[1]
    turn = max(1, MOST_ENTRIES >> _width(steps))
    logs: list[Array] = []
    chances: dict[int, list[Array]] = {}
    for start in range(0, count, turn):
        log_evidence, chance = _swept(steps, rows.some(slice(start, start + turn)), factors)
        logs.append(log_evidence)
        for variable, values in chance.items():
            chances.setdefault(variable, []).append(values)
    return np.concatenate(logs), {v: np.concatenate(each) for v, each in chances.items()}


def log_evidence_rows(steps: Sequence[Step], rows: Rows) -> Array:
    """Return the log evidence of each row alone; every factor and table holds in all."""
    count = rows.prior.shape[1]
    turn = max(1, MOST_ENTRIES >> _width(steps))
    logs: list[Array] = []
    for start in range(0, count, turn):
        some = rows.some(slice(start, start + turn))
        work = _Work(some, {})
        size = some.prior.shape[1]
        message = _Messages((_ROW,), np.ones(size), np.zeros(size))
        for step in steps:
            message = work.forward(step, message)
        logs.append(np.log(message.flat[:, 0]) + message.log_scale)
    return np.concatenate(logs)


def _width(steps: Sequence[Step]) -> int:
    now = widest = 0
    for step in steps:
        if isinstance(step, OpenBit):
            now += 1
        elif isinstance(step, CloseTable):
            now -= len(step.bits)
        elif isinstance(step, CloseFactor | CloseMechanism):
            now -= 1
        widest = max(widest, now)
    return widest


def _swept(
    steps: Sequence[Step], rows: Rows, factors: Mapping[Bit, str]
) -> tuple[Array, dict[int, Array]]:
    count = rows.prior.shape[1]
    work = _Work(rows, factors)
    one = _Messages((_ROW,), np.ones(count), np.zeros(count))
    ahead = [one]
    for step in steps:
        ahead.append(work.forward(step, ahead[-1]))
    total = ahead[-1].flat[:, 0]
    if not np.all(total > 0.0):
        raise ImpossibleEvidenceError("what was seen cannot happen under the rules")
    chance: dict[int, Array] = {}
    after = one
    for step, before in zip(reversed(steps), reversed(ahead[:-1]), strict=True):
        halves = work.halves(step, before)
        if halves is not None:
            variable, off, on = halves
            off_mass = (off * after.flat).sum(axis=1)
            on_mass = (on * after.flat).sum(axis=1)
            chance[variable] = on_mass / (on_mass + off_mass)
        after = work.backward(step, before.bits, after)
    return np.log(total) + ahead[-1].log_scale, chance


class _Work:
    """The steps, forwards and backwards, for one set of rows."""

    def __init__(self, rows: Rows, factors: Mapping[Bit, str]) -> None:
        self.rows, self.factors = rows, factors

    def halves(self, step: Step, before: _Messages) -> tuple[int, Array, Array] | None:
        """Return a variable with the weights of its being off and on, before a step takes it."""
        if isinstance(step, TakeCause):
            p = self.rows.prior[step.variable][:, None]
            on = self._flat(switch(_plain(before), step.r))
            return step.variable, (1.0 - p) * before.flat, p * on
        if isinstance(step, CloseMechanism):
            off, on = self._mechanism(step, before)
            return step.bit[1], self._flat(off), self._flat(on)
        return None

    def forward(self, step: Step, message: _Messages) -> _Messages:
        """Return the message after a step."""
        values, bits = message.values, message.bits
        match step:
            case OpenBit(bit):
                off = self._off(step)
                both = np.stack([off, 1.0 - off], axis=-1)
                values = values[..., None] * _spread(both, values.ndim + 1)
                bits = (*bits, bit)
            case TakeCause(variable, r):
                p = _spread(self.rows.prior[variable], values.ndim)
                values = (1.0 - p) * values + p * switch(_plain(message), r)
            case CloseFactor(bit):
                values = np.asarray(values.take(1, axis=bits.index(bit)), dtype=np.float64)
                bits = tuple(b for b in bits if b != bit)
            case CloseMechanism(bit):
                off, on = self._mechanism(step, message)
                values = off + on
                bits = tuple(b for b in bits if b != bit)
            case CloseTable(gone, table):
                rest = tuple(b for b in bits if b not in gone)
                ordered = values.transpose([bits.index(b) for b in (*rest, *gone)])
                told = ordered.reshape(len(values), -1, table.values.size)
                values = np.einsum("rst,rt->rs", told, self._table(table))
                values = values.reshape(ordered.shape[: len(rest)])
                bits = rest
        return _scaled(bits, values, message.log_scale)

    def backward(self, step: Step, before: tuple[Bit, ...], after: _Messages) -> _Messages:
        """Return the backward message before a step."""
        values = after.values
        match step:
            case OpenBit():
                off = _spread(self._off(step), values.ndim - 1)
                values = off * values[..., 0] + (1.0 - off) * values[..., 1]
            case TakeCause(variable, r):
                p = _spread(self.rows.prior[variable], values.ndim)
                present = values
                for bit, stays_off in r.items():
                    present = unswitched(present, before.index(bit), stays_off)
                values = (1.0 - p) * values + p * present
            case CloseFactor(bit):
                values = np.stack([np.zeros_like(values), values], axis=before.index(bit))
            case CloseMechanism(bit, _, r):
                present = values
                for other, stays_off in r.items():
                    present = unswitched(present, after.bits.index(other), stays_off)
                on = _spread(self.rows.on[bit[1]], values.ndim)
                values = np.stack([values, on * present], axis=before.index(bit))
            case CloseTable(gone, table):
                rest = tuple(b for b in before if b not in gone)
                wide = self._table(table).reshape(len(values), *table.values.shape)
                told = wide.reshape(len(values), *(1,) * (len(rest) - 1), *table.values.shape)
                spread = values[(...,) + (None,) * len(gone)] * told
                values = spread.transpose([(*rest, *gone).index(b) for b in before])
        return _scaled(before, np.ascontiguousarray(values), after.log_scale)

    def _mechanism(self, step: CloseMechanism, before: _Messages) -> tuple[Array, Array]:
        axis = before.bits.index(step.bit)
        rest = tuple(bit for bit in before.bits if bit != step.bit)
        off = np.asarray(before.values.take(0, axis=axis), dtype=np.float64)
        on = np.asarray(before.values.take(1, axis=axis), dtype=np.float64)
        weight = _spread(self.rows.on[step.bit[1]], on.ndim)
        return off, weight * switch(Message(rest, on, 0.0), step.r)

    def _off(self, step: OpenBit) -> Array:
        count = self.rows.prior.shape[1]
        if step.bit not in self.factors:
            return np.full(count, step.off)
        return np.where(self.rows.holds[self.factors[step.bit]], step.off, 0.0)

    def _table(self, table: Table) -> Array:
        """(rows, states) of the table, 1 throughout where it does not hold."""
        count = self.rows.prior.shape[1]
        holds = self.rows.holds.get(table.key, np.ones(count, dtype=bool))
        return np.where(holds[:, None], table.values.ravel(), 1.0)

    def _flat(self, values: Array) -> Array:
        return values.reshape(self.rows.prior.shape[1], -1)


def _plain(message: _Messages) -> Message:
    return Message(message.bits, message.values, 0.0)


def _spread(values: Array, axes: int) -> Array:
    """Put axes of length 1 behind the first, so that there are `axes`."""
    first, *rest = values.shape
    return values.reshape(first, *(1,) * (axes - values.ndim), *rest)


def _scaled(bits: tuple[Bit, ...], values: Array, log_scale: Array) -> _Messages:
    """Return messages whose largest number is kept within bounds in every row."""
    most = values.reshape(len(log_scale), -1).max(axis=1)
    far = (most > 0.0) & ((most < 1e-30) | (most > 1e30))
    if not far.any():
        return _Messages(bits, values, log_scale)
    by = np.where(far, most, 1.0)
    return _Messages(bits, values / _spread(by, values.ndim), log_scale + np.log(by))
