"""Comparisons of groups: the arithmetic against another program, the words against the counts."""

from __future__ import annotations

import random
from datetime import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from diagnose.store.cases import close_case, open_case
from diagnose.store.jobs import import_changes
from diagnose.store.journal import Casebook
from diagnose.store.trends import Trend, adjust, causes_by_stage, compare, exact_chance, trends

CELLS = st.integers(0, 60)


@given(CELLS, CELLS, CELLS, CELLS)
def test_the_exact_chance_is_that_of_another_program(a: int, b: int, c: int, d: int) -> None:
    if 0 in (a + b, c + d, a + c, b + d):
        assert exact_chance(a, b, c, d) == pytest.approx(1.0)
        return
    wanted = stats.fisher_exact([[a, b], [c, d]]).pvalue
    assert exact_chance(a, b, c, d) == pytest.approx(wanted, rel=1e-6, abs=1e-12)


@given(st.lists(st.floats(1e-9, 1), min_size=1, max_size=30))
def test_the_adjustment_is_that_of_another_program(chances: list[float]) -> None:
    wanted = stats.false_discovery_control(chances)
    assert adjust(chances) == pytest.approx(list(wanted))


def fill(casebook: Casebook, now: datetime) -> None:
    """Forty jobs; half of those with batch 7 have a case, and one other."""
    for number in range(40):
        bad = number < 12
        values = {
            "title": f"{number}",
            "method": "adhered",
            "product.name": "sample A" if number % 2 else "sample B",
            "rolls.R1.batch": "7" if bad else f"x {number}",
            "lots.A1.batch": "glue 1" if number % 3 else "glue 2",
        }
        import_changes(casebook, f"job-{number:02}", values, said_by="AB", at=now)
        if (bad and number % 2) or number == 20:
            for _ in range(2):
                open_case(casebook, job=f"job-{number:02}", symptoms=["gap"], said_by="EF", at=now)


def test_a_bad_batch_comes_first_and_small_groups_say_nothing(
    casebook: Casebook, now: datetime
) -> None:
    fill(casebook, now)
    found = trends(casebook)
    first = found[0]
    assert (first.kind, first.value, first.cases, first.jobs) == ("batch", "7", 6, 12)
    assert (first.other_cases, first.other_jobs) == (1, 28)
    assert first.stands_out
    assert first.sentence == (
        "batch 7: 6 of 12 jobs with a case, 1 of 28 elsewhere; more than chance explains"
    )
    by_name = {(trend.kind, trend.value): trend for trend in found}
    assert by_name["batch", "X 20"].sentence.endswith("too few to say")
    assert by_name["method", "adhered"].adjusted is None
    assert not by_name["lot", "GLUE 1"].stands_out
    assert by_name["lot", "GLUE 1"].sentence.endswith("can well be chance")
    assert not [trend for trend in trends(casebook, symptom="fraying") if trend.cases]


def test_chance_alone_is_seldom_named() -> None:
    chance = random.Random(3)
    jobs = {f"j{number}" for number in range(400)}
    named = 0
    for _ in range(200):
        shuffled = sorted(jobs)
        chance.shuffle(shuffled)
        groups = {f"g{g}": set(shuffled[g * 20 : g * 20 + 20]) for g in range(20)}
        troubled = set(chance.sample(sorted(jobs), 60))
        named += any(trend.stands_out for trend in compare("batch", groups, jobs, troubled))
    assert named <= 20


def test_fewer_cases_are_called_fewer() -> None:
    trend = Trend("lot", "x", 0, 50, 25, 50, 1e-8, 1e-7)
    assert trend.sentence.endswith("fewer than chance explains")


def test_established_causes_are_counted_by_stage(casebook: Casebook, now: datetime) -> None:
    for number, causes in enumerate((["no-sealer"], ["no-sealer", "late-laying"], ["odd"])):
        case = open_case(casebook, symptoms=["gap"], said_by="EF", at=now, case_id=f"case-{number}")
        close_case(casebook, case, causes, how="", said_by="EF", at=now)
    open_case(casebook, symptoms=["gap"], said_by="EF", at=now)
    stages = {"no-sealer": "sealing", "late-laying": "bonding"}
    assert causes_by_stage(casebook, stages) == {"sealing": 2, "bonding": 1, "not-known": 1}
