"""Chances of every answer of every question, for each listed set of causes.

The questions of a network are laid out once as columns (one a level of a
finding); for a posterior the chances of all columns are one matrix product.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.engine.either_or import either_or_chances
from diagnose.engine.explanations import Sets
from diagnose.engine.layout import Layout, layout
from diagnose.engine.network import Finding
from diagnose.engine.numbers import Array, Index
from diagnose.engine.posterior import Posterior
from diagnose.engine.summed import Summed

MOST_SETS_RANKED = 600


@dataclass(frozen=True, eq=False, slots=True)
class AnswerChances:
    """Chance of each level of each finding given each set (rows).

    Findings that come out alike whatever the set are kept apart, with one row.
    """

    sets: Sets
    mass: Array
    """Of the sets used, adding up to 1."""
    levels: Array
    """(sets, columns that differ between sets)."""
    columns: Index
    """Which columns of the layout those are; whole findings, in order."""
    alike: Array
    """Chances of all columns of the layout, right where they do not differ."""
    laid: Layout
    summed: Summed

    def ticks(self, places: Sequence[int]) -> Array:
        """Return (sets, combinations) of several ticked answers of one question.

        `places` are numbers of findings of the layout.  The chance that none of
        some ticks is given is a product again; the combinations follow from
        those chances by differences.
        """
        chosen = np.array(list(itertools.product([0.0, 1.0], repeat=len(places)))).T
        columns = self.laid.columns.select(self.laid.starts[list(places)])
        table = self.summed.cumulative(columns.combined(chosen))
        for bit in range(len(places)):
            halves = table.reshape(len(table), 2**bit, 2, -1)
            halves[:, :, 0] -= halves[:, :, 1]
        return np.maximum(table, 0.0)

    def mixture(self, finding: Finding) -> Array:
        """Return (sets, levels) of an either-or finding."""
        return either_or_chances(self.summed.posterior, len(self.mass), finding)


def answer_chances(posterior: Posterior) -> AnswerChances:
    """Return the chances of all answers given each of the likeliest sets."""
    laid, sets = layout(posterior.network), posterior.sets
    summed = Summed(posterior, min(len(sets.mass), MOST_SETS_RANKED))
    varies = summed.moved(laid.columns)
    if len(varies):
        varies = np.bincount(laid.finding, varies)[laid.finding] > 0
    columns, still = np.flatnonzero(varies), np.flatnonzero(~varies)
    at = np.zeros(len(varies), dtype=np.intp)
    at[columns] = np.arange(len(columns))
    at[still] = np.arange(len(still))
    moving = varies[laid.starts]
    levels = summed.cumulative(laid.columns.select(columns))
    alike = np.zeros(len(varies))
    one = summed.cumulative(laid.columns.select(still), count=1)
    alike[still] = _differences(one, at[laid.starts[~moving]])[0]
    return AnswerChances(
        sets=sets,
        mass=sets.mass[: summed.count] / sets.mass[: summed.count].sum(),
        levels=_differences(levels, at[laid.starts[moving]]),
        columns=columns,
        alike=alike,
        laid=laid,
        summed=summed,
    )


def _differences(cumulative: Array, starts: Index) -> Array:
    """Chances of the levels from cumulative chances side by side."""
    levels = cumulative.copy()
    np.subtract(cumulative[:, 1:], cumulative[:, :-1], out=levels[:, 1:])
    levels[:, starts] = cumulative[:, starts]
    return np.maximum(levels, 0.0, out=levels)
