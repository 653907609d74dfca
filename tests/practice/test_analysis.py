"""Item analysis and class results, against figures worked by hand."""

from __future__ import annotations

import statistics

import pytest

from diagnose.practice.analysis import (
    calibration,
    item_figures,
    mean_brier,
    missed_causes,
    weak_spots,
    weak_stages,
)
from diagnose.practice.progress import CaseResult, ItemResult

MATRIX = [[int(c) for c in row] for row in ("1111", "1110", "1100", "1001", "0100", "1000")]


def result(pupil, item, right, at="2026-03-01T08:00:00Z"):
    return ItemResult(at, pupil, item, "which-cause", "cause:x", right, 2)


def stated(pupil, truth, named, percent):
    right = set(truth) == set(named)
    return CaseResult(
        "2026-03-01T08:00:00Z", pupil, "c", "one-cause", truth, named, percent, right, 50, "{}"
    )


def test_the_small_matrix():
    shares = [sum(row[n] for row in MATRIX) / 6 for n in range(4)]
    assert shares == pytest.approx([0.833, 0.667, 0.333, 0.333], abs=5e-4)
    found = [item_rest(MATRIX, n) for n in range(4)]
    assert found == pytest.approx([0.158, 0.0, 0.686, 0.131], abs=5e-4)


def test_what_does_not_vary_has_no_correlation():
    results = [result(f"p{n}", item, True) for n in range(3) for item in ("a", "b")]
    assert [each.item_rest for each in item_figures(results)] == [None, None]


def item_rest(matrix, item):
    """The correlation of an item with the sum of the others, worked another way."""
    own = [row[item] for row in matrix]
    return statistics.correlation(own, [sum(row) - row[item] for row in matrix])


def test_item_figures_are_those_of_the_matrix():
    results = [
        result(f"p{row}", f"i{n}", bool(value))
        for row, values in enumerate(MATRIX)
        for n, value in enumerate(values)
    ]
    found = {each.item: each for each in item_figures(results)}
    for n in range(4):
        assert found[f"i{n}"].item_rest == pytest.approx(item_rest(MATRIX, n))
        assert found[f"i{n}"].right == sum(row[n] for row in MATRIX)
        assert found[f"i{n}"].verdict == "too few learners for a verdict"
    assert [each.difficulty for each in item_figures(results)] == sorted(
        each.difficulty for each in found.values()
    )


def test_only_the_first_answer_of_a_learner_counts():
    results = [
        result("anna", "i", False, "2026-03-01T08:00:00Z"),
        result("anna", "i", True, "2026-03-02T08:00:00Z"),
    ]
    (figures,) = item_figures(results)
    assert (figures.right, figures.asked) == (0, 1)


def test_a_verdict_needs_thirty_learners_and_a_wrong_key_shows():
    good = [result(f"p{n}", "easy", n % 2 == 0) for n in range(40)]
    good += [result(f"p{n}", "like", n % 2 == 0) for n in range(40)]
    bad = [result(f"p{n}", "turned", n % 2 == 1) for n in range(40)]
    verdicts = {each.item: each.verdict for each in item_figures([*good, *bad])}
    assert verdicts["turned"] == "check the key"
    few = {each.item: each.verdict for each in item_figures(good[:20])}
    assert few["easy"].startswith("too few")


def test_calibration_missed_causes_and_stages(rules):
    first, second = "sealer-omitted", "strip-missed"
    cases = [
        stated("anna", (first,), (first,), 90),
        stated("ben", (first,), (second,), 90),
        stated("ben", (second,), (second,), 50),
    ]
    bands = {(band.low, band.high): (band.stated, band.right) for band in calibration(cases)}
    assert bands == {(80, 94): (2, 1), (40, 59): (1, 1)}
    assert mean_brier(cases) == pytest.approx((0.01 + 0.81 + 0.25) / 3)
    assert mean_brier([]) is None
    assert missed_causes(cases) == {first: (1, 2), second: (0, 1)}
    assert list(missed_causes(cases)) == [first, second]
    assert weak_stages(rules, cases) == {"sealing": (1, 2), "bonding": (0, 1)}
    assert weak_spots(cases) == (first,)
