"""Lay the questions of a network out once, all findings side by side as columns."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from diagnose.engine.network import Network
from diagnose.engine.numbers import Array, Index


@dataclass(frozen=True, eq=False, slots=True)
class Columns:
    """Cumulative chances side by side: base of each column, and what variables do to it.

    An entry says that a variable multiplies a column by e^log when it is
    present.  Entries stand in order of their columns.
    """

    log_base: Array
    variable: Index
    column: Index
    log: Array

    @property
    def width(self) -> int:
        """Number of columns."""
        return len(self.log_base)

    def about(self, variables: NDArray[np.bool_]) -> NDArray[np.bool_]:
        """Columns that any of the variables (a mark for each) acts on."""
        found = np.zeros(self.width, dtype=bool)
        found[self.column[variables[self.variable]]] = True
        return found

    def select(self, columns: Index) -> Columns:
        """Return some of the columns, renumbered."""
        first = np.searchsorted(self.column, columns, side="left")
        count = np.searchsorted(self.column, columns, side="right") - first
        new = np.repeat(np.arange(len(columns)), count)
        start = np.cumsum(count) - count
        entries = np.arange(len(new)) - np.repeat(start - first, count)
        return Columns(self.log_base[columns], self.variable[entries], new, self.log[entries])

    def rows(self, variables: Index, size: int) -> Array:
        """Return (variables, columns) of logs, 0 where a variable does nothing.

        `size` is the number of variables of the network.
        """
        place = np.full(size, -1)
        place[variables] = np.arange(len(variables))
        row = place[self.variable]
        found = np.zeros((len(variables), self.width))
        chosen = row >= 0
        found[row[chosen], self.column[chosen]] = self.log[chosen]
        return found

    def combined(self, chosen: Array) -> Columns:
        """Return products of columns; `chosen` is (columns, products) of 0 and 1."""
        variables, row = np.unique(self.variable, return_inverse=True)
        logs = np.zeros((len(variables), self.width))
        logs[row.ravel(), self.column] = self.log
        product = (logs @ chosen).T
        column, entry = np.nonzero(product)
        return Columns(self.log_base @ chosen, variables[entry], column, product[column, entry])


@dataclass(frozen=True, eq=False, slots=True)
class Layout:
    """All product-rule findings of the questions side by side, a column a level."""

    columns: Columns
    starts: Index
    """First column of each finding."""
    finding: Index
    """Number of the finding that each column belongs to."""
    place: Mapping[str, int]
    """Number of each finding, by its key."""


@lru_cache(maxsize=8)
def layout(network: Network) -> Layout:
    """Lay out the questions of a network; kept for the networks used last."""
    findings = [
        finding
        for question in network.questions.values()
        for finding in question.findings
        if not finding.mixture
    ]
    none = np.zeros(0, dtype=np.intp)
    starts, width = [], 0
    variables, columns = [none], [none]
    logs, bases = [np.zeros(0)], [np.zeros(0)]
    for finding in findings:
        starts.append(width)
        bases.append(np.log(finding.base))
        levels, rows = np.nonzero(finding.net.T < 1.0)
        variables.append(finding.parents[rows])
        columns.append(levels + width)
        logs.append(np.log(finding.net[rows, levels]))
        width += len(finding.base)
    return Layout(
        columns=Columns(
            log_base=np.concatenate(bases),
            variable=np.concatenate(variables),
            column=np.concatenate(columns),
            log=np.concatenate(logs),
        ),
        starts=np.array(starts, dtype=np.intp),
        finding=np.repeat(np.arange(len(findings)), [len(f.base) for f in findings]),
        place={finding.key: number for number, finding in enumerate(findings)},
    )
