"""The quick proof finds what reading every entry whole finds, and proves what is in order."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.store import proof
from diagnose.store.audit import _beside
from diagnose.store.chain import Flaw, Row, verify
from diagnose.store.engine import RowOf
from diagnose.store.entry import FIRST_PREV, Entry, canonical, hash_of, hash_text, tidy_body
from diagnose.store.project import row_of

START = datetime(2026, 3, 2, 8, tzinfo=UTC)
COLUMNS = (
    "device",
    "seq",
    "hash",
    "text",
    "prev",
    "wall",
    "counter",
    "kind",
    "job",
    "case_id",
)
BODIES: tuple[dict[str, Any], ...] = (
    {"job": "larch", "values": {"title": "L", "rolls.R1.batch": "0417"}},
    {"job": "larch", "case": "c-1", "words": 'it "peaks"\n\\ at 5 °C, "v":1}'},
    {"\uff5e": "1", "\U0001f600": "2"},
    {},
    {"n": [1, 0, -7, True, None, {"b": "x", "a": [[]]}]},
)


def rows(bodies: tuple[dict[str, Any], ...] = BODIES) -> list[dict[str, Any]]:
    """Rows as `all_rows` gives them, by name of column."""
    found: list[dict[str, Any]] = []
    prev = FIRST_PREV
    for number, body in enumerate(bodies, 1):
        at = START + timedelta(minutes=number)
        entry = Entry(
            device="a-1",
            seq=number,
            prev=prev,
            at=at.isoformat().replace("+00:00", "Z"),
            lc=(int(at.timestamp() * 1000), 0),
            kind="job-values",
            body=tidy_body(body),
        )
        prev = hash_of(entry)
        found.append(row_of(replace(entry, hash=prev), canonical(entry).decode()))
    return found


def both_ways(stored: list[dict[str, Any]]) -> tuple[tuple[Flaw, ...], tuple[Flaw, ...], list[int]]:
    """Flaws with the quick proof, flaws without, and the numbers that were proven."""
    tuples: list[RowOf] = [tuple(row[name] for name in COLUMNS) for row in stored]
    proven = list(proof.prove(tuples))
    whole = [Row(*row[:4], row[4:]) for row in tuples]
    return (
        verify(proven, (), _beside),
        verify(whole, (), _beside),
        [row.seq for row in proven if row.proven],
    )


def test_what_is_in_order_is_proven() -> None:
    quick, whole, proven = both_ways(rows())
    assert quick == whole == ()
    # Keys beyond U+FFFF sort otherwise in plain JSON; that entry is read whole.
    assert proven == [1, 2, 4, 5]


Change = Callable[[dict[str, Any]], dict[str, Any]]


def text(old: str, new: str) -> Change:
    """Replace a piece of the text, told as it stands in the first entry, and hash it anew."""

    def change(row: dict[str, Any]) -> dict[str, Any]:
        here, there = (
            each.replace(":01:00", f":{row['seq']:02}:00").replace('"seq":1', f'"seq":{row["seq"]}')
            for each in (old, new)
        )
        assert row["text"].count(here) == 1
        changed = row["text"].replace(here, there)
        return {**row, "text": changed, "hash": hash_text(changed.encode())}

    return change


def column(name: str, value: object) -> Change:
    return lambda row: {**row, name: value}


CHANGES: tuple[Change, ...] = (
    text('{"at"', '{ "at"'),
    text('"title":"L"', '"title":"M","title":"L"'),
    text('"title":"L"', '"title": "L"'),
    text('"title":"L"', '"title":"\\u004c"'),
    text('"title":"L"', '"title":1.5'),
    text('"title":"L"', '"title":9007199254740993'),
    text('"title":"L"', '"title":-0'),
    text('"rolls.R1.batch":"0417","title":"L"', '"title":"L","rolls.R1.batch":"0417"'),
    text('"seq":1,', '"seq":1.0,'),
    text('"v":1}', '"v":2}'),
    text('"v":1}', '"v":1} '),
    text('"seen":{}', '"seen":{"b":[1,"' + "ab" * 32 + '"]}'),
    text('"body":{', '"body":{},"body":{'),
    text('"body":{', '"body":[],"bodies":{'),
    text("08:01:00Z", '08:01:00Z","x":"'),
    text("2026-03-02T08:01:00Z", '2026-03-02"08:01:00Z'),
    text("2026-03-02T08:01:00Z", "2026-03-02 08:01:00Z"),
    text("2026-03-02T08:01:00Z", "2026-03-02T08:01:00"),
    text("2026-03-02T08:01:00Z", "2026-03-02T08:010Z"),
    text("2026-03-02T08:01:00Z", "2026-13-02T08:01:00Z"),
    text("2026-03-02T08:01:00Z", "2025-03-02T08:01:00Z"),
    column("job", "birch"),
    column("job", None),
    column("case_id", "c-9"),
    column("kind", "note"),
    column("wall", 5),
    column("counter", 1),
    column("prev", "ab" * 32),
    column("hash", "ab" * 32),
    column("device", "b"),
    column("seq", 9),
)


@pytest.mark.parametrize("number", [0, 2])
@pytest.mark.parametrize("change", CHANGES)
def test_what_was_meddled_with_is_named_the_same_both_ways(change: Change, number: int) -> None:
    stored = rows(tuple(BODIES[0] if place == number else BODIES[4] for place in range(5)))
    stored[number] = change(stored[number])
    quick, whole, proven = both_ways(stored)
    assert quick == whole
    assert [flaw for flaw in quick if not flaw.warning]
    assert {1, 2, 3, 4, 5} - {number + 1} <= set(proven)


def test_two_texts_that_make_up_for_each_other_are_not_excused() -> None:
    """Bodies that are wrong one by one, though end to end they would read the same."""
    stored = rows(({"a": "1"}, {"b": "2"}, {"c": "3"}))
    first, second = stored[0], stored[1]
    stored[0] = text('"body":{"a":"1"}', '"body":{"a":[1')(first)
    stored[1] = text('"body":{"b":"2"}', '"body":2]}')(second)
    quick, whole, proven = both_ways(stored)
    assert quick == whole
    assert proven == [3]
    assert {(flaw.kind, flaw.seq) for flaw in quick} >= {("edited", 1), ("edited", 2)}
    stored = rows(({"a": "1"}, {"b": "2"}, {"c": "3"}))
    stored[0] = text('"body":{"a":"1"}', '"body":{"a":"1"},{"b":"2"}')(first)
    quick, whole, proven = both_ways(stored)
    assert quick == whole
    assert 1 not in proven


def test_a_kind_that_would_end_the_text_early_is_not_proven() -> None:
    stored = rows(({"a": "1"},))
    kind = 'note","lc":[1,0],"x":"y'
    changed = stored[0]["text"].replace('"kind":"job-values"', f'"kind":"{kind}"')
    stored[0] |= {"text": changed, "hash": hash_text(changed.encode()), "kind": kind}
    quick, whole, proven = both_ways(stored)
    assert quick == whole
    assert [flaw.kind for flaw in quick] == ["edited"]
    assert proven == []


@settings(max_examples=300)
@given(
    place=st.integers(0, 4),
    where=st.floats(0, 1),
    cut=st.integers(0, 3),
    put=st.text(alphabet='{}[]",:0123456789.eE+-\\ntu Zabc\n°😀', max_size=3),
)
def test_a_text_meddled_with_anywhere_is_named_the_same_both_ways(
    place: int, where: float, cut: int, put: str
) -> None:
    stored = rows()
    old = stored[place]["text"]
    start = int(where * len(old))
    new = old[:start] + put + old[start + cut :]
    stored[place] |= {"text": new, "hash": hash_text(new.encode())}
    quick, whole, proven = both_ways(stored)
    assert quick == whole
    assert (place + 1 in proven) <= (canonical_of(new) is not None)


def canonical_of(new: str) -> str | None:
    from diagnose.store.entry import EntryError
    from diagnose.store.parse import parse

    try:
        return parse(new).hash
    except EntryError:
        return None
