"""Progress: worked out from lines in any order; a line is data and back, and bad data is refused."""

from __future__ import annotations

import json
from dataclasses import asdict

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
    progress_of,
)
from diagnose.practice.progress_lines import IN_AN_ENTRY, PARTS, body_of, line_of, read_file
from diagnose.store.entry import tidy_body

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
LINES = st.lists(REVIEWS | ITEMS | CASES | ROUNDS, max_size=14)
REVIEW = Review("2026-03-01T08:00:00.000Z", "anna", "cause:x", 3)


def file_text(lines):
    """A file as the earlier version wrote it."""
    parts = {
        name: [asdict(line) for line in lines if isinstance(line, kind)]
        for name, kind in PARTS.items()
    }
    return json.dumps({"v": 1, **parts})


@given(LINES)
@settings(max_examples=60, deadline=None)
def test_a_file_gives_back_what_was_written(lines):
    assert {*read_file(file_text(lines), "p.json")} == {*lines}


@given(REVIEWS | ITEMS | CASES | ROUNDS)
@settings(max_examples=80, deadline=None)
def test_an_entry_gives_back_the_line_without_the_learner(line):
    body = body_of(line)
    assert not {"pupil", "case", "job", "at"} & set(body)
    # A body with a fraction or another kind of value is refused here.
    tidy_body(body)
    assert line_of(type(line), line.pupil, json.loads(json.dumps(body))) == line
    assert line_of(type(line), line.pupil, {**body, "of a later version": [1]}) == line


@given(LINES, LINES)
@settings(max_examples=60, deadline=None)
def test_lines_count_once_in_whatever_order(first, second):
    assert progress_of([*first, *second]) == progress_of([*second, *first, *second])
    whole = progress_of(first)
    assert {*whole.lines} == {line for line in first if not isinstance(line, OpenRound)}
    assert progress_of(line for name in whole.pupils for line in whole.of(name).lines) == whole
    assert whole.of("nobody") == Progress()


@pytest.mark.parametrize(
    ("line", "name", "value"),
    [
        (REVIEW, "rating", 5),
        (REVIEW, "rating", 0),
        (REVIEW, "rating", True),
        (REVIEW, "rating", "3"),
        (REVIEW, "subject", None),
        (REVIEW, "at", "yesterday"),
        (REVIEW, "at", "2026-03-01T08:00:00"),
        (REVIEW, "at", "9999-12-31T23:59:59Z"),
        (ItemResult("2026-03-01T08:00:00Z", "anna", "i", "k", "s", True, 2), "confidence", 4),
        (ItemResult("2026-03-01T08:00:00Z", "anna", "i", "k", "s", True, 2), "right", 1),
        (OpenRound("2026-03-01T08:00:00Z", "anna", "{}"), "round", ["{}"]),
    ],
)
def test_a_line_that_cannot_be_reckoned_with_is_none(line, name, value):
    key = IN_AN_ENTRY.get(name, name)
    assert line_of(type(line), "anna", body_of(line)) == line
    assert line_of(type(line), "anna", {**body_of(line), key: value}) is None
    assert line_of(type(line), "anna", {}) is None


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("{", "is not a progress file"),
        ("[" * 100_000, "is not a progress file"),
        ("[]", "known version"),
        ('{"v":2}', "known version"),
        ('{"v":1,"reviews":[{"at":"x"}]}', "reviews: line 1"),
        ('{"v":1,"reviews":{"at":"x"}}', "reviews: line 1"),
        (
            '{"v":1,"reviews":[{"at":"2026-03-01T08:00:00Z","pupil":"a","subject":"s",'
            '"rating":1.5}]}',
            "reviews: line 1",
        ),
        (
            '{"v":1,"items":[{"at":"2026-03-01T08:00:00Z","pupil":"a","item":"i","kind":"k",'
            '"subject":"s","right":1,"confidence":2}]}',
            "items: line 1",
        ),
    ],
)
def test_a_damaged_file_is_named_and_refused(text, words):
    with pytest.raises(InputError, match=words) as refused:
        read_file(text, "my-progress.json")
    assert "my-progress.json" in str(refused.value)


def test_every_bad_line_is_named_at_once():
    with pytest.raises(InputError) as refused:
        read_file('{"v":1,"reviews":[{},{}],"cases":[3]}', "p.json")
    assert len(refused.value.problems) == 3
