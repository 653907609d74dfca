"""Exact posteriors of one part by a forward and a backward sweep.

The forward message holds, for every state of the open bits, the weight of all
sets of the causes taken so far; the backward message holds what the steps
still to come make of each state.  Both only ever add and multiply numbers that
are not negative, so nothing cancels.

References
----------
.. [1] The exact sums that cancel in Quickscore (Heckerman 1989, UAI) are
   written here as a hidden on/off state for each finding.  Checked against
   brute force and an independent library in the tests.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

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
from diagnose.errors import ImpossibleEvidenceError


@dataclass(frozen=True, eq=False, slots=True)
class Message:
    """Weights over the states of the open bits; true weight = values * e^log_scale."""

    bits: tuple[Bit, ...]
    values: Array
    log_scale: float


@dataclass(frozen=True, eq=False, slots=True)
class Swept:
    """Result of the sweep over one part."""

    log_evidence: float
    chance: dict[int, float]
    """Posterior of every cause, shared look and mechanism of the part."""
    backward: tuple[Message, ...]
    """Backward message after each step."""


def sweep(steps: Sequence[Step], prior: Array) -> Swept:
    """Run the steps; `prior` holds the chances of the variables without parents.

    Raises
    ------
    ImpossibleEvidenceError
        The evidence has no chance at all under the rules.
    """
    ahead = [Message((), np.ones(()), 0.0)]
    for step in steps:
        ahead.append(scaled(*forward(step, ahead[-1], prior)))
    total = float(ahead[-1].values)
    if not total > 0.0:
        raise ImpossibleEvidenceError("what was seen cannot happen under the rules")
    backward = [Message((), np.ones(()), 0.0)]
    for step, before in zip(reversed(steps), reversed(ahead[:-1]), strict=True):
        backward.append(scaled(*_backward(step, before.bits, backward[-1], prior)))
    backward.reverse()
    chance: dict[int, float] = {}
    for number, step in enumerate(steps):
        before, after = ahead[number], backward[number + 1]
        if isinstance(step, TakeCause):
            p = float(prior[step.variable])
            off = (1.0 - p) * float(np.vdot(before.values, after.values))
            on = p * float(np.vdot(switch(before, step.r), after.values))
            chance[step.variable] = on / (on + off)
        elif isinstance(step, CloseMechanism):
            off, on = (
                float(np.vdot(values, after.values)) for values in mechanism_halves(step, before)
            )
            chance[step.bit[1]] = on / (on + off)
    log_evidence = math.log(total) + ahead[-1].log_scale
    return Swept(log_evidence, chance, tuple(backward[1:]))


def scaled(bits: tuple[Bit, ...], values: Array, log_scale: float) -> Message:
    """Return a message whose largest number is kept within bounds."""
    most = float(values.max()) if values.size else 1.0
    if most > 0.0 and not 1e-30 < most < 1e30:
        return Message(bits, values / most, log_scale + math.log(most))
    return Message(bits, values, log_scale)


def switch(message: Message, r: Mapping[Bit, float]) -> Array:
    """Let a present variable switch its bits on: new(0) = r old(0), the rest to 1."""
    values = message.values
    for bit, stays_off in r.items():
        values = _switched(values, message.bits.index(bit), stays_off)
    return values


def _switched(values: Array, axis: int, stays_off: float) -> Array:
    shape = values.shape
    pairs = values.reshape(math.prod(shape[:axis]), 2, -1)
    new = np.empty_like(pairs)
    np.multiply(pairs[:, 0], stays_off, out=new[:, 0])
    np.multiply(pairs[:, 0], 1.0 - stays_off, out=new[:, 1])
    new[:, 1] += pairs[:, 1]
    return new.reshape(shape)


def unswitched(values: Array, axis: int, stays_off: float) -> Array:
    """Let a present variable act on a backward message; the adjoint of `switch`."""
    shape = values.shape
    pairs = values.reshape(math.prod(shape[:axis]), 2, -1)
    new = pairs.copy()
    new[:, 0] *= stays_off
    new[:, 0] += (1.0 - stays_off) * pairs[:, 1]
    return new.reshape(shape)


def _at(values: Array, axis: int, state: int) -> Array:
    return np.asarray(values.take(state, axis=axis), dtype=np.float64)


def mechanism_halves(step: CloseMechanism, before: Message) -> tuple[Array, Array]:
    """Return the weights with the mechanism off, and on with what it then does."""
    axis = before.bits.index(step.bit)
    rest = tuple(bit for bit in before.bits if bit != step.bit)
    off = _at(before.values, axis, 0)
    on = Message(rest, _at(before.values, axis, 1), 0.0)
    return off, step.on * switch(on, step.r)


def forward(step: Step, message: Message, prior: Array) -> tuple[tuple[Bit, ...], Array, float]:
    """Return bits, weights and log scale after a step; axes that are no bits stay."""
    values, bits = message.values, message.bits
    match step:
        case OpenBit(bit, off):
            values = values[..., None] * np.array([off, 1.0 - off])
            bits = (*bits, bit)
        case TakeCause(variable, r):
            p = float(prior[variable])
            values = (1.0 - p) * values + p * switch(message, r)
        case CloseFactor(bit):
            values = _at(values, bits.index(bit), 1)
            bits = tuple(b for b in bits if b != bit)
        case CloseMechanism(bit):
            off_values, on_values = mechanism_halves(step, message)
            values = off_values + on_values
            bits = tuple(b for b in bits if b != bit)
        case CloseTable(gone, table):
            rest = tuple(b for b in bits if b not in gone)
            order = [bits.index(b) for b in (*rest, *gone)]
            ordered = values.transpose(order)
            lined = ordered.reshape(-1, table.values.size) @ table.values.ravel()
            values = lined.reshape(ordered.shape[: len(rest)])
            bits = rest
    return bits, values, message.log_scale


def _backward(
    step: Step, before: tuple[Bit, ...], after: Message, prior: Array
) -> tuple[tuple[Bit, ...], Array, float]:
    values = after.values
    match step:
        case OpenBit(_, off):
            values = off * values[..., 0] + (1.0 - off) * values[..., 1]
        case TakeCause(variable, r):
            p = float(prior[variable])
            present = values
            for bit, stays_off in r.items():
                present = unswitched(present, before.index(bit), stays_off)
            values = (1.0 - p) * values + p * present
        case CloseFactor(bit):
            values = np.stack([np.zeros_like(values), values], axis=before.index(bit))
        case CloseMechanism(bit, on, r):
            present = values
            for other, stays_off in r.items():
                present = unswitched(present, after.bits.index(other), stays_off)
            values = np.stack([values, on * present], axis=before.index(bit))
        case CloseTable(gone, table):
            rest = tuple(b for b in before if b not in gone)
            spread = values[(...,) + (None,) * len(gone)] * table.values
            order = [(*rest, *gone).index(b) for b in before]
            values = spread.transpose(order)
    return before, np.ascontiguousarray(values).reshape(np.shape(values)), after.log_scale
