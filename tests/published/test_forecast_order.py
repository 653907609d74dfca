"""The order of what to put right: Kadane and Simon (1977), held against every other order."""

from __future__ import annotations

import itertools
from collections.abc import Iterable

import numpy as np
import pytest

from diagnose.forecast.acts import cheapest_order
from diagnose.forecast.values import Eased, PutRight


def act(name: str, chance: float, minutes: float) -> PutRight:
    most = Eased("job", "open-seam", "Open seam", chance, 0.0)
    return PutRight(name, (), (), minutes, chance, most, ())


def mean_minutes(order: Iterable[PutRight]) -> float:
    """Minutes on average until the one thing amiss is put right, worked out here."""
    total, left = 0.0, 1.0
    for each in order:
        total += left * each.minutes
        left -= each.removed
    return total


# The theorem is published; no worked figures of it were found, so these are our own:
# chances .5 .3 .2 and minutes 10 2 1 give C B A 7.6, B C A 7.7, A B C 11.2.
THREE = {"A": act("A", 0.5, 10.0), "B": act("B", 0.3, 2.0), "C": act("C", 0.2, 1.0)}


@pytest.mark.parametrize(("order", "minutes"), [("CBA", 7.6), ("BCA", 7.7), ("ABC", 11.2)])
def test_own_figures(order: str, minutes: float) -> None:
    assert mean_minutes(THREE[name] for name in order) == pytest.approx(minutes, abs=1e-12)


def test_the_order_of_the_three() -> None:
    assert "".join(each.act for each in cheapest_order(THREE.values())) == "CBA"


# Two acts that settle it: first 1 if and only if (1 - p) C1 <= p C2; p = .4, C = 3, 2.
def test_two_decisive_acts() -> None:
    one, two = act("1", 0.4, 3.0), act("2", 0.6, 2.0)
    assert mean_minutes([one, two]) - mean_minutes([two, one]) == pytest.approx(1.0)
    assert cheapest_order([one, two]) == (two, one)


def test_no_order_is_cheaper() -> None:
    rng = np.random.default_rng(1977)
    for _ in range(300):
        chances = rng.dirichlet(np.ones(6))[:5].tolist()
        minutes = rng.uniform(0.5, 20, 5).tolist()
        acts = [act("", p, c) for p, c in zip(chances, minutes, strict=True)]
        least = min(mean_minutes(order) for order in itertools.permutations(acts))
        assert mean_minutes(cheapest_order(acts)) == pytest.approx(least, abs=1e-12)
