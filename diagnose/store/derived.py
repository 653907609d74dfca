"""Compare the tables that follow from the entries with what the entries give.

Nothing is written: the rows that a rebuild would make are worked out while the
entries are read in pages, and each table is added up on both sides, row by
row, to one large number that does not hang on their order.  So a casebook of
any size is compared in little memory.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import groupby

from diagnose.store import full_text, project, sql
from diagnose.store.engine import BEFORE_ALL, PAGE, Engine, RowOf
from diagnose.store.entry import Entry
from diagnose.store.parse import stored

NAMES = {
    "heads": "the list of each device's newest entry",
    "cited": "the list of what each device has seen of others",
    "job_heads": "the list of jobs",
    "marks": "the list of batches and lots",
    "case_heads": "the list of cases",
    "entry_words": "the words for searching",
    full_text.TABLE: "the index for searching",
}
"""What a message calls each table."""


@dataclass(frozen=True, slots=True)
class Difference:
    """One derived table that does not say what the entries say."""

    table: str
    rows: int
    """Rows that are in it."""
    expected: int
    """Rows that the entries give."""
    mends: bool
    """True when a rebuild may be made; it may not where a head names a missing entry."""

    @property
    def sentence(self) -> str:
        """The difference and the way out, in plain words."""
        what = f"{NAMES[self.table]} ({self.table}) does not say what the entries say"
        if self.rows != self.expected:
            rows = {0: "no rows", 1: "1 row"}.get(self.rows, f"{self.rows} rows")
            what += f": {rows}, and the entries give {self.expected}"
        return what + (
            "; `diagnose casebook rebuild` fills it afresh, and no entry is touched"
            if self.mends
            else "; it cannot be filled afresh while an entry it names is missing or was changed"
        )


class _Sum:
    """A number for a bag of rows: the same for the same rows in any order."""

    def __init__(self) -> None:
        self.count = 0
        self.total = 0

    def add(self, row: Iterable[object]) -> None:
        digest = hashlib.blake2b(repr(tuple(row)).encode("utf-8", "surrogatepass"), digest_size=16)
        self.count += 1
        self.total += int.from_bytes(digest.digest(), "big")


def differences(engine: Engine) -> tuple[Difference, ...]:
    """Return every derived table that a rebuild would change; the caller holds one view."""
    expected = _expected(engine)
    mends = not engine.rows(sql.HEADS_ASTRAY)
    found: list[Difference] = []
    for table in sql.PROJECTIONS:
        here = _Sum()
        for row in _table(engine, table):
            here.add(row)
        wanted = expected[table]
        if (here.count, here.total) != (wanted.count, wanted.total):
            found.append(Difference(table, here.count, wanted.count, mends))
    return tuple(found)


def index_differs(engine: Engine) -> tuple[Difference, ...]:
    """Return the full-text index if it does not fit the words it was made from."""
    return () if full_text.agrees(engine) else (Difference(full_text.TABLE, 0, 0, True),)


def _expected(engine: Engine) -> dict[str, _Sum]:
    """Return the sum of each table as a rebuild would fill it."""
    sums = {table: _Sum() for table in sql.PROJECTIONS}
    heads = project.Heads()

    def put(table: str, row: Mapping[str, object]) -> None:
        sums[table].add(row[name] for name in sql.PROJECTIONS[table].split(", "))

    def entered(entries: Iterable[Entry]) -> None:
        heads.take(entries)
        for entry in entries:
            put("entry_words", project.words_row(entry))

    for job, entries in _groups(engine, sql.ROWS_BY_JOB):
        entered(entries)
        if project.touches_job(entries):
            head, marks = project.job_rows(job, entries)
            put("job_heads", head)
            for mark in marks:
                put("marks", mark)
    for page in _pages(engine, sql.ROWS_WITHOUT_JOB):
        entered([entry for _, entry in page])
    for case, entries in _groups(engine, sql.ROWS_BY_CASE):
        row = project.case_row(case, entries)
        if row is not None:
            put("case_heads", row)
    for row in heads.head_rows():
        put("heads", row)
    for row in heads.cited_rows():
        put("cited", row)
    return sums


def _groups(engine: Engine, query: str) -> Iterator[tuple[str, list[Entry]]]:
    """Return job or case with all its entries, one after the other."""
    stream = (item for page in _pages(engine, query) for item in page)
    for name, items in groupby(stream, key=lambda item: item[0]):
        yield name, [entry for _, entry in items]


def _pages(engine: Engine, query: str) -> Iterator[list[tuple[str, Entry]]]:
    """Return entries a page at a time, each with the job or case that the query goes by."""
    last: RowOf = ("", "", BEFORE_ALL)
    while rows := engine.rows(
        query, {"name": last[0], "device": last[1], "seq": last[2], "limit": PAGE}
    ):
        yield [(str(row[0]), stored(str(row[4]), str(row[3]))) for row in rows]
        last = rows[-1][:3]


def _table(engine: Engine, table: str) -> Iterator[RowOf]:
    """Return the rows of a derived table a page at a time."""
    columns = sql.PROJECTIONS[table]
    keys = columns.split(", ")[: sql.KEY_COLUMNS[table]]
    after = ", ".join(f":{key}" for key in keys)
    ordered = f"order by {', '.join(keys)} limit :limit"
    query = f"select {columns} from {table} where ({', '.join(keys)}) > ({after}) {ordered}"
    rows = engine.rows(f"select {columns} from {table} {ordered}", {"limit": PAGE})
    while rows:
        yield from rows
        last = dict(zip(keys, rows[-1][: len(keys)], strict=True))
        rows = engine.rows(query, {**last, "limit": PAGE})
