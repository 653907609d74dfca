"""Photos and files: kept by content, in a folder or on a server; none is lost or changed unseen."""

from __future__ import annotations

import os
import subprocess
import sys
import uuid
import zipfile
from collections.abc import Callable
from datetime import datetime, timedelta
from hashlib import sha256
from pathlib import Path

import pytest

from diagnose.errors import NotFoundError, StoreError
from diagnose.store import attachments, bundle, forms, shared_files, sql
from diagnose.store.attachments import FolderFiles, SpoiltError
from diagnose.store.bundle import export, take_in
from diagnose.store.files import copy_all, files_of
from diagnose.store.jobs import import_changes, set_value
from diagnose.store.journal import Casebook
from diagnose.store.merge import copy_into
from diagnose.store.named_files import FILE_KEPT, check_files, named_files
from diagnose.store.postgres import PostgresEngine, open_shared
from diagnose.store.shared_files import SharedFiles

PHOTO = b"\xff\xd8\xff invented photo"
WRITERS = 10

KEEPER = """
import sys
from pathlib import Path
from diagnose.store.files import files_of
from diagnose.store.postgres import open_shared
with open_shared(sys.argv[1], schema=sys.argv[2]) as casebook:
    data = bytes(range(256)) * 20_000
    print(files_of(casebook.engine, Path(sys.argv[3])).keep(data, "csv"))
"""


def digest_of(data: bytes) -> str:
    return sha256(data).hexdigest()


def altered(server: str, digest: str, statement: str = "") -> None:
    """Change or take out a file as somebody who owns the server could."""
    import psycopg

    dsn, schema = server.split(" ")
    with psycopg.connect(dsn, autocommit=True) as db:
        db.execute(f"set search_path to {schema}".encode())
        db.execute(b"alter table files disable trigger files_append_only")
        db.execute(b"alter table files drop constraint files_check")
        change = statement or "update files set data = data || 'x'::bytea"
        done = db.execute(f"{change} where hash = '{digest}'".encode())
        assert done.rowcount == 1


def test_a_file_is_kept_once_and_read_again(casebook: Casebook, tmp_path: Path) -> None:
    files = files_of(casebook.engine, tmp_path / "here")
    digest = files.keep(PHOTO, "jpg")
    assert digest == digest_of(PHOTO)
    assert files.keep(PHOTO, "jpg") == digest
    assert files.holds(digest)
    assert dict(files.kinds()) == {digest: "jpg"}
    assert files.read(digest) == PHOTO
    assert files.place(digest).read_bytes() == PHOTO
    assert files.place(digest).suffix == ".jpg"
    assert files.spoilt() == files.only_here() == ()


def test_an_empty_file_is_kept_too(casebook: Casebook, tmp_path: Path) -> None:
    files = files_of(casebook.engine, tmp_path / "here")
    assert files.read(files.keep(b"", "txt")) == b""
    assert files.spoilt() == ()


def test_only_known_kinds_of_file_are_kept(casebook: Casebook, tmp_path: Path) -> None:
    files = files_of(casebook.engine, tmp_path / "here")
    for extension in ("exe", "../jpg", ""):
        with pytest.raises(StoreError, match="allowed are jpg"):
            files.keep(b"x", extension)
    with pytest.raises(StoreError, match="too large"):
        files.keep(bytes(attachments.LARGEST + 1), "jpg")
    for name in ("../../etc/passwd", "ab", "", "a" * 64):
        assert not files.holds(name)
        with pytest.raises(NotFoundError):
            files.place(name)
        with pytest.raises(NotFoundError):
            files.read(name)
    assert not files.kinds()
    assert not (tmp_path / "here").exists()


def test_a_file_that_was_changed_here_is_never_handed_out(
    casebook: Casebook, tmp_path: Path
) -> None:
    files = files_of(casebook.engine, tmp_path / "here")
    digest = files.keep(PHOTO, "jpg")
    files.place(digest).write_bytes(PHOTO + b"!")
    if casebook.engine.name == "postgres":
        # The server has it sound: the copy here is put right without a word.
        assert files.spoilt() == ()
        assert files.place(digest).read_bytes() == PHOTO
        files.place(digest).write_bytes(PHOTO + b"!")
        assert files.read(digest) == PHOTO
        assert files.place(digest).read_bytes() == PHOTO
        return
    for read in (files.place, files.read):
        with pytest.raises(SpoiltError, match="was changed: its content has another hash"):
            read(digest)
    assert [spoilt.digest for spoilt in files.spoilt()] == [digest]
    assert not files.holds(digest)
    files.keep(PHOTO, "jpg")
    assert files.spoilt() == ()


def test_files_are_told_by_job_name_and_hash(
    casebook: Casebook, tmp_path: Path, now: datetime
) -> None:
    files = files_of(casebook.engine, tmp_path / "here")
    digest = files.keep(PHOTO, "jpg")
    lost, paper, single, other = ("abcd"[number] * 64 for number in range(4))
    set_value(casebook, "larch", "photos.P1.sha256", digest, said_by="AB", at=now)
    import_changes(casebook, "larch", {"photos.P2.sha256": lost}, said_by="AB", at=now)
    set_value(casebook, "larch", "photos.P3.sha256", single, said_by="AB", at=now)
    set_value(casebook, "birch", "photos.P9.sha256", lost, said_by="AB", at=now)
    import_changes(
        casebook, "larch", {"title": "L"}, said_by="AB", at=now, file_sha256=other, file_name="s"
    )
    casebook.append(FILE_KEPT, {"job": "larch", "file": {"name": "x.csv", "sha256": paper}}, at=now)
    casebook.append(FILE_KEPT, {"job": "larch", "file": "scrawl"}, at=now)
    assert set(named_files(casebook.engine)) == {digest, lost, paper, single}
    found = check_files(casebook.engine, files)
    assert found.spoilt == ()
    assert [str(flaw) for flaw in found.missing] == [
        f"photo P9 of the job birch, photo P2 of the job larch ({lost[:16]}) is {files.nowhere}",
        f"x.csv of the job larch ({paper[:16]}) is {files.nowhere}",
        f"photo P3 of the job larch ({single[:16]}) is {files.nowhere}",
    ]


def test_a_changed_file_in_a_folder_is_told_by_job_and_name(
    file_casebook: Casebook, tmp_path: Path, now: datetime
) -> None:
    files = files_of(file_casebook.engine, tmp_path / "here")
    digest = files.keep(PHOTO, "jpg")
    set_value(file_casebook, "larch", "photos.P1.sha256", digest, said_by="AB", at=now)
    nobodys = files.keep(b"time,c\n", "csv")
    for each in (digest, nobodys):
        files.place(each).write_bytes(b"other")
    assert sorted(str(flaw) for flaw in check_files(file_casebook.engine, files).spoilt) == [
        f"a file that no entry names ({nobodys[:16]}) was changed: its content has another hash",
        f"photo P1 of the job larch ({digest[:16]}) was changed: its content has another hash",
    ]


def test_files_travel_in_a_bundle_and_a_spoilt_one_stays_behind(
    maker: Callable[[], Casebook], tmp_path: Path, now: datetime
) -> None:
    source, target = maker(), maker()
    here, there = (
        files_of(book.engine, tmp_path / name)
        for book, name in ((source, "here"), (target, "there"))
    )
    good, bad = here.keep(PHOTO, "jpg"), FolderFiles(tmp_path / "here").keep(b"a,b\n", "csv")
    FolderFiles(tmp_path / "here").place(bad).write_bytes(b"a,c\n")
    set_value(source, "larch", "photos.P1.sha256", good, said_by="AB", at=now)
    sent = export(source, tmp_path / "x.bundle", files=here)
    assert (sent.entries, sent.files, sent.left_out) == (1, 1, (bad,))
    for fresh in (1, 0):
        taken = take_in(target, tmp_path / "x.bundle", files=there)
        assert (taken.merged.added, taken.files) == (fresh, fresh)
    assert dict(there.kinds()) == {good: "jpg"}
    assert there.read(good) == PHOTO
    assert check_files(target.engine, there).missing == ()


def test_a_bundle_of_what_is_newer_takes_only_the_files_it_names(
    casebook: Casebook, tmp_path: Path, now: datetime
) -> None:
    files = files_of(casebook.engine, tmp_path / "here")
    first, second = files.keep(PHOTO, "jpg"), files.keep(PHOTO + b"2", "jpg")
    set_value(casebook, "larch", "photos.P1.sha256", first, said_by="AB", at=now)
    had = casebook.heads()
    set_value(
        casebook, "larch", "photos.P2.sha256", second, said_by="AB", at=now + timedelta(minutes=1)
    )
    sent = export(casebook, tmp_path / "newer.bundle", files=files, since=had)
    assert (sent.entries, sent.files) == (1, 1)
    with zipfile.ZipFile(tmp_path / "newer.bundle") as archive:
        assert any(second in name for name in archive.namelist())


def test_a_bundle_nobody_would_take_in_is_not_written(
    casebook: Casebook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    files = files_of(casebook.engine, tmp_path / "here")
    files.keep(bytes(3_000), "csv")
    monkeypatch.setattr(bundle, "LARGEST_TOTAL", 2_000)
    with pytest.raises(StoreError, match="more than a bundle may hold"):
        export(casebook, tmp_path / "x.bundle", files=files)
    assert not (tmp_path / "x.bundle").exists()


@pytest.mark.shared
def test_two_machines_share_the_files_of_one_server(
    server: str, tmp_path: Path, now: datetime
) -> None:
    dsn, schema = server.split(" ")
    with (
        open_shared(dsn, create=True, schema=schema) as one,
        open_shared(dsn, schema=schema) as two,
    ):
        office, van = (
            files_of(book.engine, tmp_path / name) for book, name in ((one, "office"), (two, "van"))
        )
        digest = office.keep(PHOTO, "jpg")
        set_value(one, "larch", "photos.P1.sha256", digest, said_by="AB", at=now)
        assert not (tmp_path / "van").exists()
        assert check_files(two.engine, van).missing == ()
        place = van.place(digest)
        assert place.is_relative_to(tmp_path / "van")
        assert place.read_bytes() == PHOTO
        place.unlink()
        assert van.read(digest) == PHOTO
        assert place.read_bytes() == PHOTO


@pytest.mark.shared
def test_a_large_file_comes_back_in_pieces(
    server: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    dsn, schema = server.split(" ")
    monkeypatch.setattr(shared_files, "PIECE", 1_000)
    with open_shared(dsn, create=True, schema=schema) as casebook:
        for size in (999, 1_000, 1_001, 3_000):
            data = os.urandom(size)
            digest = files_of(casebook.engine, tmp_path / "one").keep(data, "pdf")
            other = files_of(casebook.engine, tmp_path / "two")
            assert other.read(digest) == data
        assert other.spoilt() == ()


@pytest.mark.shared
def test_a_file_altered_on_the_server_is_caught_wherever_it_is_read(
    server: str, tmp_path: Path, now: datetime
) -> None:
    dsn, schema = server.split(" ")
    with open_shared(dsn, create=True, schema=schema) as casebook:
        office, van = (files_of(casebook.engine, tmp_path / name) for name in ("office", "van"))
        digest = office.keep(PHOTO, "jpg")
        set_value(casebook, "larch", "photos.P1.sha256", digest, said_by="AB", at=now)
        altered(server, digest)
        for read in (van.place, van.read):
            with pytest.raises(SpoiltError, match="was changed: its content has another hash, in"):
                read(digest)
        assert not van.cache.kinds()  # type: ignore[attr-defined]
        with pytest.raises(SpoiltError, match="was changed"):
            van.keep(PHOTO, "jpg")
        assert office.read(digest) == PHOTO
        for files in (office, van):
            (flaw,) = check_files(casebook.engine, files).spoilt
            assert str(flaw).startswith(f"photo P1 of the job larch ({digest[:16]}) was changed")
        # What is sound on this machine still goes into a copy; what is not stays behind.
        assert copy_all(office, FolderFiles(tmp_path / "copy")) == 1
        assert copy_all(van, FolderFiles(tmp_path / "other")) == 0
        assert export(casebook, tmp_path / "x.bundle", files=van).left_out == (digest,)


@pytest.mark.shared
def test_a_file_taken_out_on_the_server_is_missed_and_can_be_put_back(
    server: str, tmp_path: Path, now: datetime
) -> None:
    dsn, schema = server.split(" ")
    with open_shared(dsn, create=True, schema=schema) as casebook:
        office, van = (files_of(casebook.engine, tmp_path / name) for name in ("office", "van"))
        digest = office.keep(PHOTO, "jpg")
        set_value(casebook, "larch", "photos.P1.sha256", digest, said_by="AB", at=now)
        altered(server, digest, "delete from files")
        (flaw,) = check_files(casebook.engine, van).missing
        assert str(flaw) == (
            f"photo P1 of the job larch ({digest[:16]}) is "
            "neither on the server nor on this machine"
        )
        (flaw,) = check_files(casebook.engine, office).missing
        assert "is on this machine only" in str(flaw)
        export(casebook, tmp_path / "x.bundle", files=office)
        assert take_in(casebook, tmp_path / "x.bundle", files=office).files == 1
        assert check_files(casebook.engine, van).missing == ()
        assert van.read(digest) == PHOTO


@pytest.mark.shared
def test_ten_writers_keep_the_same_file_at_once(server: str, tmp_path: Path) -> None:
    dsn, schema = server.split(" ")
    with open_shared(dsn, create=True, schema=schema) as casebook:
        processes = [
            subprocess.Popen(
                [sys.executable, "-c", KEEPER, dsn, schema, str(tmp_path / f"w{number}")],
                stdout=subprocess.PIPE,
                text=True,
            )
            for number in range(WRITERS)
        ]
        said = [process.communicate(timeout=120)[0].strip() for process in processes]
        assert [process.returncode for process in processes] == [0] * WRITERS
        digest = digest_of(bytes(range(256)) * 20_000)
        assert said == [digest] * WRITERS
        files = files_of(casebook.engine, tmp_path / "mine")
        assert dict(files.kinds()) == {digest: "csv"}
        assert casebook.engine.rows("select count(*) from files") == [(1,)]
        assert files.spoilt() == ()
        assert files.read(digest) == bytes(range(256)) * 20_000


@pytest.mark.shared
def test_the_server_itself_refuses_what_does_not_hash_to_its_name(
    server: str, tmp_path: Path
) -> None:
    dsn, schema = server.split(" ")
    with open_shared(dsn, create=True, schema=schema) as casebook:
        lie = {"hash": digest_of(PHOTO), "extension": "jpg", "data": b"other"}
        with pytest.raises(StoreError, match="refused"):
            casebook.engine.run(sql.ADD_FILE, lie)
        files_of(casebook.engine, tmp_path).keep(PHOTO, "jpg")
        for statement in ("update files set extension = 'x'", "delete from files"):
            with pytest.raises(StoreError, match="append-only"):
                casebook.engine.run(statement)
        with pytest.raises(StoreError, match="append-only"):
            casebook.engine.run("truncate files")


@pytest.mark.shared
def test_a_writer_may_keep_files_but_not_change_them(server: str, tmp_path: Path) -> None:
    import psycopg

    dsn, schema = server.split(" ")
    account = f"w_{uuid.uuid4().hex[:12]}"
    theirs = psycopg.conninfo.make_conninfo(dsn, user=account, password="scratch")
    with open_shared(dsn, create=True, schema=schema) as casebook:
        engine = casebook.engine
        assert isinstance(engine, PostgresEngine)
        with psycopg.connect(dsn, autocommit=True) as db:
            db.execute(f"create role {account} login password 'scratch'".encode())
            try:
                engine.allow_writer(account)
                with open_shared(theirs, schema=schema) as writer:
                    files = files_of(writer.engine, tmp_path / "theirs")
                    digest = files.keep(PHOTO, "jpg")
                    for statement in ("delete from files", "update files set hash = 'x'"):
                        with pytest.raises(StoreError, match="may not do that"):
                            writer.engine.run(statement)
                assert files_of(engine, tmp_path / "mine").read(digest) == PHOTO
            finally:
                db.execute(f"drop owned by {account}".encode())
                db.execute(f"drop role {account}".encode())


@pytest.mark.shared
def test_a_casebook_of_the_form_before_files_is_brought_up_to_date_by_its_owner(
    server: str, tmp_path: Path, now: datetime
) -> None:
    import psycopg

    dsn, schema = server.split(" ")
    account = f"w_{uuid.uuid4().hex[:12]}"
    theirs = psycopg.conninfo.make_conninfo(dsn, user=account, password="scratch")
    with psycopg.connect(dsn, autocommit=True) as db:
        db.execute(f"create schema {schema}".encode())
        db.execute(f"set search_path to {schema}".encode())
        for step in forms.migrations("postgres")[0]:
            db.execute(step.encode())
        db.execute(b"insert into meta (name, value) values ('form', '1')")
        db.execute(f"create role {account} login password 'scratch'".encode())
        try:
            db.execute(f"grant usage on schema {schema} to {account}".encode())
            for table in ("entries", "quarantine"):
                db.execute(f"grant select, insert on {table} to {account}".encode())
            for table in ("meta", "people", "heads", "cited", "job_heads", "marks", "case_heads"):
                rights = "select, insert, update, delete"
                db.execute(f"grant {rights} on {table} to {account}".encode())
            with pytest.raises(StoreError, match="let the owner open it once"):
                open_shared(theirs, schema=schema)
            open_shared(dsn, schema=schema).close()
            with open_shared(theirs, schema=schema) as writer:
                files = files_of(writer.engine, tmp_path / "theirs")
                assert files.read(files.keep(PHOTO, "jpg")) == PHOTO
                assert writer.append("note", {}, at=now).seq == 1
        finally:
            db.execute(f"drop owned by {account}".encode())
            db.execute(f"drop role {account}".encode())


@pytest.mark.shared
def test_files_move_in_and_are_backed_up_out_again(
    server: str, file_casebook: Casebook, tmp_path: Path, now: datetime
) -> None:
    dsn, schema = server.split(" ")
    own = FolderFiles(tmp_path / "own")
    digest, spoilt = own.keep(PHOTO, "jpg"), own.keep(b"time,c\n", "csv")
    own.place(spoilt).write_bytes(b"time,d\n")
    set_value(file_casebook, "larch", "photos.P1.sha256", digest, said_by="AB", at=now)
    with open_shared(dsn, create=True, schema=schema) as shared:
        files = files_of(shared.engine, tmp_path / "cache")
        assert isinstance(files, SharedFiles)
        copy_into(file_casebook, shared)
        assert copy_all(own, files) == 1
        assert copy_all(own, files) == 0
        assert dict(files.kinds()) == {digest: "jpg"}
        copy = FolderFiles(tmp_path / "copy")
        assert copy_all(files_of(shared.engine, tmp_path / "elsewhere"), copy) == 1
        assert copy.read(digest) == PHOTO


def test_a_folder_that_cannot_be_written_says_so(tmp_path: Path) -> None:
    (tmp_path / "here").write_text("a file where the folder should be")
    with pytest.raises(StoreError, match="cannot be kept in"):
        FolderFiles(tmp_path / "here").keep(PHOTO, "jpg")
    assert not FolderFiles(tmp_path / "here").kinds()


@pytest.mark.shared
def test_a_copy_that_cannot_be_written_here_loses_nothing(server: str, tmp_path: Path) -> None:
    dsn, schema = server.split(" ")
    (tmp_path / "here").write_text("a file where the folder should be")
    with open_shared(dsn, create=True, schema=schema) as casebook:
        files = files_of(casebook.engine, tmp_path / "here")
        digest = files.keep(PHOTO, "jpg")
        assert files.read(digest) == PHOTO
        with pytest.raises(StoreError, match="cannot be kept in"):
            files.place(digest)
