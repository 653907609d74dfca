"""The casebook in one file: SQLite with a write-ahead log and full sync.

SQLite's documentation ("Write-Ahead Logging", "PRAGMA synchronous") says that
a commit with synchronous=full is on the disk before it is acknowledged, where
the disk honours a sync; and that the log does not work over a network drive.
"""

from __future__ import annotations

import os
import sqlite3
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from diagnose.errors import NotFoundError, StoreError
from diagnose.store import forms
from diagnose.store.engine import Params, RowOf

OLDEST_SQLITE = (3, 37, 0)
"""STRICT tables need it."""
WAIT_SECONDS = 10.0
NETWORK = frozenset({"nfs", "nfs4", "cifs", "smb3", "smbfs", "fuse.sshfs", "afs", "davfs"})
"""Kinds of file system over a network."""
_DAMAGED = (
    "the file {} is damaged; leave it as it is, take the latest backup "
    "and merge this device's latest bundle into it"
)


class SqliteEngine:
    """One connection to a casebook file."""

    name = "sqlite"

    def __init__(self, path: Path, *, create: bool = False, wait: float = WAIT_SECONDS) -> None:
        self.path = path
        self.where = str(path)
        self.wait = wait
        if sqlite3.sqlite_version_info < OLDEST_SQLITE:
            raise StoreError(
                f"this Python carries SQLite {sqlite3.sqlite_version}; "
                "a casebook needs 3.37 or newer: use a newer Python"
            )
        _check_place(path, create)
        # A missing file is made; one that is there may still be read where it cannot be written.
        way = "mode=rwc" if create and not path.exists() else way_in(path)
        self.read_only = "mode=ro" in way
        with self._plain_words():
            self._db = sqlite3.connect(
                f"{path.resolve().as_uri()}?{way}",
                uri=True,
                isolation_level=None,
                timeout=wait,
            )
        try:
            with self._plain_words():
                self._prepare(create)
        except BaseException:
            self._db.close()
            raise

    def _prepare(self, create: bool) -> None:
        db = self._db
        # One view of all three: another program may be making the casebook just now.
        db.execute("begin")
        tables = db.execute("select count(*) from sqlite_schema").fetchone()[0]
        marked = db.execute("pragma application_id").fetchone()[0]
        version = db.execute("pragma user_version").fetchone()[0]
        views = db.execute("select count(*) from sqlite_schema where type = 'view'").fetchone()[0]
        db.execute("rollback")
        # What looks like a table but is a query could go on for ever.
        if views or (marked != forms.APPLICATION_ID and (tables or marked)):
            raise StoreError(f"{self.where} is a database, but not a casebook")
        if not tables and not create:
            raise StoreError(f"{self.where} is an empty file, not a casebook")
        if version > forms.SCHEMA_VERSION:
            raise StoreError(
                f"{self.where} was written by a newer version of this program "
                f"(form {version}; this one knows up to {forms.SCHEMA_VERSION}); update the program"
            )
        if self.read_only:
            if version < forms.SCHEMA_VERSION:
                raise StoreError(
                    f"{self.where} is of an older form and read-only; "
                    "copy it to where it can be written, and open it there"
                )
            db.execute("pragma trusted_schema=off")
            return
        if self._log_mode() != "wal":
            raise StoreError(
                f"{self.where} lies where SQLite cannot keep its write-ahead log (a network "
                "drive perhaps); keep the casebook on a local disk or use the shared server"
            )
        for pragma in (
            "synchronous=full",
            "foreign_keys=on",
            "trusted_schema=off",
            "fullfsync=on",
            "secure_delete=on",
        ):
            db.execute(f"pragma {pragma}")
        if version < forms.SCHEMA_VERSION:
            self._migrate()

    def _log_mode(self) -> str:
        """Switch to the write-ahead log; SQLite itself does not wait for others here."""
        until = time.monotonic() + self.wait
        while True:
            try:
                return str(self._db.execute("pragma journal_mode=wal").fetchone()[0])
            except sqlite3.OperationalError as error:
                if error.sqlite_errorname != "SQLITE_BUSY" or time.monotonic() > until:
                    raise
                time.sleep(0.02)

    def _migrate(self) -> None:
        from diagnose.store.project import after_migration

        with self.writing():
            version = self._db.execute("pragma user_version").fetchone()[0]
            for number, steps in enumerate(forms.migrations(self.name), 1):
                if number <= version:
                    continue
                for step in steps:
                    self._db.execute(step)
                self._db.execute(f"pragma user_version={number}")
            self._db.execute(f"pragma application_id={forms.APPLICATION_ID}")
            after_migration(self, version)

    def rows(self, sql: str, params: Params | None = None) -> list[RowOf]:
        """Return every row of a query."""
        with self._plain_words():
            try:
                return self._db.execute(sql, params or {}).fetchall()
            except sqlite3.OperationalError as error:
                if not str(error).startswith("Could not decode"):
                    raise
                return self._damaged_rows(sql, params or {})

    def _damaged_rows(self, sql: str, params: Params) -> list[RowOf]:
        """Return rows whose text is damaged, with marks in place of what cannot be read."""
        self._db.text_factory = lambda data: data.decode("utf-8", "replace")
        try:
            return self._db.execute(sql, params).fetchall()
        finally:
            self._db.text_factory = str

    def run(self, sql: str, params: Params | None = None) -> None:
        """Run one statement."""
        with self._plain_words():
            self._db.execute(sql, params or {})

    def run_many(self, sql: str, many: Iterable[Params]) -> None:
        """Run one statement for each set of parameters."""
        with self._plain_words():
            self._db.executemany(sql, many)

    @contextmanager
    def writing(self) -> Iterator[None]:
        """Hold the only right to write; commit at the end, undo on an exception."""
        if self.read_only:
            raise StoreError(
                f"the casebook {self.where} is read-only: it can be read, but nothing can be "
                "added; its file and its folder must be writable for that"
            )
        with self._plain_words():
            self._db.execute("begin immediate")
        try:
            yield
            with self._plain_words():
                self._db.execute("commit")
        except BaseException:
            if self._db.in_transaction:
                self._db.execute("rollback")
            raise

    @contextmanager
    def reading(self) -> Iterator[None]:
        """Hold one unchanging view of the store."""
        with self._plain_words():
            self._db.execute("begin")
        try:
            yield
        finally:
            if self._db.in_transaction:
                self._db.execute("rollback")

    def sound(self) -> tuple[str, ...]:
        """Return what SQLite's integrity check says is wrong; nothing when all is well."""
        try:
            lines = [str(row[0]) for row in self._db.execute("pragma integrity_check(20)")]
        except sqlite3.Error as error:
            return (str(error),)
        except UnicodeDecodeError:
            return ("the names of its tables cannot be read",)
        return () if lines == ["ok"] else tuple(lines)

    def backup(self, to: Path) -> None:
        """Write a whole copy to a new file; a plain copy would lack what is in the log."""
        if to.exists():
            raise StoreError(f"{to} is there already; a backup is never written over a file")
        _check_place(to, True)
        with self._plain_words():
            self._db.execute("vacuum into ?", (str(to),))

    def scrub(self) -> None:
        """Empty the write-ahead log; deleted bytes in the file are overwritten already."""
        with self._plain_words():
            held = self._db.execute("pragma wal_checkpoint(truncate)").fetchone()[0]
        if held:
            raise StoreError(
                f"it was removed from {self.where}, but the log beside it still holds it, as "
                "another program has the casebook open; close all of them: the last empties the log"
            )

    def close(self) -> None:
        """Close the connection."""
        self._db.close()

    @contextmanager
    def _plain_words(self) -> Iterator[None]:
        """Turn SQLite's errors into one plain sentence."""
        try:
            yield
        except sqlite3.Error as error:
            raise StoreError(self._sentence(error)) from error
        except UnicodeDecodeError as error:
            # Where names of tables are damaged, SQLite's own message cannot be read.
            raise StoreError(_DAMAGED.format(self.where)) from error

    def _sentence(self, error: sqlite3.Error) -> str:
        code = getattr(error, "sqlite_errorname", "") or ""
        for start, text in (
            (
                "SQLITE_BUSY",
                f"the casebook {self.where} is being written by another program; "
                f"it was still busy after {self.wait:g} s; try again",
            ),
            ("SQLITE_LOCKED", f"the casebook {self.where} is in use by another program"),
            (
                "SQLITE_FULL",
                f"the disk is full: nothing was added to {self.where}; make room and try again",
            ),
            (
                "SQLITE_READONLY",
                f"the casebook {self.where} cannot be written: its file or folder is read-only",
            ),
            (
                "SQLITE_CANTOPEN",
                f"the casebook {self.where} cannot be opened: its folder is missing or read-only",
            ),
            ("SQLITE_NOTADB", f"{self.where} is not a casebook"),
            ("SQLITE_CORRUPT", _DAMAGED.format(self.where)),
            ("SQLITE_IOERR", f"the disk failed while using {self.where}"),
            ("SQLITE_CONSTRAINT", f"the casebook {self.where} refused the change: {error}"),
        ):
            if code.startswith(start):
                return text
        return f"the casebook {self.where} failed: {error}"


def _check_place(path: Path, create: bool) -> None:
    if path.is_dir():
        raise StoreError(f"{path} is a folder; a casebook is a file in it")
    if not path.parent.is_dir():
        raise StoreError(f"the folder {path.parent} is not there")
    if not create and not path.exists():
        raise NotFoundError(f"there is no casebook at {path}")
    kind = mount_kind(path.parent)
    if kind in NETWORK:
        raise StoreError(
            f"{path} lies on a network drive ({kind}), where SQLite loses data; "
            "keep the casebook on a local disk or use the shared server"
        )


def way_in(path: Path) -> str:
    """Return how SQLite is to open a casebook that is there, as words of its address.

    Where the folder cannot be written, SQLite cannot lay down the index of its log,
    and only reads a file that it is told will not change; but a log with entries in
    it would then be passed over, so that one is left to SQLite.
    """
    if not os.access(path.parent, os.W_OK):
        log = path.with_name(f"{path.name}-wal")
        return "mode=ro" if log.exists() and log.stat().st_size else "mode=ro&immutable=1"
    return "mode=rw" if os.access(path, os.W_OK) else "mode=ro"


def mount_kind(folder: Path, table: Path = Path("/proc/self/mounts")) -> str:
    """Return the kind of file system that holds a folder; empty where it cannot be told."""
    try:
        lines = table.read_text("utf-8", "replace").splitlines()
    except OSError:
        return ""
    place = str(folder.resolve())
    best, kind = "", ""
    for line in lines:
        words = line.split(" ")
        if len(words) < 3:
            continue
        # The table writes a blank in a name as \040.
        mounted = words[1].replace("\\040", " ")
        inside = place == mounted or place.startswith(mounted.rstrip("/") + "/")
        if inside and len(mounted) >= len(best):
            best, kind = mounted, words[2]
    return kind
