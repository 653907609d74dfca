"""Casebooks to work with: in a file, and on a PostgreSQL server where there is one."""

from __future__ import annotations

import os
import uuid
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from datetime import UTC, datetime
from pathlib import Path

import pytest

from diagnose.store.journal import Casebook
from diagnose.store.postgres import open_shared

DSN = "CASEBOOK_TEST_DSN"
Maker = Callable[[], Casebook]


@pytest.fixture
def now() -> datetime:
    """A morning on site."""
    return datetime(2026, 3, 2, 8, 10, tzinfo=UTC)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Where the casebook in a file lies."""
    return tmp_path / "casebook.db"


@pytest.fixture
def file_casebook(path: Path) -> Iterator[Casebook]:
    """An empty casebook in a file."""
    with Casebook.open(path, create=True) as opened:
        yield opened


@pytest.fixture
def server() -> Iterator[str]:
    """The address of a PostgreSQL server and a schema of one's own: `dsn schema`."""
    dsn = os.environ.get(DSN)
    if not dsn:
        pytest.skip(f"needs a PostgreSQL server: {DSN} is not set")
    schema = f"t_{uuid.uuid4().hex}"
    yield f"{dsn} {schema}"
    import psycopg

    with psycopg.connect(dsn, autocommit=True) as db:
        db.execute(f"drop schema if exists {schema} cascade".encode())


@pytest.fixture(params=["file", pytest.param("server", marks=pytest.mark.shared)])
def maker(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Maker]:
    """Makes empty casebooks, each of its own; the tests that use it run on both engines."""
    made = 0
    with ExitStack() as stack:
        dsn, schema = (
            request.getfixturevalue("server").split(" ") if request.param == "server" else ("", "")
        )

        def make() -> Casebook:
            nonlocal made
            made += 1
            if dsn and made == 1:
                return stack.enter_context(open_shared(dsn, create=True, schema=schema))
            return stack.enter_context(Casebook.open(tmp_path / f"made-{made}.db", create=True))

        yield make


@pytest.fixture
def casebook(maker: Maker) -> Casebook:
    """An empty casebook, in a file and on a server in turn."""
    return maker()
