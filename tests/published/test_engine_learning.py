"""Learning against published figures and against direct maximisation."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import optimize, stats

from diagnose.engine import em
from diagnose.engine.beta import Beta, worth_of
from diagnose.engine.learning import ClosedCase, learn_priors
from tests.engine.by_hand import network

# Rao's linked genes, 125 18 20 34 (data as printed in Dempster, Laird and Rubin 1977), started
# at .5; the sequence and the limit (15 + sqrt(53809)) / 394 are recomputed.
SEQUENCE = [0.5, 0.608247423, 0.624321050, 0.626488879, 0.626777322, 0.626815632]


def linkage(state):
    theta = state[0]
    hidden = 125.0 * (theta / 4) / (0.5 + theta / 4)
    return np.array([(hidden + 34) / (hidden + 34 + 18 + 20)])


def test_linked_genes():
    states = em.fixed_point(linkage, np.array([0.5]), tolerance=1e-13)
    assert [state[0] for state in states[:6]] == pytest.approx(SEQUENCE, abs=1e-9)
    assert states[-1][0] == pytest.approx((15 + 53809**0.5) / 394, abs=1e-11)


# Beta(1, 1) with 437 of 980 (Gelman et al.): mean .446, interval (.415, .477); from
# memory, to be verified, so that recomputed figures with more digits are compared.
def test_births_with_placenta_praevia():
    belief = Beta(1.0, 1.0).after(437, 980)
    assert belief.mean == pytest.approx(438 / 982, abs=1e-12)
    assert belief.interval() == pytest.approx((0.4151, 0.4772), abs=5e-5)


def test_elicited_frequencies_are_worth_occurrences():
    assert worth_of(0.02, 2.0).mean == pytest.approx(0.02)
    assert worth_of(0.02, 2.0).after(3, 400).mean == pytest.approx((2 + 3) / (100 + 400))


def objective(trials, links, elicited, *, pseudo_cases):
    """Log likelihood plus what the pseudo-cases add."""
    yes = em.yes_chance(trials, links)
    with np.errstate(divide="ignore"):
        fit_log = np.where(trials.yes, np.log(yes), np.log1p(-yes))
    now = np.append(links.strength, links.leak)
    first = np.append(elicited.strength, elicited.leak)
    prior = pseudo_cases * (first * np.log(now) + (1.0 - first) * np.log1p(-now))
    return float(trials.weight @ fit_log + prior.sum())


def drawn_trials(seed, cases=400):
    rng = np.random.default_rng(seed)
    on = rng.random((cases, 3)) < (0.5, 0.3, 0.4)
    truth = em.Links(np.array([0.7, 0.4, 0.2]), 0.08)
    empty = em.Trials(on, np.ones(cases), np.zeros(cases, dtype=bool), np.ones(cases))
    yes = rng.random(cases) < em.yes_chance(empty, truth)
    return em.Trials(on, np.ones(cases), yes, np.ones(cases))


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("pseudo", [0.0, 10.0])
def test_em_never_falls_and_ends_at_the_maximum(seed, pseudo):
    trials = drawn_trials(seed)
    elicited = em.Links(np.array([0.5, 0.5, 0.5]), 0.2)
    path = em.fit(trials, elicited, pseudo_cases=pseudo)
    heights = [objective(trials, links, elicited, pseudo_cases=pseudo) for links in path]
    assert np.all(np.diff(heights) >= -1e-9)
    found = np.append(path[-1].strength, path[-1].leak)
    best = maximised(trials, elicited, pseudo)
    assert found == pytest.approx(best, abs=1e-6)


def maximised(trials, elicited, pseudo):
    """A general maximiser of scipy on the log odds; knows nothing of EM."""

    def depth(odds):
        p = 1 / (1 + np.exp(-odds))
        return -objective(trials, em.Links(p[:3], p[3]), elicited, pseudo_cases=pseudo)

    found = optimize.minimize(
        depth, np.zeros(4), method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-13}
    )
    polished = optimize.minimize(depth, found.x, method="BFGS", options={"gtol": 1e-9})
    return 1 / (1 + np.exp(-polished.x))


BELIEFS = [(0.5, 0.5), (2, 98), (5, 20), (438, 544), (30, 1), (2.0, 19_998.0), (0.03, 4.0)]


@pytest.mark.parametrize(("a", "b"), BELIEFS)
def test_beta_is_that_of_scipy(a, b):
    belief, theirs = Beta(a, b), stats.beta(a, b)
    assert belief.mean == pytest.approx(theirs.mean(), rel=1e-12)
    for x in (0.0, 1e-4, 0.01, 0.1, 0.4, 0.5, 0.9, 0.999, 1.0):
        assert belief.below(x) == pytest.approx(theirs.cdf(x), abs=1e-10)
    for mass in (0.5, 0.9, 0.95):
        low, high = theirs.interval(mass)
        assert belief.interval(mass) == pytest.approx((low, high), rel=1e-9, abs=1e-15)


@pytest.mark.parametrize(("seen", "of"), [(3, 40), (17, 20), (1, 400)])
def test_beta_holds_the_exact_binomial_limits(seen, of):
    """Clopper and Pearson's limits are quantiles of two Beta distributions."""
    exact = stats.binomtest(seen, of).proportion_ci(0.95, method="exact")
    assert Beta(seen, of - seen + 1).interval()[0] == pytest.approx(exact.low, rel=1e-9)
    assert Beta(seen + 1, of - seen).interval()[1] == pytest.approx(exact.high, rel=1e-9)


def test_a_learnt_frequency_is_the_posterior_of_scipy():
    net = network({"a": 0.02})
    cases = [ClosedCase((), ((frozenset({"a"}), 1.0),))] * 3
    [found] = learn_priors(net, cases, installs=250, occurrences=2.0)
    theirs = stats.beta(2 + 3, 2 * 0.98 / 0.02 + 247)
    assert found.proposed == pytest.approx(theirs.mean(), rel=1e-12)
    assert found.interval == pytest.approx(theirs.interval(0.95), rel=1e-9)
