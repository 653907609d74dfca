"""Tables that follow from the entries: heads, jobs, marks for tracing, cases.

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

from diagnose.store import sql
from diagnose.store.casefold import fold_case
from diagnose.store.engine import PAGE, Engine, all_rows
from diagnose.store.entry import VALUE_KINDS, WITHDRAWAL, Entry
from diagnose.store.fold import fold_values
from diagnose.store.parse import stored

LONGEST_ID = 200

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
    return Columns(_id_in(entry.body, "job"), _id_in(entry.body, "case"))


def _id_in(body: Mapping[str, Any], name: str) -> str | None:
    value = body.get(name)
    if isinstance(value, str) and 0 < len(value) <= LONGEST_ID and value.isprintable():
        return value
    return None


def mark_of(text: str) -> str:
    """Return the form in which a batch or lot is looked up: case and spaces set aside.

    Examples
    --------
    >>> mark_of(" b  0417 ")
    'B 0417'
    """
    return " ".join(unicodedata.normalize("NFKC", text).upper().split())


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


def heads_of(engine: Engine, entries: Iterable[Entry]) -> None:
    """Carry the heads of chains forward, and what each chain cites."""
    heads: dict[str, Entry] = {}
    cited: dict[tuple[str, str], int] = {}
    for entry in entries:
        if entry.device not in heads or heads[entry.device].seq < entry.seq:
            heads[entry.device] = entry
        for other, (seq, _) in entry.seen.items():
            pair = (entry.device, other)
            cited[pair] = max(seq, cited.get(pair, 0))
    engine.run_many(
        sql.SET_HEAD,
        [
            {
                "device": device,
                "seq": entry.seq,
                "hash": entry.hash,
                "wall": entry.lc[0],
                "counter": entry.lc[1],
            }
            for device, entry in sorted(heads.items())
        ],
    )
    engine.run_many(
        sql.SET_CITED,
        [
            {"device": device, "other": other, "seq": seq}
            for (device, other), seq in sorted(cited.items())
        ],
    )


def entries_added(engine: Engine, entries: Iterable[Entry]) -> None:
    """Bring jobs and cases up to date after entries were stored."""
    jobs: set[str] = set()
    cases: set[str] = set()
    _touched(entries, jobs, cases)
    _refold(engine, jobs, cases)


def rebuild(engine: Engine) -> int:
    """Empty every derived table and fill it again; the caller holds the right to write."""
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
    _refold(engine, jobs, cases)
    return count


def _touched(entries: Iterable[Entry], jobs: set[str], cases: set[str]) -> None:
    for entry in entries:
        job, case = columns_of(entry)
        if case:
            cases.add(case)
        if job and (not case or entry.kind in _CHANGING):
            jobs.add(job)


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
        values = fold_values(_of(engine, "job", job)).values
        heads.append({"job": job, **{name: values.get(path) for name, path in _JOB_HEAD.items()}})
        marks += [
            {"job": job, "path": path, "mark": mark_of(value)}
            for path, value in values.items()
            if _MARKED.fullmatch(path) and mark_of(value)
        ]
    engine.run_many(sql.SET_JOB_HEAD, heads)
    engine.run_many(sql.DROP_MARKS, [{"job": head["job"]} for head in heads])
    engine.run_many(sql.ADD_MARK, marks)


def _case(engine: Engine, case: str) -> None:
    folded = fold_case(case, _of(engine, "case", case))
    if folded is None:
        return
    engine.run(
        sql.SET_CASE_HEAD,
        {
            "case_id": case,
            "job": folded.job,
            "status": folded.status,
            "symptoms": " ".join(folded.symptoms),
            "place": folded.place,
            "opened_at": folded.opened_at,
        },
    )
