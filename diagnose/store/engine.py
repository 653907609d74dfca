"""What the casebook asks of a database, whichever it is."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from contextlib import AbstractContextManager
from pathlib import Path
from typing import Any, Protocol

from diagnose.errors import StoreError
from diagnose.store import sql

Params = Mapping[str, Any]
RowOf = tuple[Any, ...]
PAGE = 2_000
BEFORE_ALL = -(2**63)
"""Smallest number that a database holds; rows are read from there, whoever put them in."""


class Engine(Protocol):
    """One open connection; errors come out as StoreError in plain words."""

    name: str
    """`sqlite` or `postgres`."""
    where: str
    """What a message calls the place: the file, or the server without its password."""

    def rows(self, sql: str, params: Params | None = None) -> list[RowOf]:
        """Return every row of a query."""

    def run(self, sql: str, params: Params | None = None) -> None:
        """Run one statement."""

    def run_many(self, sql: str, many: Iterable[Params]) -> None:
        """Run one statement for each set of parameters."""

    def writing(self) -> AbstractContextManager[None]:
        """Hold the only right to write; commit at the end, undo on an exception."""

    def reading(self) -> AbstractContextManager[None]:
        """Hold one unchanging view of the store."""

    def sound(self) -> tuple[str, ...]:
        """Return what the database itself says is wrong with its file."""

    def backup(self, to: Path) -> None:
        """Write a whole and consistent copy to a new file."""

    def scrub(self) -> None:
        """Overwrite what was deleted, as far as the database can."""

    def close(self) -> None:
        """Close the connection."""


def all_rows(engine: Engine) -> Iterator[RowOf]:
    """Return every stored entry by device and number, a page at a time.

    A row is device, number, hash, text, previous hash, wall, counter, kind,
    job and case.
    """
    last: tuple[str, int] = ("", BEFORE_ALL)
    while page := engine.rows(sql.ROWS_AFTER, {"device": last[0], "seq": last[1], "limit": PAGE}):
        yield from page
        newest = (str(page[-1][0]), whole(engine, page[-1][1]))
        if newest <= last:
            raise StoreError(f"{engine.where} is damaged: its entries no longer stand in order")
        last = newest


def whole(engine: Engine, value: object) -> int:
    """Return a stored number; a table that was put together by others may hold anything."""
    if not isinstance(value, int):
        raise StoreError(f"{engine.where} is damaged: it holds {value!r:.40} in place of a number")
    return value
