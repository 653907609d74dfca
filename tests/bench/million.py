"""Measure the casebook with a million invented jobs: in a file and on a server, the same queries.

    CASEBOOK_TEST_DSN=postgresql://... python -m tests.bench.million

Everything is measured by the clock, as a person would wait, warm, in one
process: the median of several goes, each with another job or batch, and the
slowest.  Beside them stands the processor time of this process, which tells a
busy machine from a slow program.  Without a server only the file is measured.
"""

from __future__ import annotations

import argparse
import os
import platform
import sqlite3
import statistics
import sys
import tempfile
import time
import uuid
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from diagnose.store import sql
from diagnose.store.cases import list_cases, open_case
from diagnose.store.engine import Engine
from diagnose.store.jobs import import_changes, values_of
from diagnose.store.journal import Casebook
from diagnose.store.postgres import PostgresEngine, open_shared
from diagnose.store.search import search
from diagnose.store.trace import trace

JOBS = 1_000_000
VERIFIED = 100_000
A_BATCH = 40
"""Jobs that share a batch."""
CASES = 100
CHUNK = 20_000
GOES = 25
NOW = datetime(2026, 3, 2, 8, tzinfo=UTC)

Work = Callable[[int], object]
"""One go of what is measured; the number picks the job."""


@dataclass(frozen=True)
class Row:
    """What is measured, the goal in milliseconds, and how often."""

    name: str
    goal_ms: float | None
    how: str
    goes: int = GOES


ROWS = (
    Row("open", 10, "connect, look at the form, close"),
    Row("by id", 5, "all values of one job, folded from its entries"),
    Row("by batch", 5, "jobs of one batch, through the index of marks"),
    Row("trace", 50, "a batch: its 40 jobs folded, drops, seams, spreads, cases"),
    Row("cases of a job", 5, "through the index of cases"),
    Row("search", None, "two words of one title", 5),
    Row("add", None, "one value, on the disk when it returns", 10),
    Row(
        "verify", 2_000, "all entries of a casebook of its own: file, hash, form, chain, columns", 3
    ),
)


@dataclass(frozen=True)
class Figure:
    """Milliseconds of one row in one place."""

    median_ms: float
    slowest_ms: float
    processor_ms: float
    """Median of the processor time of this process; a server's own work is not in it."""

    def __str__(self) -> str:
        return f"{_ms(self.median_ms)} / {_ms(self.slowest_ms)} / {_ms(self.processor_ms)}"


def _ms(figure: float) -> str:
    return f"{figure:,.2f}" if figure < 100 else f"{figure:,.0f}"


def made(number: int) -> tuple[str, dict[str, object]]:
    """Return one invented job as the entry that brings it in."""
    values = {
        "title": f"invented job {number}",
        "method": "adhered",
        "rolls.R1.batch": batch_of(number),
        "drops.D1.roll": "R1",
        "seams.S1.drops": '["D1"]',
        "spreads.SP1.drops": '["D1"]',
    }
    return "job-values", {"job": job_of(number), "values": values, "said_by": "AB"}


def job_of(number: int) -> str:
    return f"job-{number:07d}"


def batch_of(number: int) -> str:
    return f"B {number // A_BATCH:06d}"


def fill(path: Path, jobs: int) -> None:
    """Make a casebook file of invented jobs, a few of them with a case."""
    unfinished = path.with_suffix(".part")
    with Casebook.open(unfinished, create=True) as casebook:
        for start in range(0, jobs, CHUNK):
            chunk = range(start, min(start + CHUNK, jobs))
            casebook.append_many([made(number) for number in chunk], at=NOW)
        for number in range(0, jobs, max(1, jobs // CASES)):
            open_case(casebook, job=job_of(number), symptoms=["gap"], said_by="EF", at=NOW)
    unfinished.rename(path)


def measured(work: Work, numbers: list[int]) -> Figure:
    """Time each go; the first, which warms up, is left out."""
    work(numbers[0])
    spent: list[float] = []
    worked: list[float] = []
    for number in numbers:
        clock, processor = time.perf_counter(), time.process_time()
        work(number)
        worked.append((time.process_time() - processor) * 1_000)
        spent.append((time.perf_counter() - clock) * 1_000)
    return Figure(statistics.median(spent), max(spent), statistics.median(worked))


def figures(
    casebook: Casebook, reopen: Callable[[], Casebook], jobs: int, whole: Casebook
) -> dict[str, Figure]:
    """Measure every row; `whole` is the casebook that is verified."""

    def batches(number: int) -> object:
        found = casebook.engine.rows(sql.JOBS_OF_MARK, {"mark": batch_of(number)})
        assert len(found) == A_BATCH
        return found

    def tracing(number: int) -> object:
        found = trace(casebook, batch_of(number).lower())
        assert len(found.uses) == A_BATCH
        return found

    def searching(number: int) -> object:
        hit, *_ = search(casebook, f"JOB {number}")
        return hit

    def adding(number: int) -> object:
        changes = {"title": f"invented anew {number} {time.perf_counter_ns()}"}
        return import_changes(casebook, job_of(number), changes, said_by="AB", at=NOW)

    def verifying(_: int) -> object:
        report = whole.verify()
        assert report.sound, report.sentences[:3]
        return report

    work: dict[str, Work] = {
        "open": lambda _: reopen().close(),
        "by id": lambda number: values_of(casebook, job_of(number)),
        "by batch": batches,
        "trace": tracing,
        "cases of a job": lambda number: list_cases(casebook, job=job_of(number)),
        "search": searching,
        "add": adding,
        "verify": verifying,
    }
    found: dict[str, Figure] = {}
    for row in ROWS:
        # Spread over the whole casebook, and never the same job twice.
        numbers = [(2 * go + 1) * jobs // (2 * row.goes) for go in range(row.goes)]
        found[row.name] = measured(work[row.name], numbers)
        print(f"  {row.name}: {found[row.name]} ms", file=sys.stderr)
    return found


def moved(source: Engine, dsn: str, schema: str) -> None:
    """Copy every table to a server, as a merge would check every entry and take many minutes."""
    import psycopg

    with psycopg.connect(dsn) as db:
        db.execute(f"set search_path to {schema}".encode())
        for table in ("entries", *sql.PROJECTIONS):
            names = [
                str(row[0])
                for row in db.execute(
                    "select column_name from information_schema.columns "
                    "where table_schema = %s and table_name = %s order by ordinal_position",
                    (schema, table),
                )
            ]
            columns = ", ".join(names)
            with db.cursor().copy(f"copy {table} ({columns}) from stdin".encode()) as copy:
                for row in _rows(source, table, columns):
                    copy.write_row(row)
        device = source.rows(sql.GET_META, {"name": "device"})[0][0]
        db.execute("insert into meta (name, value) values ('device', %s)", (device,))
    with psycopg.connect(dsn, autocommit=True) as db:
        db.execute(f"set search_path to {schema}".encode())
        db.execute(b"vacuum analyze")


def _rows(source: Engine, table: str, columns: str) -> Iterator[tuple[object, ...]]:
    last = 0
    query = f"select rowid, {columns} from {table} where rowid > :last order by rowid limit {CHUNK}"
    while page := source.rows(query, {"last": last}):
        yield from (row[1:] for row in page)
        last = int(page[-1][0])


@contextmanager
def served(dsn: str, source: Path) -> Iterator[tuple[Casebook, Callable[[], Casebook]]]:
    """Yield a casebook on the server that holds what a file holds; it is taken away at the end."""
    import psycopg

    schema = f"bench_{uuid.uuid4().hex[:12]}"
    try:
        with open_shared(dsn, create=True, schema=schema) as shared:
            with Casebook.open(source) as casebook:
                moved(casebook.engine, dsn, schema)
            yield shared, lambda: open_shared(dsn, schema=schema)
    finally:
        with psycopg.connect(dsn, autocommit=True) as db:
            db.execute(f"drop schema if exists {schema} cascade".encode())


def measure(folder: Path, dsn: str, jobs: int, verified: int) -> dict[str, dict[str, Figure]]:
    """Make both casebooks, measure them in the file and on the server; return place to figures."""
    big, small = folder / "big.db", folder / "small.db"
    for path, number in ((big, jobs), (small, verified)):
        if not path.exists():
            print(f"making {number:,} jobs", file=sys.stderr)
            fill(path, number)
    found: dict[str, dict[str, Figure]] = {}
    if dsn:
        print("on a server", file=sys.stderr)
        with served(dsn, big) as (shared, reopen), served(dsn, small) as (whole, _):
            engine = shared.engine
            assert isinstance(engine, PostgresEngine)
            version = str(engine.rows("show server_version")[0][0]).split(" ")[0]
            found[f"PostgreSQL {version}"] = figures(shared, reopen, jobs, whole)
    print("in a file", file=sys.stderr)
    with Casebook.open(big) as casebook, Casebook.open(small) as whole:
        own = figures(casebook, lambda: Casebook.open(big), jobs, whole)
    return {f"SQLite {sqlite3.sqlite_version}": own, **found}


def table(found: dict[str, dict[str, Figure]], jobs: int, verified: int) -> Iterator[str]:
    """Yield the table, a line at a time."""
    yield (
        f"{jobs:,} jobs, verify of {verified:,}; milliseconds: median by the clock / slowest by "
        f"the clock / processor time; Python {platform.python_version()}, {os.cpu_count()} cores, "
        f"programs waiting for them: {_load()}"
    )
    yield ""
    yield f"| what | goal | {' | '.join(found)} | how, number of goes |"
    yield "| --- | --- | " + "--- | " * len(found) + "--- |"
    for row in ROWS:
        goal = "-" if row.goal_ms is None else f"{row.goal_ms:,.0f}"
        cells = " | ".join(
            f"{place[row.name]}{' MISSED' if row in missed(place) else ''}"
            for place in found.values()
        )
        yield f"| {row.name} | {goal} | {cells} | {row.how}; {row.goes} |"


def _load() -> str:
    """Return how busy the machine was in the last minute, this program included."""
    return f"{os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else "not known"


def missed(place: dict[str, Figure]) -> list[Row]:
    """Return the rows whose median is over the goal."""
    return [row for row in ROWS if row.goal_ms and place[row.name].median_ms > row.goal_ms]


def main() -> None:
    """Measure and print the table; leave with 1 where a goal is missed."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--jobs", type=int, default=JOBS)
    parser.add_argument("--verified", type=int, default=VERIFIED)
    parser.add_argument("--folder", type=Path, help="keep the casebooks here, for another run")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as made_here:
        folder = given.folder or Path(made_here)
        folder.mkdir(parents=True, exist_ok=True)
        dsn = os.environ.get("CASEBOOK_TEST_DSN", "")
        found = measure(folder, dsn, given.jobs, given.verified)
    print("\n".join(table(found, given.jobs, given.verified)))
    if any(missed(place) for place in found.values()):
        raise SystemExit(1)


if __name__ == "__main__":
    main()
