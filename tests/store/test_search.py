"""Words are found wherever they were entered: with an index, without one, and on a server."""

from __future__ import annotations

import json
import sqlite3
import tempfile
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.errors import StoreError
from diagnose.store import forms, full_text, people, sql
from diagnose.store.cases import open_case
from diagnose.store.engine import all_rows
from diagnose.store.jobs import import_changes, set_value
from diagnose.store.journal import Casebook
from diagnose.store.merge import copy_into
from diagnose.store.postgres import open_shared
from diagnose.store.search import search
from diagnose.store.words import fold

NOW = datetime(2026, 3, 2, 8, 10, tzinfo=UTC)


def without_index(patch: pytest.MonkeyPatch) -> None:
    """Let this Python's SQLite be one that was built without FTS5."""
    patch.setattr(full_text, "able", lambda engine: False)


@pytest.fixture(params=["index", "no index", pytest.param("server", marks=pytest.mark.shared)])
def casebook(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Casebook]:
    """An empty casebook: in a file with the index, in one without, and on a server."""
    if request.param == "server":
        dsn, schema = request.getfixturevalue("server").split(" ")
        with open_shared(dsn, create=True, schema=schema) as shared:
            yield shared
        return
    if request.param == "no index":
        without_index(request.getfixturevalue("monkeypatch"))
    with Casebook.open(tmp_path / "casebook.db", create=True) as opened:
        yield opened
        assert full_text.ready(opened.engine) == (request.param == "index")


def noted(casebook: Casebook, *texts: str) -> None:
    """Add a note for each text, a minute apart."""
    for number, text in enumerate(texts):
        casebook.append("note", {"text": text}, at=NOW + timedelta(minutes=number))


def found(casebook: Casebook, words: str) -> list[str]:
    return [hit.text for hit in search(casebook, words)]


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
    assert [hit.job for hit in search(casebook, "wool!")] == ["birch", "larch"]
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


def test_the_best_come_first_then_the_newest(casebook: Casebook) -> None:
    noted(
        casebook,
        "seam gap at the door",
        "the gap is not in the seam",
        "seam gaping",
        "seam gap by the hearth",
        "a gap, and elsewhere a seam of another room",
        "seam",
    )
    assert found(casebook, "seam gap") == [
        "seam gap by the hearth",
        "seam gap at the door",
        "seam gaping",
        "a gap, and elsewhere a seam of another room",
        "the gap is not in the seam",
    ]


def test_words_may_stand_in_different_places_of_one_entry(casebook: Casebook) -> None:
    case = open_case(
        casebook, job=None, symptoms=["gap"], words="It gapes by the hearth", said_by="EF", at=NOW
    )
    open_case(casebook, symptoms=["fraying"], words="by the door", said_by="EF", at=NOW)
    assert [(hit.case, hit.where) for hit in search(casebook, "hearth gap")] == [(case, "words")]
    assert [(hit.case, hit.where) for hit in search(casebook, "EF hearth")] == [
        (case, "said_by"),
        (case, "words"),
    ]


def test_only_the_last_word_may_be_a_beginning(casebook: Casebook) -> None:
    noted(casebook, "unsealed edges", "sealed edges")
    assert found(casebook, "sealed ed") == ["sealed edges"]
    assert found(casebook, "seal edges") == []
    assert found(casebook, "edg") == ["sealed edges", "unsealed edges"]


def test_the_inside_of_a_word_counts_only_where_nothing_else_is_found(casebook: Casebook) -> None:
    noted(casebook, "batch B0417/22", "roll 22")
    assert found(casebook, "0417") == ["batch B0417/22"]
    assert found(casebook, "22") == ["roll 22", "batch B0417/22"]
    assert found(casebook, "eal") == []


def test_accents_and_capitals_are_set_aside(casebook: Casebook) -> None:
    noted(casebook, "Café Noël, Œuvre 5 m²", "STRASSE Łódź Ødegård", "cafe\u0301 \u0130zmir")
    for words in ("cafe", "CAFÉ", "cafe\u0301"):
        assert len(found(casebook, words)) == 2, words
    for words in ("noel", "NOËL oeuvre", "œuvre 5 M2", "straße łodz", "odegard", "izmir"):
        assert len(found(casebook, words)) == 1, words


@pytest.mark.parametrize(
    "words",
    [
        '"gap',
        "'gap\"",
        "-gap",
        "gap*",
        "*gap*",
        "gap)",
        "(gap",
        "^gap",
        "gap:",
        "text:gap",
        "{text} : gap",
        "gap + the",
        "gap AND",
        "NOT gap",
        "gap OR",
        "NEAR(gap the)",
        "gap NEAR/2 the",
        "gap; drop table entries",
        "gap\\",
        "gap\x00",
        "%gap_",
        "gap' or 1=1 --",
        ":match gap",
        "%(like)s gap",
    ],
)
def test_what_is_typed_is_words_and_nothing_else(casebook: Casebook, words: str) -> None:
    typed = words.lower()
    plain = "".join(char if char.isalnum() else " " for char in typed)
    noted(casebook, "other things", plain)
    assert found(casebook, words) == [plain]
    assert casebook.count() == 2


def test_picture_signs_are_words(casebook: Casebook) -> None:
    noted(casebook, "good 👍🏽 job", "bad 👎 job", "👍", "dry ☀️ day")
    assert found(casebook, "👍") == ["👍", "good 👍🏽 job"]
    assert found(casebook, "good 👍 jo") == ["good 👍🏽 job"]
    assert found(casebook, "☀") == ["dry ☀️ day"]


def test_very_long_words_and_texts_are_looked_for(casebook: Casebook) -> None:
    word = "x" * 100_000
    noted(casebook, f"a {word} b", "y " * 500, "short")
    assert found(casebook, word)[0].startswith("a xxx")
    assert len(found(casebook, "y " * 10_000)) == 1
    assert found(casebook, "z" * 100_000) == []
    assert found(casebook, "ab " * 10_000) == []


@pytest.mark.parametrize("words", ["", "  ", "a", " a!", "!", "é", "\x00"])
def test_too_little_is_refused_plainly(casebook: Casebook, words: str) -> None:
    with pytest.raises(StoreError, match="at least 2 letters"):
        search(casebook, words)


@pytest.mark.parametrize("words", ["%%", '""', "--- ***", "?!?!", "…—"])
def test_signs_alone_find_nothing(casebook: Casebook, words: str) -> None:
    noted(casebook, '-- "?!" ** %% …—', "words")
    assert found(casebook, words) == []


def test_letters_of_other_scripts_are_words(casebook: Casebook) -> None:
    noted(casebook, "地毯 接缝", "ковёр у двери")
    assert found(casebook, "地毯") == ["地毯 接缝"]
    assert found(casebook, "地") == ["地毯 接缝"]
    assert found(casebook, "КОВЕР") == ["ковёр у двери"]


def test_a_table_of_figures_holds_no_words(casebook: Casebook) -> None:
    points = json.dumps([{"at": "2026-03-02T09:00:00+00:00", "air_c": "20.5"}])
    set_value(casebook, "larch", "climate.C1.points", points, said_by="AB", at=NOW)
    assert search(casebook, "2026-03") == ()
    assert [hit.where for hit in search(casebook, "points")] == ["path"]


def test_rebuild_fills_the_index_and_merge_does(casebook: Casebook, tmp_path: Path) -> None:
    noted(casebook, "seam gap", "gap")
    before = found(casebook, "gap")
    assert before == ["gap", "seam gap"]
    with casebook.engine.writing():
        casebook.engine.run("delete from entry_words")
    casebook.rebuild()
    assert found(casebook, "gap") == before
    with Casebook.open(tmp_path / "other.db", create=True) as other:
        other.append("note", {"text": "one gap more"}, at=NOW + timedelta(hours=1))
        copy_into(casebook, other)
        assert found(other, "gap") == ["one gap more", "gap", "seam gap"]
        copy_into(other, casebook)
        assert found(casebook, "gap") == found(other, "gap")


def test_a_forgotten_name_is_in_no_byte_of_the_index(casebook: Casebook, tmp_path: Path) -> None:
    name = "Quenby Zachariasz"
    set_value(casebook, "larch", "contract.client", name, said_by="AB", at=NOW)
    noted(casebook, "the client was called")
    mark = casebook.entries()[0].body["value"]
    assert search(casebook, name) == search(casebook, mark) == ()
    casebook.rebuild()
    people.forget(casebook, name, at=NOW)
    assert search(casebook, name) == ()
    kept = " ".join(str(row) for row in casebook.engine.rows("select words from entry_words"))
    assert "called" in kept
    if casebook.engine.name != "sqlite":
        pieces = [kept.encode()]
    else:
        pieces = [file.read_bytes() for file in tmp_path.glob("casebook.db*")]
        assert any(b"called" in piece for piece in pieces)
    for piece in pieces:
        assert not any(part in piece.lower() for part in (b"quenby", b"zachariasz", b"quen"))
    for (shadow,) in (
        casebook.engine.rows(
            "select name from sqlite_schema where type = 'table' and name like 'entry_search_%'"
        )
        if full_text.able(casebook.engine)
        else []
    ):
        assert "quenby" not in str(casebook.engine.rows(f"select * from {shadow}")).lower()


WITHOUT_WORDS = 2
"""The last form of the store that had no table of words."""


def former_file(source: Casebook, path: Path) -> None:
    """Write what `source` holds into a file of the form that had no table of words."""
    with sqlite3.connect(path) as db:
        for steps in forms.migrations("sqlite")[:WITHOUT_WORDS]:
            for step in steps:
                db.execute(step)
        db.execute(f"pragma user_version={WITHOUT_WORDS}")
        db.execute(f"pragma application_id={forms.APPLICATION_ID}")
        names = (
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
        for row in all_rows(source.engine):
            db.execute(sql.ADD_ENTRY, dict(zip(names, row, strict=True)))
        for head in source.engine.rows(sql.GET_HEADS):
            db.execute("insert into heads values (?, ?, ?, ?, ?)", head)
    db.close()


@pytest.mark.parametrize("index", [True, False])
def test_an_old_casebook_gets_its_words_when_it_is_opened(
    tmp_path: Path, index: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    if not index:
        without_index(monkeypatch)
    with Casebook.open(tmp_path / "source.db", create=True) as source:
        noted(source, *(f"gap number {number}" for number in range(5_000)))
        former_file(source, tmp_path / "old.db")
        with Casebook.open(tmp_path / "old.db") as old:
            assert old.engine.rows("pragma user_version") == [(forms.SCHEMA_VERSION,)]
            assert full_text.ready(old.engine) == index
            assert found(old, "number 4999") == ["gap number 4999"]
            assert found(old, "gap") == found(source, "gap")
            assert old.verify().sound
            noted(old, "one gap more")
            assert len(found(old, "one gap more")) == 1


@pytest.mark.shared
def test_an_old_casebook_on_a_server_gets_its_words(server: str, tmp_path: Path) -> None:
    import psycopg

    dsn, schema = server.split(" ")
    with Casebook.open(tmp_path / "source.db", create=True) as source:
        noted(source, "seam gap", "gap")
        rows = list(all_rows(source.engine))
    with psycopg.connect(dsn, autocommit=True) as db:
        db.execute(f"create schema {schema}".encode())
        db.execute(f"set search_path to {schema}, pg_catalog".encode())
        for steps in forms.migrations("postgres")[:WITHOUT_WORDS]:
            for step in steps:
                db.execute(step.encode())
        db.execute("insert into meta values ('form', %s)", (str(WITHOUT_WORDS),))
        columns = b"device, seq, hash, text, prev, wall, counter, kind, job, case_id"
        for row in rows:
            values = b", ".join([b"%s"] * len(row))
            db.execute(b"insert into entries (" + columns + b") values (" + values + b")", row)
    with open_shared(dsn, schema=schema) as shared:
        assert found(shared, "gap") == ["gap", "seam gap"]
        noted(shared, "one gap more")
        assert len(found(shared, "gap")) == 3


def test_a_program_without_the_index_and_one_with_it_share_a_file(tmp_path: Path) -> None:
    path = tmp_path / "casebook.db"
    with Casebook.open(path, create=True) as casebook:
        noted(casebook, "first gap")
    with pytest.MonkeyPatch.context() as patch:
        without_index(patch)
        with Casebook.open(path) as casebook:
            noted(casebook, "second gap")
            assert found(casebook, "gap") == ["second gap", "first gap"]
    with Casebook.open(path) as casebook:
        assert not full_text.ready(casebook.engine)
        assert len(found(casebook, "gap")) == 2
        noted(casebook, "third gap")
        assert full_text.ready(casebook.engine)
        assert len(found(casebook, "gap")) == 3
    with pytest.MonkeyPatch.context() as patch:
        without_index(patch)
        with Casebook.open(path) as casebook:
            casebook.rebuild()
    with Casebook.open(path) as casebook:
        assert len(found(casebook, "gap")) == 3
        noted(casebook, "fourth gap")
        assert full_text.ready(casebook.engine)
        assert len(found(casebook, "gap")) == 4


def test_a_damaged_index_hides_nothing_and_is_made_anew(tmp_path: Path) -> None:
    with Casebook.open(tmp_path / "casebook.db", create=True) as casebook:
        noted(casebook, "first gap", "second gap")
        casebook.engine.run("update entry_search_data set block = x'00'")
    with Casebook.open(tmp_path / "casebook.db") as casebook:
        assert len(found(casebook, "gap")) == 2
        casebook.rebuild()
        assert full_text.ready(casebook.engine)
        query = sql.search((full_text.AMONG,))
        match = {"match": full_text.match_of(fold("gap"), False), "limit": 9}
        assert len(casebook.engine.rows(query, match)) == 2


SOME = st.lists(
    st.sampled_from(
        [
            "gap",
            "gaps",
            "Seam",
            "séam",
            "seamless",
            "a",
            "b-7",
            '"',
            "NEAR",
            "*",
            "👍",
            "x" * 70,
            "ab",
        ]
    ),
    max_size=6,
).map(" ".join)


@settings(max_examples=60, deadline=None)
@given(texts=st.lists(SOME | st.text(max_size=12), max_size=8), asked=st.lists(SOME, max_size=4))
def test_the_index_never_changes_an_answer(texts: list[str], asked: list[str]) -> None:
    with (
        tempfile.TemporaryDirectory() as folder,
        Casebook.open(Path(folder) / "casebook.db", create=True) as casebook,
    ):
        for text in texts:
            casebook.append("note", {"text": text, "said_by": "AB"}, at=NOW)
        for words in [*asked, *texts]:
            answers = []
            for index in (True, False):
                with pytest.MonkeyPatch.context() as patch:
                    if not index:
                        without_index(patch)
                    try:
                        answers.append(search(casebook, words))
                    except StoreError as error:
                        answers.append(str(error))  # type: ignore[arg-type]
            assert answers[0] == answers[1], words
