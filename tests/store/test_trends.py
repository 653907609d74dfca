"""Comparisons of groups: the arithmetic against another program, the words against the counts."""

from __future__ import annotations

import math
import random
from datetime import datetime, timedelta
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from diagnose.data import data_folder
from diagnose.rulebook.load import load_rules
from diagnose.store.cases import close_case, open_case
from diagnose.store.exact import adjust, count_chance, exact_chance
from diagnose.store.jobs import import_changes, set_value
from diagnose.store.journal import Casebook
from diagnose.store.stages import Stages, causes_by_stage, risks
from diagnose.store.trends import Trend, compare, compare_stages, trends
from diagnose.store.withdraw import withdraw

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


CHANCES = st.sampled_from((0.0, 0.1, 0.125, 0.25, 1 / 3, 0.5, 1.0))


@given(st.integers(1, 60), st.sampled_from((0.05, 0.1, 1 / 7, 0.5, 0.9)), st.data())
def test_the_chance_of_a_count_is_that_of_another_program(
    number: int, chance: float, data: st.DataObject
) -> None:
    count = data.draw(st.integers(0, number))
    wanted = stats.binomtest(count, number, chance).pvalue
    assert count_chance(count, [chance] * number) == pytest.approx(wanted, rel=1e-6, abs=1e-12)


@given(st.lists(CHANCES, max_size=10), st.data())
def test_events_of_unlike_chances_are_counted_as_by_going_through_all_of_them(
    chances: list[float], data: st.DataObject
) -> None:
    count = data.draw(st.integers(0, len(chances)))
    spread = [0.0] * (len(chances) + 1)
    for happened in product((True, False), repeat=len(chances)):
        spread[sum(happened)] += math.prod(
            chance if there else 1 - chance for chance, there in zip(chances, happened, strict=True)
        )
    wanted = sum(each for each in spread if each <= spread[count] * (1 + 1e-7))
    assert count_chance(count, chances) == pytest.approx(min(1.0, wanted), rel=1e-6, abs=1e-12)


def test_thousands_of_jobs_are_counted_at_once() -> None:
    chances = [1 / 10] * 4_000 + [1 / 9] * 3_000 + [2 / 9] * 500
    mean, deviation = 400 + 1_000 / 3 + 1_000 / 9, 27.6
    assert count_chance(round(mean), chances) > 0.9
    assert count_chance(round(mean + 2 * deviation), chances) == pytest.approx(0.0455, rel=0.1)


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


def test_a_job_that_names_no_batch_is_not_set_against_a_batch(
    casebook: Casebook, now: datetime
) -> None:
    fill(casebook, now)
    before = {(trend.kind, trend.value): trend for trend in trends(casebook)}
    for number in range(30):
        import_changes(casebook, f"bare-{number}", {"title": "x"}, said_by="AB", at=now)
    after = {(trend.kind, trend.value): trend for trend in trends(casebook)}
    assert before == after


@pytest.fixture(scope="module")
def stages() -> Stages:
    return Stages(load_rules(data_folder("rules")))


def test_what_is_at_risk_follows_from_method_and_record(stages: Stages) -> None:
    seams = frozenset({"seams"})
    assert seams <= stages.telling
    assert "sealing" in stages.at_risk("adhered", seams)
    assert "sealing" not in stages.at_risk("adhered", frozenset())
    assert not {"sealing", "cutting"} & stages.at_risk("tile", seams)
    assert {"bonding", "subfloor", "manufacture"} <= stages.at_risk("tile", frozenset())
    assert "bonding" not in stages.at_risk("stretch-in", seams)
    assert "finishing" in stages.at_risk("stretch-in", seams)
    # What nobody wrote down rules nothing out.
    every = {cause.stage for cause in load_rules(data_folder("rules")).causes.values()}
    assert stages.at_risk(None, stages.telling) == every
    assert stages.at_risk("by magic", stages.telling) == every


def test_a_seam_that_was_taken_out_again_is_not_at_risk(
    casebook: Casebook, stages: Stages, now: datetime
) -> None:
    values = {"method": "adhered", "seams.S1.drops": '["D1"]'}
    for job in ("kept", "emptied", "withdrawn", "again"):
        import_changes(casebook, job, values, said_by="AB", at=now)
    import_changes(casebook, "never", {"method": "adhered"}, said_by="AB", at=now)
    later = now + timedelta(minutes=1)
    for job in ("emptied", "again"):
        set_value(casebook, job, "seams.S1.drops", None, said_by="AB", at=later)
    set_value(casebook, "again", "seams.S2.drops", '["D2"]', said_by="AB", at=later)
    old = casebook.entries(job="withdrawn")[0]
    withdraw(casebook, old.device, old.seq, said_by="AB", at=later, reason="of another job")
    methods = dict.fromkeys(("kept", "emptied", "withdrawn", "again", "never"), "adhered")
    found = risks(casebook, stages, methods)
    assert {job for job, at_risk in found.items() if "sealing" in at_risk} == {"kept", "again"}


def test_a_bad_stage_stands_out_from_the_others_of_its_jobs() -> None:
    at_risk = {f"j{n}": {"sealing", "bonding", "layout", "cutting"} for n in range(30)}
    at_risk |= {f"t{n}": {"bonding", "layout"} for n in range(30)}
    faulty = {f"j{n}": {"sealing"} for n in range(9)} | {"j9": {"bonding"}, "t1": {"layout"}}
    found = {trend.value: trend for trend in compare_stages(at_risk, faulty)}
    sealing = found["sealing"]
    assert (sealing.cases, sealing.jobs, sealing.other_cases, sealing.other_jobs) == (9, 30, 1, 90)
    assert sealing.expected == pytest.approx(2.5)
    assert sealing.chance == pytest.approx(stats.binomtest(9, 10, 0.25).pvalue)
    assert sealing.stands_out
    assert sealing.sentence == (
        "stage sealing: at fault in 9 of 30 jobs that had it, 2.5 to be expected if every stage "
        "of those jobs were as likely; more than chance explains"
    )
    assert (found["bonding"].jobs, found["bonding"].cases) == (60, 1)
    assert found["bonding"].sentence.endswith("can well be chance")


def test_jobs_with_much_wrong_make_no_stage_bad() -> None:
    """Every stage of the tile jobs was at fault: that says nothing of the one against the other."""
    at_risk = {f"t{n}": {"bonding", "layout"} for n in range(20)}
    at_risk |= {f"j{n}": {"sealing", "bonding", "layout"} for n in range(20)}
    faulty = {f"t{n}": {"bonding", "layout"} for n in range(20)}
    found = compare_stages(at_risk, faulty)
    assert {trend.value: trend.chance for trend in found} == {
        "bonding": 1.0,
        "layout": 1.0,
        "sealing": None,
    }
    assert not [trend for trend in found if trend.stands_out]


def test_a_stage_of_few_jobs_or_without_cases_says_nothing() -> None:
    found = compare_stages({f"j{n}": {"sealing", "bonding"} for n in range(4)}, {"j1": {"sealing"}})
    assert [trend.adjusted for trend in found] == [None, None]
    assert all(trend.sentence.endswith("too few to say") for trend in found)
    assert compare_stages({}, {"lost": {"sealing"}}) == ()
    # A stage that was at fault was there, though the record is silent.
    (bonding, sealing) = compare_stages({"j1": {"bonding"}}, {"j1": {"sealing"}})
    assert (bonding.jobs, sealing.jobs, sealing.cases) == (1, 1, 1)


def test_chance_alone_seldom_names_a_stage() -> None:
    chance = random.Random(5)
    names = [f"s{number}" for number in range(12)]
    named = 0
    for _ in range(200):
        at_risk = {f"j{n}": set(chance.sample(names, chance.randint(6, 12))) for n in range(200)}
        faulty = {
            job: set(chance.sample(sorted(at_risk[job]), chance.choice((1, 1, 2))))
            for job in chance.sample(sorted(at_risk), 50)
        }
        named += any(trend.stands_out for trend in compare_stages(at_risk, faulty))
    assert named <= 20


def test_stages_of_a_casebook_are_compared(
    casebook: Casebook, stages: Stages, now: datetime
) -> None:
    for number in range(24):
        tile = number % 4 == 0
        values = {"method": "tile" if tile else "adhered"}
        if not tile:
            values["seams.S1.drops"] = '["D1"]'
        import_changes(casebook, f"job-{number:02}", values, said_by="AB", at=now)
    for number in (1, 2, 3, 5, 6, 7, 9, 10):
        job = f"job-{number:02}"
        case = open_case(casebook, job=job, symptoms=["gap"], said_by="EF", at=now)
        cause = "sealer-omitted" if number < 10 else "nobody-knows-it"
        close_case(casebook, case, [cause], how="", said_by="EF", at=now)
    open_case(casebook, job="job-11", symptoms=["gap"], said_by="EF", at=now)
    found = {
        trend.value: trend for trend in trends(casebook, stages=stages) if trend.kind == "stage"
    }
    assert (found["sealing"].cases, found["sealing"].jobs) == (7, 18)
    assert found["sealing"].stands_out
    assert found["bonding"].jobs == 24
    assert not [trend for trend in trends(casebook) if trend.kind == "stage"]
    assert not [
        trend
        for trend in trends(casebook, stages=stages, symptom="fraying")
        if trend.kind == "stage"
    ]
