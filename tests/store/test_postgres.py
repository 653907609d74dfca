"""What only a server does: many writers at once, rights, moving in from a file."""

from __future__ import annotations

import subprocess
import sys
import uuid
from datetime import datetime
from pathlib import Path

import pytest

from diagnose.errors import NotFoundError, StoreError
from diagnose.store import sql
from diagnose.store.jobs import import_changes, set_value, values_of
from diagnose.store.journal import Casebook
from diagnose.store.merge import copy_into, texts_of
from diagnose.store.postgres import PostgresEngine, open_shared

WRITERS = 10
EACH = 20

WRITER = """
import sys
from datetime import UTC, datetime
from diagnose.store.postgres import open_shared
with open_shared(sys.argv[1], schema=sys.argv[2]) as casebook:
    for number in range(int(sys.argv[4])):
        casebook.append("note", {"by": sys.argv[3], "n": number}, at=datetime.now(UTC))
"""


def test_a_server_that_is_not_there_says_so() -> None:
    with pytest.raises(StoreError, match="cannot be reached"):
        PostgresEngine("postgresql://nobody@127.0.0.1:1/none", wait=1)


def test_a_name_that_is_no_schema_is_refused() -> None:
    with pytest.raises(StoreError, match="no name for a schema"):
        open_shared("postgresql://127.0.0.1:1/none", schema='x"; drop table entries; --')


@pytest.mark.parametrize(
    "address", ["postgresql://u:se%zz@h/db", "postgres://u:se%41@[bad/db", "secret"]
)
def test_an_address_that_cannot_be_read_is_not_repeated(address: str) -> None:
    with pytest.raises(StoreError, match="address of the shared casebook cannot") as caught:
        open_shared(address)
    assert "se%" not in str(caught.value)
    assert "secret" not in str(caught.value)


@pytest.mark.shared
def test_a_server_without_a_casebook_says_so(server: str) -> None:
    dsn, schema = server.split(" ")
    with pytest.raises(NotFoundError, match="holds none yet"):
        open_shared(dsn, schema=schema)


@pytest.mark.shared
def test_a_newer_form_on_the_server_is_refused(server: str) -> None:
    dsn, schema = server.split(" ")
    with open_shared(dsn, create=True, schema=schema) as casebook:
        casebook.engine.run(sql.SET_META, {"name": "form", "value": "99"})
    with pytest.raises(StoreError, match="newer version"):
        open_shared(dsn, schema=schema)


@pytest.mark.shared
def test_ten_writers_at_once_make_no_gap_and_no_fork(server: str) -> None:
    dsn, schema = server.split(" ")
    with open_shared(dsn, create=True, schema=schema) as casebook:
        processes = [
            subprocess.Popen([sys.executable, "-c", WRITER, dsn, schema, f"w{number}", str(EACH)])
            for number in range(WRITERS)
        ]
        assert [process.wait(timeout=120) for process in processes] == [0] * WRITERS
        entries = casebook.entries()
        assert [entry.seq for entry in entries] == list(range(1, WRITERS * EACH + 1))
        for number in range(WRITERS):
            mine = [entry.body["n"] for entry in entries if entry.body["by"] == f"w{number}"]
            assert mine == list(range(EACH))
        assert casebook.verify().sound


@pytest.mark.shared
def test_a_busy_server_says_so(server: str, now: datetime) -> None:
    dsn, schema = server.split(" ")
    with (
        open_shared(dsn, create=True, schema=schema) as casebook,
        Casebook(PostgresEngine(dsn, schema=schema, wait=0.2)) as second,
    ):
        with (
            casebook.engine.writing(),
            pytest.raises(StoreError, match="being written by others"),
        ):
            second.append("note", {}, at=now)
        assert second.append("note", {}, at=now).seq == 1


@pytest.mark.shared
def test_the_journal_on_the_server_cannot_be_changed(server: str, now: datetime) -> None:
    import psycopg

    dsn, schema = server.split(" ")
    account = f"w_{uuid.uuid4().hex[:12]}"
    with open_shared(dsn, create=True, schema=schema) as casebook:
        first = casebook.append("note", {}, at=now)
        for statement in ("update entries set kind = 'x'", "delete from entries"):
            with pytest.raises(StoreError, match="append-only"):
                casebook.engine.run(statement)
        with pytest.raises(StoreError, match="append-only"):
            casebook.engine.run("truncate entries")
        engine = casebook.engine
        assert isinstance(engine, PostgresEngine)
        with psycopg.connect(dsn, autocommit=True) as db:
            db.execute(f"create role {account} login password 'scratch'".encode())
            try:
                engine.allow_writer(account)
                theirs = psycopg.conninfo.make_conninfo(dsn, user=account, password="scratch")
                with open_shared(theirs, schema=schema) as writer:
                    assert writer.append("note", {}, at=now).seq == 2
                    for statement in ("delete from entries", "drop table entries"):
                        with pytest.raises(StoreError, match="may not do that"):
                            writer.engine.run(statement)
                    assert _destroyed(writer, first.device) == "the journal is append-only"
                    assert writer.count() == 2
            finally:
                db.execute(f"drop owned by {account}".encode())
                db.execute(f"drop role {account}".encode())
        with pytest.raises(StoreError, match="no name for an account"):
            engine.allow_writer("x; drop role y")


def _destroyed(writer: Casebook, device: str) -> str:
    """Try to move an entry into a quarantine of one's own, and return the objection."""
    engine = writer.engine
    engine.run(
        "create temporary table quarantine (device text, seq bigint, hash text, text text, "
        "primary key (device, seq, hash))"
    )
    engine.run("grant all on pg_temp.quarantine to public")
    engine.run("insert into pg_temp.quarantine values (:device, 1, 'x', 'x')", {"device": device})
    with pytest.raises(StoreError) as refused:
        engine.run(sql.SET_ASIDE["postgres"][0], {"device": device, "seq": 1})
    return str(refused.value).rsplit(": ", 1)[-1]


@pytest.mark.shared
def test_a_server_that_isolates_more_strictly_loses_no_writer(server: str, now: datetime) -> None:
    dsn, schema = server.split(" ")
    join = "&" if "?" in dsn else "?"
    strict = f"{dsn}{join}options=-c%20default_transaction_isolation%3Dserializable"
    with open_shared(strict, create=True, schema=schema) as casebook:
        with casebook.engine.writing():
            assert casebook.engine.rows("show transaction_isolation") == [("read committed",)]
        with casebook.reading():
            assert casebook.engine.rows("show transaction_isolation") == [("repeatable read",)]


@pytest.mark.shared
def test_a_casebook_moves_in_and_is_backed_up_out_again(
    server: str, file_casebook: Casebook, tmp_path: Path, now: datetime
) -> None:
    dsn, schema = server.split(" ")
    import_changes(
        file_casebook,
        "larch",
        {"title": "L", "contract.client": "A (invented)"},
        said_by="AB",
        at=now,
    )
    with open_shared(dsn, create=True, schema=schema) as shared:
        assert copy_into(file_casebook, shared).added == 1
        set_value(shared, "larch", "title", "M", said_by="CD", at=now)
        assert values_of(shared, "larch")[0] == {"title": "M", "contract.client": "A (invented)"}
        report = shared.backup(tmp_path / "backup.db")
        assert (report.sound, report.entries) == (True, 2)
        with Casebook.open(tmp_path / "backup.db") as copy:
            assert list(texts_of(copy)) == list(texts_of(shared))
            assert values_of(copy, "larch") == values_of(shared, "larch")
        with pytest.raises(StoreError, match="there already"):
            shared.backup(tmp_path / "backup.db")
