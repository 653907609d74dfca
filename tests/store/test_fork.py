"""A device with two histories: which one stands does not hang on who met whom first."""

from __future__ import annotations

import itertools
import random
import tempfile
import uuid
from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.errors import StoreError
from diagnose.store import people, sql
from diagnose.store.entry import CHAIN_STARTED, FIRST_PREV, Entry, canonical, hash_text
from diagnose.store.fork import Link, standing
from diagnose.store.jobs import set_value, values_of
from diagnose.store.journal import Casebook
from diagnose.store.merge import copy_into, merge, texts_of
from diagnose.store.postgres import PostgresEngine, open_shared
from diagnose.store.search import search

Maker = Callable[[], Casebook]
NOW = datetime(2026, 3, 2, 8, tzinfo=UTC)
PHONE, OFFICE, VAN = "phone", "office", "van"


def entry(
    device: str,
    before: Entry | None,
    value: str,
    *,
    minute: int,
    seen: Iterable[Entry] = (),
) -> Entry:
    """An entry that sets the title of a job, made by hand."""
    made = Entry(
        device=device,
        seq=before.seq + 1 if before else 1,
        prev=before.hash if before else FIRST_PREV,
        at=f"2026-03-02T09:{minute:02}:00.000Z",
        lc=(1_772_442_000_000 + minute * 60_000, 0),
        kind="job-value",
        body={"job": "larch", "path": "title", "value": value, "said_by": "AB"},
        seen={each.device: (each.seq, each.hash) for each in seen},
    )
    return replace(made, hash=hash_text(canonical(made)))


def text(made: Entry) -> str:
    return canonical(made).decode()


def chain(device: str, before: Entry | None, *values: str, minute: int) -> list[Entry]:
    made: list[Entry] = []
    for number, value in enumerate(values):
        made.append(entry(device, made[-1] if made else before, value, minute=minute + number))
    return made


BASE = chain(PHONE, None, "base one", "base two", minute=0)
_BRANCHES = (
    chain(PHONE, BASE[-1], "left one", "left two", "left three", minute=10),
    chain(PHONE, BASE[-1], "right one", "right two", minute=20),
)
SMALL, LARGE = sorted(_BRANCHES, key=lambda branch: branch[0].hash)
"""The branch whose first entry has the smaller hash, and the other."""


def state(casebook: Casebook) -> dict[str, object]:
    """Everything of a casebook that must not hang on the order of merges."""
    tables = {
        name: sorted(map(str, casebook.engine.rows(f"select {columns} from {name}")))
        for name, columns in sql.PROJECTIONS.items()
    }
    return {
        "entries": [(each.device, each.seq, each.hash) for each in casebook.entries()],
        "quarantine": casebook.quarantine(),
        **tables,
    }


def merged(casebook: Casebook, pieces: Iterable[Iterable[Entry]]) -> Casebook:
    for piece in pieces:
        merge(casebook, [text(each) for each in piece])
    return casebook


def stands(casebook: Casebook) -> list[str]:
    return [each.hash for each in casebook.entries() if each.device == PHONE]


def hashes(*pieces: list[Entry]) -> list[str]:
    return [each.hash for piece in pieces for each in piece]


def test_the_smaller_hash_stands_where_nobody_named_either(maker: Maker) -> None:
    casebook = merged(maker(), [BASE, LARGE])
    assert stands(casebook) == hashes(BASE, LARGE)
    told = merge(casebook, [text(each) for each in SMALL])
    assert (told.added, told.known) == (len(SMALL), 0)
    assert len(told.forks) == len(LARGE)
    assert "was set aside, as another history of this device stands; both are kept" in told.forks[0]
    assert stands(casebook) == hashes(BASE, SMALL)
    assert [row[2] for row in casebook.quarantine()] == hashes(LARGE)
    again = merge(casebook, [text(each) for each in (*SMALL, *LARGE, *BASE)])
    assert (again.added, again.known, again.forks) == (0, len([*SMALL, *LARGE, *BASE]), ())


def test_the_branch_that_another_device_named_first_stands(maker: Maker) -> None:
    named = entry(OFFICE, None, "office", minute=40, seen=[LARGE[1]])
    later = entry(VAN, None, "van", minute=41, seen=[SMALL[0]])
    casebook = merged(maker(), [BASE, SMALL, [later], LARGE])
    assert stands(casebook) == hashes(BASE, SMALL)
    merge(casebook, [text(named)])
    assert stands(casebook) == hashes(BASE, LARGE)
    assert values_of(casebook, "larch")[0]["title"] == "van"


def test_what_the_device_says_of_itself_does_not_count(maker: Maker) -> None:
    itself = entry(PHONE, LARGE[-1], "own", minute=30, seen=[LARGE[0]])
    casebook = merged(maker(), [BASE, LARGE, [itself], SMALL])
    assert stands(casebook) == hashes(BASE, SMALL)


def test_lists_and_search_follow_the_history_that_stands(maker: Maker) -> None:
    words = {id(SMALL): SMALL[-1].body["value"], id(LARGE): LARGE[-1].body["value"]}
    casebook = merged(maker(), [BASE, LARGE])
    assert len(search(casebook, words[id(LARGE)])) == 1
    merged(casebook, [SMALL])
    assert search(casebook, words[id(LARGE)]) == ()
    assert len(search(casebook, words[id(SMALL)])) == 1
    before = state(casebook)
    casebook.rebuild()
    assert state(casebook) == before
    kinds = {flaw.kind for flaw in casebook.verify().flaws}
    assert kinds == {"fork"}
    assert sorted(texts_of(casebook)) == sorted(text(each) for each in (*BASE, *SMALL, *LARGE))


def test_a_job_only_in_the_history_set_aside_is_listed_no_more(maker: Maker) -> None:
    other = replace(LARGE[0], body={**LARGE[0].body, "job": "birch"}, hash="")
    for number in itertools.count():
        other = replace(other, body={**other.body, "value": f"{number}"}, hash="")
        other = replace(other, hash=hash_text(canonical(other)))
        if other.hash > SMALL[0].hash:
            break
    casebook = merged(maker(), [BASE, [other]])
    assert {str(row[0]) for row in casebook.engine.rows(sql.GET_JOB_HEADS)} == {"birch", "larch"}
    merged(casebook, [SMALL])
    assert {str(row[0]) for row in casebook.engine.rows(sql.GET_JOB_HEADS)} == {"larch"}


PIECES = {
    "base": BASE,
    "small": SMALL,
    "large": LARGE,
    "end": chain(PHONE, LARGE[-1], "the end", minute=30),
    "office": [entry(OFFICE, None, "office", minute=41, seen=[SMALL[1]])],
    "van": [entry(VAN, None, "van", minute=40, seen=[LARGE[1]])],
}


@pytest.mark.parametrize("without", ["", "van", "office", "base", "end"])
def test_every_order_of_merges_ends_with_the_same(tmp_path: Path, without: str) -> None:
    names = [name for name in PIECES if name != without][:5]
    ends: list[dict[str, object]] = []
    for number, order in enumerate(itertools.permutations(names)):
        if number % 5:
            continue
        with Casebook.open(tmp_path / f"{number}.db", create=True) as casebook:
            ends.append(state(merged(casebook, [PIECES[name] for name in order])))
    assert len(ends) == 24
    assert all(end == ends[0] for end in ends)


@pytest.mark.parametrize("seed", range(4))
def test_file_and_server_end_with_the_same(maker: Maker, seed: int) -> None:
    pieces = [[each] for piece in PIECES.values() for each in piece]
    first, second = maker(), maker()
    random.Random(seed).shuffle(pieces)
    merged(first, pieces)
    random.Random(seed + 100).shuffle(pieces)
    merged(second, pieces)
    assert state(first) == state(second)
    copy_into(first, second)
    assert state(first) == state(second)


@settings(max_examples=40, deadline=None)
@given(data=st.data())
def test_any_forest_of_entries_ends_with_the_same(data: st.DataObject) -> None:
    made: list[Entry] = chain(PHONE, None, "root", minute=0)
    for number in range(data.draw(st.integers(1, 9))):
        device = data.draw(st.sampled_from([PHONE, OFFICE]))
        own = [None, *(each for each in made if each.device == device)]
        others = [each for each in made if each.device != device]
        made.append(
            entry(
                device,
                data.draw(st.sampled_from(own)),
                f"v{number}",
                minute=data.draw(st.integers(1, 50)),
                seen=data.draw(st.lists(st.sampled_from(others), max_size=1)) if others else (),
            )
        )
    made = [each for each in made if data.draw(st.integers(0, 9))]
    ends: list[dict[str, object]] = []
    with tempfile.TemporaryDirectory() as folder:
        for number in range(3):
            order = data.draw(st.permutations(made))
            size = data.draw(st.integers(1, 4))
            pieces = [order[start : start + size] for start in range(0, len(order), size)]
            with Casebook.open(Path(folder) / f"{number}.db", create=True) as casebook:
                merged(casebook, pieces)
                ends.append(state(casebook))
                assert sorted(texts_of(casebook)) == sorted({text(each) for each in made})
                casebook.rebuild()
                assert state(casebook) == ends[-1]
    assert ends[0] == ends[1] == ends[2]


LINKS = st.lists(
    st.tuples(st.integers(1, 5), st.sampled_from("abcdefgh"), st.sampled_from("abcdefgh0")),
    max_size=9,
    unique_by=lambda item: item[1],
).map(lambda items: [Link(*item) for item in items])


@given(links=LINKS, named=st.dictionaries(st.sampled_from("abcdefghz"), st.integers(0, 3)))
def test_what_stands_is_one_history_without_a_break(
    links: list[Link], named: dict[str, int]
) -> None:
    orders = {name: (at, 0, name, 1) for name, at in named.items()}
    chosen = standing(links, orders)
    assert chosen == standing(links[::-1], orders)
    by_hash = {link.hash: link for link in links}
    for seq, hashed in chosen.items():
        assert by_hash[hashed].seq == seq
        assert chosen.get(seq - 1) in (None, by_hash[hashed].prev)
    if links:
        assert chosen


def test_a_chain_without_a_fork_stands_whole_gaps_and_all() -> None:
    links = [Link(each.seq, each.hash, each.prev) for each in (*BASE, *SMALL)]
    del links[2]
    assert standing(links, {}) == {link.seq: link.hash for link in links}


def test_a_device_that_learns_of_its_other_history_begins_a_new_chain(
    tmp_path: Path, maker: Maker
) -> None:
    first = maker()
    set_value(first, "larch", "title", "L", said_by="AB", at=NOW)
    first.backup(tmp_path / "copy.db")
    with Casebook.open(tmp_path / "copy.db") as second:
        if first.engine.name != "sqlite":
            # A copy of a shared casebook has no device yet: let it go on as the server did.
            own = first.own_head()
            assert own is not None
            second.engine.run(sql.SET_META, {"name": "device", "value": own.device})
        set_value(first, "larch", "method", "one", said_by="AB", at=NOW)
        set_value(second, "larch", "method", "two", said_by="AB", at=NOW)
        copy_into(second, first)
        copy_into(first, second)
        assert state(first) == state(second)
        devices = set()
        for casebook in (first, second):
            added = set_value(casebook, "larch", "title", "M", said_by="AB", at=NOW)
            start = casebook.entry_at(added.device, 1)
            assert start is not None
            assert (start.kind, start.body["reason"]) == (CHAIN_STARTED, "two-histories")
            assert set_value(casebook, "larch", "title", "N", said_by="AB", at=NOW).seq == 3
            devices.add(added.device)
        assert len(devices) == 2
        copy_into(second, first)
        copy_into(first, second)
        assert state(first) == state(second)
        assert len(first.quarantine()) == 1


def test_an_entry_never_leaves_without_being_kept(maker: Maker) -> None:
    casebook = merged(maker(), [BASE, SMALL, LARGE])
    engine = casebook.engine
    for statement in (
        "delete from entries",
        f"delete from entries where device = '{PHONE}' and seq = 3",
        "delete from quarantine",
        "update quarantine set text = ''",
        "update entries set text = ''",
    ):
        with pytest.raises(StoreError, match="append-only"):
            engine.run(statement)
    alone = merged(maker(), [BASE])
    row = {"device": PHONE, "seq": 2, "hash": BASE[1].hash, "text": text(BASE[1])}
    alone.engine.run(sql.ADD_QUARANTINE, row)
    with pytest.raises(StoreError, match="append-only"):
        alone.engine.run("delete from entries where seq = 2")
    assert alone.quarantine() == ()


@pytest.mark.shared
def test_an_account_that_may_only_add_merges_a_fork(server: str) -> None:
    import psycopg

    dsn, schema = server.split(" ")
    account = f"w_{uuid.uuid4().hex[:12]}"
    with open_shared(dsn, create=True, schema=schema) as shared:
        merged(shared, [BASE, LARGE])
        assert isinstance(shared.engine, PostgresEngine)
        with psycopg.connect(dsn, autocommit=True) as db:
            db.execute(f"create role {account} login password 'scratch'".encode())
            try:
                shared.engine.allow_writer(account)
                theirs = psycopg.conninfo.make_conninfo(dsn, user=account, password="scratch")
                with open_shared(theirs, schema=schema) as writer:
                    assert len(merge(writer, [text(each) for each in SMALL]).forks) == len(LARGE)
                    assert stands(writer) == hashes(BASE, SMALL)
                    before = state(writer)
                    with pytest.raises(StoreError, match="may not do that"):
                        writer.engine.run("delete from entries")
                    with pytest.raises(StoreError, match="append-only"):
                        writer.engine.run(f"select journal_set_aside('{PHONE}', 1)")
                    assert state(writer) == before
            finally:
                db.execute(f"drop owned by {account}".encode())
                db.execute(f"drop role {account}".encode())


def test_what_was_to_be_forgotten_is_forgotten_in_either_history(maker: Maker) -> None:
    name = "Invented Person"
    for branch, other in ((SMALL, LARGE), (LARGE, SMALL)):
        casebook = maker()
        mark = people.remember(casebook, name)
        kept = people.everyone(casebook)
        told = replace(branch[-1], seq=branch[-1].seq + 1, prev=branch[-1].hash, hash="")
        told = replace(told, kind=people.FORGOTTEN_KIND, body={"marks": [mark]})
        told = replace(told, hash=hash_text(canonical(told)))
        merged(casebook, [BASE, other, [*branch, told]])
        assert people.everyone(casebook) == ()
        merge(casebook, (), persons=kept)
        assert people.everyone(casebook) == ()
