"""Words are found wherever they were entered."""

from __future__ import annotations

import json
from datetime import datetime

import pytest

from diagnose.errors import StoreError
from diagnose.store.cases import open_case
from diagnose.store.jobs import import_changes, set_value
from diagnose.store.journal import Casebook
from diagnose.store.search import search


def test_words_are_found_in_values_and_complaints(casebook: Casebook, now: datetime) -> None:
    import_changes(casebook, "larch", {"title": "Larch House"}, said_by="AB", at=now)
    open_case(casebook, symptoms=["gap"], words="by the LARCH door", said_by="EF", at=now)
    assert [hit.text for hit in search(casebook, "larch")] == [
        "by the LARCH door",
        "larch",
        "Larch House",
    ]
    assert search(casebook, "oak") == ()


def test_a_hit_says_where(casebook: Casebook, now: datetime) -> None:
    import_changes(casebook, "larch", {"title": 'A "good" floor'}, said_by="AB", at=now)
    case = open_case(
        casebook, symptoms=["gap"], words="x" * 90 + " gapes " + "y" * 90, said_by="EF", at=now
    )
    (hit,) = search(casebook, '"GOOD"')
    assert (hit.job, hit.case, hit.where, hit.text) == (
        "larch",
        None,
        "values.title",
        'A "good" floor',
    )
    (hit,) = search(casebook, "gapes")
    assert (hit.job, hit.case, hit.where) == (None, case, "words")
    assert hit.text == "…" + "x" * 39 + " gapes " + "y" * 39 + "…"


def test_marks_of_a_pattern_are_plain_letters(casebook: Casebook, now: datetime) -> None:
    set_value(casebook, "larch", "title", "75 % wool! a_b", said_by="AB", at=now)
    set_value(casebook, "birch", "title", "75 parts wool", said_by="AB", at=now)
    assert [hit.job for hit in search(casebook, "5 % w")] == ["larch"]
    assert [hit.job for hit in search(casebook, "a_b")] == ["larch"]
    assert [hit.job for hit in search(casebook, "wool!")] == ["larch"]
    assert search(casebook, "%%") == ()


def test_the_newest_comes_first_and_there_is_an_end(casebook: Casebook, now: datetime) -> None:
    for number in range(9):
        set_value(casebook, "larch", "title", f"wool {number}", said_by="AB", at=now)
    assert [hit.text for hit in search(casebook, "wool", most=2)] == ["wool 8", "wool 7"]
    with pytest.raises(StoreError, match="at least 2 letters"):
        search(casebook, " a ")


def test_capitals_outside_ascii_do_not_matter(casebook: Casebook, now: datetime) -> None:
    set_value(casebook, "larch", "title", "ÄRMEL and Ölberg", said_by="AB", at=now)
    for words in ("ärmel", "ÖLBERG", "Ärmel AND"):
        assert [hit.where for hit in search(casebook, words)] == ["value"], words
    assert search(casebook, "ürmel") == ()


def test_digits_of_hashes_and_marks_are_no_words(casebook: Casebook, now: datetime) -> None:
    digest = "ef" * 32
    casebook.append("note", {"a": digest, "b": f"person:{digest}", "c": "efface"}, at=now)
    assert [hit.where for hit in search(casebook, "ef")] == ["c"]


def test_a_stored_document_is_searched_as_words(casebook: Casebook, now: datetime) -> None:
    inner = json.dumps({"gaps": 1, "ranking": [{"name": "Seam gap"}, {"name": "A gap"}]})
    casebook.append("finding", {"finding": inner, "case": "c"}, at=now)
    (hit,) = search(casebook, "gap")
    assert (hit.where, hit.text) == ("finding", "Seam gap")
    assert search(casebook, "ranking") == ()
