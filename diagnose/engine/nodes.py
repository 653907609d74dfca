"""The nodes of a network: findings, questions and mechanisms, as arrays.

Findings hold *net cumulative chances* (product rule) or plain chances
(either-or).  Parents are variable numbers of the network they belong to.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diagnose.engine.numbers import Array, Index
from diagnose.rulebook.model import AnswerRule


@dataclass(frozen=True, eq=False, slots=True)
class Finding:
    """One thing that can be seen or recorded, with its levels and parents.

    Product rule: `net[i, x]` is the chance that parent i alone, leak shut,
    gives level x or less, and `base[x]` that the leak does.  Mixture rule:
    `net[i, x]` is the chance of level x with parent i alone, `base[x]` with none.
    """

    key: str
    parents: Index
    net: Array
    base: Array
    mixture: bool = False


@dataclass(frozen=True, eq=False, slots=True)
class AskedQuestion:
    """A question with the findings that its answers are levels of.

    Graded and either-or questions have one finding with the levels "none of
    these" and then the listed answers; a ticked one has a finding an answer.
    """

    id: str
    rule: AnswerRule
    answers: tuple[str, ...]
    findings: tuple[Finding, ...]
    minutes: float
    act: str


@dataclass(frozen=True, eq=False, slots=True)
class MechanismNode:
    """A hidden state: the causes that switch it on, and its leak."""

    id: str
    parents: Index
    off: Array
    """Chance that each parent alone leaves it off."""
    leak_off: float


def level_chances(finding: Finding, present: NDArray[np.bool_]) -> Array:
    """Return the chance of each level, given which variables are present.

    `present` has the variables on its last axis; the levels come out there.
    """
    on = present[..., finding.parents]
    if finding.mixture:
        count = on.sum(axis=-1, keepdims=True)
        total = on.astype(np.float64) @ finding.net
        return np.asarray(np.where(count > 0, total / np.maximum(count, 1), finding.base))
    cumulative = np.exp(on.astype(np.float64) @ np.log(finding.net)) * finding.base
    return np.maximum(np.diff(cumulative, axis=-1, prepend=0.0), 0.0)


def from_rows(
    key: str, rows: Mapping[int, Iterable[float]], base: Iterable[float], *, mixture: bool
) -> Finding:
    """Return a finding from the figures of each parent, in order of variable number."""
    parents = sorted(rows)
    levels = np.array(list(base), dtype=np.float64)
    table = np.array([list(rows[p]) for p in parents], dtype=np.float64)
    return Finding(
        key=key,
        parents=np.array(parents, dtype=np.intp),
        net=table.reshape(len(parents), len(levels)),
        base=levels,
        mixture=mixture,
    )


def by_product(key: str, net: Mapping[int, Iterable[float]], base: Iterable[float]) -> Finding:
    """Return a product-rule finding; parents that change nothing are left out."""
    telling = {v: values for v, row in net.items() if min(values := list(row)) < 1.0 - 1e-12}
    return from_rows(key, telling, base, mixture=False)
