"""The order of attempts: Kadane and Simon (1977), held against every other order."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from diagnose.engine.attempts import Attempt, cheapest_order, expected_cost

# The theorem is published; no worked figures of it were found, so these are our own:
# chances .5 .3 .2 and costs 10 2 1 give C B A 7.6, B C A 7.7, A B C 11.2.
THREE = {"A": Attempt("A", 0.5, 10.0), "B": Attempt("B", 0.3, 2.0), "C": Attempt("C", 0.2, 1.0)}


@pytest.mark.parametrize(("order", "cost"), [("CBA", 7.6), ("BCA", 7.7), ("ABC", 11.2)])
def test_own_figures(order, cost):
    assert expected_cost([THREE[name] for name in order]) == pytest.approx(cost, abs=1e-12)


def test_the_order_of_the_three():
    assert "".join(each.name for each in cheapest_order(list(THREE.values()))) == "CBA"


# Two checks that settle the case, the first always paid: first 1 if and only if
# (1 - p) C1 <= p C2; with p = .4, C = 3, 2 and repairs R = 5, 7, 10.4 against 9.4.
def test_two_decisive_checks():
    p, first, second, repair = 0.4, 3.0, 2.0, (5.0, 7.0)
    one = expected_cost([Attempt("1", p, first), Attempt("2", 1 - p, second)])
    two = expected_cost([Attempt("2", 1 - p, second), Attempt("1", p, first)])
    mend = p * repair[0] + (1 - p) * repair[1]
    assert one + mend == pytest.approx(10.4)
    assert two + mend == pytest.approx(9.4)
    assert cheapest_order([Attempt("1", p, first), Attempt("2", 1 - p, second)])[0].name == "2"


def test_no_order_is_cheaper():
    rng = np.random.default_rng(1977)
    for _ in range(300):
        chances = rng.dirichlet(np.ones(6))[:5].tolist()
        costs = rng.uniform(0.5, 20, 5).tolist()
        attempts = [Attempt("", p, c) for p, c in zip(chances, costs, strict=True)]
        best = expected_cost(cheapest_order(attempts))
        least = min(expected_cost(order) for order in itertools.permutations(attempts))
        assert best == pytest.approx(least, abs=1e-12)
