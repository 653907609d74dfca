"""Scores against printed examples of scikit-learn and against the library itself."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats
from sklearn import metrics
from sklearn.calibration import calibration_curve

from diagnose.engine import scores


# scikit-learn 1.9.1 documentation, brier_score_loss.
def test_printed_brier_score():
    assert scores.brier([0.1, 0.9, 0.8, 0.3], [0, 1, 1, 0]) == pytest.approx(0.0375, abs=1e-12)


# Same documentation, log_loss: ["spam", "ham", "ham", "spam"] with .9 .1 .2 .65 for spam.
def test_printed_log_loss():
    assert scores.log_score([0.9, 0.1, 0.2, 0.65], [1, 0, 0, 1]) == pytest.approx(0.21616, abs=5e-6)


# Same documentation, calibration_curve with three bins; its bins are thirds, so that the curve
# is compared where thirds and tenths hold the same statements.
def test_printed_calibration_curve():
    true = np.array([0, 0, 0, 0, 1, 1, 1, 1, 1])
    said = np.array([0.1, 0.2, 0.3, 0.4, 0.65, 0.7, 0.8, 0.9, 1.0])
    right, mean = calibration_curve(true, said, n_bins=3)
    assert right == pytest.approx([0, 0.5, 1])
    assert mean == pytest.approx([0.2, 0.525, 0.85])
    table = scores.reliability(said, true)
    thirds = [
        [t for t in table if low <= t.said <= high]
        for low, high in [(0, 1 / 3), (1 / 3, 2 / 3), (2 / 3, 1)]
    ]
    assert [
        sum(t.count * t.right for t in each) / sum(t.count for t in each) for each in thirds
    ] == pytest.approx([0, 0.5, 1])
    assert [
        sum(t.count * t.said for t in each) / sum(t.count for t in each) for each in thirds
    ] == pytest.approx([0.2, 0.525, 0.85])


@pytest.mark.parametrize("seed", range(5))
def test_scores_are_those_of_scikit_learn(seed):
    rng = np.random.default_rng(seed)
    said = rng.random(500)
    right = rng.random(500) < said**1.3
    found = scores.scores(said, right)
    assert found.brier == pytest.approx(metrics.brier_score_loss(right, said), abs=1e-12)
    assert found.log_score == pytest.approx(metrics.log_loss(right, said), abs=1e-9)
    share, mean = calibration_curve(right, said, n_bins=10)
    assert [t.right for t in found.tenths] == pytest.approx(list(share), abs=1e-12)
    assert [t.said for t in found.tenths] == pytest.approx(list(mean), abs=1e-12)
    counts = [t.count for t in found.tenths]
    assert sum(counts) == 500
    by_hand = sum(n * abs(a - b) for n, a, b in zip(counts, share, mean, strict=True)) / 500
    assert found.ece == pytest.approx(by_hand, abs=1e-12)


def test_z_is_a_standard_score():
    # 100 statements of one half of which 60 came true: (60 - 50) / sqrt(25).
    assert scores.z_score([0.5] * 100, [1] * 60 + [0] * 40) == pytest.approx(2.0)


@pytest.mark.parametrize(("chance", "right", "of"), [(0.5, 60, 100), (0.1, 4, 90), (0.93, 41, 45)])
def test_z_squared_is_the_chi_square_of_scipy(chance, right, of):
    z = scores.z_score([chance] * of, [1] * right + [0] * (of - right))
    expected = [of * chance, of * (1 - chance)]
    assert z**2 == pytest.approx(stats.chisquare([right, of - right], expected).statistic)
    assert (z > 0) == (right > of * chance)


def test_certainties_do_not_make_the_log_score_infinite():
    assert scores.log_score([0.0], [1]) == pytest.approx(-math.log(scores.CLIP))


@pytest.mark.parametrize(("said", "right"), [([0.5], [1, 0]), ([1.2], [1]), ([-0.1], [0])])
def test_what_cannot_be_scored_is_refused(said, right):
    with pytest.raises(ValueError, match=r"outside|for"):
        scores.scores(said, right)


def test_nothing_said_is_no_score():
    assert math.isnan(scores.scores([], []).brier)
