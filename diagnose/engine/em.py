"""Expectation and maximisation for links whose firing nobody sees.

References
----------
.. [1] Dempster, Laird, Rubin (1977), JRSS B 39, 1-38; its example of linked
   genes is in the tests.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diagnose.engine.numbers import Array

LEAST, MOST = 1e-6, 1.0 - 1e-6


@dataclass(frozen=True, eq=False, slots=True)
class Trials:
    """What closed cases say about one yes-or-no outcome of a finding.

    `on[c, i]` tells that cause i was present in case c, `besides[c]` is the
    chance that something other than the causes and the background stopped
    short of a yes (hidden states that are off), `yes[c]` the outcome.
    """

    on: NDArray[np.bool_]
    besides: Array
    yes: NDArray[np.bool_]
    weight: Array
    """Of each case: 1 if its causes are established, else how far."""


@dataclass(frozen=True, eq=False, slots=True)
class Links:
    """Chance that each cause alone gives a yes, and that the background does."""

    strength: Array
    leak: float


def fixed_point(
    step: Callable[[Array], Array], start: Array, *, tolerance: float = 1e-10, most: int = 5000
) -> list[Array]:
    """Repeat a step until nothing moves by more than `tolerance`; return every state."""
    states = [np.asarray(start, dtype=np.float64)]
    for _ in range(most):
        states.append(np.asarray(step(states[-1]), dtype=np.float64))
        if float(np.max(np.abs(states[-1] - states[-2]), initial=0.0)) <= tolerance:
            break
    return states


def fit(trials: Trials, elicited: Links, *, pseudo_cases: float) -> list[Links]:
    """Return the links after every step, the elicited ones first.

    Each elicited chance counts as `pseudo_cases` cases seen; with 0 the result
    is the plain maximum of the likelihood.  The objective never falls.
    """
    many = trials.weight @ trials.on
    total = float(trials.weight.sum())
    prior = np.append(elicited.strength, elicited.leak)

    def step(now: Array) -> Array:
        links = Links(now[:-1], float(now[-1]))
        share = trials.weight * trials.yes / np.maximum(yes_chance(trials, links), 1e-300)
        fired = np.append((share @ trials.on) * links.strength, share.sum() * links.leak)
        tried = np.append(many, total)
        counted = pseudo_cases + tried
        new = (pseudo_cases * prior + fired) / np.where(counted > 0.0, counted, 1.0)
        return np.asarray(np.clip(np.where(counted > 0.0, new, now), LEAST, MOST))

    states = fixed_point(step, np.clip(prior, LEAST, MOST))
    return [Links(state[:-1], float(state[-1])) for state in states]


def yes_chance(trials: Trials, links: Links) -> Array:
    """Chance of a yes in each case."""
    off = np.where(trials.on, 1.0 - links.strength, 1.0).prod(axis=1)
    return np.asarray(1.0 - (1.0 - links.leak) * off * trials.besides)
