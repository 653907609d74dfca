"""The leave-site drill: what can be found can be mended, and what is left comes back."""

from __future__ import annotations

import pytest

from diagnose.errors import NotFoundError
from diagnose.model import Outcome
from diagnose.practice.leaving import (
    Leaving,
    cost,
    draw_leaving,
    look,
    mark_leaving,
    mend,
    spent,
)
from diagnose.practice.play import MoveError

SEEDS = range(25)


def thorough(rules, seed):
    state = Leaving(draw_leaving(rules, seed))
    for name in state.case.lines:
        state = look(rules, state, name)
        try:
            state = mend(rules, state, name)
        except MoveError:
            continue
    return state


def test_the_same_seed_gives_the_same_job(rules):
    assert draw_leaving(rules, 4) == draw_leaving(rules, 4)
    assert len({draw_leaving(rules, seed).lines for seed in SEEDS}) == len(SEEDS)


def test_there_is_always_something_to_find_and_time_for_all_of_it(rules):
    for seed in SEEDS:
        state = thorough(rules, seed)
        mark = mark_leaving(rules, state)
        assert mark.put_right
        assert (mark.points, mark.left_wrong, mark.left_open) == (100, (), ())
        assert mark.callbacks == ()
        assert mark.minutes == spent(rules, state) <= state.case.minutes


def test_driving_off_leaves_the_callbacks(rules):
    for seed in SEEDS:
        state = Leaving(draw_leaving(rules, seed))
        mark = mark_leaving(rules, state)
        wrong = [n for n, o in state.case.outcomes.items() if o is Outcome.DEVIATES]
        mendable = {name for name in wrong if rules.checks[name].put_right}
        assert {*mark.left_wrong} == mendable
        assert {check for check, *_ in mark.callbacks} == mendable
        for check, cause, symptom in mark.callbacks:
            assert cause in rules.checks[check].backs
            assert f"{cause}.{symptom}" in rules.links
        assert mark.points <= 20


def test_a_fault_is_in_the_record_that_speaks_for_it(rules):
    for seed in SEEDS:
        case = draw_leaving(rules, seed)
        deviating = [n for n, o in case.outcomes.items() if o is Outcome.DEVIATES]
        for cause in case.causes:
            assert any(cause in rules.checks[name].backs for name in deviating)


def test_nothing_is_asked_that_comes_later(rules):
    stages = {rules.checks[n].stage for seed in SEEDS for n in draw_leaving(rules, seed).lines}
    assert not stages & {"maintenance", "building"}


def test_moves_that_do_not_fit_are_refused(rules):
    state = Leaving(draw_leaving(rules, 1))
    first = state.case.lines[0]
    with pytest.raises(MoveError, match="look at"):
        mend(rules, state, first)
    with pytest.raises(NotFoundError) as refused:
        look(rules, state, first[:-1])
    assert first in refused.value.near
    fine = next(n for n, o in state.case.outcomes.items() if o is Outcome.IN_ORDER)
    with pytest.raises(MoveError, match="in order"):
        mend(rules, look(rules, state, fine), fine)
    done = thorough(rules, 1)
    with pytest.raises(MoveError, match="already"):
        mend(rules, done, done.righted[0])


def test_time_runs_out(rules):
    from dataclasses import replace

    case = draw_leaving(rules, 1)
    wrong = next(
        n for n, o in case.outcomes.items() if o is Outcome.DEVIATES and cost(rules, case, n)
    )
    hurried = Leaving(replace(case, minutes=1))
    looked = look(rules, hurried, wrong)
    with pytest.raises(MoveError, match="the van leaves in 0"):
        mend(rules, looked, wrong)
    assert look(rules, looked, wrong) == looked, "a second look costs nothing"
