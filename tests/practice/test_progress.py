"""Progress: whole numbers only, merged without loss, forgotten without trace."""

from __future__ import annotations

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.errors import InputError
from diagnose.practice.progress import (
    CaseResult,
    ItemResult,
    OpenRound,
    Progress,
    Review,
    from_text,
    merged,
    to_text,
    with_lines,
    without,
)

PUPILS = st.sampled_from(["anna", "ben", "zoë <b>", "=cmd"])
TIMES = st.integers(1, 9).map(lambda n: f"2026-03-0{n}T08:00:00.000Z")
WORDS = st.text(st.characters(codec="utf-8", exclude_categories=["Cs"]), max_size=8)
REVIEWS = st.builds(Review, TIMES, PUPILS, WORDS, st.integers(1, 4))
ITEMS = st.builds(ItemResult, TIMES, PUPILS, WORDS, WORDS, WORDS, st.booleans(), st.integers(1, 3))
NAMES = st.lists(WORDS, max_size=3).map(tuple)
CASES = st.builds(
    CaseResult,
    TIMES,
    PUPILS,
    WORDS,
    WORDS,
    NAMES,
    NAMES,
    st.integers(0, 100),
    st.booleans(),
    st.integers(0, 100),
    WORDS,
)
ROUNDS = st.builds(OpenRound, TIMES, PUPILS, WORDS)


@st.composite
def progresses(draw):
    return with_lines(
        Progress(),
        reviews=draw(st.lists(REVIEWS, max_size=6)),
        items=draw(st.lists(ITEMS, max_size=6)),
        cases=draw(st.lists(CASES, max_size=4)),
        open_rounds=draw(st.lists(ROUNDS, max_size=3)),
    )


@given(progresses())
@settings(max_examples=60, deadline=None)
def test_a_file_gives_back_what_was_written(progress):
    text = to_text(progress)
    assert from_text(text, "p.json") == progress
    assert to_text(from_text(text, "p.json")) == text

    def refuse(number):
        raise AssertionError(f"a fraction in the file: {number}")

    json.loads(text, parse_float=refuse)


@given(progresses(), progresses(), progresses())
@settings(max_examples=60, deadline=None)
def test_merging_is_a_union(a, b, c):
    assert merged(a, b) == merged(b, a)
    assert merged(a, a) == a
    assert merged(merged(a, b), c) == merged(a, merged(b, c))
    assert {*a.reviews, *b.reviews} == {*merged(a, b).reviews}


@given(progresses())
@settings(max_examples=40, deadline=None)
def test_a_forgotten_learner_leaves_no_trace(progress):
    for pupil in progress.pupils:
        left = without(progress, pupil)
        assert pupil not in left.pupils
        assert merged(left, progress.of(pupil)) == progress


def test_only_the_latest_open_round_counts():
    first = OpenRound("2026-03-01T08:00:00.000Z", "anna", "{}")
    later = OpenRound("2026-03-02T08:00:00.000Z", "anna", "")
    both = with_lines(Progress(), open_rounds=[later, first])
    assert both.open_rounds == (later,)
    assert both.open_round("anna") == ""
    other = OpenRound("2026-03-03T08:00:00.000Z", "ben", "{1}")
    two = with_lines(Progress(), open_rounds=[other, first])
    assert (two.open_round("anna"), two.open_round("ben")) == ("{}", "{1}")
    assert two.open_round("cleo") == ""


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("{", "is not a progress file"),
        ("[]", "known version"),
        ('{"v":2}', "known version"),
        ('{"v":1,"reviews":[{"at":"x"}]}', "reviews: line 1"),
        ('{"v":1,"reviews":{"at":"x"}}', "reviews: line 1"),
        (
            '{"v":1,"reviews":[{"at":"x","pupil":"a","subject":"s","rating":1.5}]}',
            "reviews: line 1",
        ),
        (
            '{"v":1,"items":[{"at":"x","pupil":"a","item":"i","kind":"k","subject":"s",'
            '"right":1,"confidence":2}]}',
            "items: line 1",
        ),
    ],
)
def test_a_damaged_file_is_named_and_refused(text, words):
    with pytest.raises(InputError, match=words) as refused:
        from_text(text, "my-progress.json")
    assert "my-progress.json" in str(refused.value)


def test_every_bad_line_is_named_at_once():
    with pytest.raises(InputError) as refused:
        from_text('{"v":1,"reviews":[{},{}],"cases":[3]}', "p.json")
    assert len(refused.value.problems) == 3
