"""What a floor answers does not deny what is told of it: its facts, its plan, its record."""

from __future__ import annotations

from datetime import timedelta

import pytest

from diagnose.model import Facet, Outcome, Provenance
from diagnose.practice.answers import AGE
from diagnose.practice.consistent import ANSWER_NEEDS, QUESTION_NEEDS
from diagnose.practice.draw import Order, draw_case
from diagnose.practice.fault import Difficulty
from diagnose.practice.on_paper import (
    NEEDS_AGE,
    SAYS_NOTHING,
    age_days,
    denied,
    stated,
    too_young,
    youngest,
)

EVERY = tuple(Difficulty)


@pytest.fixture(scope="module")
def cases(rules):
    return [draw_case(rules, Order(seed, EVERY[seed % len(EVERY)])) for seed in range(60)]


def test_every_name_in_the_tables_is_one_of_the_rules(rules):
    tables = [*ANSWER_NEEDS, *((q, a) for q, said in SAYS_NOTHING.items() for a in said)]
    tables += [(q, a) for q, said in NEEDS_AGE.items() for a, _ in said]
    for question, answer in tables:
        assert answer in {each.id for each in rules.questions[question].answers}, question
    assert {*QUESTION_NEEDS} <= {*rules.questions}


def test_what_is_told_of_the_floor_is_not_denied_by_an_answer(cases):
    for case in cases:
        facets = case.floor.facets
        for (question, answer), (facet, values) in ANSWER_NEEDS.items():
            if answer in case.answers.get(question, ()):
                assert facets.get(facet) in values, (case.name, question, answer)
        for question, (facet, values) in QUESTION_NEEDS.items():
            assert question not in case.answers or facets.get(facet) in values


def test_no_answer_denies_what_a_check_says_of_the_record(rules, cases):
    told = 0
    for case in cases:
        for name, given in case.answers.items():
            question = rules.questions[name]
            no = denied(rules, question, case.sampled)
            assert not no & {*given}, (case.name, name, given)
            told += bool(no)
            for check in question.settled_by:
                found = case.sampled.results.get(check)
                believed = found and found.provenance is Provenance.ON_THE_DAY
                if believed and found.outcome is Outcome.DEVIATES:
                    usual = {answer.id for answer in question.answers if answer.usual}
                    assert not usual & {*given}, (case.name, name, given)
    assert told > 100


def test_a_field_that_answers_a_question_gives_the_same_answer(rules, cases):
    given = 0
    for case in cases:
        for name in case.answers:
            on_record = stated(rules.questions[name], case.sampled)
            if on_record:
                given += 1
                assert case.answers[name] == on_record, (case.name, name)
    assert given > 20


def test_the_age_that_is_answered_is_that_of_the_dates(rules, cases):
    seen = set()
    for case in cases:
        job = case.sampled.job
        days = (job.complaints["C1"].made_at - job.dates.finished_at) / timedelta(days=1)
        for answer in rules.questions[AGE].answers:
            if answer.id in case.answers.get(AGE, ()):
                low, high = answer.age_days
                assert low <= days < high
                seen.add(answer.id)
        for name, needs in NEEDS_AGE.items():
            for answer_id, least in needs:
                assert answer_id not in case.answers.get(name, ()) or days >= least
    assert len(seen) >= 3


def test_what_came_later_came_before_the_complaint(cases):
    events = 0
    for case in cases:
        job = case.sampled.job
        for event in job.later.values():
            if event.at is None:
                continue
            events += 1
            assert job.dates.finished_at < event.at < job.complaints["C1"].made_at
    assert events > 5


def test_plain_goods_have_no_pattern_on_record(case):
    plain = 0
    for seed in range(40):
        drawn = case(seed, about=("style-shows-joins",))
        if "plain-velvet" in drawn.answers.get("style-that-shows-joins", ()):
            plain += 1
            assert drawn.floor.facets[Facet.PILE] == "cut"
            assert drawn.sampled.job.product.repeat_length_mm is None
    assert plain


def test_a_fault_that_comes_with_use_is_not_days_old(rules):
    question = rules.questions[AGE]
    washed = next(cause.id for cause in rules.causes.values() if cause.stage == "maintenance")
    laid = next(cause.id for cause in rules.causes.values() if cause.stage == "bonding")
    assert "days" in too_young(question, youngest(rules, (washed,)))
    assert not too_young(question, youngest(rules, (laid,)))
    assert age_days(question, ("days",)) < 14 < age_days(question, ("weeks-to-a-year",)) < 365
    assert age_days(question, ()) == age_days(None, ()) == 75
