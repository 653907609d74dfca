"""Spacing: the published check values, and one state for two merged devices."""

from __future__ import annotations

import random
from datetime import UTC, datetime, timedelta

import pytest
from fsrs import Card, Rating, Scheduler

from diagnose.practice.progress import Review
from diagnose.practice.schedule import (
    card_id,
    due_now,
    rating,
    rating_of_case,
    standing,
)

START = datetime(2024, 3, 1, 9, 0, tzinfo=UTC)


def review(days, grade, subject="cause:x", pupil="anna"):
    at = (START + timedelta(days=days)).isoformat().replace("+00:00", "Z")
    return Review(at, pupil, subject, grade)


def test_good_three_times_on_the_due_day_gives_2_11_46():
    days, reviews = 0, []
    found = []
    for _ in range(3):
        reviews.append(review(days, 3))
        (stands,) = standing(reviews, START + timedelta(days=days))
        step = (stands.due - (START + timedelta(days=days))).days
        found.append(step)
        days += step
    assert found == [2, 11, 46]


def test_the_package_gives_its_published_intervals():
    """Good x6, Again x2, Good x5, each on its due date, defaults, no fuzz."""
    scheduler, card, now = Scheduler(enable_fuzzing=False), Card(card_id=1), START
    grades = [3] * 6 + [1] * 2 + [3] * 5
    found = []
    for grade in grades:
        card, _ = scheduler.review_card(card, Rating(grade), now)
        found.append((card.due - now).days)
        now = card.due
    assert found == [0, 2, 11, 46, 163, 498, 0, 0, 2, 4, 7, 12, 21]


def test_the_package_gives_its_published_stability():
    """Again, then Good after 0, 0, 1, 3, 8, 21 days."""
    scheduler, card, now = Scheduler(enable_fuzzing=False), Card(card_id=1), START
    for grade, gap in zip([1, 3, 3, 3, 3, 3], [0, 0, 1, 3, 8, 21], strict=True):
        now += timedelta(days=gap)
        card, _ = scheduler.review_card(card, Rating(grade), now)
    assert card.stability == pytest.approx(53.62691, abs=1e-4)
    assert card.difficulty == pytest.approx(6.3574867, abs=1e-4)


@pytest.mark.parametrize(
    ("grade", "stability"), [(1, 0.212), (2, 1.2931), (3, 2.3065), (4, 8.2956)]
)
def test_the_forgetting_curve_is_the_formula(grade, stability):
    decay = 0.1542
    factor = 0.9 ** (-1 / decay) - 1
    for days in (0, 1, 10, 53, 100, 365):
        (stands,) = standing([review(0, grade)], START + timedelta(days=days))
        own = (1 + factor * days / stability) ** -decay
        assert stands.retrievability == pytest.approx(own, abs=1e-6)


def test_the_order_of_the_log_and_doubles_do_not_matter():
    reviews = [review(n * 3, 1 + n % 4, subject=f"cause:{n % 3}") for n in range(15)]
    mixed = [*reviews, *reviews[:6]]
    random.Random(4).shuffle(mixed)
    now = START + timedelta(days=60)
    assert standing(mixed, now) == standing(reviews, now)


def test_what_was_forgotten_comes_back_first():
    reviews = [review(0, 1, "cause:lost"), review(0, 4, "cause:sure")]
    now = START + timedelta(days=3)
    assert due_now(reviews, now) == ("cause:lost",)
    assert [each.subject for each in standing(reviews, now)] == ["cause:lost", "cause:sure"]
    assert due_now(reviews, START + timedelta(days=40)) == ("cause:lost", "cause:sure")


def test_a_number_for_a_subject_is_the_same_everywhere():
    assert card_id("cause:sealer-omitted") == card_id("cause:sealer-omitted")
    assert card_id("cause:a") != card_id("cause:b")
    assert 0 < card_id("cause:a") < 2**48


def test_ratings_follow_rightness_and_confidence():
    assert [rating(True, n) for n in (1, 2, 3)] == [2, 3, 4]
    assert {rating(False, n) for n in (1, 2, 3)} == {1}
    assert rating_of_case(True, 90) == 3
    assert rating_of_case(True, 40) == 2
    assert rating_of_case(False, 95) == 1


def test_what_was_forgotten_is_due_on_another_day_not_in_ten_minutes():
    reviews = [review(0, 3), review(2, 3), review(13, 1)]
    (stands,) = standing(reviews, START + timedelta(days=13))
    assert stands.due >= START + timedelta(days=14)
    assert stands.last_rating == 1


def test_what_was_missed_is_not_known_until_it_was_right_again():
    (missed,) = standing([review(0, 3), review(5, 1)], START + timedelta(days=5))
    assert missed.known is None
    (right,) = standing([review(0, 1), review(1, 3)], START + timedelta(days=1))
    assert right.known == right.retrievability
