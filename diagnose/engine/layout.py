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
class Layout:
    """All product-rule findings of the questions side by side.

    `entry_*` are the parents that tell: variable, column and log net chance.
    """

    keys: tuple[str, ...]
    starts: Index
    """First column of each finding."""
    log_base: Array
    entry_variable: Index
    entry_column: Index
    entry_log: Array
    dense: Array
    """(variables, columns) log net chances, 0 where a variable is no parent."""
    tells: NDArray[np.bool_]
    """Where `dense` is not 0."""
    finding: Index
    """Number of the finding that each column belongs to."""
    place: Mapping[str, int]


@lru_cache(maxsize=8)
def layout(network: Network) -> Layout:
    """Lay out the questions of a network; kept for the networks used last."""
    findings = [
        finding
        for question in network.questions.values()
        for finding in question.findings
        if not finding.mixture
    ]
    starts, column = [], 0
    variables, columns, logs, bases = [], [], [], []
    for finding in findings:
        levels = len(finding.base)
        starts.append(column)
        bases.append(np.log(finding.base))
        rows, cols = np.nonzero(finding.net < 1.0)
        variables.append(finding.parents[rows])
        columns.append(cols + column)
        logs.append(np.log(finding.net[rows, cols]))
        column += levels
    entry_variable = np.concatenate(variables) if variables else np.zeros(0, dtype=np.intp)
    entry_column = np.concatenate(columns) if columns else np.zeros(0, dtype=np.intp)
    entry_log = np.concatenate(logs) if logs else np.zeros(0)
    dense = np.zeros((network.size, column))
    dense[entry_variable, entry_column] = entry_log
    return Layout(
        keys=tuple(finding.key for finding in findings),
        starts=np.array(starts, dtype=np.intp),
        log_base=np.concatenate(bases) if bases else np.zeros(0),
        entry_variable=entry_variable,
        entry_column=entry_column,
        entry_log=entry_log,
        dense=dense,
        tells=dense != 0.0,
        finding=np.repeat(np.arange(len(findings)), [len(f.base) for f in findings]),
        place={finding.key: number for number, finding in enumerate(findings)},
    )
