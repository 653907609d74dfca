"""How good stated probabilities were, once the truth is known.

`said` are probabilities of statements and `right` tells which came true; both
have one entry a statement.  Lower is better for Brier and log score.

References
----------
.. [1] Brier (1950); logarithmic score after Good (1952); reliability table as
   in forecast verification.  From memory; checked against scikit-learn.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from diagnose.engine.numbers import Array

CLIP = 1e-9
"""A certainty that turns out wrong costs as much as odds of a thousand million."""


@dataclass(frozen=True, slots=True)
class Tenth:
    """Statements whose probability lies in one tenth of 0 to 1."""

    low: float
    high: float
    count: int
    said: float
    """Mean probability said."""
    right: float
    """Share that came true."""


@dataclass(frozen=True, slots=True)
class Scores:
    """All scores of a list of statements."""

    count: int
    brier: float
    log_score: float
    """Mean, in nats."""
    ece: float
    """Expected calibration error over the tenths."""
    z: float
    """Standardised difference of what came true and what was expected; |z| > 3 is a warning."""
    tenths: tuple[Tenth, ...]


def scores(said: ArrayLike, right: ArrayLike) -> Scores:
    """Return all scores; no statements at all give not-a-number.

    Raises
    ------
    ValueError
        The two differ in length, or a probability lies outside 0 to 1.
    """
    p, y = _checked(said, right)
    tenths = reliability(p, y)
    return Scores(len(p), brier(p, y), log_score(p, y), _ece(tenths), z_score(p, y), tenths)


def brier(said: ArrayLike, right: ArrayLike) -> float:
    """Return the mean squared difference of probability and truth."""
    p, y = _checked(said, right)
    return float(np.mean((p - y) ** 2)) if len(p) else math.nan


def log_score(said: ArrayLike, right: ArrayLike) -> float:
    """Return the mean of minus the log of the probability given to what came true."""
    p, y = _checked(said, right)
    p = np.clip(p, CLIP, 1.0 - CLIP)
    return float(-np.mean(y * np.log(p) + (1.0 - y) * np.log1p(-p))) if len(p) else math.nan


def reliability(said: ArrayLike, right: ArrayLike) -> tuple[Tenth, ...]:
    """Return the tenths that hold at least one statement; 1.0 belongs to the last."""
    p, y = _checked(said, right)
    tenth = np.minimum((p * 10.0).astype(np.intp), 9)
    found = []
    for number in range(10):
        inside = tenth == number
        if inside.any():
            found.append(
                Tenth(
                    low=number / 10,
                    high=(number + 1) / 10,
                    count=int(inside.sum()),
                    said=float(p[inside].mean()),
                    right=float(y[inside].mean()),
                )
            )
    return tuple(found)


def z_score(said: ArrayLike, right: ArrayLike) -> float:
    """Return (came true - expected) over the standard deviation expected of it."""
    p, y = _checked(said, right)
    spread = float(np.sum(p * (1.0 - p)))
    return float(np.sum(y - p)) / math.sqrt(spread) if spread > 0.0 else 0.0


def _ece(tenths: Sequence[Tenth]) -> float:
    total = sum(tenth.count for tenth in tenths)
    if not total:
        return math.nan
    return math.fsum(t.count * abs(t.said - t.right) for t in tenths) / total


def _checked(said: ArrayLike, right: ArrayLike) -> tuple[Array, Array]:
    p = np.asarray(said, dtype=np.float64).ravel()
    y = np.asarray(right, dtype=np.float64).ravel()
    if len(p) != len(y):
        raise ValueError(f"{len(p)} probabilities for {len(y)} outcomes")
    if len(p) and not (np.all(p >= 0.0) and np.all(p <= 1.0)):
        raise ValueError("a probability lies outside 0 to 1")
    return p, y
