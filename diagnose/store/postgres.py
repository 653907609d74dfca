"""The shared casebook: PostgreSQL, through psycopg, with the same statements.

Writers take turns by one lock for each transaction, as they do on a file.
Rows of the journal can be added and read only: a trigger refuses the rest to
everybody, and `allow_writer` gives an account no right to it either.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from diagnose.errors import NotFoundError, StoreError
from diagnose.store import forms, sql
from diagnose.store.engine import Params, RowOf

if TYPE_CHECKING:
    from diagnose.store.journal import Casebook

SCHEMA = "casebook"
LOCK = 0x43_50_54_31
WAIT_SECONDS = 10.0

_WRITERS = """select distinct grantee from information_schema.role_table_grants
    where table_schema = %(schema)s and table_name = 'entries' and privilege_type = 'INSERT'
        and grantee not in (grantor, current_user, 'PUBLIC')"""
"""Accounts that were allowed to write before a new form brought new tables."""

_NAME = re.compile(r"[a-z_][a-z0-9_]{0,62}")
_PARAMETER = re.compile(r":([a-z_]+)")


def open_shared(
    dsn: str, *, create: bool = False, token: Path | None = None, schema: str = SCHEMA
) -> Casebook:
    """Open the casebook on a PostgreSQL server.

    `dsn` is the address in PostgreSQL's own form; a password may come from the
    environment or a password file instead.  Without `token` all writers go on
    with the server's own chain.

    Raises
    ------
    StoreError
        When psycopg is not installed or the server cannot be used.
    NotFoundError
        When the server holds no casebook.
    """
    from diagnose.store.journal import Casebook

    return Casebook(PostgresEngine(dsn, create=create, schema=schema), token)


class PostgresEngine:
    """One connection to a casebook on a server."""

    name = "postgres"

    def __init__(
        self,
        dsn: str,
        *,
        create: bool = False,
        schema: str = SCHEMA,
        wait: float = WAIT_SECONDS,
    ) -> None:
        try:
            import psycopg
        except ImportError as error:
            raise StoreError(
                "a shared casebook needs psycopg; install this program with its extra `shared`"
            ) from error
        if not _NAME.fullmatch(schema):
            raise StoreError(f"{schema!r:.70} is no name for a schema")
        self._errors: Any = psycopg
        self.schema = schema
        self.wait = wait
        self.where = "the shared casebook"
        try:
            psycopg.conninfo.conninfo_to_dict(dsn)
        except psycopg.ProgrammingError:
            # The server's library repeats the address, and a password may stand in it.
            raise StoreError(
                "the address of the shared casebook cannot be read; "
                "it reads like postgresql://account@server/database"
            ) from None
        with self._plain_words():
            self._db: Any = psycopg.connect(
                dsn, autocommit=True, connect_timeout=max(1, int(wait)), application_name="casebook"
            )
            # Under a stricter one, a writer that waited would not see what it waited for.
            self._db.isolation_level = psycopg.IsolationLevel.READ_COMMITTED
        info = self._db.info
        self.where = f"the shared casebook {info.dbname} at {info.host}:{info.port}"
        try:
            with self._plain_words():
                self._prepare(create)
        except BaseException:
            self._db.close()
            raise

    def _prepare(self, create: bool) -> None:
        version = self._begin()
        if version is None and not create:
            raise NotFoundError(f"{self.where} is not there: the server holds none yet")
        if version is not None and version > forms.SCHEMA_VERSION:
            raise StoreError(
                f"{self.where} was made by a newer version of this program "
                f"(form {version}; this one knows up to {forms.SCHEMA_VERSION}); update the program"
            )
        if (version or 0) < forms.SCHEMA_VERSION:
            try:
                self._migrate()
            except StoreError as error:
                if version and isinstance(
                    error.__cause__, self._errors.errors.InsufficientPrivilege
                ):
                    raise StoreError(
                        f"{self.where} is of an older form, which only its owner can bring up to "
                        "date; let the owner open it once with this version of the program"
                    ) from error
                raise

    def _begin(self) -> int | None:
        """Make the connection ready and return the form of the casebook; None where there is none.

        All in one question: each goes to the server and back, on a slow line too.
        """
        ready = (
            # Named last, a table that an account makes for itself never stands for one of these.
            f"set search_path to {self.schema}, pg_catalog, pg_temp; "
            f"set lock_timeout to '{int(self.wait * 1000)}ms'"
        )
        try:
            cursor = self._db.execute(f"{ready}; select value from meta where name = 'form'")
        except self._errors.errors.UndefinedTable:
            # The settings went with it: the server takes all three or none.
            self._db.execute(ready)
            return self._version()
        while cursor.nextset():
            pass
        found = cursor.fetchone()
        return int(found[0]) if found else 0

    def _version(self) -> int | None:
        there = self._db.execute(
            "select to_regclass(%(name)s)", {"name": f"{self.schema}.meta"}
        ).fetchone()[0]
        if there is None:
            return None
        found = self._db.execute("select value from meta where name = 'form'").fetchone()
        return int(found[0]) if found else 0

    def _migrate(self) -> None:
        from diagnose.store.project import after_migration

        with self.writing():
            self._db.execute(f"create schema if not exists {self.schema}")
            version = self._version() or 0
            for number, steps in enumerate(forms.migrations(self.name), 1):
                if number <= version:
                    continue
                for step in steps:
                    self._db.execute(step)
                self.run(sql.SET_META, {"name": "form", "value": str(number)})
            after_migration(self, version)
            for (account,) in self._db.execute(_WRITERS, {"schema": self.schema}).fetchall():
                self._allow(str(account))

    def rows(self, sql: str, params: Params | None = None) -> list[RowOf]:
        """Return every row of a query."""
        with self._plain_words():
            found: list[RowOf] = self._db.execute(_words(sql), dict(params or {})).fetchall()
            return found

    def run(self, sql: str, params: Params | None = None) -> None:
        """Run one statement."""
        with self._plain_words():
            self._db.execute(_words(sql), dict(params or {}))

    def run_many(self, sql: str, many: Iterable[Params]) -> None:
        """Run one statement for each set of parameters."""
        with self._plain_words(), self._db.cursor() as cursor:
            cursor.executemany(_words(sql), (dict(params) for params in many))

    @contextmanager
    def writing(self) -> Iterator[None]:
        """Hold the only right to write; commit at the end, undo on an exception."""
        with self._plain_words(), self._db.transaction():
            self._db.execute(
                "select pg_advisory_xact_lock(%(lock)s::int, hashtext(%(schema)s))",
                {"lock": LOCK, "schema": self.schema},
            )
            yield

    @contextmanager
    def reading(self) -> Iterator[None]:
        """Hold one unchanging view of the store."""
        with self._plain_words(), self._db.transaction():
            self._db.execute("set transaction isolation level repeatable read, read only")
            yield

    def sound(self) -> tuple[str, ...]:
        """Return nothing: the server looks after its own files."""
        return ()

    def backup(self, to: Path) -> None:
        """Write a whole copy as a casebook file."""
        from diagnose.store.journal import Casebook
        from diagnose.store.merge import copy_into

        if to.exists():
            raise StoreError(f"{to} is there already; a backup is never written over a file")
        source = Casebook(self)
        with Casebook.open(to, create=True) as copy:
            copy_into(source, copy)

    def allow_writer(self, account: str) -> None:
        """Let an account of the server read and add, but never change or take out an entry."""
        if not _NAME.fullmatch(account):
            raise StoreError(f"{account!r:.70} is no name for an account")
        with self._plain_words(), self._db.transaction():
            self._allow(account)

    def _allow(self, account: str) -> None:
        name = '"' + account.replace('"', '""') + '"'
        self._db.execute(f"grant usage on schema {self.schema} to {name}")
        for table in ("entries", "quarantine", "files"):
            self._db.execute(f"revoke all on {table} from {name}")
            self._db.execute(f"grant select, insert on {table} to {name}")
        for table in ("meta", "people", *sql.PROJECTIONS):
            self._db.execute(f"grant select, insert, update, delete on {table} to {name}")

    def scrub(self) -> None:
        """Let the server reclaim what was deleted."""
        self.run("vacuum people")

    def close(self) -> None:
        """Close the connection."""
        self._db.close()

    @contextmanager
    def _plain_words(self) -> Iterator[None]:
        """Turn the server's errors into one plain sentence."""
        try:
            yield
        except self._errors.Error as error:
            raise StoreError(self._sentence(error)) from error

    def _sentence(self, error: Any) -> str:
        errors = self._errors.errors
        if isinstance(error, errors.LockNotAvailable):
            return (
                f"{self.where} is being written by others; it was still busy after {self.wait:g} s"
            )
        if isinstance(error, errors.DiskFull):
            return f"the disk of the server is full: nothing was added to {self.where}"
        if isinstance(error, errors.InsufficientPrivilege):
            return f"this account may not do that in {self.where}"
        if isinstance(error, self._errors.OperationalError):
            return f"{self.where} cannot be reached: {_first_line(error)}"
        return f"{self.where} refused: {_first_line(error)}"


@lru_cache(maxsize=256)
def _words(statement: str) -> str:
    """Write the parameters of a statement as psycopg wants them."""
    return _PARAMETER.sub(r"%(\1)s", statement)


def _first_line(error: Exception) -> str:
    return (str(error).strip().splitlines() or ["no reason given"])[0]
