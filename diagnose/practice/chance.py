"""Seeded drawing that comes out the same on every machine and version.

Only `random.Random.random` is used: its stream for a text seed is fixed by the
language reference, which the choosing functions built on it are not.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from random import Random
from typing import TypeVar

Thing = TypeVar("Thing")


def stream(*parts: object) -> Random:
    """Return a stream of chances for a seed and the names of what is drawn."""
    return Random("/".join(str(part) for part in parts))


def pick(rng: Random, things: Sequence[Thing]) -> Thing:
    """Return one of the things, each as likely as the others.

    Raises
    ------
    IndexError
        There is nothing to pick from.
    """
    return things[int(rng.random() * len(things))]


def pick_weighted(rng: Random, weights: Mapping[Thing, float]) -> Thing:
    """Return a key with a chance in proportion to its weight."""
    aim = rng.random() * sum(weights.values())
    for thing, weight in weights.items():
        aim -= weight
        if aim < 0:
            return thing
    return list(weights)[-1]


def shuffled(rng: Random, things: Iterable[Thing]) -> list[Thing]:
    """Return the things in an order that the stream decides."""
    return [thing for _, _, thing in sorted((rng.random(), n, t) for n, t in enumerate(things))]


def level(rng: Random, chances: Sequence[float]) -> int:
    """Return the number of a level, drawn by its chance."""
    return pick_weighted(rng, dict(enumerate(map(float, chances))))
