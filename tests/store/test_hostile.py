"""What a stranger may put into entries, names or a casebook, and what it must not do here."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from diagnose.errors import InputError, StoreError
from diagnose.store import clock, lines, people, words
from diagnose.store.cases import list_cases
from diagnose.store.entry import CHAIN_STARTED, FIRST_PREV, Entry, canonical, hash_text
from diagnose.store.jobs import set_value, values_of
from diagnose.store.journal import Casebook
from diagnose.store.merge import copy_into, merge, texts_of
from diagnose.store.person import Person, mark_for
from diagnose.store.trace import trace

Maker = Callable[[], Casebook]
SALT = "0" * 32


def forged(device: str = "stranger", seq: int = 1, prev: str = FIRST_PREV, **fields: Any) -> str:
    """The text of an entry that sets a title, or whatever else is given."""
    made = Entry(
        device=device,
        seq=seq,
        prev=prev,
        at="2026-03-02T09:00:00.000Z",
        lc=(1_772_442_000_000, 0),
        kind="job-value",
        body={"job": "larch", "path": "title", "value": "forged", "said_by": "XX"},
    )
    return canonical(replace(made, **fields)).decode()


@pytest.mark.parametrize("value", ["half \ud800 of it", "a\0b"])
def test_a_name_that_no_database_holds_is_refused(casebook: Casebook, value: str) -> None:
    person = Person(mark_for(SALT, value), SALT, value)
    with pytest.raises(InputError, match="does not fit its mark"):
        lines.read(b"".join(lines.write([], [person])), "bad")
    assert merge(casebook, [], persons=[person]).added == 0
    assert people.everyone(casebook) == ()
    with pytest.raises(StoreError, match="holds a sign that no text has"):
        people.remember(casebook, value)


def test_more_lines_than_may_be_are_counted_before_they_are_parted(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    class Counted(bytes):
        def __getitem__(self, _: Any) -> bytes:
            raise AssertionError("parted before it was counted")

    monkeypatch.setattr(lines, "MOST_LINES", 20)
    with pytest.raises(InputError, match="more than 20 lines"):
        lines.read(Counted(b"\n" * 30), "bad")


def test_signs_and_lengths_that_a_server_cannot_list_do_not_keep_a_casebook_out(
    casebook: Casebook,
) -> None:
    long = "".join(hash_text(str(number).encode()) for number in range(200))
    values = {"title": "a\0b", "rolls.R1.batch": long, "rolls.R2.batch": "x\0y"}
    told = {"case": "c1", "job": f"{long}\0", "symptoms": ["a\0"], "at": "seam:\0"}
    first = forged(kind="job-values", body={"job": "larch", "values": values, "said_by": "XX"})
    second = forged("another", kind="complaint", body=told)
    assert merge(casebook, [first, second]).added == 2
    assert casebook.verify().sound
    assert casebook.differences() == ()
    assert values_of(casebook, "larch")[0] == values
    assert [use.job for use in trace(casebook, long).uses] == ["larch"]
    assert [case.job for case in list_cases(casebook)] == [None]


def test_a_clock_at_its_very_end_does_not_shut_out_what_is_entered_after(
    maker: Maker, now: datetime
) -> None:
    here, there = maker(), maker()
    merge(here, [forged(lc=clock.LAST)])
    for title in ("one", "two"):
        set_value(here, "larch", "title", title, said_by="AB", at=now)
    assert here.verify().sound
    taken = copy_into(here, there)
    assert (taken.added, taken.refused) == (3, ())
    assert list(texts_of(there)) == list(texts_of(here))
    assert there.verify().sound


@pytest.mark.parametrize("seq", [1_000, 2**31 - 1])
def test_the_own_chain_is_not_carried_on_from_where_a_stranger_left_it(
    maker: Maker, now: datetime, seq: int
) -> None:
    here, there = maker(), maker()
    own = [set_value(here, "larch", "title", title, said_by="AB", at=now) for title in "ab"]
    merge(here, [forged(own[0].device, seq, "ab" * 32)])
    mine = set_value(here, "larch", "title", "c", said_by="AB", at=now)
    assert (mine.device == own[0].device, mine.seq) == (False, 2)
    (start,) = here.entries(kind=CHAIN_STARTED)
    assert start.body["reason"] == "two-histories"
    assert set_value(here, "larch", "title", "d", said_by="AB", at=now).device == mine.device
    assert copy_into(here, there).refused == ()


def test_own_entries_that_come_back_after_a_backup_was_restored_are_carried_on(
    tmp_path: Path, now: datetime
) -> None:
    token, path = tmp_path / "token.json", tmp_path / "own.db"
    with (
        Casebook.open(path, create=True, token=token) as own,
        Casebook.open(tmp_path / "other.db", create=True) as other,
    ):
        set_value(own, "larch", "title", "a", said_by="AB", at=now)
        own.backup(tmp_path / "backup.db")
        newest = set_value(own, "larch", "title", "b", said_by="AB", at=now)
        copy_into(own, other)
        with Casebook.open(tmp_path / "backup.db", token=token) as restored:
            copy_into(other, restored)
            after = set_value(restored, "larch", "title", "c", said_by="AB", at=now)
            assert (after.device, after.seq) == (newest.device, 3)


def test_how_deep_a_text_is_read_does_not_hang_on_this_python() -> None:
    def words_of(text: str) -> str:
        body = {"value": text}
        return words.row_of(
            Entry(
                device="d", seq=1, prev="", at="", lc=(0, 0), kind="job-value", body=body, seen={}
            )
        )

    def nested(deep: int) -> str:
        return '{"k":' * deep + '"found"' + "}" * deep

    assert words_of(nested(20)) == " found "
    assert words_of(nested(30)).startswith(" k k k ")
    assert words_of(nested(5_000)).startswith(" k k k ")


@pytest.mark.parametrize(
    "meddling",
    [
        "drop table people; create table people (mark, salt, value);"
        "insert into people values (null, null, null), ('m', x'00', 5)",
        "drop table entries; create table entries (device, seq, hash, prev, wall, counter, kind,"
        "job, case_id, text); insert into entries values ('a','zz','h','p',1,1,'k','j',null,'x')",
        "drop table quarantine; create table quarantine (device, seq, hash, text);"
        "insert into quarantine values (null, 'x', 3, null)",
        "drop table entries; create view entries as with recursive n(seq) as (select 1 union all "
        "select seq + 1 from n) select 'a' device, seq, 'h' hash, 'p' prev, 1 wall, 1 counter, "
        "'k' kind, 'j' job, null case_id, 't' text from n where seq < 5",
    ],
)
def test_a_casebook_put_together_by_a_stranger_raises_nothing_else(
    tmp_path: Path, file_casebook: Casebook, meddling: str
) -> None:
    path = tmp_path / "strange.db"
    Casebook.open(path, create=True).close()
    db = sqlite3.connect(path)
    db.executescript(meddling)
    db.close()
    try:
        with Casebook.open(path) as strange:
            copy_into(strange, file_casebook)
    except StoreError:
        pass
    assert (file_casebook.count(), people.everyone(file_casebook)) == (0, ())


def test_a_name_too_long_to_travel_is_refused_before_anything_is_entered(
    casebook: Casebook, now: datetime
) -> None:
    with pytest.raises(StoreError, match="2001 letters is too long; at most 2000 are kept"):
        set_value(casebook, "larch", "contract.client", "x" * 2_001, said_by="AB", at=now)
    assert (casebook.count(), people.everyone(casebook)) == (0, ())
    set_value(casebook, "larch", "contract.client", "x" * 2_000, said_by="AB", at=now)
    assert casebook.verify().sound
    data = b"".join(lines.write(texts_of(casebook), people.everyone(casebook)))
    assert len(lines.read(data, "good").persons) == 1
    set_value(casebook, "larch", "title", "L", said_by="AB", at=now + timedelta(1))
