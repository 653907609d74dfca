"""Tables that follow from the entries: heads, jobs, marks for tracing, cases, words.

They are kept up to date in the same transaction as the entries, and `rebuild`
fills them afresh.  Entries that come in late, by a merge, change what a job or
case looks like; so each one that is touched is folded again from its entries.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping
from itertools import islice
from typing import Any, NamedTuple

from diagnose.store import full_text, sql, words
from diagnose.store.casefold import fold_case
from diagnose.store.engine import PAGE, Engine, all_rows
from diagnose.store.entry import VALUE_KINDS, WITHDRAWAL, Entry
from diagnose.store.fold import fold_values
from diagnose.store.parse import stored

LONGEST_ID = 200
WORDS_SINCE = 3
"""Form of the store that first had the table of words."""

_MARKED = re.compile(r"(rolls|lots)\.[^.]+\.batch")
_CHANGING = VALUE_KINDS | {WITHDRAWAL}
_JOB_HEAD = {
    "title": "title",
    "method": "method",
    "product": "product.name",
    "finished_at": "dates.finished_at",
}


class Columns(NamedTuple):
    """What the table keeps beside the text, so that entries can be found."""

    job: str | None
    case_id: str | None


def columns_of(entry: Entry) -> Columns:
    """Return the job and case that an entry belongs to; None where it names none."""
    return Columns(id_in(entry.body, "job"), id_in(entry.body, "case"))


def id_in(body: Mapping[str, Any], name: str) -> str | None:
    value = body.get(name)
    if isinstance(value, str) and 0 < len(value) <= LONGEST_ID and value.isprintable():
        return value
    return None


def mark_of(text: str) -> str:
    """Return the form in which a batch or lot is looked up: case and spaces set aside.

    It is cut where a server's index could not hold it.

    Examples
    --------
    >>> mark_of(" b  0417 ")
    'B 0417'
    """
    return " ".join(unicodedata.normalize("NFKC", _shown(text)).upper().split())[:LONGEST_ID]


def _shown(text: str) -> str:
    """Return a text as every database can hold it: in place of a NUL stands the sign for one."""
    return text.replace("\0", "\N{SYMBOL FOR NULL}")


def row_of(entry: Entry, text: str) -> dict[str, Any]:
    """Return the row of an entry for the table `entries`."""
    columns = columns_of(entry)
    return {
        "device": entry.device,
        "seq": entry.seq,
        "hash": entry.hash,
        "prev": entry.prev,
        "wall": entry.lc[0],
        "counter": entry.lc[1],
        "kind": entry.kind,
        "job": columns.job,
        "case_id": columns.case_id,
        "text": text,
    }


class Heads:
    """The newest entry of every chain, and what each chain cites."""

    def __init__(self) -> None:
        self._heads: dict[str, Entry] = {}
        self._cited: dict[tuple[str, str], int] = {}

    def take(self, entries: Iterable[Entry]) -> None:
        """Take in some entries, in any order."""
        heads, cited = self._heads, self._cited
        for entry in entries:
            if entry.device not in heads or heads[entry.device].seq < entry.seq:
                heads[entry.device] = entry
            for other, (seq, _) in entry.seen.items():
                pair = (entry.device, other)
                cited[pair] = max(seq, cited.get(pair, 0))

    def head_rows(self) -> list[dict[str, Any]]:
        """Return the rows of the table of heads."""
        return [
            {
                "device": device,
                "seq": entry.seq,
                "hash": entry.hash,
                "wall": entry.lc[0],
                "counter": entry.lc[1],
            }
            for device, entry in sorted(self._heads.items())
        ]

    def cited_rows(self) -> list[dict[str, Any]]:
        """Return the rows of the table of what is cited."""
        return [
            {"device": device, "other": other, "seq": seq}
            for (device, other), seq in sorted(self._cited.items())
        ]


def heads_of(engine: Engine, entries: Iterable[Entry]) -> None:
    """Carry the heads of chains forward, and what each chain cites."""
    heads = Heads()
    heads.take(entries)
    engine.run_many(sql.SET_HEAD, heads.head_rows())
    engine.run_many(sql.SET_CITED, heads.cited_rows())


def entries_added(engine: Engine, entries: Iterable[Entry]) -> None:
    """Bring jobs, cases and words up to date after entries were stored."""
    added = list(entries)
    jobs: set[str] = set()
    cases: set[str] = set()
    _touched(added, jobs, cases)
    _refold(engine, jobs, cases)
    _words(engine, added)
    full_text.carry_on(engine)


def rebuild(engine: Engine) -> int:
    """Empty every derived table and fill it again; the caller holds the right to write."""
    full_text.begin_anew(engine)
    for table in sql.PROJECTIONS:
        engine.run(f"delete from {table}")
    count = 0
    jobs: set[str] = set()
    cases: set[str] = set()
    rows = all_rows(engine)
    while page := [stored(str(row[3]), str(row[2])) for row in islice(rows, PAGE)]:
        count += len(page)
        heads_of(engine, page)
        _touched(page, jobs, cases)
        _words(engine, page)
    _refold(engine, jobs, cases)
    full_text.carry_on(engine)
    return count


def after_migration(engine: Engine, version: int) -> None:
    """Fill the tables that a casebook of an older form did not have, 0 being a new casebook."""
    rows = all_rows(engine) if 0 < version < WORDS_SINCE else iter(())
    while page := [stored(str(row[3]), str(row[2])) for row in islice(rows, PAGE)]:
        _words(engine, page)
    full_text.carry_on(engine)


def _words(engine: Engine, entries: Iterable[Entry]) -> None:
    engine.run_many(sql.ADD_WORDS, [words_row(entry) for entry in entries])


def words_row(entry: Entry) -> dict[str, Any]:
    """Return the row of an entry for the table of words."""
    return {
        "device": entry.device,
        "seq": entry.seq,
        "wall": entry.lc[0],
        "counter": entry.lc[1],
        "words": words.row_of(entry),
    }


def _touched(entries: Iterable[Entry], jobs: set[str], cases: set[str]) -> None:
    for entry in entries:
        job, case = columns_of(entry)
        if case:
            cases.add(case)
        if job and touches_job([entry]):
            jobs.add(job)


def touches_job(entries: Iterable[Entry]) -> bool:
    """Return whether entries that name a job are reason to list it; a complaint alone is none."""
    return any(not columns_of(entry).case_id or entry.kind in _CHANGING for entry in entries)


def _refold(engine: Engine, jobs: Iterable[str], cases: Iterable[str]) -> None:
    waiting = iter(sorted(jobs))
    while page := list(islice(waiting, PAGE)):
        _jobs(engine, page)
    for case in sorted(cases):
        _case(engine, case)


def _of(engine: Engine, name: str, value: str) -> tuple[Entry, ...]:
    query = f"{sql.SELECT_ENTRIES} where {sql.FILTERS[name]}{sql.ORDER_ENTRIES}"
    return tuple(
        stored(str(text), str(hashed)) for text, hashed in engine.rows(query, {name: value})
    )


def _jobs(engine: Engine, jobs: Iterable[str]) -> None:
    heads: list[dict[str, str | None]] = []
    marks: list[dict[str, str]] = []
    for job in jobs:
        head, own = job_rows(job, _of(engine, "job", job))
        heads.append(head)
        marks += own
    engine.run_many(sql.SET_JOB_HEAD, heads)
    engine.run_many(sql.DROP_MARKS, [{"job": head["job"]} for head in heads])
    engine.run_many(sql.ADD_MARK, marks)


def job_rows(
    job: str, entries: Iterable[Entry]
) -> tuple[dict[str, str | None], list[dict[str, str]]]:
    """Return the row of a job for the list of jobs, and its rows for the list of marks."""
    values = fold_values(entries).values
    listed = {name: values.get(path) for name, path in _JOB_HEAD.items()}
    head = {"job": job, **{name: text and _shown(text) for name, text in listed.items()}}
    marks = [
        {"job": job, "path": path, "mark": mark_of(value)}
        for path, value in values.items()
        if _MARKED.fullmatch(path) and mark_of(value)
    ]
    return head, marks


def _case(engine: Engine, case: str) -> None:
    row = case_row(case, _of(engine, "case", case))
    if row is not None:
        engine.run(sql.SET_CASE_HEAD, row)


def case_row(case: str, entries: Iterable[Entry]) -> dict[str, str | None] | None:
    """Return the row of a case for the list of cases; None where its complaint is not known."""
    folded = fold_case(case, entries)
    if folded is None:
        return None
    return {
        "case_id": case,
        "job": columns_of(folded.complaint).job,
        "status": folded.status,
        "symptoms": _shown(" ".join(folded.symptoms)),
        "place": folded.place and _shown(folded.place),
        "opened_at": folded.opened_at,
    }
