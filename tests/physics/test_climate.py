"""Climate logs: nights when the clocks change, mixed offsets, gaps, double stamps, coverage."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.physics.climate import Band, Sample, elapsed_h, judge, largest_step_per_day, series
from diagnose.physics.guard import OutOfRangeError

LONDON = ZoneInfo("Europe/London")
START = datetime(2026, 3, 2, 8, tzinfo=UTC)
HOUR = timedelta(hours=1)


def hourly(values: list[float]) -> list[Sample]:
    return [Sample(START + n * HOUR, value) for n, value in enumerate(values)]


@pytest.mark.parametrize(
    ("first", "hours"),
    # Last Sundays of March and October 2026: 23 and 25 hours; a plain day has 24.
    [(datetime(2026, 3, 28, 12), 23), (datetime(2026, 10, 24, 12), 25), (datetime(2026, 6, 1), 24)],
)
def test_a_night_when_the_clocks_change(first: datetime, hours: float) -> None:
    there = first.replace(tzinfo=LONDON)
    assert elapsed_h(there, there + timedelta(days=1)) == hours


def test_the_hour_that_comes_twice_is_two_hours() -> None:
    early = datetime(2026, 10, 25, 1, 30, tzinfo=LONDON, fold=0)
    late = datetime(2026, 10, 25, 1, 30, tzinfo=LONDON, fold=1)
    log = [Sample(early, 20), Sample(late, 16), Sample(late + HOUR, 20)]
    verdict = judge(log, early, late + HOUR, Band(18, 35))
    assert (verdict.covered_h, verdict.inside_h, verdict.longest_outside_h) == (2, 1, 1)


def test_offsets_may_be_mixed() -> None:
    berlin = timezone(timedelta(hours=1))
    log = [Sample(START.astimezone(berlin), 20), Sample(START + HOUR, 20)]
    verdict = judge(log, START, START + 2 * HOUR, Band(18))
    assert verdict.coverage == 1


def test_a_time_without_an_offset_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match="no offset"):
        judge([Sample(datetime(2026, 3, 2, 8), 20)], START, START + HOUR, Band(18))


def test_a_gap_is_covered_by_nothing_and_is_not_in_band() -> None:
    log = [Sample(START, 20), Sample(START + 10 * HOUR, 20)]
    verdict = judge(log, START, START + 11 * HOUR, Band(18, 35))
    assert verdict.covered_h == verdict.inside_h == 2.5
    assert verdict.coverage == pytest.approx(2.5 / 11)


def test_the_later_of_two_samples_at_one_time_counts() -> None:
    log = [Sample(START, 20), Sample(START, 10)]
    verdict = judge(log, START, START + HOUR, Band(18, 35))
    assert (verdict.inside_h, verdict.lowest, verdict.highest) == (0, 10, 10)


def test_excursions_join_only_without_a_gap() -> None:
    joined = judge(hourly([20, 16, 15, 20]), START, START + 4 * HOUR, Band(18, 35))
    assert joined.longest_outside_h == 2
    assert joined.first_outside_at == START + HOUR
    log = [Sample(START, 16), Sample(START + 5 * HOUR, 16)]
    parted = judge(log, START, START + 6 * HOUR, Band(18, 35))
    assert parted.longest_outside_h == 1.5
    assert parted.outside_h == 2.5


def test_samples_before_the_window_reach_into_it_and_later_ones_do_not() -> None:
    log = [Sample(START - HOUR / 2, 20), Sample(START + 3 * HOUR, 5)]
    verdict = judge(log, START, START + 2 * HOUR, Band(18, 35))
    assert verdict.covered_h == 1
    assert verdict.lowest == 20


def test_limits_belong_to_the_band() -> None:
    assert Band(18, 35).holds(18)
    assert Band(18, 35).holds(35)
    assert not Band(high=65).holds(65.1)
    assert Band().holds(-40)


def test_an_empty_log_covers_nothing() -> None:
    verdict = judge([], START, START + 48 * HOUR, Band(18, 35))
    assert (verdict.covered_h, verdict.coverage, verdict.lowest) == (0, 0, None)
    assert judge([], START, START, Band()).coverage == 0


def test_a_window_that_ends_first_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match="ends before"):
        judge([], START, START - HOUR, Band())


def test_days_apart_are_no_step() -> None:
    log = [Sample(START, 20), Sample(START + timedelta(days=3), 40)]
    assert largest_step_per_day(log) is None
    assert largest_step_per_day([*log, Sample(START + timedelta(days=1), 18)]) == (
        (START + timedelta(days=1)).date(),
        2,
    )


stamps = st.lists(st.tuples(st.integers(0, 5000), st.floats(-20, 50)), max_size=60).map(
    lambda rows: [Sample(START + timedelta(minutes=at), value) for at, value in rows]
)


@given(log=stamps, minutes=st.integers(0, 4000))
def test_hours_always_add_up(log: list[Sample], minutes: int) -> None:
    end = START + timedelta(minutes=minutes)
    verdict = judge(log, START, end, Band(18, 35))
    assert 0 <= verdict.inside_h <= verdict.covered_h + 1e-9
    assert verdict.covered_h <= verdict.window_h + 1e-9
    assert verdict.longest_outside_h <= verdict.outside_h + 1e-9
    assert (verdict.first_outside_at is None) == (verdict.longest_outside_h == 0)


@given(log=stamps, minutes=st.integers(0, 4000), wider=st.floats(0, 10))
def test_a_wider_band_never_holds_less(log: list[Sample], minutes: int, wider: float) -> None:
    end = START + timedelta(minutes=minutes)
    narrow = judge(log, START, end, Band(18, 35))
    assert judge(log, START, end, Band(18 - wider, 35 + wider)).inside_h >= narrow.inside_h - 1e-9


@given(log=stamps, minutes=st.integers(0, 4000), seed=st.randoms(use_true_random=False))
def test_the_order_of_samples_does_not_matter_where_stamps_differ(
    log: list[Sample], minutes: int, seed: object
) -> None:
    once = list({sample.at: sample for sample in log}.values())
    mixed = list(once)
    seed.shuffle(mixed)  # type: ignore[attr-defined]
    end = START + timedelta(minutes=minutes)
    assert judge(mixed, START, end, Band(18, 35)) == judge(once, START, end, Band(18, 35))


@given(log=stamps, start=st.integers(-500, 4000), minutes=st.integers(0, 4000))
def test_a_log_made_ready_gives_the_same_verdict(
    log: list[Sample], start: int, minutes: int
) -> None:
    begin = START + timedelta(minutes=start)
    end = begin + timedelta(minutes=minutes)
    ready = series(log)
    assert list(ready.times) == sorted({sample.at for sample in log})
    assert judge(ready, begin, end, Band(18, 35)) == judge(log, begin, end, Band(18, 35))


def test_a_sample_counts_for_its_hold_and_no_longer_whatever_the_window() -> None:
    log = series([Sample(START, 20), Sample(START + 5 * HOUR, 30)])
    for first in range(0, 300, 20):
        begin = START + timedelta(minutes=first)
        verdict = judge(log, begin, START + 5 * HOUR, Band(18, 35))
        assert verdict.covered_h == pytest.approx(max(0.0, 1.5 - first / 60))
